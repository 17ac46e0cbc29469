"""Longest straight runs, against shapely's own overlay (GEOS) as the outside judge."""

from math import cos, radians, sin

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Point, Polygon, box
from tests.layout import fields

from evenground.layout.runs import TOUCH_M, Frame, longest_runs, outline_segments


def by_overlay(shape, left, width):
    """Longest full-width stretch by cutting the outside of the shape out of the slot and projecting what is left."""
    _, low, _, high = shape.bounds
    slot = box(left + TOUCH_M, low - 10, left + width - TOUCH_M, high + 10)
    spans = sorted((p.bounds[1], p.bounds[3]) for p in shapely.get_parts(slot.difference(shape)))
    best, reached = 0.0, spans[0][0]
    for start, end in spans:
        best, reached = max(best, start - reached), max(reached, end)
    return best


@st.composite
def polygons(draw):
    """Star-shaped outlines, sometimes with a round hole."""
    n = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(40, 200), min_size=n, max_size=n))
    turn = draw(st.floats(0, 6))
    angles = turn + np.linspace(0, 2 * np.pi, n, endpoint=False)
    shape = Polygon(np.column_stack((radii * np.cos(angles), radii * np.sin(angles))))
    if draw(st.booleans()):
        shape = shape.difference(Point(draw(st.floats(-60, 60)), 10).buffer(15, quad_segs=2))
    return MultiPolygon([p for p in shapely.get_parts(shape) if p.area > 1])


@settings(max_examples=40, deadline=None, derandomize=True)
@given(polygons(), st.floats(0, 360, exclude_max=True), st.floats(2, 20))
def test_runs_agree_with_overlay(shape, heading, width):
    edges = Frame(heading).edges(outline_segments(shape))
    turned = shapely.transform(shape, lambda at: at @ Frame(heading).turn.T)
    left = np.arange(turned.bounds[0], turned.bounds[2], width * 0.7)
    low, high = longest_runs(edges, left, width)
    for at, length in zip(left, high - low, strict=True):
        # Same geometry by another way; overlay rounds corners to about 1e-9 m.
        assert length == pytest.approx(by_overlay(turned, at, width), abs=1e-6)


def test_a_rectangle_gives_its_length_in_every_slot_that_fits():
    edges = outline_segments(box(0, 0, 30, 100))
    low, high = longest_runs(edges, np.array([-1.0, 0.0, 6.0, 24.0, 25.0]), 6.0)
    assert (high - low).tolist() == [0.0, 100.0, 100.0, 100.0, 0.0]


def test_a_hole_leaves_the_longer_side():
    holed = Polygon(box(0, 0, 30, 100).exterior, [box(10, 20, 20, 40).exterior.coords[:]])
    low, high = longest_runs(outline_segments(holed), np.array([0.0, 6.0, 12.0]), 6.0)
    assert low.tolist() == [0.0, 40.0, 40.0]
    assert high.tolist() == [100.0, 100.0, 100.0]


@pytest.mark.parametrize("heading", [0.0, 30.0, 90.0, 180.0, 270.0, 359.0])
def test_the_frame_turns_the_heading_up_and_back(heading):
    frame = Frame(heading)
    ahead = np.array([sin(radians(heading)), cos(radians(heading))])
    # Exact trigonometry but for the last bit.
    assert frame.turn @ ahead == pytest.approx([0.0, 1.0], abs=1e-15)
    assert frame.turn @ frame.turn.T == pytest.approx(np.eye(2), abs=1e-15)


def test_left_is_left_when_driving_east():
    # Driving east the left side is north: the slot with the smaller "across" lies further north.
    north, south = (Frame(90.0).rectangle(left, left + 6, 0, 10) for left in (0.0, 6.0))
    assert north.centroid.y > south.centroid.y
    assert north.exterior.is_ccw


def test_outlines_keep_their_holes():
    holed = Polygon(fields.L_SHAPE.exterior, [box(20, 20, 40, 40).exterior.coords[:]])
    sides = outline_segments(holed)
    lengths = np.hypot(*(sides[:, 1] - sides[:, 0]).T)
    assert lengths.sum() == pytest.approx(holed.length)
