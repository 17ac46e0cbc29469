"""What strips are exposed to: counted by hand, and shared out by the draw."""

from datetime import UTC, datetime

import numpy as np
import pytest
from shapely.geometry import box
from tests.layout import fields

from evenground.basis.field import PointLayer, Zone
from evenground.layout.draw import allowed_set, draw_methods
from evenground.layout.exposure import Exposure, covariates_of, open_sides
from evenground.layout.laid_out import lay_out, make_draw
from evenground.layout.raster import Place

SIX = [Place(1 + i // 2, 6.0 * i, 0.0, 100.0) for i in range(6)]


def test_outermost_strips_and_those_beside_a_gap_stand_open():
    assert open_sides(SIX, 6.0) == ((1.0,), (0.0,), (0.0,), (0.0,), (0.0,), (1.0,))
    gap = [*SIX[:4], Place(3, 30.0, 0.0, 100.0), Place(3, 36.0, 0.0, 100.0)]
    assert [w for (w,) in open_sides(gap, 6.0)] == [1, 0, 0, 1, 1, 1]
    # A neighbour half as long shelters half a side: just enough; a shorter one does not.
    assert open_sides([Place(1, 0.0, 0.0, 100.0), Place(1, 6.0, 0.0, 40.0)], 6.0) == ((2.0,), (1.0,))


def test_tramlines_fall_on_the_methods_alike():
    plan = fields.plan(limits=["tramline"], blocks=12)
    lanes = tuple((float(i % 4 == 0),) for i in range(24))
    got = draw_methods(plan, 12, np.random.default_rng(1), Exposure(tramline=lanes))
    (limit,) = got.limits
    assert (limit.name, limit.applied, limit.weights) == ("tramline", True, lanes)
    on_a = sum(w for (w,), letter in zip(lanes, got.letters, strict=True) if letter == "A")
    assert abs(on_a - 3) <= limit.bound + 1e-9


def test_what_no_strip_differs_in_is_passed_over():
    got = draw_methods(fields.plan(limits=["tramline", "covariates"]), 8, np.random.default_rng(1))
    assert got.limits == ()
    assert got.allowed_orders == 256


def test_soil_zones_and_earlier_yields_become_covariates():
    plane = fields.PLANE
    field = fields.field(box(0, 0, 36, 100))
    zone = Zone("clay", 30.0, plane.to_degrees(box(0, 0, 9, 100)))
    zoned = type(field)(field.boundary, field.obstacles, zones=(zone,))
    x, y = (v.ravel() for v in np.meshgrid(np.arange(1.0, 36, 2), np.arange(5.0, 100, 10)))
    spots = [plane.to_degrees(box(a, b, a + 1e-6, b + 1e-6)).centroid for a, b in zip(x, y, strict=True)]
    layer = PointLayer("yields", tuple(p.x for p in spots), tuple(p.y for p in spots), tuple(10 + (x / 10) ** 2))
    outlines = [box(6 * i, 0, 6 * i + 6, 100) for i in range(6)]
    rows, names, notes = covariates_of(outlines, [1, 1, 2, 2, 3, 3], plane, zoned, [layer, layer])
    assert names == ("clay", "yields")
    clay = np.array(rows)[:, 0]
    # The zone covers strip 1 wholly and half of strip 2.
    assert (clay[1] - clay[2]) / (clay[0] - clay[2]) == pytest.approx(0.5, abs=1e-3)
    assert (np.diff(np.array(rows)[:, 1]) > 0).all()
    assert notes == ()


def test_layers_that_say_nothing_are_left_out_in_words():
    field = fields.field(box(0, 0, 36, 100))
    outlines = [box(6 * i, 0, 6 * i + 6, 100) for i in range(6)]
    zones = tuple(Zone(n, 1.0, fields.PLANE.to_degrees(s)) for n, s in [("all", box(-9, -9, 99, 199)), ("blocks", box(0, 0, 12, 100)), ("a", box(0, 0, 6, 100)), ("a again", box(0, 0, 6, 100))])  # fmt: skip # noqa: E501
    zoned = type(field)(field.boundary, field.obstacles, zones=zones)
    rows, names, notes = covariates_of(outlines, [1, 1, 2, 2, 3, 3], fields.PLANE, zoned, [])
    assert names == ("a",)
    assert len(rows[0]) == 1
    assert [note.split(":")[0] for note in notes] == ["all", "blocks", "a again"]


def test_a_draw_with_covariates_is_balanced_and_read_back():
    plan = fields.plan(heading_deg=0.0, limits=["covariates", "equal_orders"], blocks=9)
    field = fields.field(fields.rectangle(150, 200))
    x, y = (v.ravel() for v in np.meshgrid(np.arange(-70.0, 70, 2), np.arange(-95.0, 95, 10)))
    lon, lat = field.plane._proj(x, y, inverse=True)
    layers = [
        PointLayer(n, tuple(lon), tuple(lat), tuple(z)) for n, z in [("clay", np.sin(x / 9)), ("old", np.cos(x / 5))]
    ]
    laid = lay_out(plan, field, layers=layers)
    assert laid.exposure.names == ("clay", "old")
    draws = [
        make_draw(plan, laid, seed=s, drawn_at=datetime(2025, 3, 1, tzinfo=UTC), plan_hash="0", version="0")
        for s in range(5)
    ]
    limit = next(one for one in draws[0].limits if one.name == "covariates")
    assert limit.applied
    assert all(draw.limits == draws[0].limits for draw in draws)
    for draw in draws:
        whole = allowed_set(type(draw).model_validate_json(draw.model_dump_json()))
        assert len(whole.limits) == sum(one.applied for one in draw.limits)
        rows = {tuple(row) for row in whole.listed().tolist()}
        assert tuple(whole.order.tolist()) in rows
        assert len(rows) == draw.allowed_orders


def test_the_sprayer_of_the_plan_is_heeded():
    plan = fields.plan(heading_deg=0.0, blocks=9, sprayer_width_m=24.0, first_tramline_m=3.0)
    laid = lay_out(plan, fields.field(fields.rectangle(150, 200)))
    # Nine blocks of 12 m: lines at 3, 27, 51, 75 and 99 m from the left edge of strip 1.
    assert [i for i, (n,) in enumerate(laid.exposure.tramline) if n] == [0, 4, 8, 12, 16]
    draw = make_draw(plan, laid, seed=1, drawn_at=datetime(2025, 3, 1, tzinfo=UTC), plan_hash="0", version="0")
    assert draw.limits[0].name == "tramline"
    assert draw.limits[0].applied
    assert draw.smallest_p <= 0.05
