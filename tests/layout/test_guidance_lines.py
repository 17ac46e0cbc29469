"""Lines and marks: a pass in the middle of its width, nothing outside the field, distances a tape would find."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry import box as upright
from tests.adapters.export import drawn_trial as trial
from tests.layout import fields

from evenground.basis.errors import DoesNotFitError, InputError
from evenground.layout.guidance import cut_lines, headland, headland_passes, sowing_lines
from evenground.layout.marks import MARK_CAUTIONS, marks
from evenground.layout.turned_field import to_edge_m, turned_field

# Places are computed in one plane from coordinates with all digits: what is left is rounding and, for directions, the
# 20 m between the centre of the outline and that of the plane.
NEAR_M = 0.002


@pytest.fixture(scope="module")
def turned():
    return turned_field(trial.field(), trial.draw())


def test_turned_strips_stand_upright_where_they_were_drawn(turned):
    """Across and along the strips the drawn trial has whole metres; only the origin differs."""
    shift = turned.boxes[0].left_m - trial.LEFTS[0]
    for box, left in zip(turned.boxes, trial.LEFTS, strict=True):
        assert box.left_m - shift == pytest.approx(left, abs=NEAR_M)
        assert box.right_m - box.left_m == pytest.approx(6.0, abs=NEAR_M)
        assert box.cut_left_m - box.left_m == pytest.approx(0.75, abs=NEAR_M)
        assert box.high_m - box.low_m == pytest.approx(box.strip.length_m, abs=NEAR_M)


def test_one_sowing_line_a_pass_in_its_middle(turned):
    """A strip of 6 m is one pass of 8 rows at 0.75 m; its line runs 3 m in, from one end to the other."""
    lines = sowing_lines(trial.plan(), turned)
    assert [(line.strip, line.pass_in_strip) for line in lines] == [(n, 1) for n in range(1, 9)]
    for line, box in zip(lines, turned.boxes, strict=True):
        assert line.across_m == pytest.approx(box.left_m + 3.0, abs=NEAR_M)
        assert trial.metres(LineString([line.a, line.b])).length == pytest.approx(box.strip.length_m, abs=NEAR_M)


def test_a_planter_that_no_longer_fits_the_strips_is_not_sent_into_the_next_one(turned):
    """Strips of 6 m, drawn for 8 rows of 0.75 m; now 6 rows come: one pass of 4.5 m leaves two rows unsown."""
    plan = trial.plan()
    machines = [m.model_copy(update={"rows": 6}) if m.kind == "planter" else m for m in plan.machines]
    with pytest.raises(InputError, match=r"sows 4\.5 m a pass.*6 m wide") as caught:
        sowing_lines(plan.model_copy(update={"machines": tuple(machines)}), turned)
    assert len(caught.value.problems) == 2  # one for each method


def test_a_walked_strip_a_hand_too_narrow_still_takes_its_pass(turned):
    """A walked outline of 5.8 m is the pass of 6 m that was driven: less than a row of 0.75 m off."""
    boxes = tuple(replace(b, strip=b.strip.model_copy(update={"width_m": 5.8})) for b in turned.boxes)
    assert len(sowing_lines(trial.plan(), replace(turned, boxes=boxes))) == 8


@pytest.mark.parametrize(("header_m", "passes", "pass_m"), [(4.6, 1, 4.5), (1.9, 3, 1.5), (0.8, 6, 0.75)])
def test_a_header_in_metres_is_driven_over_the_whole_rows_it_holds(turned, header_m, passes, pass_m):
    """A cut of 4.5 m is six rows of 0.75 m: a header of 1.9 m holds two of them, so three passes 1.5 m apart."""
    plan = trial.plan()
    machines = [m if m.kind == "planter" else m.model_copy(update={"header_width_m": header_m}) for m in plan.machines]
    lines = [
        line for line in cut_lines(plan.model_copy(update={"machines": tuple(machines)}), turned) if line.strip == 1
    ]
    assert [line.width_m for line in lines] == [pass_m] * passes
    across = [line.across_m for line in lines]
    assert np.diff(across) == pytest.approx([pass_m] * (passes - 1), abs=NEAR_M)
    assert across[0] - pass_m / 2 == pytest.approx(turned.boxes[0].cut_left_m, abs=NEAR_M)


@pytest.mark.parametrize(("rows", "passes"), [(8, 1), (4, 2), (2, 4)])
def test_passes_fill_the_strip_without_overlap(rows, passes):
    plan = trial.plan()
    machine = plan.machines[0].model_copy(update={"rows": rows})
    plan = plan.model_copy(update={"machines": (machine, *plan.machines[1:])})
    turned = turned_field(trial.field(), trial.draw())
    lines = [line for line in sowing_lines(plan, turned) if line.strip == 3]
    assert len(lines) == passes
    middle = np.array([line.across_m for line in lines]) - turned.boxes[2].left_m
    assert middle == pytest.approx((np.arange(passes) + 0.5) * rows * 0.75, abs=NEAR_M)


def test_a_pass_keeps_its_true_width_in_a_strip_it_does_not_fill():
    """A planter of 7 rows (5.25 m) in a strip of 6 m: one pass in the middle, 0.375 m free on either side."""
    plan = trial.plan()
    machine = plan.machines[0].model_copy(update={"rows": 7})
    plan = plan.model_copy(update={"machines": (machine, *plan.machines[1:])})
    turned = turned_field(trial.field(), trial.draw())
    line = sowing_lines(plan, turned)[0]
    assert line.width_m == pytest.approx(5.25)
    assert line.across_m == pytest.approx(turned.boxes[0].left_m + 3.0, abs=NEAR_M)


@settings(max_examples=40, deadline=None)
@given(heading=st.floats(0.0, 359.0), left=st.floats(-60.0, 50.0), length=st.floats(20.0, 200.0))
def test_lines_lie_in_the_middle_of_their_strip_at_any_heading(heading, left, length):
    """A strip laid anywhere in a round field, at any heading: its line is as long, and 3 m from both long sides."""
    round_field = fields.field(Point(0, 0).buffer(300))
    plane = round_field.plane
    shape = affinity.rotate(upright(left, -length / 2, left + 6.0, length / 2), -heading, origin=(0, 0))
    ring = tuple((float(x), float(y)) for x, y in shapely.get_coordinates(plane.to_degrees(shape)))
    place = {"outline": ring, "cut_outline": ring, "length_m": length}
    one = trial.draw().strips[0].model_copy(update=place)
    drawn = trial.draw().model_copy(update={"heading_deg": heading, "strips": (one,)})
    (line,) = sowing_lines(trial.plan(), turned_field(round_field, drawn))
    driven = plane.to_metres(LineString([line.a, line.b]))
    assert driven.length == pytest.approx(length, abs=NEAR_M)
    sides = sorted(shapely.distance(driven.centroid, LineString(pair)) for pair in pairwise(shape.exterior.coords))
    assert sides[:2] == pytest.approx([3.0, 3.0], abs=NEAR_M)
    assert driven.within(shape.buffer(NEAR_M))


def test_cut_lines_follow_the_harvester_or_the_middle(turned):
    lines = cut_lines(trial.plan(), turned)
    assert {line.machine for line in lines} == {"cutter"}
    assert [line.width_m for line in lines] == pytest.approx([4.5] * 8, abs=NEAR_M)
    plan = trial.plan()
    alone = plan.model_copy(update={"layout": plan.layout.model_copy(update={"harvester": None})})
    assert {line.machine for line in cut_lines(alone, turned)} == {""}


def test_a_lies_at_the_start_and_the_line_has_the_heading(turned):
    """The direction of A to B is the heading; Geod (PROJ) is the outside judge. 300 m of line: 0.01 deg is 5 cm."""
    import pyproj

    for line in sowing_lines(trial.plan(), turned):
        azimuth, _, _ = pyproj.Geod(ellps="WGS84").inv(*line.a, *line.b)
        assert azimuth % 360 == pytest.approx(trial.HEADING, abs=0.01)


def test_headland_is_what_lies_between_edge_and_workable_area():
    """A square of 200 m with a headland of 18 m: 200^2 - 164^2 m2."""
    square = fields.field(fields.rectangle(200, 200))
    shape = square.plane.to_metres(headland(square, 18.0))
    assert shape.area == pytest.approx(200**2 - 164**2, rel=1e-6)
    assert headland(square, 0.0).is_empty
    with pytest.raises(DoesNotFitError):
        headland(square, 101.0)


def test_headland_rounds_lie_half_a_width_apart_from_the_edge():
    """18 m of headland are three rounds of 6 m: 3, 9 and 15 m from the edge of a square of 200 m."""
    square = fields.field(fields.rectangle(200, 200))
    rounds = headland_passes(trial.plan(), square)
    lengths = [square.plane.to_metres(one.line).length for one in rounds]
    assert lengths == pytest.approx([4 * (200 - 2 * d) for d in (3, 9, 15)], rel=1e-6)
    assert [one.number for one in rounds] == [1, 2, 3]


def test_marks_stand_on_corners_and_neighbours_share_theirs(turned):
    """Ends are a metre apart from strip to strip at the start, level at the far end: there neighbours share."""
    found = marks(trial.plan(), turned)
    assert [m.number for m in found] == list(range(1, len(found) + 1))
    assert len([m for m in found if m.end == "start"]) == 16
    far = [m for m in found if m.end == "far"]
    assert [m.strips for m in far] == [(1,), (1, 2), (2, 3), (3, 4), (4,), (5,), (5, 6), (6, 7), (7, 8), (8,)]
    corners = shapely.MultiPoint([p for s in trial.draw().strips for p in s.outline])
    for mark in found:
        assert trial.metres(Point(mark.place)).distance(trial.metres(corners)) < NEAR_M


def test_distances_of_marks_are_those_of_the_outline(turned):
    """Strip 1 begins 18 m from the left edge and ends 18 m before the edges at both ends (from the drawn numbers)."""
    first = marks(trial.plan(), turned)[0]
    assert (first.side_m, first.end_m) == pytest.approx((18.0, 18.0), abs=NEAR_M)
    last = next(m for m in marks(trial.plan(), turned) if m.strips == (8,) and m.end == "start")
    assert last.along_edge_m == pytest.approx(7.0, abs=NEAR_M)
    right = trial.plan(fixed_edge_side="right")
    outer = marks(right, turned)[0]
    assert outer.strips == (8,)
    assert outer.side_m == pytest.approx(150 - -72, abs=NEAR_M)


def test_no_edge_in_a_direction_is_no_distance(turned):
    assert to_edge_m(turned, (1e4, 1e4), (1, 0)) == 0.0


def test_a_field_of_several_parts_keeps_them():
    two = fields.field(fields.rectangle(100, 200), Polygon([(200, -100), (300, -100), (300, 100), (200, 100)]))
    assert len(turned_field(two, trial.draw()).boundary.geoms) == 2


def test_cautions_name_metal_canes_and_cables():
    words = " ".join(MARK_CAUTIONS)
    for word in ("No metal", "wire", "edge", "ticked off", "power lines", "local rules"):
        assert word in words
