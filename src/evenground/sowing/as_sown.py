"""What the planter really did, strip by strip, from its own log: speed, stops, rows off, overlaps, the wrong strip."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPoint, Polygon

from evenground.basis.field import LocalPlane
from evenground.basis.strip import Draw, Strip

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
STOPPED_M_PER_S = 0.5 / 3.6
"""Slower than half a kilometre an hour counts as standing: common practice, no source."""
SHORTEST_STOP_S = 3.0
LONGEST_STEP_S = 30.0
"""Readings further apart than this do not belong to one pass."""
TOUCHED_SHARE, SOWN_SHARE = 0.05, 0.5
FEWEST_STEPS = 20

SownState = Literal["as drawn", "other method", "partly other method", "partly", "not in this log"]


@dataclass(frozen=True)
class PlanterLog:
    """What a planter with one method logged; one entry a reading, in order of time.

    Attributes
    ----------
    method : str
        Letter of the method it sowed.
    rows, width_m : int, float
        Rows of the planter [1] and its working width [m].
    seconds : ndarray, shape (n,)
        Time, from any start [s].
    lon, lat : ndarray, shape (n,)
        Middle of the planter, WGS84 [deg].
    speed_m_per_s : ndarray, shape (n,)
        Driving speed [m/s].
    rows_off : ndarray, shape (n,)
        Rows switched off [1]; all of them where the planter is lifted.
    start : datetime or None
        Clock time of the first reading; None where the log has no dates.
    seeds_per_m2 : ndarray, shape (n,), or None
        Seeds dropped as the planter counted them [1/m2], NaN where it did not say; None where it never does.
    notes : tuple of str
        What the user should know about how the log was read.
    """

    method: str
    rows: int
    width_m: float
    seconds: Floats
    lon: Floats
    lat: Floats
    speed_m_per_s: Floats
    rows_off: Floats
    start: datetime | None = None
    seeds_per_m2: Floats | None = None
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        every = (self.seconds, self.lon, self.lat, self.speed_m_per_s, self.rows_off)
        if len({a.shape for a in every}) != 1 or self.seconds.ndim != 1:
            raise ValueError("all columns of a planter log must have the same length")
        if not all(np.isfinite(a).all() for a in every):
            raise ValueError("every value of a planter log must be a finite number")
        if (np.diff(self.seconds) < 0).any():
            raise ValueError("the readings of a planter log must be in order of time")
        if (self.rows_off < 0).any() or (self.rows_off > self.rows).any():
            raise ValueError(f"rows off must be between 0 and the {self.rows} rows of the planter")
        if self.seeds_per_m2 is not None and self.seeds_per_m2.shape != self.seconds.shape:
            raise ValueError("seeds per m2 must have one value a reading")


@dataclass(frozen=True)
class StripSown:
    """One strip in one planter's log.

    Attributes
    ----------
    strip : int
        Which.
    drawn, sown : str
        Method drawn and method of the log.
    state : str
        ``as drawn``, ``partly`` (less than half of the strip), ``other method`` (drawn for another one), ``partly other
        method``, ``not in this log``.
    sown_fraction : float
        Share of the strip's ground this planter sowed [1].
    speed_m_per_s, speed_sd_m_per_s : float or None
        Mean and SD over time while moving and sowing [m/s].
    seconds : float or None
        When it began to sow the strip, on the clock of the log [s].
    stops : int
        Times it stood for 3 s and longer in the strip [1].
    rows_off : int
        Most rows that were off at one time while others sowed [1].
    rows_off_m : float
        Metres of single row left out by rows off while the others sowed [m].
    lifted_m : float
        Metres driven in the strip with all rows off [m].
    overlap_m2 : float
        Ground sown twice by this planter [m2].
    seeds_per_m2 : float or None
        Mean of what the planter counted while sowing the strip [1/m2].
    """

    strip: int
    drawn: str
    sown: str
    state: SownState
    sown_fraction: float
    speed_m_per_s: float | None
    speed_sd_m_per_s: float | None
    seconds: float | None
    stops: int
    rows_off: int
    rows_off_m: float
    lifted_m: float
    overlap_m2: float
    seeds_per_m2: float | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return plain data."""
        return dict(self.__dict__)


@dataclass(frozen=True)
class _Steps:
    """Steps from reading to reading, in metres."""

    start: Floats
    end: Floats
    seconds: Floats
    speed: Floats
    off: Floats
    joined: Bools

    @property
    def length(self) -> Floats:
        """Length of each step [m]."""
        steps = self.end - self.start
        out: Floats = np.hypot(steps[:, 0], steps[:, 1])
        return out


def as_sown(log: PlanterLog, draw: Draw) -> tuple[StripSown, ...]:
    """Say for every strip what this planter did in it.

    Parameters
    ----------
    log : PlanterLog
        What it logged; the position is that of the planter's middle, not of an aerial in front of it.
    draw : Draw
        The strips.

    Returns
    -------
    tuple of StripSown
        Strips drawn for the log's method, and all others it touched, by number. A strip is touched when more than 5 %
        of its ground was sown, so that the edge of a neighbouring pass is not taken for a wrong strip.

    Source: geometry; a pass is its line widened to the working width.
    """
    plane = _plane(draw)
    steps = _steps(log, plane)
    out = []
    for strip in sorted(draw.strips, key=lambda s: s.strip):
        found = _in_strip(strip, log, steps, Polygon(shapely.get_coordinates(plane.to_metres(Polygon(strip.outline)))))
        if strip.method == log.method or found.sown_fraction > TOUCHED_SHARE:
            out.append(found)
    return tuple(out)


