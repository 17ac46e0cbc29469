"""Everything the records say about the stand of a trial, in one value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from evenground.basis.observations import Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.stand.counts_needed import DEFAULT_ERROR, CountsNeeded, counts_needed
from evenground.stand.depth import DepthFound, depths
from evenground.stand.emergence import Emergence, emergence
from evenground.stand.plants import Stand, row_length_m, stand
from evenground.stand.row_units import RowUnit, row_units
from evenground.stand.runs import MethodSpacing, StripSpacing, method_spacings, strip_spacings
from evenground.stand.stages import StandStages, method_stages, strip_stages


@dataclass(frozen=True)
class StandSummary:
    """All parts; each is empty where nothing was recorded for it.

    Attributes
    ----------
    stand : Stand
        Plants/m2 by strip and method.
    stages, method_stages : tuple of StandStages
        Three leaves, after the last hoeing, late plants, losses; by strip and by method.
    row_units : tuple of RowUnit
        By row unit of every counted method.
    spacings : tuple of StripSpacing
        By strip.
    method_spacings : tuple of MethodSpacing
        By method.
    depths, method_depths : tuple of DepthFound
        By strip and by method.
    emergence : tuple of Emergence
        By strip, then by method.
    counts_needed : tuple of CountsNeeded
        By method.
    row_length_m : dict of str to float
        Length of row that stands for a thousandth of a hectare, by method [m].
    """

    stand: Stand
    stages: tuple[StandStages, ...]
    method_stages: tuple[StandStages, ...]
    row_units: tuple[RowUnit, ...]
    spacings: tuple[StripSpacing, ...]
    method_spacings: tuple[MethodSpacing, ...]
    depths: tuple[DepthFound, ...]
    method_depths: tuple[DepthFound, ...]
    emergence: tuple[Emergence, ...]
    counts_needed: tuple[CountsNeeded, ...]
    row_length_m: dict[str, float]

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of ``stand --json``."""
        return {
            "strips": [s.as_dict() for s in self.stand.strips],
            "methods": [m.as_dict() for m in self.stand.methods],
            "stages": {
                "strips": [s.as_dict() for s in self.stages],
                "methods": [s.as_dict() for s in self.method_stages],
            },
            "row_units": [u.as_dict() for u in self.row_units],
            "spacing": {
                "strips": [s.as_dict() for s in self.spacings],
                "methods": [m.as_dict() for m in self.method_spacings],
            },
            "depths": {
                "strips": [d.as_dict() for d in self.depths],
                "methods": [d.as_dict() for d in self.method_depths],
            },
            "emergence": [e.as_dict() for e in self.emergence],
            "counts_needed": [c.as_dict() for c in self.counts_needed],
            "row_length_m": dict(self.row_length_m),
            "notes": list(self.stand.notes),
        }


def stand_summary(
    plan: Plan, draw: Draw, records: Records, *, error_fraction: float = DEFAULT_ERROR, level: float = 0.9
) -> StandSummary:
    """Gather all that is known about the stand.

    Parameters
    ----------
    plan : Plan
        What was meant.
    draw : Draw
        The strips.
    records : Records
        What was seen, corrections included.
    error_fraction : float
        Error wanted of a strip's plants/m2, for the number of counts [1].
    level : float
        Level of all intervals [1].
    """
    stages, runs = strip_stages(plan, draw, records), strip_spacings(plan, draw, records)
    by_strip, by_method = depths(plan, draw, records)
    return StandSummary(
        stand=stand(plan, draw, records),
        stages=stages,
        method_stages=method_stages(plan, stages),
        row_units=row_units(plan, draw, records, level),
        spacings=runs,
        method_spacings=method_spacings(plan, runs),
        depths=by_strip,
        method_depths=by_method,
        emergence=emergence(plan, draw, records),
        counts_needed=counts_needed(plan, draw, records, error_fraction, level),
        row_length_m={m.letter: row_length_m(m.row_pattern.row_spacing_m) for m in plan.methods},
    )
