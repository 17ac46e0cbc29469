"""Replication, detectable difference and value of a trial against published or independently computed tables."""

import math

import pytest

from evenground.numerics.information import (
    unit_normal_loss,
    value_of_perfect_information,
    value_of_sample_information,
)
from evenground.numerics.power import (
    blocks_by_normal,
    blocks_by_t,
    detectable_gain,
    least_significant_difference,
    power_of_gain,
)

PAIRS = (3, 4, 5, 6, 8, 10)
# Computed with a noncentral t of another library (scipy.stats.nct); digits as given.
T_FACTOR = (2.4841, 1.5912, 1.2417, 1.0494, 0.8360, 0.7154)
K_80 = (3.2640, 2.1279, 1.6820, 1.4345, 1.1560, 0.9960)
# Percent of the mean, "least significant / detectable" for a strip error of CV percent, pairs as above.
TABLE = {
    2: "7.0/9.2 4.5/6.0 3.5/4.8 3.0/4.1 2.4/3.3 2.0/2.8",
    3: "10.5/13.8 6.8/9.0 5.3/7.1 4.5/6.1 3.5/4.9 3.0/4.2",
    4: "14.1/18.5 9.0/12.0 7.0/9.5 5.9/8.1 4.7/6.5 4.0/5.6",
    5: "17.6/23.1 11.3/15.0 8.8/11.9 7.4/10.1 5.9/8.2 5.1/7.0",
    7: "24.6/32.3 15.8/21.1 12.3/16.7 10.4/14.2 8.3/11.4 7.1/9.9",
    10: "35.1/46.2 22.5/30.1 17.6/23.8 14.8/20.3 11.8/16.3 10.1/14.1",
}


@pytest.mark.parametrize(("pairs", "t_factor", "k"), list(zip(PAIRS, T_FACTOR, K_80, strict=True)))
def test_factors_for_pairs(pairs, t_factor, k):
    ask = {"sigma": 1.0, "variance_factor": 1 / pairs, "residual_df": pairs - 1}
    assert least_significant_difference(**ask) == pytest.approx(t_factor, abs=5e-5)
    assert detectable_gain(**ask) == pytest.approx(k, abs=5.1e-5)


@pytest.mark.parametrize("cv", TABLE)
def test_detectable_difference_in_percent(cv):
    for pairs, cell in zip(PAIRS, TABLE[cv].split(), strict=True):
        ask = {"sigma": float(cv), "variance_factor": 2 / pairs, "residual_df": pairs - 1}
        difference, detectable = map(float, cell.split("/"))
        assert least_significant_difference(**ask) == pytest.approx(difference, abs=0.0501)  # one decimal given
        assert detectable_gain(**ask) == pytest.approx(detectable, abs=0.0501)


def test_power_of_six_pairs():
    # 1.5 standard deviations of the difference, 6 pairs: 0.8325293 by statsmodels TTestPower.
    power = power_of_gain(1.5, sigma=1.0, variance_factor=1 / 6, residual_df=5)
    assert power == pytest.approx(0.8325293, abs=5e-8)


@pytest.mark.parametrize(("cv", "d", "r"), [(5, 5, 15.70), (5, 10, 3.92), (10, 5, 62.79), (15, 20, 8.83)])
def test_replication_by_normal_quantiles(cv, d, r):
    # Formula: M. Rychlik, note "How many replications?"; numbers computed from it.
    assert blocks_by_normal(cv, d) == pytest.approx(r, abs=0.005)


@pytest.mark.parametrize(
    ("cv", "d", "r"), [(3, 3, 18), (3, 5, 8), (4, 5, 13), (5, 5, 18), (5, 10, 7), (7, 5, 33), (10, 10, 18)]
)
def test_replication_by_t_quantiles(cv, d, r):
    # Cochran & Cox, Experimental Designs (1957): form from memory, numbers computed.
    assert blocks_by_t(cv, d) == r


def test_four_times_the_length_halves_the_difference():
    # Wuest et al. 1994 (ten wheat uniformity trials in the Pacific Northwest, read second-hand): with 3 replications
    # strips of 1000 ft in place of 250 ft cut the 5 % difference from about 10 to about 5 bu/ac: the error of a strip
    # falls with the root of its length. "About": half a bushel either way.
    short = least_significant_difference(sigma=1.0, variance_factor=2 / 3, residual_df=2)
    strip_error = 10 / short
    longer = least_significant_difference(sigma=strip_error / math.sqrt(4), variance_factor=2 / 3, residual_df=2)
    assert longer == pytest.approx(5, abs=0.5)


LOSS = {
    0: 0.398942,
    0.1: 0.350935,
    0.25: 0.286345,
    0.5: 0.197797,
    0.75: 0.131167,
    1: 0.083315,
    1.5: 0.029307,
    2: 0.008491,
    2.5: 0.002004,
    3: 0.000382,
}


@pytest.mark.parametrize("u", LOSS)
def test_unit_normal_loss_table(u):
    # Raiffa & Schlaifer, Applied Statistical Decision Theory (1961): formula; table computed anew, six decimals.
    assert unit_normal_loss(u) == pytest.approx(LOSS[u], abs=5.1e-7)


@pytest.mark.parametrize(
    ("mean", "sd", "error", "trial", "known"),
    [(-10, 40, 30, 8.38448, 11.45379), (0, 40, 30, 12.76615, 15.95769), (20, 50, 25, 9.59621, 11.52194)],
)
def test_value_of_a_trial(mean, sd, error, trial, known):
    # Computed from the formula and by four million simulated choices (8.3915 and 11.4625 for the first).
    assert value_of_sample_information(mean, sd, error) == pytest.approx(trial, abs=5.1e-6)
    assert value_of_perfect_information(mean, sd) == pytest.approx(known, abs=5.1e-6)


def test_value_on_a_farm():
    # 50 ha for five undiscounted years: 2,096 in money.
    assert 50 * 5 * value_of_sample_information(-10, 40, 30) == pytest.approx(2096, abs=0.5)