def readings_in_strips(log: PlanterLog, draw: Draw, *, swapped: bool = False) -> int:
    """Count the readings that lie in a strip; none means that the log is of another field [1].

    Parameters
    ----------
    log : PlanterLog
        What was logged.
    draw : Draw
        The strips.
    swapped : bool
        Whether to read longitude for latitude and the other way round.

    Source: geometry.
    """
    lon, lat = (log.lat, log.lon) if swapped else (log.lon, log.lat)
    strips = shapely.union_all([Polygon(s.outline) for s in draw.strips])
    return int(shapely.contains_xy(strips, lon, lat).sum())


def speed_over_places(log: PlanterLog) -> float | None:
    """Hold the logged speed against the way between the readings, while sowing [1].

    Parameters
    ----------
    log : PlanterLog
        What was logged.

    Returns
    -------
    float or None
        Logged way over way by position: 1 where both agree, 3.6 where km/h are called m/s; None below 20 steps.

    Source: definition of speed.
    """
    plane = LocalPlane(float(log.lon.mean()), float(log.lat.mean()))
    steps = _steps(log, plane)
    moving = steps.joined & (steps.off < log.rows) & (steps.seconds > 0.0) & (steps.length > 0.0)
    way = float(steps.length[moving].sum())
    if moving.sum() < FEWEST_STEPS or way <= 0.0:
        return None
    return float(steps.speed[moving] @ steps.seconds[moving]) / way


def _plane(draw: Draw) -> LocalPlane:
    lon, lat = zip(*(corner for s in draw.strips for corner in s.outline), strict=True)
    return LocalPlane(sum(lon) / len(lon), sum(lat) / len(lat))


def _steps(log: PlanterLog, plane: LocalPlane) -> _Steps:
    at = shapely.get_coordinates(plane.to_metres(MultiPoint(np.column_stack([log.lon, log.lat]))))
    seconds = np.diff(log.seconds)
    speed = (log.speed_m_per_s[1:] + log.speed_m_per_s[:-1]) / 2.0
    # The state of a row holds until the next reading.
    return _Steps(at[:-1], at[1:], seconds, speed, log.rows_off[:-1], seconds <= LONGEST_STEP_S)


def _in_strip(strip: Strip, log: PlanterLog, steps: _Steps, ground: Polygon) -> StripSown:
    middle = (steps.start + steps.end) / 2.0
    inside = shapely.contains_xy(ground, middle[:, 0], middle[:, 1]) & steps.joined
    sowing = inside & (steps.off < log.rows)
    moving = sowing & (steps.speed >= STOPPED_M_PER_S)
    mean, spread = _speed(steps.speed[moving], steps.seconds[moving])
    sown_m2, overlap_m2 = _ground(steps, sowing, log.width_m, ground)
    share = min(1.0, sown_m2 / ground.area)
    length = steps.length
    return StripSown(
        strip=strip.strip,
        drawn=strip.method,
        sown=log.method,
        state=_state(strip.method == log.method, share),
        sown_fraction=share,
        speed_m_per_s=mean,
        speed_sd_m_per_s=spread,
        seconds=float(log.seconds[:-1][sowing].min()) if sowing.any() else None,
        stops=_stops(inside & (steps.speed < STOPPED_M_PER_S), steps.seconds),
        rows_off=math.ceil(float(steps.off[moving].max())) if moving.any() else 0,
        rows_off_m=float((length * steps.off)[sowing].sum()),
        lifted_m=float(length[inside & ~sowing].sum()),
        overlap_m2=overlap_m2,
        seeds_per_m2=_seeds(log, sowing, length),
    )


def _state(drawn: bool, share: float) -> SownState:
    if share <= TOUCHED_SHARE:
        return "not in this log"
    if drawn:
        return "as drawn" if share >= SOWN_SHARE else "partly"
    return "other method" if share >= SOWN_SHARE else "partly other method"


def _speed(speed: Floats, seconds: Floats) -> tuple[float | None, float | None]:
    """Return mean and SD of the speed, weighted by time [m/s]."""
    total = float(seconds.sum())
    if total <= 0.0:
        return None, None
    mean = float(speed @ seconds) / total
    return mean, math.sqrt(float(((speed - mean) ** 2) @ seconds) / total)


def _seeds(log: PlanterLog, sowing: Bools, length: Floats) -> float | None:
    """Return the mean of the seeds counted, weighted by way [1/m2]."""
    if log.seeds_per_m2 is None:
        return None
    said = log.seeds_per_m2[:-1]
    known = sowing & np.isfinite(said)
    way = float(length[known].sum())
    return float(said[known] @ length[known]) / way if way > 0.0 else None


def _runs(chosen: Bools) -> list[slice]:
    """Return the stretches in which something holds."""
    edges = np.flatnonzero(np.diff(np.r_[False, chosen, False].astype(np.int8)))
    return [slice(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _stops(standing: Bools, seconds: Floats) -> int:
    return sum(float(seconds[run].sum()) >= SHORTEST_STOP_S for run in _runs(standing))


def _ground(steps: _Steps, sowing: Bools, width_m: float, ground: Polygon) -> tuple[float, float]:
    """Return the ground of the strip that was sown, and what of it was sown more than once [m2]."""
    passes = [
        LineString(np.vstack([steps.start[run], steps.end[run][-1:]])).buffer(width_m / 2.0, cap_style="flat")
        for run in _runs(sowing)
        if float(steps.length[run].sum()) > 0.0
    ]
    inside = [p.intersection(ground) for p in passes]
    once = float(shapely.union_all(inside).area) if inside else 0.0
    return once, max(0.0, math.fsum(p.area for p in inside) - once)
