"""Sections of the plan that the layout asks for: wishes, unevenness of the ground, effort, the field's history."""

from __future__ import annotations

from math import ceil, sqrt
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.method import Key
from evenground.basis.record import Contradictions, Record
from evenground.basis.weighing_ways import WeighingWay

Text = Annotated[str, Field(max_length=600)]
Metres = Annotated[float, Field(ge=1.0, le=2000.0)]
Heading = Annotated[float, Field(ge=0.0, lt=360.0)]
# What was said about bands across the field: the direction they run in, or that there are none.
Bands = Heading | Literal["not asked", "none", "don't know"]
# What was said about places: drawn in field.geojson, or that there are none.
Places = Literal["not asked", "none", "don't know", "drawn"]

LimitName = Literal["equal_orders", "linear_trend", "quadratic_trend", "edge", "tramline", "covariates"]

DEFAULT_LIMITS: tuple[LimitName, ...] = (
    "tramline",
    "covariates",
    "equal_orders",
    "linear_trend",
    "edge",
    "quadratic_trend",
)
STRIP_ERROR_SOURCE = (
    "own computation on published maize uniformity trials: mostly 2 to 5 % for strips of 30 m and longer"
)
UNEVENNESS_SOURCE = (
    "judgement from own fits to open uniformity trials: reach 9 m in wheat; others have no plot sizes (docs/layout.md)"
)
# Slurry and the like lie in bands along a direction; the others are places.
BAND_KINDS = {
    "slurry": "slurry or digestate bouts",
    "spreader": "spreader bouts",
    "tramlines": "old tramlines",
    "ploughing": "ploughing direction",
    "irrigation": "irrigation lanes",
    "drains": "drains",
}
PLACE_KINDS = {
    "borders": "earlier field or crop borders",
    "trenches": "trenches",
    "heaps": "old heaps",
    "hedges": "hedges or wood beside the field, now or earlier",
}


class Entrance(Record):
    """Section ``[layout.entrance]``: where one drives into the field.

    Attributes
    ----------
    lon, lat : float
        Place, WGS84 [deg].
    text : str
        How to find it, in words.
    """

    lon: Annotated[float, Field(ge=-180.0, le=180.0)]
    lat: Annotated[float, Field(ge=-90.0, le=90.0)]
    text: Text = ""


class LayoutSection(Record):
    """Section ``[layout]``: wishes and limits for the strips.

    Attributes
    ----------
    heading_deg : float or "best"
        Direction of the strips, clockwise from north [deg], or the best one found.
    headland_m : float
        Width kept for turning along the whole boundary [m].
    guard_rows : int
        Unweighed rows on each side of a slot beyond what the harvester cuts [1].
    harvester : str or None
        ``id`` of the harvester; without it the weighed cut is the slot less its guard rows.
    blocks : int or "most"
        How many blocks to lay out, or as many as fit, up to ``most_blocks``.
    most_blocks : int
        Most blocks laid out where ``blocks`` is ``most`` [1].
    shortest_strip_m, widest_strip_m : float
        Shorter strips are not laid out; wider ones only where no narrower one fits the machines [m].
    obstacle_distance_m : float
        Kept clear around every obstacle [m].
    weighing : str
        How the strips will be weighed; what it costs is in the detectable gain.
    samples_per_strip : int
        Dry-matter samples of each strip [1]; 0: one figure for each method, an error all its strips share.
    sprayer_width_m : float or None
        Distance between tramlines that will be driven along the strips [m].
    first_tramline_m : float
        Middle of the first tramline from the left edge of strip 1 [m].
    spreader_width_m : float or None
        Distance between the bouts of a slurry or fertiliser spreader that drives in this season [m].
    spreader_heading_deg : float or "along"
        Direction those bouts run in, clockwise from north [deg], or along the strips.
    first_spreader_bout_m : float
        Middle of the first bout from the left edge of strip 1, where bouts run along the strips [m].
    limits : tuple
        Limits on the order, most important first; each is applied only while the test can still reach its level.
    strip_error_percent, strip_error_source : float, str
        Spread of neighbouring strips sown alike, percent of the mean [%], and where that number comes from.
    seed : int or None
        Seed of the draw; drawn from the machine's randomness if not given.
    fixed_edge : str
        What rows are counted from if all else fails, such as "ditch"; empty: the edge of the first strip.
    fixed_edge_side : {"left", "right"}
        On which side of the strips it lies, looking along the heading.
    entrance : Entrance or None
        Where one drives into the field, for those who come to sow or harvest.
    hazards : tuple of str
        What a stranger must know before driving there: cables, masts, wet holes, a public path.
    """

    heading_deg: Heading | Literal["best"] = "best"
    headland_m: Annotated[float, Field(ge=0.0, le=200.0)] = 18.0
    guard_rows: Annotated[int, Field(ge=0, le=24)] = 1
    harvester: Key | None = None
    blocks: Annotated[int, Field(ge=1, le=60)] | Literal["most"] = "most"
    most_blocks: Annotated[int, Field(ge=1, le=60)] = 10
    shortest_strip_m: Annotated[float, Field(ge=5.0, le=5000.0)] = 60.0
    widest_strip_m: Annotated[float, Field(ge=1.0, le=60.0)] = 24.0
    obstacle_distance_m: Annotated[float, Field(ge=0.0, le=100.0)] = 2.0
    weighing: WeighingWay = "weighbridge"
    samples_per_strip: Annotated[int, Field(ge=0, le=20)] = 1
    sprayer_width_m: Annotated[float, Field(ge=3.0, le=60.0)] | None = None
    first_tramline_m: Annotated[float, Field(ge=-100.0, le=1000.0)] = 0.0
    spreader_width_m: Annotated[float, Field(ge=3.0, le=60.0)] | None = None
    spreader_heading_deg: Heading | Literal["along"] = "along"
    first_spreader_bout_m: Annotated[float, Field(ge=-100.0, le=1000.0)] = 0.0
    limits: tuple[LimitName, ...] = DEFAULT_LIMITS
    strip_error_percent: Annotated[float, Field(gt=0.0, le=40.0)] = 4.0
    strip_error_source: Text = STRIP_ERROR_SOURCE
    seed: Annotated[int, Field(ge=0, le=2**63 - 1)] | None = None
    fixed_edge: Annotated[str, Field(max_length=40)] = ""
    fixed_edge_side: Literal["left", "right"] = "left"
    entrance: Entrance | None = None
    hazards: Annotated[tuple[Text, ...], Field(max_length=20)] = ()


