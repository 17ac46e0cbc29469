"""What the crop walk says about the methods: means, and differences with the strip as the unit. Never the verdict."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from evenground.basis.observations import Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.compare.values import StripValues
from evenground.decide.feed_outcomes import Named
from evenground.decide.side_comparison import SideResult, side_results
from evenground.decide.strip_values import cut_plant_values
from evenground.harvest.strips import Harvest
from evenground.season.crop_walk import CropWalk, WalkFigure, crop_walk


@dataclass(frozen=True)
class WalkRow:
    """One thing seen on a crop walk, by method.

    Attributes
    ----------
    what, unit : str
        What it is, with the day where it was scored on a walk.
    means : mapping of str to float
        Method as sown to the mean of its strips [unit].
    strips : mapping of str to int
        Method to the number of its strips [1].
    results : tuple of SideResult
        Each method against the baseline; empty where too few strips were looked at.
    """

    what: str
    unit: str
    means: Mapping[str, float]
    strips: Mapping[str, int]
    results: tuple[SideResult, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``compared`` of ``walk --json``."""
        return {
            "what": self.what,
            "unit": self.unit,
            "means": dict(self.means),
            "strips": dict(self.strips),
            "differences": [
                {
                    "method": r.method,
                    "baseline": r.baseline,
                    "difference": r.difference,
                    "interval": list(r.interval),
                }
                for r in self.results
            ],
        }


@dataclass(frozen=True)
class WalkResult:
    """The crop walk of a trial.

    Attributes
    ----------
    walk : CropWalk
        What was seen.
    rows : tuple of WalkRow
        What can be put side by side: scores, mineral nitrogen, plants cut by hand.
    """

    walk: CropWalk
    rows: tuple[WalkRow, ...]

    @property
    def empty(self) -> bool:
        """Whether nothing was written down at all."""
        return self.walk.empty and not self.rows

    def as_dict(self) -> dict[str, Any]:
        """Return the object of ``walk --json``."""
        return {"compared": [r.as_dict() for r in self.rows], **self.walk.as_dict()}


def walk_result(plan: Plan, draw: Draw, records: Records, came_off: Harvest) -> WalkResult:
    """Put what was seen on crop walks side by side.

    Parameters
    ----------
    plan, draw, records : Plan, Draw, Records
        The trial.
    came_off : Harvest
        Methods as sown and what became of the strips; it may stand before any harvest.

    Returns
    -------
    WalkResult
        Root pits are in it to be shown; nothing is computed from them.
    """
    walk = crop_walk(records)
    outcomes = (*(_values(f, came_off) for f in (*walk.figures, *walk.nitrogen)), *cut_plant_values(came_off))
    return WalkResult(walk, tuple(_row(one, plan, draw) for one in outcomes if one[2].strips))


def _values(figure: WalkFigure, came_off: Harvest) -> Named:
    """Return the values of the strips that were sown; what was scored in a strip before it was lost still counts."""
    there = [s for s in came_off.strips if s.strip in figure.by_strip and s.state != "not_sown"]
    values = StripValues(
        tuple(str(s.strip) for s in there),
        tuple(s.method for s in there),
        tuple(str(s.block) for s in there),
        tuple(figure.by_strip[s.strip] for s in there),
    )
    return figure.name, figure.unit, values


def _row(outcome: Named, plan: Plan, draw: Draw) -> WalkRow:
    name, unit, values = outcome
    by_method: dict[str, list[float]] = {}
    for method, value in zip(values.methods, values.outcome, strict=True):
        by_method.setdefault(method, []).append(value)
    means = {method: statistics.fmean(found) for method, found in sorted(by_method.items())}
    strips = {method: len(by_method[method]) for method in means}
    return WalkRow(name, unit, means, strips, side_results((outcome,), plan, draw))


def not_yet_in(sides: Iterable[SideResult], found: WalkResult) -> tuple[SideResult, ...]:
    """Return the walk's differences that do not stand among side results yet.

    Parameters
    ----------
    sides : iterable of SideResult
        What is there.
    found : WalkResult
        What was seen on crop walks.
    """
    there = {s.outcome for s in sides}
    return tuple(r for row in found.rows for r in row.results if r.outcome not in there)
