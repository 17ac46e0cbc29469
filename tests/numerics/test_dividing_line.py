"""The straight line between two sets of points."""

import numpy as np
import pytest

from evenground.numerics.dividing_line import dividing_line


def two_sides(angle_deg, gap, rng, n=300, overlap=0):
    """Points in two rectangles 40 m deep and 200 m long, turned."""
    first = np.column_stack([-gap / 2 - rng.uniform(0, 40, n), rng.uniform(0, 200, n)])
    second = np.column_stack([gap / 2 + rng.uniform(0, 40, n), rng.uniform(0, 200, n)])
    first[:overlap, 0] += 60
    c, s = np.cos(np.deg2rad(angle_deg)), np.sin(np.deg2rad(angle_deg))
    turn = np.array([[c, -s], [s, c]])
    return first @ turn.T, second @ turn.T


@pytest.mark.parametrize("angle_deg", [0, 17.3, 90, 211, 359.9])
@pytest.mark.parametrize("strays", [0, 4])
def test_the_line_is_found_at_any_angle_with_a_few_strays(angle_deg, strays):
    first, second = two_sides(angle_deg, 6.0, np.random.default_rng(1), overlap=strays)
    line = dividing_line(first, second)
    found = np.rad2deg(np.arctan2(line.normal[1], line.normal[0]))
    # the free gap of 6 m over 200 m lets the line turn by at most 1.7 degrees
    assert abs((found - angle_deg + 180) % 360 - 180) < 1.8
    # 2 % of each side may stray, which is 0.8 m of its 40
    assert line.gap == pytest.approx(6.0 + 1.6, abs=1.6)
    assert (line.across(second) > 0).all()
    assert (line.across(first) < 0).sum() == len(first) - strays


def test_along_and_across_are_a_turn_of_the_plane():
    rng = np.random.default_rng(2)
    first, second = two_sides(33, 3.0, rng)
    line = dividing_line(first, second)
    at = np.vstack([first, second])
    again = np.column_stack([line.along(at), line.across(at)])
    assert np.hypot(*(again[0] - again[-1])) == pytest.approx(np.hypot(*(at[0] - at[-1])))


def test_mixed_points_have_a_negative_gap():
    rng = np.random.default_rng(3)
    assert dividing_line(rng.uniform(0, 50, (200, 2)), rng.uniform(0, 50, (200, 2))).gap < -20


def test_many_points_are_thinned():
    rng = np.random.default_rng(4)
    line = dividing_line(*two_sides(40, 5.0, rng, n=20_000))
    assert line.gap > 4.5


@pytest.mark.parametrize("empty", [np.empty((0, 2)), [[np.nan, 1.0]]])
def test_empty_or_endless_sets_are_refused(empty):
    with pytest.raises(ValueError, match="first: "):
        dividing_line(empty, [[0.0, 0.0]])
