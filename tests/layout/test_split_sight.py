"""What a layout of two factors can see: two errors, against simulated fields and the one-factor answer."""

from math import sqrt

import numpy as np
import pytest
from tests import small_trial as small
from tests import split_trial as trial
from tests.layout import fields

from evenground.layout.detectable import detectable_of, place_of
from evenground.layout.ground import ground_of, sight_of
from evenground.layout.laid_out import can_answer
from evenground.layout.outlook import draw_errors, outlook
from evenground.layout.split_draw import draw_split
from evenground.layout.split_sight import factor_gains, factor_lines
from evenground.layout.summary import summary, words
from evenground.numerics.power import power_of_gain


def errors_of_simulated_draws(plan, draw, sets=1500):
    """Root mean square error of the three effects over free draws and simulated ground, no effect there."""
    here, ground, slot = place_of(plan, draw), ground_of(plan), draw.strips[0]
    covariance = ground.covariance(here.left_m, slot.cut_width_m, here.low_m, here.high_m)
    root, rng = np.linalg.cholesky(covariance), np.random.default_rng(7)
    free = plan.model_copy(update={"layout": plan.layout.model_copy(update={"limits": ()})})
    found = []
    for _ in range(sets):
        letters = np.array(draw_split(free, plan.grid, 6, rng).methods.letters)
        y = root @ rng.normal(size=len(letters))
        a, b, c, d = (y[letters == x].mean() for x in "ABCD")
        found.append(((c + d - a - b) / 2, (b + d - a - c) / 2, d - c - b + a))
    return np.sqrt((np.array(found) ** 2).mean(0))


def test_standard_errors_against_simulated_fields():
    """1,500 sets: the sampling error of a root mean square is 1 / sqrt(3000) = 1.8 %; 3.5 of them allowed."""
    plan, draw = trial.plan(blocks=6), trial.draw()
    simulated = errors_of_simulated_draws(plan, draw)
    assert [one.standard_error_percent for one in factor_gains(plan, draw)] == pytest.approx(simulated, rel=0.064)


def test_each_gain_is_found_four_times_in_five():
    plan, draw = trial.plan(blocks=6), trial.draw()
    factors = (2 / 6, 1 / 6, 4 / 6)
    for one, factor in zip(factor_gains(plan, draw), factors, strict=True):
        gain = one.t_per_ha / plan.outcome.expected * 100
        power = power_of_gain(gain, sigma=one.error_percent, variance_factor=factor, residual_df=one.residual_df)
        assert power == pytest.approx(0.8, abs=1e-6)
    assert [one.residual_df for one in factor_gains(plan, draw)] == [5, 10, 10]


def test_the_pattern_is_what_the_layout_is_judged_by():
    plan, draw = trial.plan(blocks=6), trial.draw()
    pattern = factor_gains(plan, draw)[0]
    assert detectable_of(plan, draw).t_per_ha == pytest.approx(pattern.t_per_ha, rel=1e-12)
    assert sight_of(plan).strips == 4
    assert sight_of(plan).residual_df(6) == 5


def test_whole_plots_of_one_strip_are_strips():
    ground = ground_of(small.plan())
    low, high = np.zeros((3, 4)), np.full((3, 4), 120.0)
    assert ground.within_blocks(low, high, 6.0, 4.5, 1) == pytest.approx(ground.within_blocks(low, high, 6.0, 4.5))


def test_variance_of_whole_plots_from_the_covariance_of_strips():
    """Half the variance of the difference of two plots' means, written out with the full covariance matrix."""
    ground = ground_of(small.plan())
    low, high = np.array([0.0, 5, 0, 0, 10, 0]), np.array([100.0, 120, 90, 100, 100, 130])
    v = ground.covariance(6.0 * np.arange(6), 4.5, low, high)
    means = np.kron(np.eye(3), np.ones(2) / 2)
    plots = means @ v @ means.T
    pairs = [(plots[i, i] + plots[j, j]) / 2 - plots[i, j] for i in range(3) for j in range(i)]
    assert float(ground.within_blocks(low, high, 6.0, 4.5, 2)) == pytest.approx(np.mean(pairs), rel=1e-12)


def test_one_figure_a_method_is_shared_between_a_plot_s_methods():
    """Four methods with one dry-matter figure each: the pattern's error carries half a figure's variance a level."""
    plan, draw = trial.plan(blocks=6, samples_per_strip=0), trial.draw()
    gains = factor_gains(plan, draw)
    figure = ground_of(plan).common
    assert figure > 0
    bare = [2 * g.error_percent**2 / 6 for g in gains[:1]]
    assert gains[0].standard_error_percent == pytest.approx(sqrt(bare[0] + figure))
    assert gains[2].standard_error_percent == pytest.approx(sqrt(4 * gains[2].error_percent ** 2 / 6 + 4 * figure))
    assert detectable_of(plan, draw).standard_error_percent == pytest.approx(gains[0].standard_error_percent)


def test_limits_against_a_free_draw_and_lost_passes():
    plan, draw = trial.plan(blocks=6), trial.draw()
    free, limited = draw_errors(plan, draw)
    assert free == pytest.approx(factor_gains(plan, draw)[0].standard_error_percent, rel=1e-9)
    assert 0.7 * free < limited < 1.3 * free
    fewer = outlook(plan, draw, 80_000.0).fewer
    assert [one.passes for one in fewer] == [10, 8, 6, 4]


def test_words_and_json():
    plan, draw = trial.plan(blocks=6), trial.draw()
    field = fields.field(fields.rectangle(260, 330))
    answer = can_answer(plan, field, draw)
    said = "\n".join(words(plan, draw, (), answer))
    assert "the driver sets the seed rate anew at the headland" in said
    assert "row pattern: can see" in said
    assert factor_lines(small.plan(), small.draw()) == []
    keys = summary(plan, draw, (), answer)
    assert keys["whole_plots"][0] == {"whole_plot": 1, "strips": [1, 2]}
    assert [one["factor"] for one in keys["factor_gains"]] == ["row pattern", "seed rate", "seed rate by row pattern"]
    assert keys["factors"]["letters"] == (("A", "B"), ("C", "D"))
