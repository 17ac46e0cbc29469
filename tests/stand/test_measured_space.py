"""Room of measured plants, on rows whose cells are known from geometry."""

import math

import numpy as np
import pytest

from evenground.stand.measured_space import measured_space


def test_an_even_single_row():
    got = measured_space([[[0.15 * i for i in range(21)]]], 0.75)
    # rectangles of 0.75 x 0.15 m
    assert got.plants == 19
    assert (got.area_m2, got.area_cv) == pytest.approx((0.1125, 0.0), abs=1e-9)
    assert got.nearest_m == pytest.approx(0.15)
    assert got.compactness == pytest.approx(4 * math.pi * 0.1125 / 1.8**2)


def test_a_single_row_of_any_gaps_has_half_of_both_gaps():
    y = np.cumsum(np.random.default_rng(1).uniform(0.02, 0.4, 40))
    got = measured_space([[list(y)]], 0.7)
    room = 0.7 * (y[2:] - y[:-2]) / 2
    assert got.area_m2 == pytest.approx(room.mean(), rel=1e-9)
    assert got.area_cv == pytest.approx(room.std(ddof=1) / room.mean(), rel=1e-9)


@pytest.mark.parametrize("shift", [0.0, 0.5])
def test_a_twin_row_has_the_same_room_staggered_or_not(shift):
    first = [0.28 * i for i in range(30)]
    second = [0.28 * (i + shift) for i in range(30)]
    got = measured_space([[first, second]], 0.75, 0.2)
    # half of the row's ground for each line: 0.28 x 0.375
    assert got.area_m2 == pytest.approx(0.28 * 0.375, rel=1e-9)
    # 20 cm across, or the diagonal sqrt(0.2^2 + 0.14^2)
    assert got.nearest_m == pytest.approx(math.hypot(0.2, 0.28 * shift), rel=1e-9)


def test_two_plants_in_one_place_share_the_room():
    got = measured_space([[[0.0, 0.2, 0.2, 0.4]]], 0.75)
    # a tenth of a millimetre apart: 0.10005 x 0.75 and 0.1 x 0.75
    assert got.area_m2 == pytest.approx(0.75 * 0.1, rel=1e-3)
    assert got.nearest_m == pytest.approx(1e-4)


def test_rows_come_together():
    row = [[0.1 * i for i in range(5)]]
    assert measured_space([row, row], 0.75).plants == 6


def test_too_few_plants():
    assert measured_space([[[0.0, 0.2]]], 0.75) is None
    assert measured_space([], 0.75) is None


def test_rows_that_cannot_be():
    with pytest.raises(ValueError, match="above the gap"):
        measured_space([[[0.0, 0.2]]], 0.2, 0.3)
    with pytest.raises(ValueError, match="one line or two"):
        measured_space([[[0.0], [0.1], [0.2]]], 0.75)
