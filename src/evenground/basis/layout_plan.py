"""Sections of the plan that only the layout asks for: unevenness of the ground, effort, and the field's history."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from evenground.basis.record import Record

Text = Annotated[str, Field(max_length=600)]
Metres = Annotated[float, Field(ge=1.0, le=2000.0)]
Heading = Annotated[float, Field(ge=0.0, lt=360.0)]
# What was said about bands across the field: the direction they run in, or that there are none.
Bands = Heading | Literal["not asked", "none", "don't know"]
# What was said about places: drawn in field.geojson, or that there are none.
Places = Literal["not asked", "none", "don't know", "drawn"]

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
