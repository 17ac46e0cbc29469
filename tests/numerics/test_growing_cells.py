"""Voronoi cells against scipy's Qhull diagram (an independent program), and against what must hold for any points.

Areas agree to 1e-9 relative, which is asked for; 1e-12 is what double precision gives on these sizes.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.spatial import KDTree, Voronoi

from evenground.numerics.growing_cells import cells_in_rectangle, cells_on_torus, corners_on_torus


def qhull_areas(points):
    """Areas from the library's diagram; NaN for cells that are open."""
    diagram = Voronoi(points)
    areas = np.full(len(points), np.nan)
    for i, region in enumerate(diagram.point_region):
        corners = diagram.regions[region]
        if corners and -1 not in corners:
            x, y = (diagram.vertices[corners] - points[i]).T
            areas[i] = abs(x @ np.roll(y, 1) - y @ np.roll(x, 1)) / 2.0
    return areas


def with_copies(points, width, height):
    rim = range(-1, 2) if len(points) > 100 else range(-2, 3)
    shifts = [(0, 0)] + [(i, j) for i in rim for j in rim if i or j]
    return np.concatenate([points + np.array([i * width, j * height]) for i, j in shifts])


def random_points(seed, n, width=3.0, height=2.0):
    return np.random.default_rng(seed).random((n, 2)) * [width, height]


def rows(seed, n_rows=12, n=60, scatter=0.012):
    """Plants in rows 75 cm apart, with gaps and doubles."""
    rng = np.random.default_rng(seed)
    y = np.concatenate(
        [np.cumsum(rng.choice([0.03, 0.15, 0.16, 0.33], n, p=[0.05, 0.45, 0.45, 0.05])) for _ in range(n_rows)]
    )
    x = np.repeat(0.375 + 0.75 * np.arange(n_rows), n) + rng.normal(0, scatter, n * n_rows)
    return np.column_stack([x, y + 0.01]), 0.75 * n_rows, float(y.max()) + 0.02


@pytest.mark.parametrize("n", [1, 2, 3, 5, 20, 300, 3000])
def test_on_a_torus_areas_are_those_of_qhull(n):
    points = random_points(n, n)
    found = cells_on_torus(points, 3.0, 2.0)
    np.testing.assert_allclose(found.area, qhull_areas(with_copies(points, 3.0, 2.0))[:n], rtol=1e-11)
    np.testing.assert_allclose(found.area.sum(), 6.0, rtol=1e-13)
    assert found.interior.all()


@pytest.mark.parametrize("n", [20, 300, 3000])
def test_in_a_rectangle_interior_areas_are_those_of_qhull(n):
    points = random_points(n, n)
    found = cells_in_rectangle(points, 3.0, 2.0)
    theirs = qhull_areas(points)
    np.testing.assert_allclose(found.area[found.interior], theirs[found.interior], rtol=1e-11)
    np.testing.assert_allclose(found.area.sum(), 6.0, rtol=1e-13)


@pytest.mark.parametrize("scatter", [0.0, 0.012, 0.1])
def test_stands_in_rows_are_those_of_qhull(scatter):
    points, width, height = rows(1, scatter=scatter)
    found = cells_in_rectangle(points, width, height)
    assert found.interior.sum() > 0.6 * len(points)
    np.testing.assert_allclose(found.area[found.interior], qhull_areas(points)[found.interior], rtol=1e-9)
    np.testing.assert_allclose(found.area.sum(), width * height, rtol=1e-12)


def test_nearest_is_that_of_a_search_tree():
    points = random_points(4, 2000)
    apart, _ = KDTree(points).query(points, k=2)
    np.testing.assert_allclose(cells_in_rectangle(points, 3.0, 2.0).nearest, apart[:, 1], rtol=1e-12)
    around, _ = KDTree(points, boxsize=[3.0, 2.0]).query(points, k=2)
    np.testing.assert_allclose(cells_on_torus(points, 3.0, 2.0).nearest, around[:, 1], rtol=1e-12)


def test_edges_are_the_neighbours_of_qhull():
    points = random_points(8, 400)
    found = cells_in_rectangle(points, 3.0, 2.0)
    pairs = Voronoi(points).ridge_points
    neighbours = np.bincount(pairs.ravel(), minlength=400)
    assert (found.edges[found.interior] == neighbours[found.interior]).all()


def test_on_a_torus_a_point_has_six_neighbours_on_average():
    # Euler: as many corners as twice the points, each with three edges; random points have no four on a circle
    assert cells_on_torus(random_points(5, 1000), 3.0, 2.0).edges.mean() == 6.0


def test_border_cells_are_those_of_mirrored_points():
    """Cells cut at the sides are the library's cells among the points and their mirror images."""
    points = random_points(6, 50)
    mirrored = np.concatenate(
        [points, points * [-1, 1], points * [1, -1], [6, 0] + points * [-1, 1], [0, 4] + points * [1, -1]]
    )
    np.testing.assert_allclose(cells_in_rectangle(points, 3.0, 2.0).area, qhull_areas(mirrored)[:50], rtol=1e-11)


