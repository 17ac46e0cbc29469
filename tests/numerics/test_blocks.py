"""Treatments in blocks: against R, against the paired t and the two-way analysis, and against the general fit.

R (lme4, pbkrtest, lmerTest): cases/r/mixed_models.json; tolerances as in test_mixed_reference.py.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.cases import reference

from evenground.numerics import kenward_roger, linear, mixed, satterthwaite
from evenground.numerics.arrays import FloatArray, IntArray, indicator
from evenground.numerics.blocks import BlockFit, fit_blocks, fit_blocks_many, lay_out

TWO_METHODS = ("sim16", "sim16_lost5", "sim16_lost5_6_11", "oats_two_variety_plots", "npk_N")


def table_of(name: str) -> tuple[FloatArray, IntArray, IntArray, int]:
    model = reference.model(name)
    (factor,) = model.fixed[0]
    order = model.levels[factor]
    return model.y, np.array([order.index(row[factor]) for row in model.table]), model.factors[-1], len(order)


@pytest.mark.parametrize("name", [*TWO_METHODS, "oats_two_variety_plots/missing_one", "antigua_DBAN_311_vs_111"])
def test_against_r(name: str) -> None:
    fit, expected = fit_blocks(*table_of(name)), reference.expected(name)
    coefficient, freedom = expected["fixed"][1], expected["satterthwaite_df"][expected["fixed"][1]["term"]]
    assert fit.block_effects == "random"
    assert fit.gains[0] == pytest.approx(coefficient["estimate"], rel=1e-5)
    assert fit.standard_errors[0] == pytest.approx(coefficient["se_KR"], rel=1e-5)
    assert fit.t[0] == pytest.approx(coefficient["t"], rel=1e-5)
    assert fit.p[0] == pytest.approx(coefficient["p"], rel=1e-5)
    assert fit.df[0] == pytest.approx(coefficient["df_KR"], rel=1e-4)
    assert fit.df_satterthwaite[0] == pytest.approx(freedom, rel=1e-4)
    (block,) = (value for key, value in expected["variance_components"].items() if key != "Residual")
    assert fit.block_variance_unbounded == pytest.approx(block, rel=1e-5)
    assert fit.residual_variance == pytest.approx(expected["variance_components"]["Residual"], rel=1e-5)
    means = [entry["emmean"] for entry in expected["emmeans"]]
    assert fit.means == pytest.approx(means, rel=1e-5)


class TestBlocksThatExplainNothing:
    """Where the block variance is not positive: fixed blocks, the paired t, never the clipped fit."""

    def test_darwins_maize(self) -> None:
        """Darwin (1876), Fisher (1935) section 21: t = 2.148 on 14 df, p 0.0497; a variance clipped at 0 says 0.029."""
        fit, paired = fit_blocks(*table_of("darwin")), reference.mixed_models()["darwin"]["paired_t"]
        assert fit.block_effects == "fixed"
        assert (fit.t[0], fit.df[0], fit.p[0]) == pytest.approx((paired["t"], 14, paired["p"]), rel=1e-10)
        assert fit.p[0] == pytest.approx(0.049703, abs=5e-7)
        assert fit.t[0] == pytest.approx(2.148, abs=5e-4)
        assert fit.df_satterthwaite[0] == 14
        # two-way table: (block mean square - residual mean square) / 2
        y = table_of("darwin")[0].reshape(2, 15)
        between = 2 * y.mean(0).var(ddof=1)
        assert fit.block_variance_unbounded == pytest.approx((between - fit.residual_variance) / 2, rel=1e-10)

    def test_blocks_forced_alike(self) -> None:
        """Simulated pairs shifted to equal means: there is no estimate at all, R's paired t is right."""
        fit, paired = fit_blocks(*table_of("boundary_zero_block")), reference.mixed_models()["boundary_zero_block"]
        assert fit.block_effects == "fixed"
        assert fit.block_variance_unbounded is None
        assert fit.p[0] == pytest.approx(paired["paired_t"]["p"], rel=1e-10)
        assert fit.p[0] == pytest.approx(0.198395, abs=5e-7)
        assert fit.gains[0] == pytest.approx(paired["paired_t"]["diff"], rel=1e-12)

    def test_broken_pairs(self) -> None:
        """Three of Darwin's pairs broken: least squares with pairs in the model, which uses the whole pairs only."""
        y, treatments, blocks, count = table_of("darwin_missing")
        fit = fit_blocks(y, treatments, blocks, count)
        whole = [k for k in range(15) if (blocks == k).sum() == 2]
        d = np.array([y[(blocks == k) & (treatments == 1)][0] - y[(blocks == k) & (treatments == 0)][0] for k in whole])
        assert fit.block_effects == "fixed"
        assert fit.gains[0] == pytest.approx(d.mean(), rel=1e-10)
        assert fit.t[0] == pytest.approx(d.mean() / (d.std(ddof=1) / np.sqrt(len(d))), rel=1e-10)
        assert fit.df[0] == len(d) - 1


