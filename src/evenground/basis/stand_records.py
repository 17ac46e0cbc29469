"""The records of the stand: plants counted, where they stand in the line, and how deep the seed lies."""

from __future__ import annotations

import re
import statistics
from itertools import pairwise
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, field_validator, model_validator

from evenground.basis.observed import OfStrips
from evenground.basis.record import Contradictions

RowUnit = Annotated[int, Field(ge=1, le=48)]
PlantsLost = Annotated[int, Field(ge=0, le=100_000)]
Reading = Annotated[float, Field(ge=0.0, le=50_000.0)]
LOSS_CAUSES = ("crows", "boar", "wireworm", "crust", "hoe", "other")
# Between plants of one line: the usual gap of a run lies within these, in its unit. Judgement.
_LIKELY_GAP = {"cm": (1.0, 300.0), "m": (0.01, 3.0)}
_READING = re.compile(r"\d+(?:[.,]\d+)?(?:e-\d+)?")


class StandCount(OfStrips):
    """Plants counted along a measured length.

    Attributes
    ----------
    row_unit : int or None
        Row unit of the planter, counted from the left.
    length_m : float
        Length counted along the row [m].
    rows : int
        Rows counted together [1]; a twin row is one row.
    plants : int
        Plants counted, late ones included [1].
    stage : str or None
        When in the crop's life: ``emerging`` (counted again and again while the crop comes up), ``three_leaves``,
        ``after_last_hoeing``; None for a count that does not say, taken as one at three leaves.
    late_plants : int or None
        How many of ``plants`` are two leaves behind [1]; None where nobody looked.
    lost_crows, lost_boar, lost_wireworm, lost_crust, lost_hoe, lost_other : int
        Plants seen to be lost on this length, by cause; they are not in ``plants`` [1].
    """

    kind: ClassVar[str] = "stand_counts"
    row_unit: RowUnit | None = None
    length_m: Annotated[float, Field(gt=0.0, le=500.0)]
    rows: Annotated[int, Field(ge=1, le=48)] = 1
    plants: Annotated[int, Field(ge=0, le=100_000)]
    stage: Literal["emerging", "three_leaves", "after_last_hoeing"] | None = None
    late_plants: Annotated[int, Field(ge=0, le=100_000)] | None = None
    lost_crows: PlantsLost = 0
    lost_boar: PlantsLost = 0
    lost_wireworm: PlantsLost = 0
    lost_crust: PlantsLost = 0
    lost_hoe: PlantsLost = 0
    lost_other: PlantsLost = 0

    @model_validator(mode="after")
    def _late_are_plants(self) -> Self:
        if self.late_plants is not None and self.late_plants > self.plants:
            message = "more late plants than plants; late plants are counted in plants too."
            raise Contradictions([("late_plants", f"{self.late_plants}", f"at most {self.plants}", message)])
        return self

    @property
    def lost(self) -> dict[str, int]:
        """Plants lost by cause, causes without loss left out [1]."""
        found = {cause: int(getattr(self, f"lost_{cause}")) for cause in LOSS_CAUSES}
        return {cause: plants for cause, plants in found.items() if plants}


