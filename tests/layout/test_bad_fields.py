"""Fields and machines at the edge of sense: a clear answer each time, and bounded work."""

from time import perf_counter

import numpy as np
import pytest
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from tests.layout import fields

from evenground.basis.errors import DoesNotFitError
from evenground.basis.field import Field, KeptEdge, PointLayer
from evenground.layout.laid_out import lay_out, workable_area_of
from evenground.layout.runs import Frame


def jagged(corners, radius):
    rng = np.random.default_rng(6)
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    r = radius + rng.normal(0, 0.4, corners)
    return Polygon(np.column_stack((r * np.cos(angle), r * np.sin(angle))))


def test_two_thousand_corners_take_bounded_work():
    start = perf_counter()
    laid = lay_out(fields.plan(most_blocks=10), fields.field(jagged(2000, 130)))
    # Aim 1 s; shared machines may need several times that.
    assert perf_counter() - start < 20.0  # bounded, not fast: the landing machine may be busy
    room = workable_area_of(fields.plan(), fields.field(jagged(2000, 130))).buffer(2e-3)
    frame, width = Frame(laid.heading_deg), laid.slot.width_m
    assert laid.blocks == 10
    assert all(room.covers(frame.rectangle(p.left_m, p.left_m + width, p.low_m, p.high_m)) for p in laid.places)


HOPELESS = {
    "a sliver": (box(0, 0, 3, 2000), {"headland_m": 0}, "does not fit"),
    "headlands wider than the field": (box(0, 0, 100, 100), {"headland_m": 60}, "Nothing is left"),
    "narrower than a block": (box(0, 0, 11, 400), {"headland_m": 0}, "does not fit"),
}


@pytest.mark.parametrize(("shape", "wish", "words"), HOPELESS.values(), ids=HOPELESS)
def test_hopeless_fields_are_answered(shape, wish, words):
    with pytest.raises(DoesNotFitError, match=words) as caught:
        lay_out(fields.plan(**wish), fields.field(shape))
    assert caught.value.nearest


def test_an_obstacle_over_everything_is_answered():
    field = fields.field(box(0, 0, 200, 200), obstacles=[box(-10, -10, 210, 210)])
    with pytest.raises(DoesNotFitError, match="obstacles take up all ground"):
        lay_out(fields.plan(), field)


def test_kept_edges_keep_strips_away_and_may_take_everything():
    base = fields.field(box(0, 0, 200, 200))
    hedge = fields.PLANE.to_degrees(LineString([(0, 0), (0, 200)]))
    plan = fields.plan(heading_deg=0.0, headland_m=6)
    free, kept = (lay_out(plan, Field(base.boundary, base.obstacles, edges)) for edges in [(), (KeptEdge(hedge, 30),)])
    # 188 m less 24 m more beside the hedge (30 m instead of the headland's 6).
    assert (free.blocks, kept.blocks) == (188 // 12, 164 // 12)
    assert min(p.left_m for p in kept.places) - min(p.left_m for p in free.places) == pytest.approx(24, abs=0.02)
    with pytest.raises(DoesNotFitError, match="kept edges take up all ground"):
        lay_out(plan, Field(base.boundary, base.obstacles, (KeptEdge(hedge, 400),)))


def test_a_planter_of_96_m_is_wider_than_any_strip():
    # The widest machine a plan can hold: 48 rows of 2 m. Widths of 0 or 400 m are refused when the plan is read.
    wide = {"id": "wide", "kind": "planter", "rows": 48, "row_spacing_m": 2.0}
    with pytest.raises(DoesNotFitError, match="up to 60 m wide"):
        lay_out(fields.plan(planters=(wide,), harvester=None), fields.field(box(0, 0, 900, 900)))


@pytest.mark.parametrize(("rows", "spacing"), [(0, 0.75), (8, 0.0), (8, 50.0), (600, 0.75)])
def test_machines_of_no_width_or_400_m_are_refused(rows, spacing):
    with pytest.raises(ValueError, match=r"rows|row_spacing_m"):
        fields.plan(planters=({"id": "odd", "kind": "planter", "rows": rows, "row_spacing_m": spacing},))


def test_ten_thousand_points_with_a_hole_are_shared_out_quickly():
    rng = np.random.default_rng(9)
    field = fields.field(box(0, 0, 150, 220))
    x, y = rng.uniform(0, 150, 10_000), rng.uniform(0, 220, 10_000)
    there = ~((x > 60) & (x < 72))
    lon, lat = field.plane._proj(x[there] - 75, y[there] - 110, inverse=True)
    layer = PointLayer("old yields", tuple(lon), tuple(lat), tuple(8 + x[there] / 50))
    start = perf_counter()
    laid = lay_out(fields.plan(heading_deg=0.0, headland_m=6), field, layers=[layer])
    assert perf_counter() - start < 20.0  # bounded, not fast: the landing machine may be busy
    assert laid.exposure.names == ("old yields",)
    assert any("too few points in" in note for note in laid.exposure.notes)


def test_many_parts_and_holes_are_bounded():
    dots = [Point(20 + 40 * i, 20 + 40 * j).buffer(2, quad_segs=4) for i in range(7) for j in range(7)]
    field = fields.field(box(0, 0, 300, 300).difference(MultiPolygon(dots)))
    start = perf_counter()
    try:
        laid = lay_out(fields.plan(headland_m=2, shortest_strip_m=30, most_blocks=10), field)
    except DoesNotFitError as error:
        assert error.nearest  # noqa: PT017 - an answer too
    else:
        assert laid.blocks > 0
    assert perf_counter() - start < 12.0