def two_way(table: FloatArray) -> tuple[FloatArray, float, int]:
    """Gains, residual mean square and df of a complete table by means alone."""
    rest = table - table.mean(0) - table.mean(1)[:, None] + table.mean()
    df = (table.shape[0] - 1) * (table.shape[1] - 1)
    return table.mean(0)[1:] - table.mean(0)[0], float((rest**2).sum() / df), df


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(2, 9), st.integers(2, 4), st.floats(0.0, 3.0), st.floats(-50.0, 50.0), st.integers(0, 2**31 - 1))
def test_a_complete_table_is_its_two_way_analysis(
    blocks: int, count: int, block_sd: float, level: float, seed: int
) -> None:
    """Fisher's randomised blocks: random or fixed, the same gains, errors, degrees of freedom and t."""
    rng = np.random.default_rng(seed)
    table = level + block_sd * rng.normal(size=(blocks, 1)) + rng.normal(size=(blocks, count))
    gains, square, df = two_way(table)
    order = rng.permutation(table.size)
    codes = np.tile(np.arange(count), blocks)[order], np.repeat(np.arange(blocks), count)[order]
    fit = fit_blocks(table.ravel()[order], *codes, count)
    assert fit.gains == pytest.approx(gains, rel=1e-9, abs=1e-11)
    assert fit.standard_errors == pytest.approx(np.full(count - 1, np.sqrt(2 * square / blocks)), rel=1e-8)
    assert fit.df == pytest.approx(np.full(count - 1, df), rel=1e-8)
    assert fit.df_satterthwaite == pytest.approx(np.full(count - 1, df), rel=1e-7)
    assert fit.residual_variance == pytest.approx(square, rel=1e-8)
    unbounded = table.mean(1).var(ddof=1) - square / count
    if fit.block_effects == "random":
        assert unbounded > 0
    if fit.block_variance_unbounded is not None:
        assert fit.block_variance_unbounded == pytest.approx(unbounded, rel=1e-6, abs=1e-9)


def with_gaps(seed: int, count: int = 3, blocks: int = 8, lost: int = 4) -> tuple[FloatArray, IntArray, IntArray]:
    rng = np.random.default_rng(seed)
    treatments, block = np.tile(np.arange(count), blocks), np.repeat(np.arange(blocks), count)
    y = 11 + 0.4 * treatments + 0.8 * rng.normal(size=blocks)[block] + 0.4 * rng.normal(size=blocks * count)
    kept = np.sort(rng.permutation(len(y))[lost:])
    return y[kept], treatments[kept].astype(np.int64), block[kept].astype(np.int64)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("baseline", [0, 2])
def test_against_the_general_fit(seed: int, baseline: int) -> None:
    """Two programs for one answer: closed form here, any model there. Both exact, so only rounding is allowed."""
    y, treatments, blocks = with_gaps(seed)
    fit = fit_blocks(y, treatments, blocks, 3, baseline)
    general = mixed.fit(y, indicator(treatments, 3), [blocks])
    adjusted = kenward_roger.adjust(general)
    rows = np.delete(np.eye(3) - np.eye(3)[baseline], baseline, axis=0)
    assert fit.block_effects == "random"
    np.testing.assert_allclose(fit.means, general.coefficients, rtol=1e-10)
    np.testing.assert_allclose(fit.gain_covariance, rows @ adjusted.covariance @ rows.T, rtol=1e-8)
    for k, row in enumerate(rows):
        assert fit.df[k] == pytest.approx(adjusted.contrast(row).df, rel=1e-8)
        assert fit.df_satterthwaite[k] == pytest.approx(satterthwaite.contrast(general, row).df, rel=1e-7)


