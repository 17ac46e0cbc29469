"""The same trial on another field of the farm: the best layout it would hold, as drawn or from area and length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely.geometry import MultiPolygon, Polygon, box

from evenground.basis.errors import DoesNotFitError
from evenground.basis.field import Field, geodesic_area_m2
from evenground.basis.plan import Plan
from evenground.layout.headings import best_first, search
from evenground.layout.raster import Raster
from evenground.layout.workable import workable_area

NOT_DRAWN = MultiPolygon()


@dataclass(frozen=True, slots=True)
class SecondLayout:
    """The best layout on the other field.

    Attributes
    ----------
    name : str
        What the field is called, with its area.
    blocks : int
        Blocks it holds [1]; 0 where it has no room for one.
    variance : float
        Strip error variance within blocks, added over its blocks [%^2].
    longest_m : float
        Longest strip [m]; 0 without blocks.
    """

    name: str
    blocks: int
    variance: float
    longest_m: float


def second_layout(plan: Plan, rasters: Sequence[Raster], outline: MultiPolygon = NOT_DRAWN) -> SecondLayout | None:
    """Return the best layout that the other field of the farm would hold.

    Answers: what would both fields see together? Its heading, position, width of strips and number of blocks are
    searched as for this one, up to ``most_blocks``, with the headland of this one. A drawn outline goes before area and
    longest side in the plan, which are taken as a rectangle.

    Parameters
    ----------
    plan : Plan
        Section ``[second_field]`` and the headland.
    rasters : sequence of Raster
        Widths of strip that fit the machines.
    outline : MultiPolygon
        The other field where it is drawn, longitude and latitude [deg].

    Returns
    -------
    SecondLayout or None
        None where no second field is named.

    Source: as `evenground.layout.headings.search`.
    """
    other, called = plan.second_field, plan.second_field.name or "a second field"
    if not outline.is_empty:
        name = f"{called} ({geodesic_area_m2(outline) / 1e4:.1f} ha, as drawn)"
        area = _workable(outline, plan.layout.headland_m)
    elif other.area_ha is not None and other.length_m is not None:
        name = f"{called} ({other.area_ha:g} ha, {other.length_m:g} m long)"
        area = _inner(other.area_ha * 1e4 / other.length_m, other.length_m, plan.layout.headland_m)
    else:
        return None
    free = [replace(raster, blocks=None) for raster in rasters]
    best = None if area.is_empty else best_first(search(area, free))[0]
    if best is None or best.blocks == 0:
        return SecondLayout(name, 0, 0.0, 0.0)
    return SecondLayout(name, best.blocks, best.laid.variance, max(place.length_m for place in best.places))


def _workable(outline: MultiPolygon, headland_m: float) -> MultiPolygon:
    try:
        return workable_area(Field(outline, NOT_DRAWN), headland_m)
    except DoesNotFitError:
        return MultiPolygon()


def _inner(width_m: float, length_m: float, headland_m: float) -> MultiPolygon:
    across, along = width_m - 2 * headland_m, length_m - 2 * headland_m
    room: list[Polygon] = [box(0.0, 0.0, across, along)] if min(across, along) > 0 else []
    return MultiPolygon(room)