class UnevennessSection(Record):
    """Section ``[unevenness]``: how unlike strips sown alike are, by their size and distance.

    ``layout.strip_error_percent`` is the level, for neighbouring strips of the size named here; these numbers say how
    it changes with width, length and distance.

    Attributes
    ----------
    reach_across_m, reach_along_m : float
        Distance over which likeness falls to 1/e across and along the strips [m].
    patch_share : float
        Share of the strip variance, at the named size, that comes from patches smaller than a strip is wide [1].
    strip_width_m, strip_length_m : float
        Size of strip that ``layout.strip_error_percent`` is meant for [m].
    weighing_percent : float
        Error of one strip's weighing, percent of its mass [%].
    border_step_percent : float
        Spread of steps between neighbouring pieces of a field sown alike, percent of the mean [%].
    source : str
        Where these numbers come from.
    """

    reach_across_m: Metres = 20.0
    reach_along_m: Metres = 20.0
    patch_share: Annotated[float, Field(ge=0.0, le=1.0)] = 0.25
    strip_width_m: Annotated[float, Field(ge=0.5, le=100.0)] = 6.0
    strip_length_m: Annotated[float, Field(ge=5.0, le=5000.0)] = 100.0
    weighing_percent: Annotated[float, Field(ge=0.0, le=20.0)] = 0.5
    border_step_percent: Annotated[float, Field(ge=0.0, le=50.0)] = 8.0
    source: Text = UNEVENNESS_SOURCE


class EffortSection(Record):
    """Section ``[effort]``: what weighing the strips takes. All defaults are common practice, no source.

    Attributes
    ----------
    trailer_t : float
        What one trailer takes [t].
    minutes_per_weighing : float
        How long the harvest chain waits for one weighed load [min].
    chain_cost_per_h : float
        Harvester, trailers and people waiting [money/h].
    """

    trailer_t: Annotated[float, Field(gt=0.1, le=60.0)] = 16.0
    minutes_per_weighing: Annotated[float, Field(ge=0.0, le=120.0)] = 4.0
    chain_cost_per_h: Annotated[float, Field(ge=0.0, le=10_000.0)] = 600.0


class HistorySection(Record):
    """Section ``[history]``: what lies in the ground, asked one by one.

    Bands carry the direction they run in, clockwise from north [deg]; places are drawn in ``field.geojson`` with the
    role ``history``. ``"none"`` and ``"don't know"`` are answers.

    Attributes
    ----------
    slurry, spreader, tramlines, ploughing, irrigation, drains : float or str
        Direction of bands [deg], or ``none``, ``don't know``, ``not asked``.
    borders, trenches, heaps, hedges : str
        ``drawn``, ``none``, ``don't know`` or ``not asked``.
    """

    slurry: Bands = "not asked"
    spreader: Bands = "not asked"
    tramlines: Bands = "not asked"
    ploughing: Bands = "not asked"
    irrigation: Bands = "not asked"
    drains: Bands = "not asked"
    borders: Places = "not asked"
    trenches: Places = "not asked"
    heaps: Places = "not asked"
    hedges: Places = "not asked"


class SecondFieldSection(Record):
    """Section ``[second_field]``: another field of the farm that could carry the same trial beside this one.

    Read for one thing only: what this layout and the best one on that field would see together. It is taken as a
    rectangle with the same headland, machines and unevenness.

    Attributes
    ----------
    name : str
        What it is called.
    area_ha : float or None
        Its area [ha].
    length_m : float or None
        Its longest side [m].
    """

    name: Annotated[str, Field(max_length=80)] = ""
    area_ha: Annotated[float, Field(ge=0.1, le=400.0)] | None = None
    length_m: Annotated[float, Field(ge=20.0, le=5000.0)] | None = None

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.area_ha is None) != (self.length_m is None):
            field = "area_ha" if self.area_ha is None else "length_m"
            message = "a second field needs both its area and the length of its longest side."
            raise Contradictions([(field, "", "a number", message)])
        if self.area_ha is not None and self.length_m is not None and self.length_m**2 < self.area_ha * 1e4 * 0.999:
            least = f"at least {ceil(sqrt(self.area_ha * 1e4))} m"
            message = f"the longest side of {self.area_ha:g} ha is {least}."
            raise Contradictions([("length_m", f"{self.length_m:g}", least, message)])
        return self
