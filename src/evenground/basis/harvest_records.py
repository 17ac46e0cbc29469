"""The records of harvest day: what went into a trailer, what a scale said, what was sampled and what was measured."""

from __future__ import annotations

import re
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, field_validator, model_validator

from evenground.basis.observed import Observation, OfStrips
from evenground.basis.record import Contradictions

Name = Annotated[str, Field(max_length=40)]
Gap = Annotated[float, Field(gt=0.0, le=3.0)]

# A weighing that names this instead of a load was of something else: another field, straw, a neighbour's trailer.
OTHER_LOAD = "other"

WAYS = ("weighbridge", "pads", "mixer_wagon", "other")


class Load(OfStrips):
    """What went into one trailer.

    Attributes
    ----------
    trailer : str
        Which trailer.
    order : int or None
        Number of the load in the day, counted in the field [1]; a gap betrays a load that was not written down.
    part : str
        ``cut`` is weighed for the comparison; ``headland`` and ``opening`` loads are weighed but do not count.
    split_fraction : float or None
        For a load of two strips: measured share of the strip named first [1].
    split_sd_fraction : float or None
        How far that share may be off, standard deviation [1].
    """

    kind: ClassVar[str] = "loads"
    trailer: Name = ""
    order: Annotated[int, Field(ge=1, le=9999)] | None = None
    part: Literal["cut", "headland", "opening"] = "cut"
    split_fraction: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None
    split_sd_fraction: Annotated[float, Field(gt=0.0, le=0.5)] | None = None

    @model_validator(mode="after")
    def _split_of_two(self) -> Self:
        if self.split_fraction is not None and len(self.strips) != 2:
            message = "a split says how one load divides between two strips."
            given = "+".join(str(s) for s in self.strips)
            raise Contradictions([("strips", given, "two strips, such as 7+8", message)])
        if self.split_sd_fraction is not None and self.split_fraction is None:
            message = "an error of the split is given but not the split."
            raise Contradictions([("split_fraction", "", "a share between 0 and 1", message)])
        return self


class Weighing(Observation):
    """What a scale said: a loaded trailer, an empty one, both, or a net mass.

    Attributes
    ----------
    load : str or None
        ``id`` of the load on the scale, or ``other`` for something that is not of this trial; without it the weighing
        is joined by trailer and time.
    scale : str
        Which scale.
    slip : str
        Number on the slip.
    trailer : str
        Which trailer stood on the scale.
    cumulative : bool
        True where the trailer was not emptied since its last reading: only what was added counts.
    slip_net_kg : float or None
        Net mass as printed, where the slip gives nothing else [kg].
    gross_kg : float or None
        Loaded mass [kg].
    tare_kg : float or None
        Empty mass [kg]; alone it is an empty weighing of the trailer.
    """

    kind: ClassVar[str] = "weighings"
    load: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    scale: Name = ""
    slip: Name = ""
    trailer: Name = ""
    cumulative: bool = False
    slip_net_kg: Annotated[float, Field(gt=0.0, le=80_000.0)] | None = None
    gross_kg: Annotated[float, Field(gt=0.0, le=80_000.0)] | None = None
    tare_kg: Annotated[float, Field(ge=0.0, le=40_000.0)] | None = None

    @model_validator(mode="after")
    def _something_on_it(self) -> Self:
        if self.gross_kg is None and self.tare_kg is None and self.slip_net_kg is None:
            message = "this weighing has no mass."
            raise Contradictions([("gross_kg", "", "gross_kg, tare_kg, both, or slip_net_kg", message)])
        if self.gross_kg is not None and self.tare_kg is not None and self.gross_kg <= self.tare_kg:
            message = "gross mass is not above the tare; were the two swapped?"
            raise Contradictions(
                [("gross_kg", f"{self.gross_kg:g}", f"above the tare of {self.tare_kg:g} kg", message)]
            )
        if self.cumulative and (self.gross_kg is None or self.tare_kg is not None):
            message = "a cumulative reading is a gross mass without a tare of its own."
            raise Contradictions([("cumulative", "true", "gross_kg alone", message)])
        return self

    @property
    def is_empty_trailer(self) -> bool:
        """Whether only the empty trailer was weighed."""
        return self.gross_kg is None and self.slip_net_kg is None

    @property
    def net_kg(self) -> float | None:
        """Fresh mass by this slip alone [kg]; None where it needs a tare or an earlier reading."""
        if self.gross_kg is not None and self.tare_kg is not None:
            return self.gross_kg - self.tare_kg
        return self.slip_net_kg if self.gross_kg is None else None


class Scale(Observation):
    """What is known of a scale: how it weighs, in what steps, and what it said of a known mass.

    Attributes
    ----------
    scale : str
        Name as it stands in the weighings.
    way : str
        ``weighbridge``, ``pads`` (portable, under the wheels), ``mixer_wagon`` or ``other``.
    resolution_kg : float or None
        Step of its display [kg].
    known_kg, reading_kg : float or None
        A known mass and what the scale said of it [kg].
    """

    kind: ClassVar[str] = "scales"
    scale: Annotated[str, Field(min_length=1, max_length=40)]
    way: Literal["weighbridge", "pads", "mixer_wagon", "other"] = "weighbridge"
    resolution_kg: Annotated[float, Field(gt=0.0, le=1000.0)] | None = None
    known_kg: Annotated[float, Field(gt=0.0, le=80_000.0)] | None = None
    reading_kg: Annotated[float, Field(gt=0.0, le=80_000.0)] | None = None

    @model_validator(mode="after")
    def _both(self) -> Self:
        if (self.known_kg is None) != (self.reading_kg is None):
            missing = "known_kg" if self.known_kg is None else "reading_kg"
            raise Contradictions([(missing, "", "both or neither", "a check needs the known mass and the reading.")])
        return self


