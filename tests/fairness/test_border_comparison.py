"""The answer to a comparison that was never randomised: step, range, explanations, and never more than it can tell."""

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import chdtri
from tests import small_trial as small
from tests.fairness.borders import points

from evenground.basis.errors import CannotCompareError
from evenground.fairness.border import Setting, border_comparison, half_width
from evenground.fairness.border_json import as_dict
from evenground.fairness.border_setting import Known, setting_of
from evenground.fairness.border_sides import Measured, sides_of
from evenground.fairness.border_spread import PRIOR_DF, spread_of
from evenground.fairness.border_words import in_words, next_year_of
from evenground.fairness.explanations import of_sowing
from evenground.numerics.before_after import relative_variances
from evenground.numerics.power import detectable_gain
from evenground.numerics.t_distribution import quantile

KEYS = {"step", "step_standard_error", "placebo_sd", "interval", "explanations", "advice"}


def answer(measured=None, setting=None):
    return border_comparison(sides_of(measured or points(), "A"), setting or Setting())


def keys_of(data):
    if isinstance(data, dict):
        return set(data) | {k for v in data.values() for k in keys_of(v)}
    return {k for v in data for k in keys_of(v)} if isinstance(data, list) else set()


def weights(*values):
    return Measured("w.csv", ("A", "B") * (len(values) // 2), np.array(values))


@pytest.mark.parametrize(
    "measured", [points(), points(earlier=True), weights(13.0, 14.0), weights(13.0, 14.0, 13.4, 14.2)]
)
def test_the_advice_is_always_cannot_tell_and_there_is_never_a_p(measured):
    found = as_dict(answer(measured))
    assert set(found) >= KEYS
    assert found["advice"]["action"] == "cannot_tell"
    assert not [k for k in keys_of(found) if k == "p" or k.startswith("p_")]
    json.dumps(found, allow_nan=False)
    text = "\n".join(in_words(answer(measured)))
    assert "cannot tell the method from the field and the date" in text.splitlines()[-1]
    assert "at least this wide" in text
    for forbidden in ("significant", "proven", "no difference", "adopt", "use it"):
        assert forbidden not in text.lower()


@pytest.mark.parametrize("step", [-1.0, 0.0, 2.0])
def test_the_step_is_found(step):
    found = answer(points(step=step))
    assert found.step == pytest.approx(step, abs=3.5 * found.step_standard_error)
    assert 0.02 < found.step_standard_error < 0.5
    assert found.placebo_sd == pytest.approx(0.08 * found.mean_t_per_ha)


def test_even_a_huge_step_keeps_the_advice_and_the_range():
    found = answer(points(step=9.0))
    assert found.interval[0] > 0  # the range does not hold 0
    assert as_dict(found)["advice"]["action"] == "cannot_tell"


def test_the_range_without_points_is_that_of_the_neighbouring_pieces():
    # Two weights, nothing else known: the step, and t with 4 df times 11.5 % of the mean; by hand
    found = answer(weights(13.0, 14.0))
    reach = quantile(0.95, 4.0) * 0.115 * 13.5
    assert found.step_standard_error is None
    assert found.interval == pytest.approx((1.0 - reach, 1.0 + reach))
    assert "Only weights" in found.notes[0]


def test_several_weights_are_no_replicates_but_have_an_error():
    found = answer(weights(13.0, 14.0, 13.4, 14.2))
    # difference of means 0.9; variances 0.08 and 0.02 of two each
    assert (found.step, found.step_standard_error) == pytest.approx((0.9, np.sqrt(0.05)))
    assert "not replicates" in found.notes[1]


def test_a_rougher_plan_widens_weights_too():
    smooth = border_comparison(sides_of(weights(13.0, 14.0), "A"), Setting(spread_percent=5.0))
    rough = border_comparison(sides_of(weights(13.0, 14.0), "A"), Setting(spread_percent=20.0))
    assert smooth.spread.percent == 11.5
    assert rough.spread.percent == 20.0


HALF_WIDTHS = [
    ((1.0, 4.0, 0.0, 1.0, 0.9), quantile(0.95, 4.0)),
    ((0.0, 4.0, 2.0, 7.0, 0.9), 2.0 * quantile(0.95, 7.0)),
    ((1.0, 8.0, 1.0, 8.0, 0.9), np.sqrt(2) * quantile(0.95, 16.0)),
    ((0.0, 4.0, 0.0, 1.0, 0.9), 0.0),
]


@pytest.mark.parametrize(("given", "expected"), HALF_WIDTHS)
def test_half_widths_by_hand(given, expected):
    assert half_width(*given) == pytest.approx(expected)


def test_known_differences_are_taken_off_at_both_ends():
    later = of_sowing(6.0, 40.0, 13.0)
    plain, with_days = answer(), answer(setting=Setting((later,)))
    low, high = later.bias_t_per_ha
    assert low < 0 < high
    assert with_days.interval == pytest.approx((plain.interval[0] - high, plain.interval[1] - low))
    assert with_days.interval_without_explanations == pytest.approx(plain.interval)
    assert with_days.step == plain.step


def test_what_is_alike_or_unknown_moves_nothing():
    for days in (0.0, None):
        assert answer(setting=Setting((of_sowing(days, None, 13.0),))).interval == answer().interval


def test_the_field_s_own_earlier_yields_join_the_spread():
    sides = sides_of(points(earlier=True), "A")
    spread = spread_of(sides, 50.0)
    assert {s.layer for s in spread.own} == {"earlier_2024"}
    assert {s.from_border_m for s in spread.own} == {0.0}
    (own,) = spread.own
    # B's ground gave 0.5 of 11 t/ha more in the earlier year: 4.4 %, and a step is known to about 0.1 t/ha (1 %)
    assert own.percent == pytest.approx(4.4, abs=2.5)
    assert spread.df == PRIOR_DF + 1
    assert spread.percent == pytest.approx(np.sqrt((4 * 64 + own.percent**2) / 5))


def test_lines_inside_deep_sides_count_too():
    deep = spread_of(sides_of(points(deep=300.0, n=1200), "A"), 60.0)
    assert {s.from_border_m for s in deep.own} == {-240.0, -120.0, 120.0, 240.0}
    assert {s.layer for s in deep.own} == {"this season"}
    assert deep.df == PRIOR_DF + 4
    assert deep.percent < 8.0  # this invented field is smooth


def test_earlier_yields_enter_by_covariance_not_as_change_scores():
    found = answer(points(step=1.0, earlier=True, n=600))
    past = found.earlier
    assert past.years == ("earlier_2024",)
    assert 0.3 < past.correlation < 1.0
    assert found.step == pytest.approx(
        past.step_without - past.slope * (past.step_without - past.step_change_scores), abs=0.3
    )
    assert past.sentence in "\n".join(in_words(found))


def test_a_past_that_says_little_is_called_so():
    measured = points(earlier=True)
    noise = np.random.default_rng(5).uniform(9, 12, len(measured.value))
    found = answer(replace(measured, earlier={"earlier_2020": noise}))
    assert abs(found.earlier.correlation) < 0.5
    assert "less certain than ignoring the past" in found.earlier.sentence
    # below a correlation of 0.5 change scores have more variance than leaving the past out, by the formula
    assert relative_variances(0.49)[0] > 1.0


def test_a_layer_with_holes_is_left_out_and_said():
    measured = points(earlier=True)
    holes = measured.earlier["earlier_2024"].copy()
    holes[::3] = np.nan
    found = answer(replace(measured, earlier={"earlier_2024": holes}))
    assert found.earlier is None
    assert any("earlier_2024" in text for text in found.notes)


def test_a_past_that_only_names_the_side_is_left_out():
    measured = points()
    sides = np.array([m == "B" for m in measured.method])
    found = answer(replace(measured, earlier={"earlier_2020": np.where(sides, 11.0, 10.0)}))
    assert found.earlier is None


def test_a_season_that_is_the_same_everywhere_has_no_step():
    measured = points(earlier=True)
    found = answer(replace(measured, value=np.full(len(measured.value), 13.0)))
    assert found.step == pytest.approx(0.0, abs=1e-9)
    assert found.earlier.correlation == 0.0
    assert found.interval[0] < 0 < found.interval[1]


def test_four_pieces_put_a_field_s_own_spread_where_open_trials_found_it():
    # own computation on open uniformity trials found 3.6 to 20.9 %; 8 % worth 4 pieces says 5.2 to 19.0, 9 in 10
    low, high = (8.0 * np.sqrt(PRIOR_DF / chdtri(PRIOR_DF, p)) for p in (0.05, 0.95))
    assert (low, high) == pytest.approx((5.2, 19.0), abs=0.05)


def test_sensitivity_to_the_distance_is_shown():
    found = answer()
    assert [h for h, _ in found.sensitivity] == pytest.approx([found.fit.bandwidth * f for f in (0.5, 1, 2)])
    assert found.sensitivity[1][1] == pytest.approx(found.step)


def test_too_few_points_are_refused_in_words():
    measured = Measured("b.csv", ("A", "B") * 2, np.full(4, 13.0), np.array([-1.0, 1] * 2), np.arange(4.0) // 2)
    with pytest.raises(CannotCompareError, match=r"The border cannot be compared: .*Take more points"):
        answer(measured)


def test_next_year_is_the_power_of_a_fair_layout():
    # noncentral t by `evenground.numerics.power`, itself checked against published tables: 8 pairs, 4 % of 13 t/ha
    plain = {n.blocks: n.detectable_t_per_ha for n in next_year_of(None, 13.0)}
    assert plain[8] == pytest.approx(detectable_gain(sigma=0.52, variance_factor=0.25, residual_df=7))
    assert list(plain) == sorted(plain)
    assert sorted(plain.values(), reverse=True) == list(plain.values())
    with_plan = next_year_of(small.plan(), 13.0)
    assert all(n.detectable_t_per_ha > 0 for n in with_plan)


def test_a_plan_brings_its_settings_its_level_and_its_ground():
    twin = {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2}
    plan = small.plan(
        methods=[small.method("A"), small.method("B", row_pattern=twin, seeds_per_m2=8.0, depth_cm=7.0)],
        unevenness={"border_step_percent": 11.0},
        advice={"level": 0.8},
    )
    setting = setting_of(Known(plan, days_later=4.0), "A", "B", 13.0)
    by_item = {e.item: e for e in setting.explanations}
    assert by_item["seeds"].bias_t_per_ha[0] < 0.0
    assert by_item["depth"].bias_t_per_ha is None
    assert by_item["sowing day"].state == "differs"
    assert (setting.level, setting.spread_percent) == (0.8, 11.0)
    assert "row pattern" not in by_item  # that is the question
