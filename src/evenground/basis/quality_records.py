"""The records of feed value and loss: laboratory values, plants cut by hand, damage, and masses without a scale."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, field_validator, model_validator

from evenground.basis.observed import OfStrips, StripNumbers
from evenground.basis.outlines import Corners, corners_of
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


class CutPlants(OfStrips):
    """Plants cut by hand in a row, one after the other and not chosen: cobs, and the dry matter of whole plants.

    Attributes
    ----------
    plants : int
        Plants cut, all masses belong to all of them [1].
    cobs, cobless_plants : int or None
        Cobs on them, and plants without a cob that counts [1].
    husk : str
        ``without`` or ``with``: whether cobs were weighed in their husks.
    whole_fresh_g, whole_dry_g : float or None
        Whole plants, cobs and husks included, before and after drying [g].
    whole_dry_matter_percent : float or None
        Or the dry matter of a chopped part of them [%].
    cobs_fresh_g, cobs_dry_g : float or None
        Their cobs before and after drying [g].
    cobs_dry_matter_percent : float or None
        Or the dry matter of a part of them [%].
    """

    kind: ClassVar[str] = "cut_plants"
    plants: Annotated[int, Field(ge=1, le=500)] = 10
    cobs: Annotated[int, Field(ge=0, le=2000)] | None = None
    cobless_plants: Annotated[int, Field(ge=0, le=500)] | None = None
    husk: Literal["without", "with"] = "without"
    whole_fresh_g: Annotated[float, Field(gt=0.0, le=500_000.0)] | None = None
    whole_dry_g: Annotated[float, Field(gt=0.0, le=500_000.0)] | None = None
    whole_dry_matter_percent: Annotated[float, Field(ge=8.0, le=99.0)] | None = None
    cobs_fresh_g: Annotated[float, Field(ge=0.0, le=500_000.0)] | None = None
    cobs_dry_g: Annotated[float, Field(ge=0.0, le=500_000.0)] | None = None
    cobs_dry_matter_percent: Annotated[float, Field(ge=8.0, le=99.0)] | None = None

    @model_validator(mode="after")
    def _possible(self) -> Self:
        pairs = (
            ("cobless_plants", "plants", "there are more plants without a cob than plants."),
            ("whole_dry_g", "whole_fresh_g", "dried plants are heavier than fresh ones; were the two swapped?"),
            ("cobs_dry_g", "cobs_fresh_g", "dried cobs are heavier than fresh ones; were the two swapped?"),
            ("cobs_fresh_g", "whole_fresh_g", "the cobs are heavier than the plants they grew on."),
            ("cobs_dry_g", "whole_dry_g", "the dried cobs are heavier than the plants they grew on."),
        )
        faults = []
        for low, high, message in pairs:
            small, large = getattr(self, low), getattr(self, high)
            if small is not None and large is not None and small > large:
                faults.append((low, f"{small:g}", f"at most {large:g} ({high})", message))
        for part in ("whole", "cobs"):
            share = getattr(self, f"{part}_dry_matter_percent")
            if share is not None and getattr(self, f"{part}_dry_g") is not None:
                message = "give either the dried mass or a percentage, not both."
                faults.append((f"{part}_dry_matter_percent", f"{share:g}", "one of the two", message))
        if all(getattr(self, n) is None for n in CUT_PLANT_FIGURES):
            faults.append(("cobs", "", "at least one count or mass", "these plants say nothing."))
        if faults:
            raise Contradictions(faults)
        return self

    @property
    def whole_dry_fraction(self) -> float | None:
        """Dry matter of whole plants [kg/kg]."""
        return _dry_fraction(self.whole_dry_matter_percent, self.whole_fresh_g, self.whole_dry_g)

    @property
    def cobs_dry_fraction(self) -> float | None:
        """Dry matter of the cobs [kg/kg]."""
        return _dry_fraction(self.cobs_dry_matter_percent, self.cobs_fresh_g, self.cobs_dry_g)


CUT_PLANT_FIGURES = ("cobs", "cobless_plants", "whole_fresh_g", "whole_dry_matter_percent", "cobs_fresh_g")


def _dry_fraction(percent: float | None, fresh: float | None, dry: float | None) -> float | None:
    if percent is not None:
        return percent / 100.0
    return None if not fresh or dry is None else dry / fresh


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
    """A damaged or lost patch; ``time`` is when it was seen.

    Attributes
    ----------
    strips : tuple of int
        Strips it lies in; empty where the outline says it.
    outline : str
        Corners walked round the patch, WGS84 [deg]: ``9.1 51.2; 9.2 51.2; 9.2 51.3`` or well-known text.
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
    strips: StripNumbers = ()
    outline: Annotated[str, Field(max_length=100_000)] = ""
    length_m: Annotated[float, Field(gt=0.0, le=5000.0)] | None = None
    area_m2: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    degree_percent: Annotated[float, Field(gt=0.0, le=100.0)] = 100.0
    by_method: Literal["no", "may_be", "unknown"] = "unknown"

    @field_validator("outline")
    @classmethod
    def _is_outline(cls, value: str) -> str:
        if value:
            corners_of(value)
        return value

    @property
    def corners(self) -> Corners:
        """Corners of the outline, longitude and latitude [deg]; empty without one."""
        return corners_of(self.outline) if self.outline else ()

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.length_m is not None and self.area_m2 is not None:
            message = "give the patch either by its length or by its area."
            raise Contradictions([("area_m2", f"{self.area_m2:g}", "length_m or area_m2", message)])
        return self

    @model_validator(mode="after")
    def _somewhere(self) -> Self:
        if not self.strips and not self.outline:
            raise Contradictions([("strips", "", "strip numbers, or an outline", "nothing says where the damage is.")])
        sized = next((n for n in ("length_m", "area_m2") if getattr(self, n) is not None), None)
        if self.outline and sized is not None:
            message = "an outline has its size in it; leave the other size out."
            raise Contradictions([(sized, f"{getattr(self, sized):g}", "no value", message)])
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
