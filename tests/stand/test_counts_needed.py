"""How much counting is enough, against the definition, the large-sample limit and simulation."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from tests import small_trial as small

from evenground.basis.observations import Records
from evenground.stand.counts_needed import counts_for_error, counts_needed, least_metres

PLAN, DRAW = small.plan(), small.draw()


@given(st.floats(0.01, 0.4), st.floats(0.01, 0.2), st.sampled_from([0.8, 0.9, 0.95]))
def test_enough_and_one_less_is_not(cv, error, level):
    n = counts_for_error(cv, error, level)

    def half(k):
        return stats.t.ppf(0.5 + level / 2, k - 1) * cv / math.sqrt(k)

    assert half(n) <= error * (1 + 1e-9)
    assert n == 2 or half(n - 1) > error * (1 - 1e-9)


def test_many_counts_follow_the_normal_formula():
    # n = (z cv / error)^2 for large n; t adds about z^2 / 2 = 1.4 counts
    assert counts_for_error(0.2, 0.005) == pytest.approx((1.6448536 * 0.2 / 0.005) ** 2, abs=3)


def test_an_error_nobody_can_reach():
    assert counts_for_error(0.4, 0.001) is None


def test_chance_of_emergence_alone():
    # 20 000 perfect rows of the length the formula names: 90 % of their stands lie within 5 % of the mean (the count is
    # whole, so the share moves in steps: 2 %)
    length = least_metres(7.125, 0.93, 0.02)
    seeds = round(7.125 * length)
    plants = np.random.default_rng(2).binomial(seeds, 0.93, 20_000)
    inside = np.mean(np.abs(plants / (seeds * 0.93) - 1) <= 0.02)
    assert inside == pytest.approx(0.90, abs=0.02)


def test_full_emergence_leaves_nothing_to_chance():
    assert least_metres(7.0, 1.0, 0.05) == 0.0


def test_before_any_count_the_spread_is_assumed_and_says_so():
    a, b = counts_needed(PLAN, DRAW, Records())
    assert "assumed" in a.cv_source
    assert a.count_length_m == pytest.approx(13.333, abs=5e-4)
    # 95 seeds, 93 % emergence
    assert a.cv == pytest.approx(math.sqrt(0.07 / (0.93 * 95)))
    assert a.counts == counts_for_error(a.cv, 0.05)
    assert b.as_dict()["method"] == "B"


def test_afterwards_it_is_that_of_the_trial():
    counts = [small.count(s, n, i) for s in (1, 2) for i, n in enumerate((80, 90, 100))]
    a, _ = counts_needed(PLAN, DRAW, Records(stand_counts=counts), 0.1)
    assert a.cv == pytest.approx(10 / 90)
    assert a.cv_source == "counts of this trial"
    assert a.counts == counts_for_error(10 / 90, 0.1)


@pytest.mark.parametrize(
    "call",
    [
        lambda: counts_for_error(-0.1, 0.05),
        lambda: counts_for_error(0.1, 0.0),
        lambda: least_metres(0.0, 0.9, 0.05),
        lambda: least_metres(7.0, 1.1, 0.05),
    ],
)
def test_what_cannot_be(call):
    with pytest.raises(ValueError, match="above 0"):
        call()
