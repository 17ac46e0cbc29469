"""Compares outcomes beside the main one, each with its own interval; those that cannot be compared are left out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from evenground.basis.errors import CannotCompareError
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.compare.compare import compare
from evenground.decide.feed_outcomes import Named
from evenground.decide.split_trial import split_of


@dataclass(frozen=True)
class SideResult:
    """Another outcome with its own interval; never the verdict.

    Attributes
    ----------
    outcome, unit : str
        What it is.
    method, baseline : str
        Who is compared.
    difference : float
        Method minus baseline [unit].
    interval : (float, float)
        At the level of the verdict [unit].
    """

    outcome: str
    unit: str
    method: str
    baseline: str
    difference: float
    interval: tuple[float, float]


def side_results(outcomes: Iterable[Named], plan: Plan, draw: Draw) -> tuple[SideResult, ...]:
    """Compare each outcome, every method with the baseline, the strip as the unit.

    Parameters
    ----------
    outcomes : iterable of (str, str, StripValues)
        Name, unit and values by strip.
    plan : Plan
        Baseline and level.
    draw : Draw
        How the methods were dealt out.
    """
    return tuple(side for name, unit, values in outcomes for side in _compared((name, unit, values), plan, draw))


def _compared(outcome: Named, plan: Plan, draw: Draw) -> tuple[SideResult, ...]:
    name, unit, values = outcome
    try:
        found = compare(values, plan.baseline.letter, level=plan.advice.level, reference={}, split=split_of(draw))
    except CannotCompareError:
        return ()
    return tuple(SideResult(name, unit, c.method, c.baseline, c.gain, c.interval) for c in found.comparisons)
