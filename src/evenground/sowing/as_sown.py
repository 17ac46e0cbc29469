"""What the planter really did, strip by strip, from its own log: speed, stops, rows off, overlaps, the wrong strip."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
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
    """

    method: str
    rows: int
    width_m: float
    seconds: Floats
    lon: Floats
    lat: Floats
    speed_m_per_s: Floats
    rows_off: Floats

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
    stops : int
        Times it stood for 3 s and longer in the strip [1].
    rows_off_m : float
        Metres of single row left out by rows off while the others sowed [m].
    lifted_m : float
        Metres driven in the strip with all rows off [m].
    overlap_m2 : float
        Ground sown twice by this planter [m2].
    """

    strip: int
    drawn: str
    sown: str
    state: SownState
    sown_fraction: float
    speed_m_per_s: float | None
    speed_sd_m_per_s: float | None
    stops: int
    rows_off_m: float
    lifted_m: float
    overlap_m2: float

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
        stops=_stops(inside & (steps.speed < STOPPED_M_PER_S), steps.seconds),
        rows_off_m=float((length * steps.off)[sowing].sum()),
        lifted_m=float(length[inside & ~sowing].sum()),
        overlap_m2=overlap_m2,
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


@dataclass(frozen=True)
class Joint:
    """Joints between passes of one method.

    Attributes
    ----------
    measured : int
        Number of measurements [1].
    mean_m : float
        Mean distance between the outer rows of neighbouring passes [m].
    planned_m : float
        Row spacing of the plan [m].
    area_factor : float
        True ground of the weighed cut over the planned one [1]: above 1, the yield was reckoned on too small an area
        and is too high.
    """

    measured: int
    mean_m: float
    planned_m: float
    area_factor: float


def joint_effect(joints_m: Sequence[float], row_spacing_m: float, rows_per_pass: int, joints_in_cut: int = 1) -> Joint:
    """Say what joints wider or narrower than the rows do to the weighed area.

    Parameters
    ----------
    joints_m : sequence of float
        Measured distances between outer rows of neighbouring passes [m].
    row_spacing_m : float
        Row spacing of the plan [m].
    rows_per_pass : int
        Rows of one pass [1].
    joints_in_cut : int
        Joints inside (or, half each, at the two sides of) the weighed cut for every pass of rows cut [1].

    Raises
    ------
    ValueError
        If there is no measurement, or a value is not above 0.

    Source: geometry, (rows x spacing + joints x (joint - spacing)) / (rows x spacing).

    Examples
    --------
    >>> round(joint_effect([0.80], 0.75, 8).area_factor, 5)  # 6.05 m instead of 6 m
    1.00833
    """
    if not joints_m or min(joints_m) <= 0.0 or row_spacing_m <= 0.0 or rows_per_pass < 1 or joints_in_cut < 0:
        raise ValueError("joints, row spacing and rows must be above 0")
    mean = math.fsum(joints_m) / len(joints_m)
    planned = rows_per_pass * row_spacing_m
    return Joint(len(joints_m), mean, row_spacing_m, (planned + joints_in_cut * (mean - row_spacing_m)) / planned)
