"""Ground within a radius: closed forms, a count of random places, and laws."""

import math

import numpy as np
import pytest
from scipy.spatial import KDTree

from evenground.numerics.disc_cover import area_within, farthest, share_within
from evenground.numerics.growing_cells import corners_on_torus

SQUARE = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])


def test_square_and_circle_by_hand():
    # radius 1.2: circle less four segments, r^2 acos(h/r) - h sqrt(r^2 - h^2) each (standard geometry)
    r = 1.2
    segment = r * r * math.acos(1 / r) - math.sqrt(r * r - 1)
    assert area_within(SQUARE, [0.0, 0.5, r, 3.0]) == pytest.approx([0, math.pi / 4, math.pi * r * r - 4 * segment, 4])


def test_off_centre_points():
    corners = SQUARE + np.array([0.4, -0.3])
    assert area_within(corners, [0.6, 9.0]) == pytest.approx([math.pi * 0.36, 4.0])


def test_share_is_that_of_random_places():
    """400,000 random places and a search tree: standard error of a share at most 0.0008; four of them allowed."""
    rng = np.random.default_rng(3)
    points = rng.random((40, 2)) * [3.0, 2.0]
    cells = corners_on_torus(points, 3.0, 2.0)
    places = rng.random((400_000, 2)) * [3.0, 2.0]
    apart, _ = KDTree(points, boxsize=[3.0, 2.0]).query(places)
    radii = np.array([0.1, 0.2, 0.3])
    counted = (apart[:, None] <= radii).mean(axis=0)
    np.testing.assert_allclose(share_within(cells, radii), counted, atol=0.0032)
    assert apart.max() <= farthest(cells)
    assert share_within(cells, [farthest(cells)])[0] == pytest.approx(1.0, abs=1e-12)


def test_random_plants_cover_one_minus_e_to_the_minus_one():
    """Circles as large as the mean ground of a point, points anywhere: 1 - exp(-1) = 0.632 (Poisson).

    Twenty draws of 1,000 points; the spread of one draw was about 0.006, so the mean is known to 0.0014.
    """
    radius = math.sqrt(1.0 / math.pi)
    side = math.sqrt(1000.0)
    shares = []
    for seed in range(20):
        points = np.random.default_rng(seed).random((1000, 2)) * side
        shares.append(share_within(corners_on_torus(points, side, side), [radius])[0])
    assert np.mean(shares) == pytest.approx(1 - math.exp(-1), abs=0.006)


@pytest.mark.parametrize("radius", [-0.1, math.nan, math.inf])
def test_radii_that_are_refused(radius):
    with pytest.raises(ValueError, match="radius"):
        area_within(SQUARE, [radius])
