"""Means of strips on uneven ground: closed integrals against numerical ones, and what must hold for any strips."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad

from evenground.numerics.strip_covariance import mean_correlation, strip_covariance


@pytest.mark.parametrize(
    ("one", "other", "reach"),
    [((0, 6), (6, 12), 9.0), ((0, 80), (40, 200), 35.0), ((0, 5), (300, 310), 50.0)],
)
def test_closed_form_against_quadrature(one, other, reach):
    # scipy's adaptive quadrature is the outside judge; its own error stays below 1e-7 with a kink on the diagonal.
    total, _ = dblquad(lambda t, s: np.exp(-abs(s - t) / reach), *one, *other, epsabs=1e-6)
    expected = total / ((one[1] - one[0]) * (other[1] - other[0]))
    assert mean_correlation(*one, *other, reach) == pytest.approx(expected, rel=1e-5)


def test_one_stretch_against_the_textbook_formula():
    # 2 (r/L)^2 (L/r - 1 + exp(-L/r)): variance of the mean of an exponentially correlated series (Taylor 1921).
    for length, reach in [(100.0, 20.0), (10.0, 50.0), (300.0, 5.0)]:
        u = length / reach
        assert mean_correlation(0, length, 0, length, reach) == pytest.approx(2 * (u - 1 + np.exp(-u)) / u**2, rel=1e-9)


def test_short_stretches_far_within_reach_are_alike():
    # Below a thousandth of the reach the closed form would lose digits; the mean correlation is 1 - L / (3 r).
    assert mean_correlation(0.0, 0.01, 0.0, 0.01, 1000.0) == pytest.approx(1 - 1e-5 / 3, abs=1e-8)


strips = st.lists(st.tuples(st.floats(0, 300), st.floats(0, 100), st.floats(20, 300)), min_size=2, max_size=8)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(strips, st.floats(2, 30), st.floats(2, 200), st.floats(2, 200))
def test_a_covariance_is_symmetric_and_positive(pieces, width, across, along):
    left, low, length = np.array(pieces).T
    cov = strip_covariance(left, width, low, low + length, across, along)
    assert np.allclose(cov, cov.T, atol=1e-12)
    assert np.linalg.eigvalsh(cov).min() > -1e-9
    assert (np.diag(cov) <= 1).all()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(2, 300), st.floats(1.01, 5), st.floats(2, 200))
def test_longer_means_vary_less(length, times, reach):
    longer = mean_correlation(0, times * length, 0, times * length, reach)
    assert longer < mean_correlation(0, length, 0, length, reach)


@pytest.mark.parametrize(("ends", "reach", "words"), [((0, 0), 1.0, "longer than zero"), ((0, 1), 0.0, "above zero")])
def test_bad_stretches_are_refused(ends, reach, words):
    with pytest.raises(ValueError, match=words):
        mean_correlation(*ends, 0.0, 1.0, reach)
