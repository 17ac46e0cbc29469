"""The records of the crop walk: scores by strip, root pits that are only shown, and mineral nitrogen after harvest."""

from __future__ import annotations

from typing import Annotated, ClassVar, Self

from pydantic import AfterValidator, Field, model_validator

from evenground.basis.observed import OfStrips
from evenground.basis.record import Contradictions

Percent = Annotated[float, Field(ge=0.0, le=100.0)]
Score = Annotated[int, Field(ge=1, le=9)]

SCORED = (
    "ground_cover_percent",
    "crop_height_cm",
    "leaf_rolling",
    "lodged_percent",
    "weeds_percent",
    "diseased_percent",
)
"""What can be scored, in the order in which it is shown."""


def _is_relative(value: str) -> str:
    """Hold a picture's name to a place inside the trial folder, so that the record travels with it."""
    parts = value.replace("\\", "/").split("/")
    if value and (parts[0] == "" or ":" in parts[0] or ".." in parts):
        message = "a picture is named by its place inside the trial folder."
        raise Contradictions([("", value, "a name such as photos/strip-7.jpg", message)])
    return value.replace("\\", "/")


Photo = Annotated[str, Field(max_length=200), AfterValidator(_is_relative)]


class _OfOneStrip(OfStrips):
    """A record that must belong to exactly one strip."""

    @model_validator(mode="after")
    def _one_strip(self) -> Self:
        if len(self.strips) != 1:
            given = "+".join(str(s) for s in self.strips)
            message = "this is taken strip by strip; write one line for each."
            raise Contradictions([("strips", given, "one strip", message)])
        return self

    @property
    def strip(self) -> int:
        """Number of the strip."""
        return self.strips[0]


class Scores(_OfOneStrip):
    """What somebody walking through the crop saw in one strip, judged by eye or with a tape.

    Attributes
    ----------
    hidden : bool
        True where whoever scored knew the strip's number only, not its method.
    ground_cover_percent : float or None
        Share of the ground that green leaves cover, seen from straight above [%].
    crop_height_cm : float or None
        Height of the crop [cm].
    leaf_rolling : int or None
        Score from 1, leaves flat, to 9, leaves rolled up to tubes [1]. Common practice, no source.
    lodged_percent : float or None
        Plants that lean by more than 30 degrees or are broken below the cob [%]. Common practice, no source.
    weeds_percent : float or None
        Share of the ground between the lines that weeds cover [%].
    disease : str
        Which disease; needed with a share.
    diseased_percent : float or None
        Share of the plants that have it [%].
    photo : str
        Picture, by its place inside the trial folder.
    """

    kind: ClassVar[str] = "scores"
    hidden: bool = False
    ground_cover_percent: Percent | None = None
    crop_height_cm: Annotated[float, Field(gt=0.0, le=500.0)] | None = None
    leaf_rolling: Score | None = None
    lodged_percent: Percent | None = None
    weeds_percent: Percent | None = None
    disease: Annotated[str, Field(max_length=80)] = ""
    diseased_percent: Percent | None = None
    photo: Photo = ""

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        faults = []
        if self.diseased_percent is not None and not self.disease:
            faults.append(("disease", "", "its name", "a share of diseased plants means nothing without the disease."))
        if all(getattr(self, name) is None for name in SCORED) and not (self.photo or self.note or self.disease):
            faults.append(("ground_cover_percent", "", "a score, a picture or a note", "this record says nothing."))
        if faults:
            raise Contradictions(faults)
        return self


class RootPit(_OfOneStrip):
    """A pit dug beside the plants of one strip: shown, never part of a verdict.

    Attributes
    ----------
    deepest_root_cm : float or None
        Depth of the deepest root seen [cm].
    grid_count : int or None
        Squares of a grid held to the wall of the pit that have a root in them [1].
    grid_squares : int or None
        Squares of that grid [1].
    grid_square_cm : float or None
        Side of one square [cm].
    photo : str
        Picture, by its place inside the trial folder.
    """

    kind: ClassVar[str] = "root_pits"
    deepest_root_cm: Annotated[float, Field(gt=0.0, le=400.0)] | None = None
    grid_count: Annotated[int, Field(ge=0, le=10_000)] | None = None
    grid_squares: Annotated[int, Field(ge=1, le=10_000)] | None = None
    grid_square_cm: Annotated[float, Field(gt=0.0, le=100.0)] | None = None
    photo: Photo = ""

    @model_validator(mode="after")
    def _possible(self) -> Self:
        faults = []
        if self.grid_count is not None and self.grid_squares is None:
            faults.append(("grid_squares", "", "a number of squares", "a count means nothing without the grid's size."))
        elif self.grid_count is not None and self.grid_squares is not None and self.grid_count > self.grid_squares:
            message = "more squares with roots than squares."
            faults.append(("grid_count", f"{self.grid_count}", f"at most {self.grid_squares}", message))
        if self.deepest_root_cm is None and self.grid_count is None and not (self.photo or self.note):
            faults.append(("deepest_root_cm", "", "a depth, a count, a picture or a note", "this record says nothing."))
        if faults:
            raise Contradictions(faults)
        return self


class MineralNitrogen(OfStrips):
    """Mineral nitrogen left in the ground after harvest, from one mixed sample of a layer.

    Attributes
    ----------
    from_cm, to_cm : float
        Upper and lower end of the layer [cm].
    mineral_n_kg_per_ha : float
        Nitrate and ammonium nitrogen in the layer, as the laboratory reckons it [kg/ha].
    lab : str
        Which laboratory.
    """

    kind: ClassVar[str] = "mineral_nitrogen"
    from_cm: Annotated[float, Field(ge=0.0, le=300.0)] = 0.0
    to_cm: Annotated[float, Field(gt=0.0, le=300.0)]
    mineral_n_kg_per_ha: Annotated[float, Field(ge=0.0, le=1000.0)]
    lab: Annotated[str, Field(max_length=80)] = ""

    @model_validator(mode="after")
    def _downwards(self) -> Self:
        if self.to_cm <= self.from_cm:
            message = "a layer reaches from its upper end down to its lower end; were the two swapped?"
            raise Contradictions([("to_cm", f"{self.to_cm:g}", f"above {self.from_cm:g}", message)])
        return self
