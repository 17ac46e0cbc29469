"""The workable area: headlands along the whole boundary, obstacles kept clear."""

import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box
from tests.layout import fields

from evenground.basis.errors import DoesNotFitError
from evenground.layout.workable import MOST_CORNERS, OBSTACLE_DISTANCE_M, smoothed, workable_area


def test_a_rectangle_loses_its_headland_on_every_side():
    area = workable_area(fields.field(fields.rectangle(100, 200)), 10.0)
    # The plane is true to 1e-7 and centred elsewhere than where the test drew: a millimetre in 200 m.
    assert area.area == pytest.approx(80 * 180, rel=1e-6)


def test_no_headland_leaves_the_whole_field():
    assert workable_area(fields.field(fields.L_SHAPE), 0.0).area == pytest.approx(fields.L_SHAPE.area, rel=1e-6)


@pytest.mark.parametrize("headland", [5.0, 12.0, 18.0])
def test_no_point_is_nearer_to_the_boundary_than_the_headland(headland):
    holed = Polygon(
        fields.rectangle(200, 300, 17).exterior, [list(Point(20, 30).buffer(25, quad_segs=4).exterior.coords)]
    )
    field = fields.field(holed)
    area = workable_area(field, headland)
    boundary = field.plane.to_metres(field.boundary).boundary
    # Exact but for rounding of the buffer (GEOS works in doubles): a micrometre.
    assert area.boundary.distance(boundary) >= headland - 1e-6


def test_a_concave_field_splits_where_the_neck_is_narrower_than_two_headlands():
    neck = Polygon([(0, 0), (100, 0), (100, 90), (120, 90), (120, 0), (220, 0), (220, 110), (0, 110)])
    assert len(workable_area(fields.field(neck), 12.0).geoms) == 2


def test_obstacles_are_kept_clear_by_the_distance_that_is_documented():
    pole = box(-1, -1, 1, 1)
    field = fields.field(fields.rectangle(100, 100), obstacles=[pole])
    area = workable_area(field, 0.0)
    gap = area.distance(field.plane.to_metres(field.obstacles))
    assert gap == pytest.approx(OBSTACLE_DISTANCE_M, abs=1e-6)


def test_a_headland_wider_than_the_field_says_what_would_fit():
    with pytest.raises(DoesNotFitError) as caught:
        workable_area(fields.field(fields.rectangle(60, 200)), 40.0)
    assert "inside a headland of 40 m" in str(caught.value)
    assert "less than 30.0 m" in caught.value.nearest


def test_obstacles_over_the_whole_field_are_named():
    with pytest.raises(DoesNotFitError, match="obstacles take up all ground"):
        workable_area(fields.field(fields.rectangle(60, 60), obstacles=[box(-40, -40, 40, 40)]), 5.0)


def test_smoothing_stays_inside_and_loses_little():
    ragged = Point(0, 0).buffer(200, quad_segs=300)
    smooth = smoothed(ragged)
    assert len(smooth.geoms[0].exterior.coords) <= MOST_CORNERS < len(ragged.exterior.coords)
    assert ragged.covers(smooth)
    assert smooth.area > 0.99 * ragged.area


def test_few_corners_are_left_as_they_are():
    assert smoothed(fields.L_SHAPE) is fields.L_SHAPE


def test_parts_stay_apart():
    two = MultiPolygon([box(0, 0, 100, 100), box(130, 0, 230, 100)])
    assert len(workable_area(fields.field(two), 10.0).geoms) == 2