def test_dense_patches_in_empty_ground_are_found():
    rng = np.random.default_rng(2)
    patch = 0.5 + 0.01 * rng.random((300, 2))
    points = np.concatenate([patch, [[90.0, 1.0], [91.0, 39.0], [5.0, 30.0]]])
    found = cells_in_rectangle(points, 100.0, 40.0)
    np.testing.assert_allclose(found.area.sum(), 4000.0, rtol=1e-12)
    np.testing.assert_allclose(found.area[found.interior], qhull_areas(points)[found.interior], rtol=1e-9)


@pytest.mark.parametrize("shape", [(7, 9, 0.75, 0.15), (20, 20, 1.0, 1.0)])
def test_rectangular_lattices_with_four_points_on_every_circle(shape):
    across, along, dx, dy = shape
    x, y = np.meshgrid((np.arange(across) + 0.5) * dx, (np.arange(along) + 0.5) * dy)
    points = np.column_stack([x.ravel(), y.ravel()])
    for found in (cells_in_rectangle(points, across * dx, along * dy), cells_on_torus(points, across * dx, along * dy)):
        np.testing.assert_allclose(found.area, dx * dy, rtol=1e-12)
        np.testing.assert_allclose(found.perimeter, 2 * (dx + dy), rtol=1e-12)
        np.testing.assert_allclose(found.nearest, min(dx, dy), rtol=1e-12)


def test_a_lone_point_has_everything_and_no_neighbour():
    found = cells_in_rectangle([[0.3, 1.7]], 3.0, 2.0)
    assert (found.area[0], found.perimeter[0], found.nearest[0], found.interior[0]) == (6.0, 10.0, np.inf, False)


def test_compactness_and_edge_distance():
    found = cells_on_torus([[0.0, 0.0]], 1.0, 1.0)
    assert found.compactness[0] == pytest.approx(np.pi / 4)  # a square, standard geometry
    assert found.edge_distance[0] == 0.5


@settings(max_examples=40, deadline=None)
@given(
    arrays(float, st.tuples(st.integers(1, 40), st.just(2)), elements=st.integers(1, 999).map(float), unique=False),
    st.floats(0.01, 100.0),
)
def test_laws_for_any_points(grid, factor):
    """Areas sum to the ground; cells grow with the square of the scale; order and quarter turns do not matter."""
    points = np.unique(grid, axis=0)
    found = cells_in_rectangle(points, 1000.0, 1000.0)
    assert found.area.sum() == pytest.approx(1e6, rel=1e-11)
    scaled = cells_in_rectangle(points * factor, 1000.0 * factor, 1000.0 * factor)
    np.testing.assert_allclose(scaled.area, found.area * factor**2, rtol=1e-9)
    turned = cells_in_rectangle(points[::-1, ::-1], 1000.0, 1000.0)
    np.testing.assert_allclose(turned.area[::-1], found.area, rtol=1e-9)
    np.testing.assert_allclose(turned.perimeter[::-1], found.perimeter, rtol=1e-9)


def test_shifting_a_torus_changes_nothing():
    points = random_points(9, 200)
    one, other = cells_on_torus(points, 3.0, 2.0), cells_on_torus(points + np.array([1.234, -0.77]), 3.0, 2.0)
    np.testing.assert_allclose(other.area, one.area, rtol=1e-10)


def test_outlines_have_the_area_and_perimeter_of_the_cells():
    points = random_points(10, 30)
    found = cells_on_torus(points, 3.0, 2.0)
    for k, corners in enumerate(corners_on_torus(points, 3.0, 2.0)):
        x, y = corners.T
        assert (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2 == pytest.approx(found.area[k], rel=1e-12)
        assert np.hypot(*(np.roll(corners, -1, 0) - corners).T).sum() == pytest.approx(found.perimeter[k], rel=1e-12)
        assert len(corners) == found.edges[k]


def test_progress_rises_to_one():
    told = []
    cells_in_rectangle(random_points(11, 60_000), 3.0, 2.0, told.append)
    assert len(told) > 3
    assert told == sorted(told)
    assert told[-1] == 1.0


@pytest.mark.parametrize(
    ("points", "width", "says"),
    [
        ([[1.0, 1.0], [2.0, 1.5], [1.0, 1.0]], 3.0, "same place"),
        ([[3.5, 1.0]], 3.0, "inside the rectangle"),
        ([[0.0, 1.0]], 3.0, "inside the rectangle"),
        ([[np.nan, 1.0]], 3.0, "finite"),
        ([], 3.0, "dimension"),
        ([[1.0, 1.0, 1.0]], 3.0, "two coordinates"),
        ([[1.0, 1.0]], 0.0, "above 0"),
    ],
)
def test_what_is_refused(points, width, says):
    with pytest.raises(ValueError, match=says):
        cells_in_rectangle(points, width, 2.0)


def test_the_same_place_one_period_further_is_refused_on_a_torus():
    with pytest.raises(ValueError, match="same place"):
        cells_on_torus([[1.0, 1.0], [4.0, 3.0]], 3.0, 2.0)
