"""Two factors compared: R's split plot through the front door, the randomisation tests by hand, mishaps."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy import stats
from tests import split_trial as trial
from tests.cases import reference

from evenground.basis.errors import CannotCompareError
from evenground.compare.compare import compare
from evenground.compare.split_plot import SplitPlot
from evenground.compare.values import SharedError, StripValues
from evenground.decide.split_trial import split_of

VARIETIES, RATES = ("Golden Rain", "Marvellous", "Victory"), ("0.0", "0.2", "0.4", "0.6")


def oats() -> tuple[StripValues, SplitPlot]:
    """Yates (1935): varieties on whole plots, nitrogen within them."""
    table = reference.rows("nlme_Oats.csv")
    letters = tuple(tuple(f"{v}/{n}" for n in RATES) for v in VARIETIES)
    names = tuple(str(i) for i in range(len(table)))
    values = StripValues(
        names,
        tuple(f"{r['Variety']}/{r['nitro']}" for r in table),
        tuple(r["Block"] for r in table),
        tuple(float(r["yield"]) for r in table),
    )
    plots = {name: f"{r['Block']}-{r['Variety']}" for name, r in zip(names, table, strict=True)}
    return values, SplitPlot("variety", "nitrogen", VARIETIES, RATES, letters, plots)


def test_oats_as_r_gives_them() -> None:
    """lme4 + pbkrtest (r/mixed_models.json): each letter against Golden Rain without nitrogen; 1e-5, df 1e-4."""
    values, split = oats()
    found = compare(values, "Golden Rain/0.0", split=split)
    r = {row["term"]: row for row in reference.mixed_models()["oats_splitplot"]["fixed"]}
    for letter, term in (("Golden Rain/0.6", "nf0.6"), ("Victory/0.0", "VarietyVictory"), ("Golden Rain/0.2", "nf0.2")):
        got = found.against_baseline(letter)
        assert got.gain == pytest.approx(r[term]["estimate"], abs=1e-9)
        assert got.standard_error == pytest.approx(r[term]["se_KR"], rel=1e-5)
        assert got.df == pytest.approx(r[term]["df_KR"], rel=1e-4)
    parts = reference.mixed_models()["oats_splitplot"]["variance_components"]
    assert found.plot_variance == pytest.approx(parts["Variety:Block"], rel=1e-6)
    assert found.as_dict()["variance_components"]["whole_plot"] == found.plot_variance


def test_factor_effects_of_the_oats() -> None:
    """Standard errors of marginal differences from the mean squares R's aov prints: 601.33 (10 df), 177.083 (45 df)."""
    values, split = oats()
    effects = compare(values, "Golden Rain/0.0", split=split).factor_effects
    assert len(effects) == 2 + 3 + 6
    variety, rate, both = effects[0], effects[4], effects[-1]
    assert (variety.level, variety.against, variety.judged_by) == ("Marvellous", "Golden Rain", "whole plots")
    assert (variety.standard_error, variety.df) == pytest.approx((np.sqrt(2 * 601.330556 / 24), 10), rel=1e-6)
    assert (rate.level, rate.effect) == ("0.6", pytest.approx(123.388889 - 79.388889, abs=1e-5))
    assert (rate.standard_error, rate.df) == pytest.approx((np.sqrt(2 * 177.083333 / 18), 45), rel=1e-6)
    assert both.standard_error == pytest.approx(np.sqrt(4 * 177.083333 / 6), rel=1e-6)
    assert both.judged_by == "strips within whole plots"


def test_taking_strips_for_replicates_would_claim_more() -> None:
    """The pattern's error in blocks alone is too small: that is why the whole plot is its unit."""
    values, split = oats()
    with_plots = compare(values, "Golden Rain/0.0", split=split).against_baseline("Victory/0.0")
    without = compare(values, "Golden Rain/0.0").against_baseline("Victory/0.0")
    assert with_plots.gain == pytest.approx(without.gain)
    assert with_plots.df < without.df