@pytest.mark.parametrize("seed", range(4))
def test_fixed_part_is_least_squares(seed: int) -> None:
    y, treatments, blocks = with_gaps(seed)
    fixed = fit_blocks(y, treatments, blocks, 3).fixed
    design = np.hstack([indicator(treatments, 3), indicator(blocks, 8)])
    plain = linear.fit(y, design)
    for k in (1, 2):
        test = plain.contrast(np.eye(11)[k] - np.eye(11)[0])
        assert fixed.gains[k - 1] == pytest.approx(test.estimate, rel=1e-10)
        error = np.sqrt(fixed.covariance_factor[k - 1, k - 1] * fixed.mean_square)
        assert error == pytest.approx(test.standard_error, rel=1e-10)
        assert fixed.df == test.df


def dense_height(y: FloatArray, treatments: IntArray, blocks: IntArray, ratio: float) -> float:
    """Profile REML log-likelihood with full matrices, any sign of the ratio."""
    design = indicator(treatments, int(treatments.max()) + 1)
    covariance = np.eye(len(y)) + ratio * np.equal.outer(blocks, blocks)
    inverse = np.linalg.inv(covariance)
    information = design.T @ inverse @ design
    rest = y - design @ np.linalg.solve(information, design.T @ inverse @ y)
    df = len(y) - design.shape[1]
    determinants = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(information)[1]
    return float(-0.5 * (df * np.log(rest @ inverse @ rest) + determinants))


@pytest.mark.parametrize("seed", range(30, 40))
def test_unbounded_estimate_is_a_peak_of_the_likelihood(seed: int) -> None:
    """Unequal blocks with no block effect: the estimate, below or above zero, beats its neighbours on both sides."""
    rng = np.random.default_rng(seed)
    y, treatments, blocks = with_gaps(seed, lost=3)
    y = 11 + rng.normal(size=len(y))
    fit = fit_blocks(y, treatments, blocks, 3)
    if fit.block_variance_unbounded is None:
        edge = [dense_height(y, treatments, blocks, g) for g in (-1 / 3 + 1e-7, -0.3, -0.2, -0.1)]
        assert edge[0] >= max(edge[1:])
        return
    if fit.block_effects == "random":
        ratio = fit.block_variance_unbounded / fit.residual_variance
    else:
        assert fit.block_variance_unbounded < 0
        heights = {g: dense_height(y, treatments, blocks, g) for g in np.linspace(-0.333, 0.0, 3331)}
        ratio = max(heights, key=lambda g: heights[g])
        spread = np.linalg.inv(np.eye(len(y)) + ratio * np.equal.outer(blocks, blocks))
        design = indicator(treatments, 3)
        rest = y - design @ np.linalg.solve(design.T @ spread @ design, design.T @ spread @ y)
        # the grid is 1e-4 wide
        found = ratio * (rest @ spread @ rest) / (len(y) - 3)
        assert fit.block_variance_unbounded == pytest.approx(found, rel=2e-2, abs=2e-4)
        return
    top = dense_height(y, treatments, blocks, ratio)
    assert top >= max(dense_height(y, treatments, blocks, ratio * f) for f in (0.0, 0.5, 0.99, 1.01, 2.0, 10.0))


def same(one: BlockFit, other: BlockFit) -> None:
    assert one.block_effects == other.block_effects
    assert one.block_variance_unbounded == pytest.approx(other.block_variance_unbounded, rel=1e-9)
    for name in ("means", "gains", "gain_covariance", "df", "df_satterthwaite", "t", "p"):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), rtol=1e-9, err_msg=name)


def test_many_data_sets_at_once_are_the_same_as_one_by_one() -> None:
    _, treatments, blocks = with_gaps(3)
    rng = np.random.default_rng(4)
    data = rng.normal(size=(40, len(blocks))) + rng.normal(size=(40, 8))[:, blocks] * rng.uniform(0, 2, size=(40, 1))
    fits = fit_blocks_many(data, lay_out(treatments, blocks, 3))
    assert 0 < fits.random.sum() < 40
    for number, y in enumerate(data):
        same(fits.one(number), fit_blocks(y, treatments, blocks, 3))