class CutArea(OfStrips):
    """The weighed cut as measured: rows, length, spacings.

    Attributes
    ----------
    rows : int
        Rows cut [1]; a twin row is one row.
    length_m : float
        Length cut [m].
    row_spacing_m : float or None
        Measured mean distance between rows of one pass [m]; without it the method's nominal one counts.
    joints : tuple of float
        Measured joints between passes inside the cut [m], written ``0.78+0.71``.
    left_gap_m, right_gap_m : float or None
        From the outermost row cut to the next row left standing [m]; without it the row spacing counts.
    """

    kind: ClassVar[str] = "cut_areas"
    rows: Annotated[int, Field(ge=1, le=96)]
    length_m: Annotated[float, Field(gt=0.0, le=5000.0)]
    row_spacing_m: Gap | None = None
    joints: Annotated[tuple[Gap, ...], Field(max_length=12)] = ()
    left_gap_m: Gap | None = None
    right_gap_m: Gap | None = None

    @field_validator("joints", mode="before")
    @classmethod
    def _read_joints(cls, value: object) -> object:
        if not isinstance(value, str):
            return value
        parts = [p.replace(",", ".") for p in re.split(r"[+;/\s]+", value.strip()) if p]
        wrong = [p for p in parts if not re.fullmatch(r"\d+(\.\d+)?", p)]
        if wrong:
            raise Contradictions([("", wrong[0], "metres such as 0.78+0.71", f"{wrong[0]} is not a distance.")])
        return tuple(float(p) for p in parts)

    @model_validator(mode="after")
    def _joints_inside(self) -> Self:
        if len(self.joints) > self.rows - 1:
            message = "there are more joints than gaps between the rows cut."
            raise Contradictions([("joints", f"{len(self.joints)}", f"at most {self.rows - 1}", message)])
        return self


class Stubble(OfStrips):
    """Cutting height, measured in the stubble after harvest.

    Attributes
    ----------
    height_cm : float
        Height of one stub or mean of several [cm].
    stubs : int
        How many stubs were measured [1].
    """

    kind: ClassVar[str] = "stubble"
    height_cm: Annotated[float, Field(gt=0.0, le=150.0)]
    stubs: Annotated[int, Field(ge=1, le=1000)] = 1


class Sample(OfStrips):
    """A dry-matter (or grain moisture) sample and the strips it stands for.

    Attributes
    ----------
    wet_g, dry_g : float or None
        Oven masses before and after drying [g].
    dry_matter_percent : float or None
        Or the percentage itself [%]; grain: 100 minus moisture.
    taken : str or None
        ``scoop`` or ``hand``, from the tipped heap; ``chute`` or ``sensor`` at the harvester; ``plants`` cut by hand.
    scoops : int or None
        Scoops mixed into the sample [1].
    bags : int or None
        Closed bags filled from the mix [1].
    dried : str or None
        ``oven``, ``microwave``, ``meter`` (moisture meter) or ``lab``.
    dried_by : str
        Who dried it, or the laboratory.
    hours_to_dry : float or None
        From taking to drying or freezing [h].
    calibration : str
        For a sensor: a name that changes with every recalibration.
    """

    kind: ClassVar[str] = "samples"
    wet_g: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    dry_g: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    dry_matter_percent: Annotated[float, Field(ge=8.0, le=99.0)] | None = None
    taken: Literal["scoop", "hand", "chute", "sensor", "plants"] | None = None
    scoops: Annotated[int, Field(ge=1, le=200)] | None = None
    bags: Annotated[int, Field(ge=1, le=20)] | None = None
    dried: Literal["oven", "microwave", "meter", "lab"] | None = None
    dried_by: Annotated[str, Field(max_length=80)] = ""
    hours_to_dry: Annotated[float, Field(ge=0.0, le=2000.0)] | None = None
    calibration: Annotated[str, Field(max_length=40)] = ""

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        oven = self.wet_g is not None and self.dry_g is not None
        either = "wet_g and dry_g, or dry_matter_percent"
        if not oven and self.dry_matter_percent is None:
            raise Contradictions([("dry_matter_percent", "", either, "this sample says nothing about dry matter.")])
        if (self.wet_g is not None or self.dry_g is not None) and self.dry_matter_percent is not None:
            message = "give either oven masses or a percentage, not both."
            raise Contradictions([("dry_matter_percent", f"{self.dry_matter_percent:g}", either, message)])
        if self.wet_g is not None and self.dry_g is not None and self.dry_g >= self.wet_g:
            message = "the dried sample is not lighter than the wet one; were the two swapped?"
            raise Contradictions([("dry_g", f"{self.dry_g:g}", f"below the wet mass of {self.wet_g:g} g", message)])
        return self

    @property
    def dry_matter_fraction(self) -> float:
        """Dry matter per fresh matter [kg/kg]."""
        if self.wet_g is not None and self.dry_g is not None:
            return self.dry_g / self.wet_g
        assert self.dry_matter_percent is not None  # the validator above holds this
        return self.dry_matter_percent / 100.0
