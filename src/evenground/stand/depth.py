"""Did the seed lie as deep as planned, and evenly? Depth readings by strip and by method."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from evenground.basis.observations import Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.stand.plants import mean_and_error, sown_methods

TOLERANCE_CM = 1.0
"""Off the plan by more than this counts as outside: common practice, no source."""


@dataclass(frozen=True)
class DepthFound:
    """Depth in one strip, or over the strips of one method.

    Attributes
    ----------
    strip : int or None
        Which strip; None for a method.
    method : str
        Method as really sown.
    planned_cm : float
        Depth of the plan [cm].
    readings : int
        Number of readings [1].
    mean_cm : float
        Mean; of a method the mean of its strips [cm].
    standard_error_cm : float or None
        Of a method's mean, from the spread of its strips [cm]; None for a strip or with one strip.
    sd_cm : float or None
        SD (n - 1) of single readings within strips [cm].
    outside_fraction : float
        Share of readings more than 1 cm off the plan [1].
    """

    strip: int | None
    method: str
    planned_cm: float
    readings: int
    mean_cm: float
    standard_error_cm: float | None
    sd_cm: float | None
    outside_fraction: float

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``depths`` of ``stand --json``."""
        return dict(self.__dict__)


def depths(plan: Plan, draw: Draw, records: Records) -> tuple[tuple[DepthFound, ...], tuple[DepthFound, ...]]:
    """Return what the depth readings say, by strip and by method; those without readings are left out.

    Parameters
    ----------
    plan : Plan
        Methods with their planned depth.
    draw : Draw
        The strips.
    records : Records
        Depth readings and events, corrections included; a reading that names several strips is left out.
    """
    sown = sown_methods(draw, records)
    planned = {m.letter: m.depth_cm for m in plan.methods}
    by_strip: dict[int, list[float]] = {}
    for reading in current(records.depths):
        if len(reading.strips) == 1 and reading.strips[0] in sown:
            by_strip.setdefault(reading.strips[0], []).append(reading.depth_cm)
    strips = tuple(_found(n, sown[n], planned[sown[n]], [by_strip[n]]) for n in sorted(by_strip))
    methods = []
    for m in plan.methods:
        groups = [by_strip[n] for n in sorted(by_strip) if sown[n] == m.letter]
        if groups:
            methods.append(_found(None, m.letter, m.depth_cm, groups))
    return strips, tuple(methods)


def _found(strip: int | None, method: str, planned_cm: float, groups: Sequence[Sequence[float]]) -> DepthFound:
    every = [d for g in groups for d in g]
    mean, error = mean_and_error([statistics.fmean(g) for g in groups])
    assert mean is not None  # groups are never empty
    # A reading of 6.0 against a plan of 5.0 is inside whatever binary makes of it.
    outside = sum(round(abs(d - planned_cm), 9) > TOLERANCE_CM for d in every)
    return DepthFound(strip, method, planned_cm, len(every), mean, error, _within_sd(groups), outside / len(every))


def _within_sd(groups: Sequence[Sequence[float]]) -> float | None:
    """Return the SD of readings about the means of their strips, pooled [cm]; None without two readings in a strip."""
    df = sum(len(g) - 1 for g in groups)
    squares = math.fsum((len(g) - 1) * statistics.variance(g) for g in groups if len(g) > 1)
    return math.sqrt(squares / df) if df else None