def test_size_of_the_rule_in_pairs() -> None:
    """8 pairs, block variance half the residual: a 5 % test. Monte Carlo error of 4,000: 3 x 0.0034."""
    rng = np.random.default_rng(20250303)
    treatments, blocks = np.tile([0, 1], 8), np.repeat(np.arange(8), 2)
    data = rng.normal(size=(4000, 16)) + np.sqrt(0.5) * rng.normal(size=(4000, 8))[:, blocks]
    fits = fit_blocks_many(data, lay_out(treatments, blocks, 2))
    assert (fits.p[:, 0] < 0.05).mean() == pytest.approx(0.05, abs=0.0104)


def test_unit_and_origin_do_not_matter() -> None:
    y, treatments, blocks = with_gaps(5)
    one, other = fit_blocks(y, treatments, blocks, 3), fit_blocks(1000 * y + 1e6, treatments * 1, blocks * 7 + 100, 3)
    np.testing.assert_allclose(other.gains, 1000 * one.gains, rtol=1e-8)
    np.testing.assert_allclose(other.t, one.t, rtol=1e-8)
    np.testing.assert_allclose(other.df, one.df, rtol=1e-8)


class TestNoSpread:
    def test_additive_data_have_no_residual(self) -> None:
        """Gain the same in every block to the last digit: t is infinite, p is zero, nothing divides by zero."""
        fit = fit_blocks([1.0, 2.0, 3.0, 4.0, 7.0, 8.0], [0, 1, 0, 1, 0, 1], [0, 0, 1, 1, 2, 2], 2)
        assert fit.block_effects == "fixed"
        assert fit.gains[0] == pytest.approx(1.0, rel=1e-14)
        assert (fit.standard_errors[0], fit.t[0], fit.p[0]) == (0.0, np.inf, 0.0)

    def test_all_the_same(self) -> None:
        fit = fit_blocks([2.0] * 6, [0, 1, 0, 1, 0, 1], [0, 0, 1, 1, 2, 2], 2)
        assert (fit.gains[0], fit.t[0], fit.p[0]) == (0.0, 0.0, 1.0)


def test_a_treatment_apart_from_the_rest() -> None:
    """A third treatment in blocks of its own: blocks random can compare it, blocks fixed cannot and say so."""
    treatments = np.array([0, 1, 0, 1, 0, 1, 0, 1, 2, 2, 2, 2])
    blocks = np.repeat(np.arange(6), 2)
    rng = np.random.default_rng(6)
    apart = 3 * rng.normal(size=6)[blocks] + 0.3 * rng.normal(size=12)
    fit = fit_blocks(apart, treatments, blocks, 3)
    assert fit.block_effects == "random"
    assert np.isnan(fit.fixed.gains).all()
    assert np.isfinite(fit.gains).all()
    alike = np.tile([1.0, -1.0], 6) + 0.01 * np.arange(12) * np.tile([1, -1], 6)
    with pytest.raises(ValueError, match="never shares a block"):
        fit_blocks(alike, treatments, blocks, 3)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (([1.0, 2.0, 3.0, 4.0], [0, 1, 0, 1], [0, 0, 1, 1], 1), "at least two"),
        (([1.0, 2.0, 3.0, 4.0], [0, 1, 0, 1], [0, 0, 1, 1], 3), "no row has treatment 2"),
        (([1.0, 2.0, 3.0, 4.0], [0, 1, 0, 2], [0, 0, 1, 1], 2), "from 0 to 1"),
        (([1.0, 2.0, 3.0, 4.0], [0, 1, 0, 1], [0, 1, 2, 3], 2), "no degrees of freedom"),
        (([1.0, 2.0, 3.0, 4.0], [0, 1, 0, 1], [0, 0, 1], 2), "4 codes expected"),
        (([1.0, 2.0, 3.0], [0, 1, 0, 1], [0, 0, 1, 1], 2), "4 rows expected"),
        (([1.0, np.inf, 3.0, 4.0], [0, 1, 0, 1], [0, 0, 1, 1], 2), "finite"),
    ],
)
def test_refusals(arguments: tuple[object, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        fit_blocks(*arguments)  # type: ignore[arg-type]
