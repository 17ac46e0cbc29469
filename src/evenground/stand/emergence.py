"""How fast did it come up? Plants on marked lengths counted again and again, by days after sowing."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from evenground.basis.observations import Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.stand.plants import mean_and_error, plants_per_m2, sown_methods


@dataclass(frozen=True)
class Emergence:
    """Emergence of one strip, or the mean of the strips of one method.

    Attributes
    ----------
    strip : int or None
        Which strip; None for a method.
    method : str
        Method as really sown.
    days : tuple of int
        Days after sowing of the counts [d]; empty for a method.
    plants_per_m2 : tuple of float
        Plants on those days [1/m2].
    days_to_half : float or None
        When half of the plants of the last count were there, on a straight line between the counts [d]; None where
        half were there at the first count already.
    standard_error : float or None
        Of a method's days to half, from the spread of its strips [d].
    """

    strip: int | None
    method: str
    days: tuple[int, ...]
    plants_per_m2: tuple[float, ...]
    days_to_half: float | None
    standard_error: float | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``emergence`` of ``stand --json``."""
        return {**self.__dict__, "days": list(self.days), "plants_per_m2": list(self.plants_per_m2)}


def emergence(plan: Plan, draw: Draw, records: Records) -> tuple[Emergence, ...]:
    """Return how each strip counted while emerging came up, then each method; strips without sowing day are left out.

    Parameters
    ----------
    plan : Plan
        Methods with their row spacing.
    draw : Draw
        The strips.
    records : Records
        Stand counts of the stage ``emerging``, and the events that say when a strip was sown.
    """
    sown = sown_methods(draw, records)
    spacing = {m.letter: m.row_pattern.row_spacing_m for m in plan.methods}
    days = sowing_days(records)
    strips = [
        _of_strip(n, sown[n], spacing[sown[n]], days[n], records)
        for n in sorted(sown)
        if n in days and any(c.stage == "emerging" and c.strips == (n,) for c in current(records.stand_counts))
    ]
    methods = [
        _of_method(m.letter, mine) for m in plan.methods if (mine := [s for s in strips if s.method == m.letter])
    ]
    return (*strips, *methods)


def sowing_days(records: Records) -> dict[int, date]:
    """Return the first day each strip was sown, by strip number."""
    out: dict[int, date] = {}
    for event in current(records.events):
        if event.event == "sown":
            for n in event.strips:
                out[n] = min(event.time.date(), out.get(n, event.time.date()))
    return out


def half_reached(days: Sequence[float], plants: Sequence[float]) -> float | None:
    """Say when half of the last count was reached, on a straight line between counts [d].

    Parameters
    ----------
    days : sequence of float
        Rising days [d].
    plants : sequence of float
        Plants on those days [any unit].

    Examples
    --------
    >>> half_reached([8, 10, 14], [2.0, 6.0, 8.0])
    9.0
    """
    if not plants or plants[-1] <= 0 or plants[0] > plants[-1] / 2:
        return None
    half = plants[-1] / 2
    for i in range(1, len(plants)):
        if plants[i] >= half:
            rise = plants[i] - plants[i - 1]
            return days[i] if rise <= 0 else days[i - 1] + (days[i] - days[i - 1]) * (half - plants[i - 1]) / rise
    return None


def _of_strip(strip: int, method: str, spacing_m: float, sowing: date, records: Records) -> Emergence:
    by_day: dict[int, list[float]] = {}
    for c in current(records.stand_counts):
        if c.stage == "emerging" and c.strips == (strip,):
            density = plants_per_m2(c.plants, c.length_m, c.rows, spacing_m)
            by_day.setdefault((c.time.date() - sowing).days, []).append(density)
    days = sorted(by_day)
    plants = [statistics.fmean(by_day[d]) for d in days]
    return Emergence(strip, method, tuple(days), tuple(plants), half_reached(days, plants))


def _of_method(method: str, strips: Sequence[Emergence]) -> Emergence:
    mean, error = mean_and_error([s.days_to_half for s in strips if s.days_to_half is not None])
    return Emergence(None, method, (), (), mean, error)
