"""Value of information: laws of the loss integral, and a plain simulation of the choice."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenground.numerics.information import (
    unit_normal_loss,
    value_of_perfect_information,
    value_of_sample_information,
)


@given(st.floats(-30, 30))
def test_mirror_law(u):
    # L(-u) = L(u) + u.
    assert unit_normal_loss(-u) == pytest.approx(unit_normal_loss(u) + u, abs=1e-12)
    assert unit_normal_loss(u) >= max(0.0, -u) - 1e-12


def test_far_away_there_is_nothing_to_lose():
    assert unit_normal_loss(math.inf) == 0.0
    assert unit_normal_loss(-math.inf) == math.inf
    assert unit_normal_loss(40.0) == 0.0


@given(st.floats(-100, 100), st.floats(0, 100), st.floats(0.1, 1000))
def test_a_trial_is_never_worth_more_than_knowing(mean, sd, error):
    trial, all_known = value_of_sample_information(mean, sd, error), value_of_perfect_information(mean, sd)
    assert 0 <= trial <= all_known * (1 + 1e-12) + 1e-300
    assert value_of_sample_information(mean, sd, 2 * error) <= trial * (1 + 1e-12) + 1e-300
    assert value_of_sample_information(-mean, sd, error) == trial


def test_simulated_choice_gains_as_much():
    rng = np.random.default_rng(41)
    mean, sd, error, draws = 20.0, 50.0, 25.0, 400_000
    truth = rng.normal(mean, sd, draws)
    seen = truth + rng.normal(0, error, draws)
    expected = mean + sd**2 / (sd**2 + error**2) * (seen - mean)
    worth = np.where(expected > 0, truth, 0) - max(mean, 0)
    # Standard error of the mean of 400,000 draws; four of them.
    assert worth.mean() == pytest.approx(
        value_of_sample_information(mean, sd, error), abs=4 * worth.std() / math.sqrt(draws)
    )


@pytest.mark.parametrize(
    "call",
    [
        lambda: unit_normal_loss(math.nan),
        lambda: value_of_perfect_information(math.nan, 1.0),
        lambda: value_of_perfect_information(0.0, -1.0),
        lambda: value_of_sample_information(0.0, 1.0, 0.0),
    ],
)
def test_bad_input_is_refused(call):
    with pytest.raises(ValueError):
        call()