def values_of(draw, y) -> StripValues:
    strips = sorted(draw.strips, key=lambda s: s.strip)
    return StripValues(
        tuple(str(s.strip) for s in strips),
        tuple(s.method for s in strips),
        tuple(str(s.block) for s in strips),
        tuple(float(v) for v in y),
    )


def test_randomisation_tests_by_hand() -> None:
    """Six blocks drawn freely: all 2^6 orders of whole plots, all 2^12 of rates, counted one by one."""
    draw = trial.draw(limits=[])
    y = np.round(13 + np.random.default_rng(11).normal(size=24), 2)
    effects = compare(values_of(draw, y), "A", split=split_of(draw, 0)).factor_effects
    twin = np.array([s.method in "CD" for s in draw.strips])
    high = np.array([s.method in "BD" for s in draw.strips])
    plot = np.where(twin[::2], 1, -1) * y.reshape(12, 2).mean(1)
    sums = [abs(np.dot(np.repeat(flip, 2), plot)) for flip in product((1, -1), repeat=6)]
    assert effects[0].randomisation.p == np.mean(np.array(sums) >= abs(plot.sum()) - 1e-9)
    assert effects[0].randomisation.size == 64
    rate = (np.where(high, 1, -1) * y).reshape(12, 2).sum(1)
    flips = np.array(list(product((1, -1), repeat=12)))
    assert effects[1].randomisation.p == np.mean(np.abs(flips @ rate) >= abs(rate.sum()) - 1e-9)
    assert effects[2].randomisation is None


def test_false_alarms_of_both_factors_over_the_drawn_set() -> None:
    """Size at 5 % over draws with limits, ground that rises and whole plots that differ: at most 5 % + 3.5 errors."""
    rng, sets = np.random.default_rng(2), 150
    hits = np.zeros(2)
    for seed in range(sets):
        draw = trial.draw(seed=seed)
        y = rng.normal(size=24) + np.repeat(rng.normal(size=12), 2) + 0.3 * np.arange(24)
        effects = compare(values_of(draw, np.round(y, 3)), "A", split=split_of(draw, 0)).factor_effects
        hits += [one.randomisation.p <= 0.05 for one in effects[:2]]
    assert (hits / sets <= 0.05 + 3.5 * np.sqrt(0.05 * 0.95 / sets)).all(), hits / sets


def test_single_methods_get_no_randomisation_test() -> None:
    draw = trial.draw()
    found = compare(values_of(draw, np.arange(24.0) % 7), "A", reference={}, split=split_of(draw, 0))
    assert all(one.randomisation is None for one in found.comparisons)
    assert any("tests are those of the factors" in note for note in found.notes)


def test_a_lost_strip_and_a_wrong_rate_leave_the_tests_only() -> None:
    draw = trial.draw(limits=[])
    y = np.round(13 + np.random.default_rng(4).normal(size=24), 2)
    whole = values_of(draw, y)
    methods = list(whole.methods)
    swap = {"A": "B", "B": "A", "C": "D", "D": "C"}
    methods[0] = swap[methods[0]]
    wrong = StripValues(whole.strips[:-1], tuple(methods[:-1]), whole.blocks[:-1], whole.outcome[:-1])
    found = compare(wrong, "A", split=split_of(draw, 0))
    assert found.strips == 23
    assert (found.factor_effects[0].randomisation.size, found.factor_effects[1].randomisation.size) == (64, 4096)
    # blocks 1 and 6 leave the test of whole plots, one whole plot in each leaves that of rates
    assert found.factor_effects[0].randomisation.smallest == 2 / 2**4
    assert found.factor_effects[1].randomisation.smallest == 2 / 2**10


def test_a_strip_sown_by_the_other_machine_is_a_whole_plot_of_its_own() -> None:
    draw = trial.draw()
    whole = values_of(draw, np.round(13 + np.random.default_rng(4).normal(size=24), 2))
    other = {"A": "C", "B": "D", "C": "A", "D": "B"}
    methods = (other[whole.methods[0]], *whole.methods[1:])
    found = compare(StripValues(whole.strips, methods, whole.blocks, whole.outcome), "A", split=split_of(draw, 0))
    assert found.strips == 24
    assert found.factor_effects[0].df < 24


