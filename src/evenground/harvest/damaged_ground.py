"""Damage walked round in the field, laid over the weighed cuts: which strips it hit, and how much of each."""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from evenground.basis.observations import Damage, current
from evenground.basis.strip import Draw
from evenground.harvest.names import strip_names

# A patch that covers less of a weighed cut than this only touches it: the breadth of a line on the map. Judgement.
LEAST_M2 = 0.5


def located(draw: Draw, damage: Iterable[Damage]) -> tuple[Damage, ...]:
    """Turn damage with an outline into damage of the strips it hit, each with the area of its weighed cut.

    Parameters
    ----------
    draw : Draw
        The strips with the outlines of their weighed cuts.
    damage : iterable of Damage
        All records, corrections included.

    Returns
    -------
    tuple of Damage
        Records that count; one with an outline is one for every weighed cut it covers, none where it misses all.

    Source: intersection of polygons. Shares of a cut do not depend on the plane they are measured in, so the area is
    the share times the cut as laid out.
    """
    out: list[Damage] = []
    for one in current(damage):
        if not one.outline:
            out.append(one)
            continue
        for strip, area_m2 in hit_m2(draw, one).items():
            changes = {"id": f"{one.id} in strip {strip}", "strips": (strip,), "outline": "", "area_m2": area_m2}
            out.append(one.model_copy(update=changes))
    return tuple(out)


def hit_m2(draw: Draw, one: Damage) -> dict[int, float]:
    """Say how much of each weighed cut an outline covers [m2]; strips it misses are not in it.

    Parameters
    ----------
    draw : Draw
        The strips.
    one : Damage
        A record with an outline.
    """
    squeeze = math.cos(math.radians(one.corners[0][1]))
    patch = _plane(one.corners, squeeze)
    found = {}
    for strip in draw.strips:
        cut = _plane(strip.cut_outline, squeeze)
        share = patch.intersection(cut).area / cut.area if cut.area > 0.0 else 0.0
        if share * strip.cut_area_m2 >= LEAST_M2:
            found[strip.strip] = min(share, 1.0) * strip.cut_area_m2
    return found


def outline_notes(draw: Draw, damage: Iterable[Damage]) -> tuple[str, ...]:
    """Say where an outline does not fit the strips: it hits none, or not those the record names.

    Parameters
    ----------
    draw : Draw
        The strips.
    damage : iterable of Damage
        All records, corrections included.
    """
    out = []
    for one in (d for d in current(damage) if d.outline):
        hit = hit_m2(draw, one)
        if not hit:
            out.append(f"damage {one.id} touches no weighed cut; is its outline right, longitude first?")
            continue
        if unnamed := sorted(set(one.strips) - set(hit)):
            text = f"damage {one.id} names strip {strip_names(unnamed)}, and its outline misses the weighed cut there"
            out.append(f"{text}; the outline counts")
    return tuple(out)


def _plane(corners: Iterable[tuple[float, float]], squeeze: float) -> BaseGeometry:
    """Lay corners into a plane in which shares of areas are right; a ring that crosses itself is mended."""
    return shapely.make_valid(Polygon([(lon * squeeze, lat) for lon, lat in corners]))
