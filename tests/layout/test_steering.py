"""What is drawn in the ground steers the choice among layouts that see equally well."""

from datetime import UTC, datetime
from time import process_time

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import LineString, Point, box
from tests.layout import fields

from evenground.basis.field import Field, Trace
from evenground.layout.headings import NEARLY, apart_deg, best_first, search
from evenground.layout.history import findings
from evenground.layout.laid_out import lay_out, make_draw, rasters_of, workable_area_of
from evenground.layout.runs import Frame
from evenground.layout.steering import traces_of

SQUARE = fields.rectangle(260, 260)


def with_traces(shape, *traces):
    bare = fields.field(shape)
    drawn = tuple(Trace(kind, fields.PLANE.to_degrees(what)) for kind, what in traces)
    return Field(bare.boundary, bare.obstacles, history=drawn)


def drawn(plan, field):
    laid = lay_out(plan, field)
    when = datetime(2025, 3, 1, tzinfo=UTC)
    return laid, make_draw(plan, laid, seed=1, drawn_at=when, plan_hash="0", version="0")


def said(plan, field, kind):
    _, draw = drawn(plan, field)
    return next(one for one in findings(plan, field, draw) if one.kind == kind)


@pytest.mark.parametrize(
    ("kind", "width_m"), [("slurry", 7.0), ("borders", 9.0), ("drains", 0.0)], ids=["band", "border", "line"]
)
def test_among_equals_a_layout_that_a_drawn_band_hits_is_left(kind, width_m):
    """A round field sees much the same at every heading; the band lies in one strip of the layout taken without it."""
    plan, shape = fields.plan(most_blocks=8), Point(0, 0).buffer(150)
    free = lay_out(plan, fields.field(shape))
    frame, place = Frame(free.heading_deg), free.places[7]
    band = frame.rectangle(place.left_m, place.left_m + width_m, -200, 200)
    middle = frame.rectangle(place.left_m + 3.0, place.left_m + 3.01, -200, 200)
    line = LineString([middle.exterior.coords[0], middle.exterior.coords[2]])
    field = with_traces(shape, (kind, band if width_m else line))
    (taken,) = [
        one for one in search(workable_area_of(plan, field), rasters_of(plan)) if one.heading_deg == free.heading_deg
    ]
    assert traces_of(field).hit(taken) > 0
    laid, draw = drawn(plan, field)
    assert not any(one.against for one in findings(plan, field, draw))
    assert laid.chosen.detectable_t_per_ha <= NEARLY * free.chosen.detectable_t_per_ha


def test_a_band_as_wide_as_a_block_may_lie_along_it():
    """Strips run along the band, which is three blocks wide; each block lies wholly in it or out of it."""
    plan = fields.plan(heading_deg=0.0, most_blocks=6)
    shape, band = fields.rectangle(150, 300), box(-57, -150, -21, 150)
    assert said(plan, with_traces(shape, ("borders", band)), "borders").state == "alike"


def test_strips_are_moved_sideways_clear_of_a_narrow_band():
    """Six blocks of 12 m in 114 m of room: some places of the first strip leave the band between two blocks' strips."""
    plan = fields.plan(heading_deg=0.0, blocks=6)
    shape, band = fields.rectangle(150, 300), box(-16.0, -150, -4.0, 150)
    assert said(plan, with_traces(shape, ("heaps", band)), "heaps").state == "alike"


def test_what_covers_no_strip_changes_nothing():
    plan = fields.plan(most_blocks=8)
    outside = with_traces(SQUARE, ("trenches", box(-130, -130, -125, 130)))
    assert lay_out(plan, outside).heading_deg == lay_out(plan, fields.field(SQUARE)).heading_deg


def test_blocks_are_counted_as_the_findings_count_them():
    rng = np.random.default_rng(4)
    plan, shape = fields.plan(heading_deg=0.0, most_blocks=8), fields.rectangle(150, 300)
    free = fields.field(shape)
    laid, draw = drawn(plan, free)
    found = [one for one in search(workable_area_of(plan, free), rasters_of(plan)) if one.heading_deg == 0.0]
    best = best_first(found)[0]
    assert laid.places == best.places
    for _ in range(20):
        at, width = rng.uniform(-60, 40), rng.uniform(2, 30)
        field = with_traces(shape, ("heaps", box(at, -60, at + width, 90)))
        (finding,) = [one for one in findings(plan, field, draw) if one.kind == "heaps"]
        assert traces_of(field).hit(best) == len(finding.blocks)


def test_a_layout_that_sees_clearly_less_is_not_taken_for_a_band():
    """Across the band strips would be 100 m long only: the gain in sight goes first, and the band is said."""
    plan = fields.plan(most_blocks=10)
    long_field = with_traces(fields.rectangle(160, 600), ("slurry", box(-14.0, -300, -10.0, 300)))
    laid, _ = drawn(plan, long_field)
    assert apart_deg(laid.heading_deg, 0.0) < 15.0


def test_bands_that_cross_and_overlap_count_once():
    """Pieces are made disjoint: two bands over each other cover no more than one, whatever else crosses them."""
    plan, shape = fields.plan(heading_deg=0.0, most_blocks=8), fields.rectangle(150, 300)
    laid, draw = drawn(plan, fields.field(shape))
    (best,) = [
        one
        for one in search(workable_area_of(plan, fields.field(shape)), rasters_of(plan))
        if (one.heading_deg, one.places) == (0.0, laid.places)
    ]
    rng = np.random.default_rng(11)
    for _ in range(12):
        bands = [
            affinity.rotate(box(at, -200, at + width, 200), turn, origin=(0, 0))
            for at, width, turn in zip(
                rng.uniform(-80, 60, 6), rng.uniform(1, 25, 6), rng.choice([0, 2, 45, 90], 6), strict=True
            )
        ]
        field = with_traces(shape, *(("slurry", band) for band in bands))
        (finding,) = [one for one in findings(plan, field, draw) if one.kind == "slurry"]
        assert traces_of(field).hit(best) == len(finding.blocks)


@pytest.mark.parametrize("radius_m", [126, 300])
def test_many_bands_do_not_make_the_search_slow(radius_m):
    """60 crossing bands: the work is bounded. Some 0.3 to 1.5 s here; ten times that for slow machines."""
    lines = [box(at, -400, at + 4, 400) for at in np.linspace(-radius_m, radius_m, 20)]
    bands = [("slurry", affinity.rotate(line, turn, origin=(0, 0))) for line in lines for turn in (10, 70, 130)]
    started = process_time()
    laid = lay_out(fields.plan(most_blocks=10), with_traces(Point(0, 0).buffer(radius_m), *bands))
    assert laid.blocks == 10
    assert process_time() - started < 15.0
