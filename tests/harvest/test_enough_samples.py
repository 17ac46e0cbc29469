"""How many samples are enough, and what one sample a method does: against tabulated simulations and own ones."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from tests import small_trial as small

from evenground.basis.observations import Records
from evenground.harvest.enough_samples import (
    false_alarms_with_one_sample,
    samples_needed,
    sampling_error_percent,
    scoops_needed,
)
from evenground.harvest.samples_wanted import samples_wanted


@pytest.mark.parametrize(("sd", "share"), [(0.5, 0.12), (1.0, 0.27), (1.5, 0.42), (2.0, 0.53)])
def test_false_alarms_against_twenty_thousand_simulated_trials(sd, share):
    # 8 pairs, strip error 5 %, 33 % dry matter: 20 000 simulations, printed in whole percent; Monte Carlo error 0.35 %
    assert false_alarms_with_one_sample(8, sd, 33.0, 5.0) == pytest.approx(share, abs=0.005 + 2 * 0.0035)


@pytest.mark.parametrize(("blocks", "share"), [(4, 0.21), (8, 0.40), (12, 0.50)])
def test_false_alarms_by_number_of_blocks(blocks, share):
    # the same with a strip error of 3.5 % (found from the first of the three values, so it is no check by itself)
    assert false_alarms_with_one_sample(blocks, 1.0, 33.0, 3.5) == pytest.approx(share, abs=0.012)


def test_false_alarms_against_a_simulation_of_whole_paired_tests():
    rng = np.random.default_rng(11)
    runs, blocks = 8_000, 6
    error = sampling_error_percent(0.8, 33.0)
    d = rng.normal(0.0, 2**0.5 * 4.0, (runs, blocks)) + (rng.normal(0.0, error, (runs, 2)) @ [1, -1])[:, None]
    p = stats.ttest_1samp(d, 0.0, axis=1).pvalue
    # Monte Carlo error 0.4 %
    assert (p < 0.05).mean() == pytest.approx(false_alarms_with_one_sample(blocks, 0.8, 33.0, 4.0), abs=0.012)


def test_without_sampling_error_the_test_keeps_its_level():
    assert false_alarms_with_one_sample(8, 0.0, 33.0, 5.0) == pytest.approx(0.05, rel=1e-9)


def test_one_point_at_33_percent_is_three_percent_of_the_yield():
    # 45 t fresh at 33 %: a point more or less is 3.0 % (University of California Cooperative Extension's rule, worked)
    assert sampling_error_percent(1.0, 33.0) == pytest.approx(3.0, abs=0.05)


@given(sd=st.floats(0.1, 5.0), dm=st.floats(20.0, 45.0), strip=st.floats(1.0, 15.0))
def test_law_the_number_is_the_smallest_that_keeps_the_share(sd, dm, strip):
    n = samples_needed(sd, dm, strip)
    one = sampling_error_percent(sd, dm) ** 2 / (0.1 * strip**2)
    assert one / n <= 1.0 + 1e-6
    assert n == 1 or one / (n - 1) > 1.0 - 1e-6


def test_scoops_against_simulation():
    # scoops scatter by 2 points, drying by 0.3: five scoops bring one sample to one point, four do not
    rng = np.random.default_rng(5)

    def sd(n):
        return (rng.normal(0, 2.0, (40_000, n)).mean(axis=1) + rng.normal(0, 0.3, 40_000)).std()

    n = scoops_needed(2.0, 0.3, 1.0)
    assert sd(n) < 1.0 < sd(n - 1)


@pytest.mark.parametrize(
    "call",
    [
        lambda: sampling_error_percent(1.0, 0.0),
        lambda: samples_needed(1.0, 33.0, 0.0),
        lambda: false_alarms_with_one_sample(1, 1.0, 33.0, 5.0),
    ],
)
def test_impossible_questions_are_refused(call):
    with pytest.raises(ValueError):
        call()


def test_a_trial_uses_its_own_repeats():
    repeats = [small.sample(s, 33.0 + off, n=i) for s in range(1, 5) for i, off in enumerate((-2.0, 2.0))]
    wanted = samples_wanted(small.plan(), Records(samples=repeats))
    assert (wanted.source, wanted.sd_points) == ("repeats", pytest.approx(2 * 2**0.5))
    assert wanted.per_strip > samples_wanted(small.plan(), Records()).per_strip
    assert f"{wanted.per_strip} samples of its own are needed" in wanted.sentences[0]
