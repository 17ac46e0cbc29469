"""Exact intervals of counts, against printed values and scipy.stats as the reference library."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenground.numerics.count_intervals import binomial_interval, poisson_interval, rate_ratio_interval

# Printed values: R package survival, manual page of cipoisson: 4 events, 95 %: 1.089865 to 10.24153 (found there by a
# search that stops at 1e-4). 42 events: scipy's chi-square quantiles below give the same figures, printed to 0.01.
PRINTED = [(4, 0.95, 1.089865, 10.24153, 1e-4), (42, 0.90, 31.94, 54.32, 0.005), (42, 0.99, 27.18, 61.76, 0.005)]


@pytest.mark.parametrize(("count", "level", "low", "high", "half_digit"), PRINTED)
def test_printed_poisson_intervals(count, level, low, high, half_digit):
    assert poisson_interval(count, level) == pytest.approx((low, high), abs=half_digit)


@given(st.integers(0, 500), st.floats(0.5, 0.999))
def test_poisson_ends_leave_the_tails(count, level):
    low, high = poisson_interval(count, level)
    tail = (1 - level) / 2
    # definition by tails, redone with scipy's distribution; relative accuracy of the inversions 1e-7
    assert stats.poisson.cdf(count, high) == pytest.approx(tail, rel=1e-6)
    if count:
        assert stats.poisson.sf(count - 1, low) == pytest.approx(tail, rel=1e-6)


@given(st.integers(0, 60), st.integers(1, 60), st.floats(0.5, 0.999))
def test_binomial_as_scipy(count, more, level):
    total = count + more
    wanted = stats.binomtest(count, total).proportion_ci(level, method="exact")
    assert binomial_interval(count, total, level) == pytest.approx((wanted.low, wanted.high), rel=1e-7, abs=1e-12)


def test_all_of_all():
    assert binomial_interval(10, 10, 0.95) == pytest.approx((0.025**0.1, 1.0))


def test_equal_rates_on_unequal_lengths():
    low, high = rate_ratio_interval(50, 10.0, 150, 30.0, 0.9)
    assert low < 1.0 < high
    # swapping the two turns the ratio over
    other_low, other_high = rate_ratio_interval(150, 30.0, 50, 10.0, 0.9)
    assert (low, high) == pytest.approx((1 / other_high, 1 / other_low), rel=1e-10)


def test_ratio_through_the_share():
    # 30 of 40 on equal lengths: share interval turned into odds
    wanted = stats.binomtest(30, 40).proportion_ci(0.9, method="exact")
    low, high = rate_ratio_interval(30, 5.0, 10, 5.0, 0.9)
    assert (low, high) == pytest.approx((wanted.low / (1 - wanted.low), wanted.high / (1 - wanted.high)), rel=1e-9)


def test_nothing_below_the_line():
    assert rate_ratio_interval(5, 1.0, 0, 1.0, 0.9)[1] == math.inf
    assert rate_ratio_interval(0, 1.0, 5, 1.0, 0.9)[0] == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: poisson_interval(-1, 0.9),
        lambda: poisson_interval(1, 1.0),
        lambda: binomial_interval(3, 2, 0.9),
        lambda: binomial_interval(0, 0, 0.9),
        lambda: rate_ratio_interval(1, 0.0, 1, 1.0, 0.9),
        lambda: rate_ratio_interval(0, 1.0, 0, 1.0, 0.9),
    ],
)
def test_what_cannot_be(call):
    with pytest.raises(ValueError, match=r"above 0|negative|level|share"):
        call()
