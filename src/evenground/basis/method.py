"""Methods, row patterns and machines: the records of what is compared and what it is sown and cut with."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.record import Contradictions, Record

Letter = Annotated[str, Field(pattern=r"^[A-Z]$", description="one capital letter")]
Key = Annotated[str, Field(min_length=1, max_length=60, description="a short name used to refer to it")]


# kind: what it is called, what its own width is, and that width in a sentence
_KINDS = {
    "twin": ("twin row", "the distance between its two lines in metres", "gap of the twin row"),
    "band": ("band", "the width over which its seeds are spread in metres", "width of the band"),
}


# Row spacing a header is taken to be for where none is said. Common practice, no source.
_USUAL_ROW_M = 0.75


class RowPattern(Record):
    """How the lines of plants lie: single rows, pairs of lines, or bands on the row spacing.

    Attributes
    ----------
    kind : {"single", "twin", "band"}
        Single rows, twin rows (two lines to a row), or seeds spread over the width of a band.
    row_spacing_m : float
        Distance between row centres [m].
    twin_gap_m : float or None
        Distance between the two lines of a twin row [m]; only for twin rows.
    staggered : bool
        Whether the plants of the second line stand at half spacing against the first.
    band_width_m : float or None
        Width over which the seeds of a row are spread [m]; only for bands.
    """

    kind: Literal["single", "twin", "band"] = "single"
    row_spacing_m: Annotated[float, Field(ge=0.1, le=2.0)] = 0.75
    twin_gap_m: Annotated[float, Field(ge=0.02, le=0.6)] | None = None
    staggered: bool = False
    band_width_m: Annotated[float, Field(ge=0.02, le=2.0)] | None = None

    @model_validator(mode="after")
    def _gap_fits(self) -> Self:
        faults = [*_width_faults(self, "twin", "twin_gap_m"), *_width_faults(self, "band", "band_width_m")]
        if faults:
            raise Contradictions(faults)
        return self

    @property
    def lines_per_row(self) -> int:
        """Lines of plants on one row centre [1]."""
        return 2 if self.kind == "twin" else 1


def _width_faults(pattern: RowPattern, kind: str, field: str) -> list[tuple[str, str, str, str]]:
    """Return what is wrong with the width that belongs to one kind of row, as field, given, allowed, message."""
    width: float | None = getattr(pattern, field)
    called, meaning, said = _KINDS[kind]
    given = "" if width is None else f"{width:g}"
    if pattern.kind == kind and width is None:
        allowed = f"0.02 to less than the row spacing of {pattern.row_spacing_m:g} m"
        return [(field, given, allowed, f"a {called} needs {field}, {meaning}.")]
    if pattern.kind != kind and width is not None:
        return [(field, given, "no value", f"{field} belongs to {called}s only; set kind to {kind} or take it out.")]
    if width is not None and width >= pattern.row_spacing_m:
        return [(field, given, f"below {pattern.row_spacing_m:g}", f"the {said} must be smaller than the row spacing.")]
    return []


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
    header_width_m : float or None
        Width of a header that cuts rows whichever way they stand [m]; for harvesters only, and in place of
        ``rows`` and ``row_spacing_m``. It weighs as many whole rows as it holds.
    metering_limit_per_s : float or None
        Kernels a second beyond which a metering unit misses, from its handbook [1/s].
    hopper : {"central", "per_row", "per_line"}
        One seed hopper for all, one for each row, or one for each line of a twin row.
    hopper_l : float or None
        Volume of that hopper, each [l].
    starter_tank_l : float or None
        Volume of the starter tank [l].
    starter_hoses : int or None
        Bands of starter side by side [1]; None: one for each row.
    starter_beside_cm, starter_below_cm : float or None
        Place of the band against the seed [cm]; both 0 is with the seed, None is not said.
    wheel_circumference_m : float or None
        Way of one turn of the wheel that drives the metering, measured in the field [m].
    wheel_rows : tuple of int
        Row units that run in a wheel track, counted from the left; empty where it is not said.
    turning_radius_m : float
        Radius of the tightest turn it makes without reversing, tractor included [m]; common practice, no source.
    """

    id: Key
    kind: Literal["planter", "forage_harvester", "combine"]
    rows: Annotated[int, Field(ge=1, le=48)]
    row_spacing_m: Annotated[float, Field(ge=0.1, le=2.0)]
    header_width_m: Annotated[float, Field(ge=0.5, le=20.0)] | None = None
    metering_limit_per_s: Annotated[float, Field(ge=1.0, le=200.0)] | None = None
    hopper: Literal["central", "per_row", "per_line"] = "per_row"
    hopper_l: Annotated[float, Field(ge=1.0, le=20_000.0)] | None = None
    starter_tank_l: Annotated[float, Field(ge=1.0, le=50_000.0)] | None = None
    starter_hoses: Annotated[int, Field(ge=1, le=96)] | None = None
    starter_beside_cm: Annotated[float, Field(ge=0.0, le=40.0)] | None = None
    starter_below_cm: Annotated[float, Field(ge=0.0, le=30.0)] | None = None
    wheel_circumference_m: Annotated[float, Field(ge=0.3, le=10.0)] | None = None
    wheel_rows: tuple[Annotated[int, Field(ge=1, le=48)], ...] = ()
    turning_radius_m: Annotated[float, Field(ge=1.0, le=30.0)] = 7.0

    @model_validator(mode="before")
    @classmethod
    def _rows_of_header(cls, data: object) -> object:
        """Fill in the usual number of rows where only the width of a header is said."""
        if not isinstance(data, dict) or not isinstance(data.get("header_width_m"), int | float) or "rows" in data:
            return data
        spacing = data.get("row_spacing_m", _USUAL_ROW_M)
        fits = isinstance(spacing, int | float) and spacing > 0
        rows = int(data["header_width_m"] / spacing + 1e-9) if fits else 1
        return {**data, "rows": max(1, rows), "row_spacing_m": spacing}

    @model_validator(mode="after")
    def _header_cuts(self) -> Self:
        if self.header_width_m is not None and self.kind == "planter":
            message = "a planter has rows, not a header; take it out."
            raise Contradictions([("header_width_m", f"{self.header_width_m:g}", "no value", message)])
        return self

    @model_validator(mode="after")
    def _rows_there(self) -> Self:
        beyond = [n for n in self.wheel_rows if n > self.rows]
        if beyond or len(set(self.wheel_rows)) != len(self.wheel_rows):
            message = "a row behind a wheel is one of the machine's rows, named once."
            given = ", ".join(map(str, self.wheel_rows))
            raise Contradictions([("wheel_rows", given, f"1 to {self.rows}, each once", message)])
        return self

    @property
    def working_width_m(self) -> float:
        """Width covered by one pass [m]."""
        return self.rows * self.row_spacing_m if self.header_width_m is None else self.header_width_m


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
    target_plants_per_m2 : float or None
        Plants wanted; None where only the seeds are said [1/m2].
    depth_cm : float
        Sowing depth [cm].
    depth_reason : str
        Why this depth.
    speed_km_per_h : float
        Driving speed while sowing [km/h].
    starter_kg_per_ha : float
        Starter fertiliser [kg/ha]; 0 for none.
    expected_emergence_fraction : float
        Share of seeds expected to become plants [1].
    extra_cost_per_ha : float
        Costs beyond the baseline that are neither seed nor machine [money/ha]; may be negative.
    strips_per_block : int
        Strips of it in every block [1]; more than one where another method's machine sows less.
    """

    letter: Letter
    name: Annotated[str, Field(min_length=1, max_length=80)]
    baseline: bool = False
    machine: Key
    row_pattern: RowPattern = RowPattern()
    seeds_per_m2: Annotated[float, Field(ge=2.0, le=20.0)]
    target_plants_per_m2: Annotated[float, Field(ge=1.0, le=20.0)] | None = None
    depth_cm: Annotated[float, Field(ge=1.0, le=12.0)] = 5.0
    depth_reason: Annotated[str, Field(max_length=600)] = ""
    speed_km_per_h: Annotated[float, Field(ge=1.0, le=20.0)] = 8.0
    starter_kg_per_ha: Annotated[float, Field(ge=0.0, le=500.0)] = 0.0
    expected_emergence_fraction: Annotated[float, Field(ge=0.3, le=1.0)] = 0.93
    extra_cost_per_ha: Annotated[float, Field(ge=-2000.0, le=2000.0)] = 0.0
    strips_per_block: Annotated[int, Field(ge=1, le=4)] = 1
