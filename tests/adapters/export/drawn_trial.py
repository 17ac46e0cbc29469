"""An invented drawn trial on a field with a corner cut out, a hole and an obstacle, and ways to compare shapes."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from tests.layout import fields

from evenground.adapters.export.layers import layers
from evenground.basis.canonical import plan_hash
from evenground.basis.field import geodesic_area_m2
from evenground.basis.strip import Draw, Strip

# Position: one centimetre, as asked for. Area: what a centimetre along a strip's whole edge would change.
POSITION_M = 0.01
DRAWN_AT = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
HEADING = 28.0
# Across and along the strips [m]: blocks 1 and 2 from the left, a gap of 12 m, blocks 3 and 4.
OUTLINE = Polygon([(-150, -170), (150, -170), (150, 60), (60, 60), (60, 190), (-150, 190)])
HOLE, OBSTACLE = box(0, 0, 15, 15), box(100, -100, 110, -90)
LEFTS = (-132, -126, -120, -114, -96, -90, -84, -78)
LETTERS = "ABBAABBA"


def plan(letters="AB", **layout):
    """Two or more methods, 8-row planter and 6-row harvester (both 0.75 m), 18 m headland."""
    wishes = {
        "heading_deg": HEADING,
        "blocks": 4,
        "seed": 5,
        "entrance": {"lon": 9.4995, "lat": 51.4987, "text": "gate on the north lane"},
        "hazards": ["power line over the east corner"],
        **layout,
    }
    found = fields.plan(letters, **wishes)
    people = found.people.model_copy(update={"phones": ("Farm: 000 000",)})
    methods = [m.model_copy(update={"starter_kg_per_ha": 110.0, "seeds_per_m2": 8.5}) for m in found.methods]
    return found.model_copy(update={"people": people, "methods": tuple(methods)})


def _turned(shape):
    """A shape given across and along the strips, as longitude and latitude."""
    middle = OUTLINE.difference(HOLE).centroid
    centred = affinity.translate(shape, -middle.x, -middle.y)
    return affinity.rotate(centred, -HEADING, origin=(0, 0))


@cache
def field():
    return fields.field(_turned(OUTLINE.difference(HOLE)), obstacles=[_turned(OBSTACLE)])


def draw(the_plan=None, letters=LETTERS, *, slot_m=6.0):
    """Eight strips of 6 m, each a metre shorter than the one before; cuts of 4.5 m, 0.75 m in."""
    strips = []
    for k, (left, letter) in enumerate(zip(LEFTS, letters, strict=True)):
        low, high = -152.0 + k, 172.0
        whole, cut = box(left, low, left + slot_m, high), box(left + 0.75, low, left + slot_m - 0.75, high)
        one = Strip(
            strip=k + 1,
            block=k // 2 + 1,
            method=letter,
            width_m=slot_m,
            length_m=high - low,
            area_m2=whole.area,
            cut_width_m=slot_m - 1.5,
            cut_length_m=high - low,
            cut_area_m2=cut.area,
            outline=_ring(whole),
            cut_outline=_ring(cut),
        )
        strips.append(one)
    return Draw(
        number=1,
        drawn_at=DRAWN_AT,
        seed=5,
        allowed_orders=8,
        smallest_p=0.25,
        plan_hash=plan_hash(the_plan or plan()),
        version="0.1.0",
        heading_deg=HEADING,
        strips=tuple(strips),
    )


def many_strips(blocks):
    """The same field full of strips of 2 m, two to a block."""
    drawn = draw()
    one, strips = drawn.strips[0], []
    for k in range(2 * blocks):
        shape = _ring(box(-132 + 2 * k, -152, -130 + 2 * k, 60))
        place = {"strip": k + 1, "block": k // 2 + 1, "method": "ABBA"[k % 4], "outline": shape, "cut_outline": shape}
        strips.append(one.model_copy(update=place))
    return drawn.model_copy(update={"strips": tuple(strips)})


def _ring(shape):
    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(field().plane.to_degrees(_turned(shape))))


@cache
def all_layers():
    return layers(plan(), field(), draw())


def metres(shape):
    """The shape in the metric plane of the field."""
    return field().plane.to_metres(shape)


def assert_same_place(found, wanted):
    """Nowhere farther than a centimetre apart, corner by corner both ways, and of the same size."""
    one, two = metres(found), metres(wanted)
    assert shapely.hausdorff_distance(one, two) < POSITION_M
    if wanted.geom_type.endswith("Polygon"):
        there = sum(geodesic_area_m2(p) for p in parts(found))
        meant = sum(geodesic_area_m2(p) for p in parts(wanted))
        assert abs(there - meant) < POSITION_M * two.length
    if isinstance(wanted, LineString):
        ends = shapely.get_coordinates(one)[[0, -1]] - shapely.get_coordinates(two)[[0, -1]]
        assert np.hypot(*ends.T).max() < POSITION_M


def parts(shape):
    return list(shape.geoms) if isinstance(shape, MultiPolygon) else [shape]
