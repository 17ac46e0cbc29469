"""Methods, row patterns and machines: the records of what is compared and what it is sown and cut with."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.record import Contradictions, Record

Letter = Annotated[str, Field(pattern=r"^[A-Z]$", description="one capital letter")]
Key = Annotated[str, Field(min_length=1, max_length=60, description="a short name used to refer to it")]


class RowPattern(Record):
    """How the lines of plants lie: single rows, or pairs of lines on the row spacing.

    Attributes
    ----------
    kind : {"single", "twin"}
        Single rows, or twin rows (two lines to a row).
    row_spacing_m : float
        Distance between row centres [m].
    twin_gap_m : float or None
        Distance between the two lines of a twin row [m]; only for twin rows.
    staggered : bool
        Whether the plants of the second line stand at half spacing against the first.
    """

    kind: Literal["single", "twin"] = "single"
    row_spacing_m: Annotated[float, Field(ge=0.1, le=2.0)] = 0.75
    twin_gap_m: Annotated[float, Field(ge=0.02, le=0.6)] | None = None
    staggered: bool = False

    @model_validator(mode="after")
    def _gap_fits(self) -> Self:
        gap, given = self.twin_gap_m, "" if self.twin_gap_m is None else f"{self.twin_gap_m:g}"
        message = allowed = ""
        if self.kind == "twin" and gap is None:
            message = "a twin row needs twin_gap_m, the distance between its two lines in metres."
            allowed = f"0.02 to less than the row spacing of {self.row_spacing_m:g} m"
        elif self.kind == "single" and gap is not None:
            message, allowed = "twin_gap_m belongs to twin rows only; set kind to twin or take it out.", "no value"
        elif gap is not None and gap >= self.row_spacing_m:
            message = "the gap of the twin row must be smaller than the row spacing."
            allowed = f"below {self.row_spacing_m:g}"
        if message:
            raise Contradictions([("twin_gap_m", given, allowed, message)])
        return self

    @property
    def lines_per_row(self) -> int:
        """Lines of plants on one row centre [1]."""
        return 2 if self.kind == "twin" else 1


class Machine(Record):
    """A planter or a harvester, as far as strips depend on it.

    Attributes
    ----------
    id : str
        Name used in the methods and in ``layout.harvester``.
    kind : {"planter", "forage_harvester", "combine"}
        What it does.
    rows : int
        Rows sown or cut in one pass.
    row_spacing_m : float
        Distance between row centres [m]; rows times row spacing is the working width.
    """

    id: Key
    kind: Literal["planter", "forage_harvester", "combine"]
    rows: Annotated[int, Field(ge=1, le=48)]
    row_spacing_m: Annotated[float, Field(ge=0.1, le=2.0)]

    @property
    def working_width_m(self) -> float:
        """Width covered by one pass [m]."""
        return self.rows * self.row_spacing_m


class Method(Record):
    """One way of sowing.

    Attributes
    ----------
    letter : str
        Capital letter the strips carry.
    name : str
        What the farm calls it.
    baseline : bool
        Whether this is what the farm does now; exactly one method of a trial is.
    machine : str
        ``id`` of the planter.
    row_pattern : RowPattern
        Lines of plants.
    seeds_per_m2 : float
        Seeds set [1/m2].
    depth_cm : float
        Sowing depth [cm].
    speed_km_per_h : float
        Driving speed while sowing [km/h].
    starter_kg_per_ha : float
        Starter fertiliser [kg/ha]; 0 for none.
    expected_emergence_fraction : float
        Share of seeds expected to become plants [1].
    extra_cost_per_ha : float
        Costs beyond the baseline that are neither seed nor machine [money/ha]; may be negative.
    """

    letter: Letter
    name: Annotated[str, Field(min_length=1, max_length=80)]
    baseline: bool = False
    machine: Key
    row_pattern: RowPattern = RowPattern()
    seeds_per_m2: Annotated[float, Field(ge=2.0, le=20.0)]
    depth_cm: Annotated[float, Field(ge=1.0, le=12.0)] = 5.0
    speed_km_per_h: Annotated[float, Field(ge=1.0, le=20.0)] = 8.0
    starter_kg_per_ha: Annotated[float, Field(ge=0.0, le=500.0)] = 0.0
    expected_emergence_fraction: Annotated[float, Field(ge=0.3, le=1.0)] = 0.93
    extra_cost_per_ha: Annotated[float, Field(ge=-2000.0, le=2000.0)] = 0.0
