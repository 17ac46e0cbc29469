"""The records of feed value and loss: laboratory values, damage, and masses without a scale."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.observed import OfStrips
from evenground.basis.record import Contradictions

Percent = Annotated[float, Field(ge=0.0, le=100.0)]
Text = Annotated[str, Field(max_length=80)]


class LabValue(OfStrips):
    """What a laboratory found in a sample, per kilogram of dry matter.

    Attributes
    ----------
    lab : str
        Which laboratory.
    lab_method : str
        How it was found, such as wet chemistry or near infrared.
    starch_percent, fibre_percent, protein_percent : float or None
        Starch, aNDFom and crude protein in the dry matter [%].
    digestibility_percent : float or None
        Digestibility of the organic matter [%].
    energy_mj_per_kg : float or None
        Energy in the dry matter [MJ/kg].
    energy_system, energy_edition : str
        Energy system and its edition as the laboratory names them; needed with an energy.
    """

    kind: ClassVar[str] = "lab_values"
    lab: Annotated[str, Field(min_length=1, max_length=80)]
    lab_method: Text = ""
    starch_percent: Percent | None = None
    fibre_percent: Percent | None = None
    protein_percent: Percent | None = None
    digestibility_percent: Percent | None = None
    energy_mj_per_kg: Annotated[float, Field(gt=0.0, le=25.0)] | None = None
    energy_system: Text = ""
    energy_edition: Text = ""

    @model_validator(mode="after")
    def _energy_has_a_system(self) -> Self:
        if self.energy_mj_per_kg is not None:
            absent = [n for n in ("energy_system", "energy_edition") if not getattr(self, n)]
            if absent:
                message = "an energy means nothing without its system and the edition of that system."
                raise Contradictions([(n, "", "as the laboratory's sheet names it", message) for n in absent])
        return self


DAMAGE_CAUSES = (
    "boar",
    "deer",
    "crows",
    "hail",
    "lodging",
    "wet_hole",
    "missed_spraying",
    "header_loss",
    "lodged_cobs",
    "other",
)


class Damage(OfStrips):
    """A damaged or lost patch.

    Attributes
    ----------
    cause : str
        ``boar``, ``deer``, ``crows``, ``hail``, ``lodging``, ``wet_hole``, ``missed_spraying``, ``header_loss``,
        ``lodged_cobs`` or ``other``.
    length_m : float or None
        Length along the strip [m], over the whole width of the cut.
    area_m2 : float or None
        Or the area of the patch within the weighed cut of each strip [m2].
    degree_percent : float
        How much of the crop there was lost [%].
    by_method : str
        Whether the method may have caused it: ``no``, ``may_be`` or ``unknown``; only ``no`` can ever be left out.
    """

    kind: ClassVar[str] = "damage"
    cause: Literal[
        "boar",
        "deer",
        "crows",
        "hail",
        "lodging",
        "wet_hole",
        "missed_spraying",
        "header_loss",
        "lodged_cobs",
        "other",
    ]
    length_m: Annotated[float, Field(gt=0.0, le=5000.0)] | None = None
    area_m2: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    degree_percent: Annotated[float, Field(gt=0.0, le=100.0)] = 100.0
    by_method: Literal["no", "may_be", "unknown"] = "unknown"

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.length_m is not None and self.area_m2 is not None:
            message = "give the patch either by its length or by its area."
            raise Contradictions([("area_m2", f"{self.area_m2:g}", "length_m or area_m2", message)])
        return self


class MassEstimate(OfStrips):
    """The fresh mass of a strip where no trailer went over a scale.

    Attributes
    ----------
    way : str
        ``counter``: what the harvester's counter said; ``trailers``: volume of counted trailers; ``hand_cut``: rows cut
        and weighed by hand.
    mass_kg : float or None
        What the counter said, or the mass cut by hand [kg].
    volume_m3 : float or None
        Volume in the trailers [m3], for ``trailers``.
    loads : int
        Trailers counted into the volume [1].
    rows : int or None
        Rows cut by hand [1].
    length_m : float or None
        Length of row cut by hand [m].
    calibration : str
        Name that changes with every recalibration of the counter.
    """

    kind: ClassVar[str] = "mass_estimates"
    way: Literal["counter", "trailers", "hand_cut"]
    mass_kg: Annotated[float, Field(gt=0.0, le=1_000_000.0)] | None = None
    volume_m3: Annotated[float, Field(gt=0.0, le=10_000.0)] | None = None
    loads: Annotated[int, Field(ge=1, le=1000)] = 1
    rows: Annotated[int, Field(ge=1, le=96)] | None = None
    length_m: Annotated[float, Field(gt=0.0, le=5000.0)] | None = None
    calibration: Annotated[str, Field(max_length=40)] = ""

    @model_validator(mode="after")
    def _complete(self) -> Self:
        needed = {"counter": ("mass_kg",), "trailers": ("volume_m3",), "hand_cut": ("mass_kg", "rows", "length_m")}
        absent = [n for n in needed[self.way] if getattr(self, n) is None]
        if absent:
            raise Contradictions([(n, "", "a value", f"{self.way} needs {n}.") for n in absent])
        return self
