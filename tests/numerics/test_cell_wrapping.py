"""The walk round a cell says itself whether it tried enough points: right where it is sure, never sure where wrong."""

import numpy as np
import pytest

from evenground.numerics.cell_wrapping import wrap
from evenground.numerics.growing_cells import cells_in_rectangle
from evenground.numerics.point_strips import sort_into_strips

GROUND = (0.0, 3.0, 0.0, 2.0)
N = 150


def everything(strips):
    """A reach that leaves nobody out."""
    return len(strips.left), int(np.diff(strips.first).max())


def points(seed, n=N, kind="anywhere"):
    rng = np.random.default_rng(seed)
    if kind == "rows":
        x = 0.05 + 0.29 * rng.integers(0, 11, n) + rng.normal(0, 0.004, n)
        return x, 2.0 * rng.random(n)
    if kind == "clusters":
        centre = rng.random((8, 2)) * [2.8, 1.8] + 0.1
        x, y = (centre[rng.integers(0, 8, n)] + rng.normal(0, 0.02, (n, 2))).T
        return x, y
    return 3.0 * rng.random(n), 2.0 * rng.random(n)


@pytest.mark.parametrize("kind", ["anywhere", "rows", "clusters"])
@pytest.mark.parametrize("reach", [(0, 1), (1, 1), (1, 2), (0, 8), (4, 1), (2, 3)])
def test_sure_cells_are_right_and_wrong_cells_are_not_sure(kind, reach):
    """Truth: the same walk with every point tried, which test_growing_cells holds against Qhull."""
    x, y = points(7, kind=kind)
    strips = sort_into_strips(x, y, 0.2)
    who = np.arange(len(x))
    truth = wrap(strips, who, everything(strips), GROUND, mirrors=True)
    assert truth.sure.all()
    tried = wrap(strips, who, reach, GROUND, mirrors=True)
    np.testing.assert_allclose(tried.area[tried.sure], truth.area[tried.sure], rtol=1e-9)
    np.testing.assert_allclose(tried.nearest[tried.sure], truth.nearest[tried.sure], rtol=1e-12)
    wrong = np.abs(tried.area / truth.area - 1.0) > 1e-9
    assert not (wrong & tried.sure).any()


def test_the_limits_of_what_is_known_are_kept():
    """A circle that leaves the known ground makes the cell unsure, however many points are tried."""
    x, y = points(3)
    endless, strips = sort_into_strips(x, y, 0.2), sort_into_strips(x, y, 0.2, (0.0, 3.0), (0.0, 2.0))
    open_ended = wrap(endless, np.arange(N), everything(endless))
    limited = wrap(strips, np.arange(N), everything(strips))
    assert limited.sure.sum() < open_ended.sure.sum()
    assert not (limited.sure & ~open_ended.sure).any()
    near_side = np.minimum(strips.x, 3.0 - strips.x) < 0.01
    assert not limited.sure[near_side].any()


def test_cells_without_an_end_are_not_sure_until_the_sides_cut_them():
    strips = sort_into_strips(np.array([1.0, 2.0]), np.array([1.0, 1.0]), 1.7)
    assert not wrap(strips, np.arange(2), (2, 2), GROUND).sure.any()
    cut = wrap(strips, np.arange(2), (2, 2), GROUND, mirrors=True)
    assert cut.sure.all()
    assert not cut.inside.any()
    assert cut.area.tolist() == pytest.approx([3.0, 3.0])


def test_inside_means_that_no_side_of_the_rectangle_cuts():
    x, y = points(5)
    strips = sort_into_strips(x, y, 0.2)
    cut = wrap(strips, np.arange(N), everything(strips), GROUND, mirrors=True)
    free = wrap(strips, np.arange(N), everything(strips), GROUND)
    assert (cut.inside == (free.inside & free.sure)).all()
    np.testing.assert_allclose(cut.area[cut.inside], free.area[cut.inside], rtol=1e-12)


def test_corners_are_as_far_from_the_point_as_from_two_others():
    x, y = points(9, 60)
    strips = sort_into_strips(x, y, 0.3)
    found = wrap(strips, np.arange(60), everything(strips), GROUND, keep_corners=True)
    for i in np.flatnonzero(found.sure):
        for corner in np.array(found.corners)[:, :, i]:
            if np.isfinite(corner[0]):
                apart = np.sort(np.hypot(strips.x - strips.x[i] - corner[0], strips.y - strips.y[i] - corner[1]))
                assert apart[0] == pytest.approx(np.hypot(*corner), rel=1e-9), "nobody is nearer"
                assert apart[2] == pytest.approx(apart[0], rel=1e-9)


def test_far_from_the_origin_nothing_is_lost():
    """UTM-like coordinates: millions of metres leave 1e-9 m of a double, 1e-8 of a cell of 0.1 m."""
    x, y = points(11)
    here, there = cells_in_rectangle(np.column_stack([x, y]), 3.0, 2.0), sort_into_strips(x + 5e5, y + 5e6, 0.2)
    far = wrap(there, np.arange(N), everything(there), (5e5, 5e5 + 3, 5e6, 5e6 + 2), mirrors=True)
    np.testing.assert_allclose(far.area, here.area[there.owner], rtol=1e-6)


def test_two_points_in_one_place_are_refused():
    strips = sort_into_strips(np.array([1.0, 2.0, 1.0]), np.array([1.0, 1.0, 1.0]), 1.0)
    with pytest.raises(ValueError, match="same place"):
        wrap(strips, np.arange(3), (2, 2))
