"""What the plan says about the season: the place's air, the hybrid's earliness, the soil and its water."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.record import Contradictions, Record

Said = Annotated[str, Field(max_length=600)]
Water = Annotated[float, Field(gt=0.0, lt=100.0)]
EarlinessGroup = Literal["very_early", "early", "mid_early_flint_dent", "mid_early_dent", "mid_late", "late"]
Texture = Literal[
    "sand", "loamy_sand", "sandy_loam", "loam", "silt_loam", "silt", "silty_clay_loam", "silty_clay", "clay"
]
Days = Annotated[int, Field(ge=5, le=150)]
HeatSum = Annotated[float, Field(gt=0.0, le=4000.0)]

# FAO-56 Table 11 (p. 106): maize sown in April, Spain and California.
STAGE_DAYS = (30, 40, 50, 30)


class SeasonSection(Record):
    """Section ``[season]``: what the weather and the hybrid's needs are read with.

    Attributes
    ----------
    altitude_m : float or None
        Height of the field above the sea [m]; without it 100 m is taken and said.
    wind_height_m : float
        Height at which the station measures the wind [m].
    coast : bool
        Whether the field lies by the sea; used where radiation is estimated from temperature.
    dew_point_below_min_c : float
        How far the dew point lies below the day's minimum where humidity is estimated [deg C]; 0, in dry places 2 to 3.
    earliness : str
        Maturity label of the hybrid, kept as given and never converted.
    earliness_group : str or None
        Row of the table of heat needs; without it and without own sums no stage after the leaves is forecast.
    flowering_heat_sum, silage_heat_sum : tuple of float or None
        Own heat needs from sowing to flowering and to 32 % dry matter, lowest and highest [deg C d, base 6].
    stage_days : tuple of int
        Days from sowing to the end of each of the four stages' own length: initial, development, mid, late [d].
    """

    altitude_m: Annotated[float, Field(ge=-430.0, le=5000.0)] | None = None
    wind_height_m: Annotated[float, Field(ge=0.5, le=100.0)] = 2.0
    coast: bool = False
    dew_point_below_min_c: Annotated[float, Field(ge=0.0, le=6.0)] = 0.0
    earliness: Annotated[str, Field(max_length=80)] = ""
    earliness_group: EarlinessGroup | None = None
    flowering_heat_sum: tuple[HeatSum, HeatSum] | None = None
    silage_heat_sum: tuple[HeatSum, HeatSum] | None = None
    stage_days: tuple[Days, Days, Days, Days] = STAGE_DAYS

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        faults = []
        for name in ("flowering_heat_sum", "silage_heat_sum"):
            pair = getattr(self, name)
            if pair is not None and pair[0] > pair[1]:
                message = "the lowest sum is above the highest."
                faults.append((name, f"{pair[0]:g}, {pair[1]:g}", "lowest first", message))
        if self.flowering_heat_sum and self.silage_heat_sum and self.flowering_heat_sum[1] >= self.silage_heat_sum[0]:
            message = "32 % dry matter needs more heat than flowering."
            given = f"{self.silage_heat_sum[0]:g}"
            faults.append(("silage_heat_sum", given, f"above {self.flowering_heat_sum[1]:g}", message))
        if faults:
            raise Contradictions(faults)
        return self


class SoilWater(Record):
    """What a soil holds: a texture of the table, or own values.

    Attributes
    ----------
    texture : str or None
        Row of the texture table; its middle values are used.
    field_capacity_percent, wilting_point_percent : float or None
        Own values, share of the volume [%]; they go before the texture.
    root_depth_m : float
        Greatest depth the roots reach [m]; 1.0 is the lower end of FAO-56 Table 22 (1.0 to 1.7 m).
    start_fraction : float
        Share of the available water that is there on sowing day [1]; 1: full after winter, common practice, no source.
    """

    texture: Texture | None = None
    field_capacity_percent: Water | None = None
    wilting_point_percent: Water | None = None
    root_depth_m: Annotated[float, Field(ge=0.3, le=2.5)] = 1.0
    start_fraction: Annotated[float, Field(ge=0.0, le=1.0)] = 1.0

    @model_validator(mode="after")
    def _holds_water(self) -> Self:
        high, low = self.field_capacity_percent, self.wilting_point_percent
        if (high is None) != (low is None):
            missing = "field_capacity_percent" if high is None else "wilting_point_percent"
            message = "field capacity and wilting point go together."
            raise Contradictions([(missing, "", "both or neither", message)])
        if high is not None and low is not None and high <= low:
            message = "field capacity is not above the wilting point; were the two swapped?"
            raise Contradictions([("field_capacity_percent", f"{high:g}", f"above {low:g}", message)])
        return self

    @property
    def said(self) -> bool:
        """Whether anything is said that a water balance can be made of."""
        return self.texture is not None or self.field_capacity_percent is not None


class SoilZone(SoilWater):
    """One soil zone, section ``[[soil.zones]]``.

    Attributes
    ----------
    zone : str
        What to call it.
    strips : tuple of int
        Strips that lie mainly in it.
    """

    zone: Annotated[str, Field(min_length=1, max_length=40)]
    strips: Annotated[tuple[Annotated[int, Field(ge=1, le=9999)], ...], Field(min_length=1)]


class SoilSection(SoilWater):
    """Section ``[soil]``: the soil of the field, and zones that differ from it.

    Attributes
    ----------
    zones : tuple of SoilZone
        Strips not named in any zone have the soil of the section.
    source : str
        Who says so: map, laboratory, own digging.
    """

    zones: Annotated[tuple[SoilZone, ...], Field(max_length=20)] = ()
    source: Said = ""

    @model_validator(mode="after")
    def _strips_once(self) -> Self:
        seen: dict[int, str] = {}
        faults = []
        for i, zone in enumerate(self.zones):
            for strip in zone.strips:
                if strip in seen:
                    message = f"strip {strip} stands in two zones, {seen[strip]} and {zone.zone}."
                    faults.append((f"zones[{i}].strips", f"{strip}", "each strip in one zone", message))
                seen[strip] = zone.zone
        if faults:
            raise Contradictions(faults)
        return self

    def of_strip(self, strip: int) -> tuple[str, SoilWater]:
        """Return the zone of a strip ("" for the section itself) and its soil.

        Parameters
        ----------
        strip : int
            Number of the strip.
        """
        return next(((z.zone, z) for z in self.zones if strip in z.strips), ("", self))