def test_shared_figures_enter_once_and_take_the_p_value_away() -> None:
    draw = trial.draw()
    plain = values_of(draw, np.round(13 + np.random.default_rng(9).normal(size=24), 2))
    own = {m: tuple(s for s, x in zip(plain.strips, plain.methods, strict=True) if x == m) for m in "ABCD"}
    shared = tuple(SharedError(own[m], (0.4,) * 6, f"figure of {m}") for m in "ABCD")
    with_ = StripValues(plain.strips, plain.methods, plain.blocks, plain.outcome, shared)
    one, two = (compare(v, "A", split=split_of(draw, 0)).factor_effects for v in (plain, with_))
    for bare, carried, factor in zip(one, two, (1.0, 1.0, 4.0), strict=True):
        # pattern and rate: each level is the mean of two figures, the difference carries 0.4^2 (1/2 + 1/2)
        assert carried.standard_error**2 == pytest.approx(bare.standard_error**2 + factor * 0.16, rel=1e-9)
        assert carried.p is None
        assert carried.randomisation is None


def without(letter: str) -> tuple[StripValues, StripValues]:
    draw = trial.draw()
    whole = values_of(draw, np.round(13 + np.random.default_rng(4).normal(size=24), 2))
    return whole, chosen(whole, [i for i, m in enumerate(whole.methods) if m != letter])


def chosen(values: StripValues, keep: list[int]) -> StripValues:
    return StripValues(
        *(tuple(column[i] for i in keep) for column in (values.strips, values.methods, values.blocks, values.outcome))
    )


def test_a_method_lost_whole_leaves_every_other_one_compared_by_itself() -> None:
    """Each gain is that of the pairs alone: scipy's paired t test (ttest_rel), 1e-8 relative (fitted by iteration)."""
    draw = trial.draw()
    _, left = without("D")
    found = compare(left, "A", split=split_of(draw, 0))
    assert [one.method for one in found.comparisons] == [m for m in left.method_order if m != "A"]
    value = {(b, m): y for b, m, y in zip(left.blocks, left.methods, left.outcome, strict=True)}
    for one in found.comparisons:
        new, old = ([value[b, m] for b in left.block_order] for m in (one.method, "A"))
        test = stats.ttest_rel(new, old)
        assert one.p == pytest.approx(test.pvalue, rel=1e-8)
        assert (one.gain, one.df) == pytest.approx((float(np.mean(np.subtract(new, old))), 5.0), rel=1e-8)
    assert found.factor_effects == ()
    assert any("Of method D too little was weighed" in note for note in found.notes)


def test_a_figure_shared_by_a_method_still_enters_once_where_another_is_lost() -> None:
    _, left = without("D")
    mine = tuple(s for s, m in zip(left.strips, left.methods, strict=True) if m == "B")
    carried = StripValues(
        left.strips, left.methods, left.blocks, left.outcome, (SharedError(mine, (0.4,) * len(mine), "figure of B"),)
    )
    bare, with_ = (compare(v, "A", split=split_of(trial.draw(), 0)) for v in (left, carried))
    one, two = (found.against_baseline("B").standard_error for found in (bare, with_))
    assert two**2 == pytest.approx(one**2 + 0.16, rel=1e-9)
    assert with_.against_baseline("B").p is None
    assert with_.against_baseline("C").standard_error == pytest.approx(bare.against_baseline("C").standard_error)


def test_without_the_baseline_nothing_can_be_said() -> None:
    _, left = without("A")
    with pytest.raises(CannotCompareError, match="the baseline A has no strip"):
        compare(left, "A", split=split_of(trial.draw(), 0))


def test_flat_prior_posterior_is_the_t_interval() -> None:
    draw = trial.draw()
    y = 13 + np.random.default_rng(9).normal(size=24)
    found = compare(values_of(draw, y), "A", split=split_of(draw)).against_baseline("D")
    assert found.posterior.theta.interval(0.9) == pytest.approx(found.interval, abs=1e-6)
