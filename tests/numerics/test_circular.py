"""Circular statistics against scipy.stats as the reference library, and against what must hold."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenground.numerics.circular import directions

angles = st.lists(st.floats(-10, 10), min_size=2, max_size=40)


@given(angles)
def test_mean_and_resultant_as_scipy(theta):
    got = directions(theta)
    # both sum the same cosines and sines; rounding of 40 terms
    assert got.resultant == pytest.approx(1 - stats.circvar(theta), abs=1e-12)
    if got.resultant > 1e-3:
        apart = (got.mean - stats.circmean(theta) + math.pi) % math.tau - math.pi
        assert apart == pytest.approx(0.0, abs=1e-9)


@given(angles, st.floats(-7, 7))
def test_turning_the_circle_turns_the_mean(theta, turn):
    one, other = directions(theta), directions([t + turn for t in theta])
    assert other.resultant == pytest.approx(one.resultant, abs=1e-12)
    if one.resultant > 1e-3:
        assert math.cos(other.mean - one.mean - turn) == pytest.approx(1.0, abs=1e-9)


def test_small_angles_give_the_ordinary_mean_and_error():
    # on a short arc the circle is a line: standard error = SD (n) / sqrt n, to the square of the arc (1e-4)
    theta = np.random.default_rng(5).normal(1.0, 0.01, 50)
    got = directions(theta)
    assert got.mean == pytest.approx(theta.mean(), abs=1e-6)
    assert got.standard_error == pytest.approx(theta.std() / math.sqrt(50), rel=1e-3)


def test_the_interval_holds_its_level():
    # von Mises, kappa 2, 40 directions, 400 times; 90 % with a binomial SD of 6; four of them
    rng = np.random.default_rng(9)
    held = 0
    for _ in range(400):
        found = directions(rng.vonmises(1.0, 2.0, 40))
        half = found.half_width(0.9)
        held += abs((found.mean - 1.0 + math.pi) % math.tau - math.pi) <= half
    assert 336 <= held <= 384


def test_no_common_direction():
    got = directions([0.0, math.pi / 2, math.pi, 3 * math.pi / 2])
    assert (got.resultant, got.standard_error, got.half_width(0.9)) == (0.0, None, None)


def test_one_direction_has_no_error():
    assert directions([1.0]).standard_error is None


@pytest.mark.parametrize("bad", [[], [math.nan], [math.inf, 1.0]])
def test_no_directions(bad):
    with pytest.raises(ValueError, match="angles"):
        directions(bad)
