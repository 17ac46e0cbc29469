"""How the stand changed: at three leaves and after the last hoeing, late plants apart, losses by cause."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from evenground.basis.observations import Records, StandCount, current
from evenground.basis.plan import Plan
from evenground.basis.stand_records import LOSS_CAUSES
from evenground.basis.strip import Draw
from evenground.stand.plants import mean_and_error, plants_per_m2, sown_methods

EARLY, LATE = (None, "three_leaves"), ("after_last_hoeing",)


@dataclass(frozen=True)
class StandStages:
    """The stand of one strip, or the mean of the strips of one method.

    Attributes
    ----------
    strip : int or None
        Which strip; None for the mean of a method.
    method : str
        Method as really sown.
    three_leaves : float or None
        Plants at three leaves [1/m2].
    after_last_hoeing : float or None
        Plants after the last hoeing [1/m2].
    late_fraction : float or None
        Share of late plants, two leaves behind, where they were looked for [1].
    lost_per_m2 : dict of str to float
        Plants seen to be lost, by cause [1/m2]; causes without loss left out.
    errors : dict of str to float
        Standard errors of a method's figures, from the spread of its strips; empty for a strip.
    """

    strip: int | None
    method: str
    three_leaves: float | None
    after_last_hoeing: float | None
    late_fraction: float | None
    lost_per_m2: dict[str, float]
    errors: dict[str, float]

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``stages`` of ``stand --json``."""
        return dict(self.__dict__)


def strip_stages(plan: Plan, draw: Draw, records: Records) -> tuple[StandStages, ...]:
    """Say for every counted strip how its stand changed.

    Parameters
    ----------
    plan : Plan
        Methods with their row spacing.
    draw : Draw
        The strips.
    records : Records
        Stand counts and events, corrections included; a count of several strips together is left out.
    """
    sown = sown_methods(draw, records)
    spacing = {m.letter: m.row_pattern.row_spacing_m for m in plan.methods}
    counts = current(records.stand_counts)
    out = []
    for strip in sorted(sown):
        mine = [c for c in counts if c.strips == (strip,) and c.stage != "emerging"]
        if mine:
            out.append(_of_strip(strip, sown[strip], spacing[sown[strip]], mine))
    return tuple(out)


def method_stages(plan: Plan, strips: Sequence[StandStages]) -> tuple[StandStages, ...]:
    """Return the mean of its strips for every method that was counted, in the order of the plan.

    Parameters
    ----------
    plan : Plan
        Names the methods.
    strips : sequence of StandStages
        Of the strips.
    """
    return tuple(
        _of_method(m.letter, mine) for m in plan.methods if (mine := [s for s in strips if s.method == m.letter])
    )


def _of_strip(strip: int, method: str, spacing_m: float, counts: Sequence[StandCount]) -> StandStages:
    looked = [c for c in counts if c.late_plants is not None and c.plants]
    late = sum(c.late_plants or 0 for c in looked) / sum(c.plants for c in looked) if looked else None
    return StandStages(
        strip,
        method,
        _density([c for c in counts if c.stage in EARLY], spacing_m),
        _density([c for c in counts if c.stage in LATE], spacing_m),
        late,
        _lost(counts, spacing_m),
        {},
    )


def _lost(counts: Sequence[StandCount], spacing_m: float) -> dict[str, float]:
    """Add up the losses seen at both stages: each count tells what was lost since the one before [1/m2]."""
    out = dict.fromkeys(LOSS_CAUSES, 0.0)
    for stages in (EARLY, LATE):
        here = [c for c in counts if c.stage in stages]
        length_m = math.fsum(c.length_m * c.rows for c in here)
        for cause, plants in [item for c in here for item in c.lost.items()]:
            out[cause] += plants_per_m2(plants, length_m, 1, spacing_m)
    return {cause: density for cause, density in out.items() if density}


def _density(counts: Sequence[StandCount], spacing_m: float) -> float | None:
    length_m = math.fsum(c.length_m * c.rows for c in counts)
    return plants_per_m2(sum(c.plants for c in counts), length_m, 1, spacing_m) if counts else None


def _of_method(method: str, strips: Sequence[StandStages]) -> StandStages:
    figures: dict[str, Callable[[StandStages], float | None]] = {
        "three_leaves": lambda s: s.three_leaves,
        "after_last_hoeing": lambda s: s.after_last_hoeing,
        "late_fraction": lambda s: s.late_fraction,
    }
    found = {n: mean_and_error([v for s in strips if (v := get(s)) is not None]) for n, get in figures.items()}
    causes = [c for c in LOSS_CAUSES if any(c in s.lost_per_m2 for s in strips)]
    # A strip where nobody saw a loss counts as one without: the same people walked all strips.
    lost = {c: mean_and_error([s.lost_per_m2.get(c, 0.0) for s in strips]) for c in causes}
    errors = {name: error for name, (_, error) in {**found, **lost}.items() if error is not None}
    means = {name: mean for name, (mean, _) in found.items()}
    losses = {c: mean for c, (mean, _) in lost.items() if mean is not None}
    return StandStages(
        None, method, means["three_leaves"], means["after_last_hoeing"], means["late_fraction"], losses, errors
    )