class SpacingRun(OfStrips):
    """Where the plants of one line stand, as a tape along it reads them.

    Attributes
    ----------
    row_unit : int or None
        Row unit of the planter, counted from the left.
    run : str
        Name that holds together the two lines of a twin row measured beside each other.
    line : int
        Line of a twin row, 1 or 2; 1 for single rows.
    offset_cm : float
        How far along the row this line's tape begins after the tape of line 1 [cm]; 0 where both share one start.
    reads : str
        ``positions`` from the start of the tape, rising, or ``gaps`` from plant to plant.
    unit : str
        Unit of the readings, ``cm`` or ``m``.
    readings : tuple of float
        The readings in walking order, written in one cell with spaces between them [unit].
    """

    kind: ClassVar[str] = "spacing_runs"
    row_unit: RowUnit | None = None
    run: Annotated[str, Field(max_length=40)] = ""
    line: Annotated[int, Field(ge=1, le=2)] = 1
    offset_cm: Annotated[float, Field(ge=-1000.0, le=1000.0)] = 0.0
    reads: Literal["positions", "gaps"] = "positions"
    unit: Literal["cm", "m"] = "cm"
    readings: Annotated[tuple[Reading, ...], Field(min_length=2, max_length=2000)]

    @field_validator("readings", mode="before")
    @classmethod
    def _read_readings(cls, value: object) -> object:
        if not isinstance(value, str):
            return value
        parts = [p for p in re.split(r"[;+/|\s]+|,\s+", value.strip()) if p]
        if len(parts) == 1:
            message = "a lone reading says nothing about spacing."
            raise Contradictions([("", parts[0], "two readings or more, with spaces between them", message)])
        wrong = [p for p in parts if not _READING.fullmatch(p)]
        if wrong:
            message = f"{wrong[0]} is not a reading; readings stand in one cell with spaces between them."
            raise Contradictions([("", wrong[0], "numbers such as 14.5 29 43.5 (or 14,5 29 43,5)", message)])
        return tuple(float(p.replace(",", ".")) for p in parts)

    @model_validator(mode="after")
    def _tape_runs_on(self) -> Self:
        if self.reads == "positions":
            for before, here in pairwise(self.readings):
                if here < before:
                    message = "the tape goes back or starts again; write the second stretch as a run of its own."
                    given, allowed = f"{here:g} after {before:g}", "readings that rise from plant to plant"
                    raise Contradictions([("readings", given, allowed, message)])
        return self

    @model_validator(mode="after")
    def _one_unit(self) -> Self:
        gaps = self.readings if self.reads == "gaps" else [b - a for a, b in pairwise(self.readings)]
        found = sorted(gap for gap in gaps if gap > 0.0)
        if not found:
            return self
        said, meant = ("centimetres", "metres") if self.unit == "cm" else ("metres", "centimetres")
        usual = statistics.median_high(found) if self.unit == "cm" else statistics.median_low(found)
        if not _LIKELY_GAP[self.unit][0] <= usual <= _LIKELY_GAP[self.unit][1]:
            message = f"the gaps look like {meant}, the unit says {said}."
            raise Contradictions([("unit", self.unit, "the unit the readings were written in", message)])
        odd = [gap for gap in found if _other_unit(gap, usual, self.unit)]
        if odd:
            message = f"a gap looks like {meant} among readings in {said}."
            raise Contradictions([("readings", f"{odd[0]:.4g}", f"all readings in {said}", message)])
        return self


def _other_unit(gap: float, usual: float, unit: str) -> bool:
    """Say whether a gap is as long as the usual one if it is read in the other unit, and far from it as it stands."""
    other = gap * 100.0 if unit == "cm" else gap / 100.0
    return 0.5 * usual <= other <= 1.5 * usual and not usual / 20.0 <= gap <= 20.0 * usual


class Depth(OfStrips):
    """How deep one seed or plant was found.

    Attributes
    ----------
    row_unit : int or None
        Row unit of the planter, counted from the left.
    depth_cm : float
        From the seed to the surface of the closed soil [cm].
    """

    kind: ClassVar[str] = "depths"
    row_unit: RowUnit | None = None
    depth_cm: Annotated[float, Field(ge=0.0, le=20.0)]


class MeasuredJoint(OfStrips):
    """Distance between the outer rows of two neighbouring passes, measured once the rows can be seen.

    Attributes
    ----------
    strips : tuple of int
        One strip (``7``) for a joint between two passes inside it, two neighbours (``7+8``) for the one between them.
    joint : int
        Which joint inside the strip, counted from its left side [1]; 1 between two strips.
    joint_m : float
        From row centre to row centre [m].
    """

    kind: ClassVar[str] = "joints"
    joint: Annotated[int, Field(ge=1, le=24)] = 1
    joint_m: Annotated[float, Field(gt=0.0, le=3.0)]

    @model_validator(mode="after")
    def _between_neighbours(self) -> Self:
        if len(self.strips) > 2 or (len(self.strips) == 2 and abs(self.strips[0] - self.strips[1]) != 1):
            given = "+".join(str(s) for s in self.strips)
            message = "a joint lies inside one strip or between two neighbours."
            raise Contradictions([("strips", given, "one strip, or two neighbours such as 7+8", message)])
        return self
