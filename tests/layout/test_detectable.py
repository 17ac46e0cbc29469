"""What a layout can see, against the published table of k(n)."""

import pytest
from tests.layout import fields

from evenground.layout.detectable import answerable, blocks_needed, detectable, plausible_gain

# Detectable difference of n pairs at 80 % power, two-sided 5 %, percent of the mean, for a strip error of 2, 4, 5 and
# 10 %: computed with scipy's noncentral t and cross-checked with statsmodels' TTestPower. Printed with one decimal.
TABLE = {
    2: {3: 9.2, 4: 6.0, 5: 4.8, 6: 4.1, 8: 3.3, 10: 2.8},
    4: {3: 18.5, 4: 12.0, 5: 9.5, 6: 8.1, 8: 6.5, 10: 5.6},
    5: {3: 23.1, 4: 15.0, 5: 11.9, 6: 10.1, 8: 8.2, 10: 7.0},
    10: {3: 46.2, 4: 30.1, 5: 23.8, 6: 20.3, 8: 16.3, 10: 14.1},
}


def exact(letters="AB", **layout):
    """A plan whose dry-matter figures are exact, as in the tables."""
    plan = fields.plan(letters, **layout)
    return plan.model_copy(update={"outcome": plan.outcome.model_copy(update={"sample_sd_points": 0.0})})


@pytest.mark.parametrize("error", TABLE)
def test_detectable_gain_of_pairs(error):
    plan = exact(strip_error_percent=error)
    for pairs, percent in TABLE[error].items():
        gain = detectable(plan, pairs)
        # Half of the last printed digit.
        assert 100 * gain.t_per_ha / plan.outcome.expected_t_per_ha == pytest.approx(percent, abs=0.0501)
        assert (gain.power, gain.alpha, gain.strip_error_percent) == (0.8, 0.05, pytest.approx(error))


def test_money_is_the_expected_worth_of_a_tonne():
    # 40 % of the years at 180, the others at 90: 126 a tonne (defaults of the plan).
    gain = detectable(fields.plan(), 8)
    assert gain.money_per_ha == pytest.approx(126 * gain.t_per_ha)
    assert "uniformity trials" in gain.source


def test_more_methods_see_a_little_more_with_the_same_blocks():
    two, four = (detectable(fields.plan(letters), 5).t_per_ha for letters in ("AB", "ABCD"))
    assert four < two


def test_one_block_sees_nothing():
    gain = detectable(fields.plan(), 1)
    assert gain.t_per_ha is None
    assert gain.money_per_ha is None


def test_a_plausible_gain_is_the_prior_mean_and_two_sd():
    # 1.5 + 2 x 3.5 percent of 13 t/ha.
    assert plausible_gain(fields.plan()) == pytest.approx(0.085 * 13)


def test_six_blocks_are_needed_even_with_a_tiny_error():
    assert blocks_needed(exact(strip_error_percent=0.5)) == 6


def test_a_hopeless_error_needs_more_blocks_than_there_can_be():
    assert blocks_needed(fields.plan(strip_error_percent=40)) is None


def test_enough_blocks_are_enough():
    answer = answerable(exact(), 8, 0.03, blocks_if_shorter=None)
    assert answer.can_answer
    assert answer.reasons == answer.helps == ()


@pytest.mark.parametrize(
    ("blocks", "smallest_p", "words"),
    [
        (1, 1.0, "One block gives no measure"),
        (2, 0.5, "fewer than 3 nothing can be told"),
        (4, 0.125, "The trial can see 1.56 t/ha; more than 1.10 t/ha was not thought likely"),
        (8, 0.06, "cannot give less than p = 0.06"),
    ],
)
def test_each_reason_is_said(blocks, smallest_p, words):
    answer = answerable(exact(), blocks, smallest_p, blocks_if_shorter=(30.0, 9))
    assert not answer.can_answer
    assert any(words in reason for reason in answer.reasons)
    assert any("from 30 m on (shortest_strip_m) would give 9 blocks" in help_ for help_ in answer.helps)
    assert any("second year" in help_ for help_ in answer.helps)
