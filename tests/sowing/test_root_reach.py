"""Ground within reach of roots: closed forms for lattices."""

import math

import pytest

from evenground.basis.method import RowPattern
from evenground.sowing.root_reach import root_radius_m, root_reach
from evenground.sowing.row_geometry import growing_space, repeated, triangle

SINGLE = repeated(RowPattern(), 8.5)
TWIN = repeated(RowPattern(kind="twin", twin_gap_m=0.22, staggered=True), 8.5)


def test_circles_that_do_not_meet_cover_their_own_area():
    for pattern in (SINGLE, TWIN, triangle(8.5)):
        radius = growing_space(pattern).nearest_neighbour_m / 2
        assert root_reach(pattern, radius).share_of_ground == pytest.approx(growing_space(pattern).circle_share)


def test_all_ground_is_reached_at_the_farthest_corner_and_not_before():
    for pattern in (SINGLE, TWIN, triangle(8.5)):
        far = growing_space(pattern).farthest_ground_m
        assert root_reach(pattern, far).share_of_ground == pytest.approx(1.0, abs=1e-12)
        assert root_reach(pattern, 0.98 * far).share_of_ground < 1.0 - 1e-5


def test_twin_rows_are_never_behind_single_rows():
    for radius in (0.05, 0.1, 0.2, 0.3, 0.4):
        assert root_reach(TWIN, radius).share_of_ground >= root_reach(SINGLE, radius).share_of_ground - 1e-12


def test_a_band_of_wide_circles_by_hand():
    # single rows of circles with radius r: strips of half-width sqrt(r^2 - y^2), mean of y over half a spacing
    s, r = SINGLE.length_m, 0.2
    half = s / 2
    under = half * math.sqrt(r * r - half * half) / 2 + r * r * math.asin(half / r) / 2
    assert root_reach(SINGLE, r).share_of_ground == pytest.approx(4 * under / (0.75 * s), rel=1e-12)


def test_days():
    assert root_radius_m(20, 15.0) == pytest.approx(0.3)
    reach = root_reach(SINGLE, 0.1)
    assert reach.day_all_reached(15.0) == math.ceil(1000 * reach.farthest_ground_m / 15)
    assert root_reach(TWIN, 0.1).day_all_reached() < reach.day_all_reached()


@pytest.mark.parametrize(("days", "pace"), [(-1.0, 15.0), (10.0, 0.0), (math.nan, 15.0), (10.0, math.inf)])
def test_days_and_paces_that_are_refused(days, pace):
    with pytest.raises(ValueError, match="must be"):
        root_radius_m(days, pace)
