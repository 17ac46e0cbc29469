"""Split plots against R (aov with Error strata; lme4 + pbkrtest), printed tables, and what must hold.

Tolerances: 1e-9 relative against aov (double precision, sums of squares); against lme4 + pbkrtest 1e-5 on standard
errors and 1e-4 on degrees of freedom, because that fit ends an iterative search.
"""

from __future__ import annotations

import json
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from tests.cases import reference

from evenground.numerics.split_plot import SplitPlotFit, effect_rows, fit_split_plot

AOV = json.loads((reference.HERE / "r" / "split_plot.json").read_text())


def coded(name: str, block: str, whole: str, within: str, y: str, drop: int | None = None) -> SplitPlotFit:
    table = [row for i, row in enumerate(reference.rows(name)) if i != drop]
    levels = [sorted({row[column] for row in table}) for column in (whole, within)]
    one, two = ([order.index(row[c]) for row in table] for order, c in zip(levels, (whole, within), strict=True))
    blocks = sorted({row[block] for row in table})
    of_block = [blocks.index(row[block]) for row in table]
    plots = [b * len(levels[0]) + w for b, w in zip(of_block, one, strict=True)]
    outcome = [float(row[y]) for row in table]
    return fit_split_plot(outcome, one, two, of_block, plots, (len(levels[0]), len(levels[1])))


def oats() -> SplitPlotFit:
    return coded("nlme_Oats.csv", "Block", "Variety", "nitro", "yield")


def stroup(drop: int | None = None) -> SplitPlotFit:
    return coded("stroup_splitplot.csv", "block", "a", "b", "y", drop)


class TestCompleteTables:
    @pytest.mark.parametrize(
        ("fit", "name", "terms"),
        [(oats(), "oats", ("Variety", "nitro", "Variety:nitro")), (stroup(), "stroup", ("a", "b", "a:b"))],
        ids=["oats", "stroup"],
    )
    def test_analysis_of_variance_of_base_r(self, fit: SplitPlotFit, name: str, terms: tuple[str, ...]) -> None:
        """R 4.2.2, aov(y ~ whole * within + Error(block / whole)); script r/split_plot.R."""
        found = {row["term"]: row for stratum in list(AOV[name].values())[1:] for row in stratum}
        residuals = [row for stratum in AOV[name].values() for row in stratum if row["term"] == "Residuals"][-2:]
        assert fit.whole is not None
        assert fit.within is not None
        for stratum, row in zip((fit.whole, fit.within), residuals, strict=True):
            assert stratum.mean_square == pytest.approx(row["mean_square"], rel=1e-9)
            assert stratum.df == row["df"]
        for effect, term in zip(("whole", "within", "both"), terms, strict=True):
            test = fit.effect(effect)  # type: ignore[arg-type]
            assert test.f == pytest.approx(found[term]["F"], rel=1e-9)
            assert test.df_numerator == found[term]["df"]
            assert test.p == pytest.approx(found[term]["p"], rel=1e-8)

    def test_printed_table_of_the_oats(self) -> None:
        """Yates (1935) in the digits long printed: 601.3, 177.1; F 1.49, 37.69, 0.30 (from memory)."""
        fit = oats()
        assert fit.whole is not None
        assert fit.within is not None
        assert (fit.whole.mean_square, fit.within.mean_square) == pytest.approx((601.3, 177.1), abs=0.05)
        assert [fit.effect(e).f for e in ("whole", "within", "both")] == pytest.approx([1.49, 37.69, 0.30], abs=0.005)

    def test_printed_standard_errors(self) -> None:
        """Stroup (1989): on whole plots 3.167215 (6 df), within 1.249074 (9 df), across 3.517318 (8.8066)."""
        fit = stroup()
        whole = np.array([1, 1, 0, 0, -1, -1]) / 2
        within = np.array([1, -1, 1, -1, 1, -1]) / 3
        across = np.array([1.0, 0, 0, 0, -1, 0])
        got = [fit.contrast(row) for row in (whole, within, across)]
        assert [one.standard_error for one in got] == pytest.approx([3.167215, 1.249074, 3.517318], abs=5e-7)
        assert [one.df for one in got] == pytest.approx([6, 9, 8.8066], abs=5e-5)
        assert [fit.satterthwaite_df(row) for row in (whole, within, across)] == [one.df for one in got]
        assert (got[2].estimate, got[2].p) == pytest.approx((11.0, 0.0125), abs=5e-4)

    def test_variances_are_those_of_lme4(self) -> None:
        expected = reference.mixed_models()["oats_splitplot"]["variance_components"]
        fit = oats()
        assert fit.block_variance == pytest.approx(expected["Block"], rel=1e-6)
        assert fit.plot_variance == pytest.approx(expected["Variety:Block"], rel=1e-6)
        assert fit.residual_variance == pytest.approx(expected["Residual"], rel=1e-6)

    def test_contrasts_of_lme4_and_pbkrtest(self) -> None:
        """Each coefficient in treatment coding is a contrast of cells; the intercept is not."""
        fit, levels = oats(), (3, 4)
        for row in reference.mixed_models()["oats_splitplot"]["fixed"][1:]:
            variety = next((i for i, v in enumerate(("Marvellous", "Victory"), 1) if v in row["term"]), 0)
            rate = next((i for i, n in enumerate(("nf0.2", "nf0.4", "nf0.6"), 1) if n in row["term"]), 0)
            cells = np.zeros(levels)
            cells[variety, rate] += 1
            if variety and rate:
                cells[variety, 0] -= 1
                cells[0, rate] -= 1
                cells[0, 0] += 1
            else:
                cells[0, 0] -= 1
            got = fit.contrast(cells.ravel())
            assert got.estimate == pytest.approx(row["estimate"], abs=1e-9)
            assert got.standard_error == pytest.approx(row["se_KR"], rel=1e-5)
            assert got.df == pytest.approx(row["df_KR"], rel=1e-4)


class TestOnePartMissing:
    """Stroup with block 1, a1, b1 missing: pbkrtest and lmerTest."""

    @pytest.mark.parametrize(
        ("effect", "f", "df", "p"),
        [
            ("whole", 4.53255, 5.97277, 0.06345),
            ("within", 17.44735, 8.19739, 0.00293),
            ("both", 4.12699, 8.18104, 0.05764),
        ],
    )
    def test_kenward_roger(self, effect: str, f: float, df: float, p: float) -> None:
        got = stroup(drop=0).effect(effect)  # type: ignore[arg-type]
        assert (got.f, got.df_denominator, got.p) == pytest.approx((f, df, p), abs=6e-6)

    def test_weights_give_the_contrasts(self) -> None:
        table = reference.rows("stroup_splitplot.csv")[1:]
        fit = stroup(drop=0)
        row = np.array([1.0, 0, 0, 0, -1, 0])
        y = np.array([float(r["y"]) for r in table])
        assert row @ fit.weights @ y == pytest.approx(fit.contrast(row).estimate, rel=1e-10)
        assert fit.covariance(row)[0, 0] == pytest.approx(fit.contrast(row).standard_error ** 2, rel=1e-12)


def design(blocks: int, levels: tuple[int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    rows = np.array(list(product(range(blocks), range(levels[0]), range(levels[1]))))
    return rows[:, 1], rows[:, 2], rows[:, 0], rows[:, 0] * levels[0] + rows[:, 1]


@settings(max_examples=30, deadline=None)
@given(st.integers(2, 6), st.integers(2, 3), st.integers(2, 3), st.integers(0, 2**31 - 1))
def test_two_level_effects_are_paired_t_tests(blocks: int, upper: int, lower: int, seed: int) -> None:
    """Scipy's paired t test as the reference: plot means by block for whole plots, differences within for two rates."""
    rng = np.random.default_rng(seed)
    whole, within, block, plot = design(blocks, (upper, lower))
    y = rng.normal(size=len(plot)) + 2 * rng.normal(size=blocks * upper)[plot]
    fit = fit_split_plot(y, whole, within, block, plot, (upper, lower))
    cube = y.reshape(blocks, upper, lower)
    if upper == 2:
        expected = stats.ttest_rel(cube.mean(2)[:, 1], cube.mean(2)[:, 0])
        got = fit.contrast(effect_rows((upper, lower), "whole")[0])
        assert (got.t, got.p) == pytest.approx((expected.statistic, expected.pvalue), rel=1e-8)
    got = fit.contrast(effect_rows((upper, lower), "within")[0])
    assert got.df == pytest.approx((blocks - 1) * upper * (lower - 1))
    assert got.estimate == pytest.approx((cube[:, :, 1] - cube[:, :, 0]).mean(), abs=1e-10)


def test_rising_ground_of_whole_plots_leaves_the_rate_alone() -> None:
    """What whole plots add is common to both rates: estimate and error of the rate do not change."""
    whole, within, block, plot = design(5, (2, 2))
    rng = np.random.default_rng(3)
    y = rng.normal(size=20)
    rough = y + 50 * rng.normal(size=10)[plot]
    rate = effect_rows((2, 2), "within")[0]
    one, two = (fit_split_plot(v, whole, within, block, plot, (2, 2)).contrast(rate) for v in (y, rough))
    assert (one.estimate, one.standard_error) == pytest.approx((two.estimate, two.standard_error), rel=1e-9)


def test_false_alarms_with_strips_lost() -> None:
    """Size of 5 % tests with two strips lost, whole plots alike or not: within 3.5 Monte Carlo errors of 3.5 to 6.9 %.

    The range is the one the project quotes for incomplete designs: Kenward and Roger's df are an approximation.
    """
    rng = np.random.default_rng(1935)
    whole, within, block, plot = design(6, (2, 2))
    keep = np.delete(np.arange(24), [3, 9])
    rows = [effect_rows((2, 2), e)[0] for e in ("whole", "within")]
    for spread in (0.0, 1.0):
        hits = np.zeros(2)
        for _ in range(400):
            y = rng.normal(size=24) + spread * rng.normal(size=12)[plot]
            fit = fit_split_plot(y[keep], whole[keep], within[keep], block[keep], plot[keep], (2, 2))
            hits += [fit.contrast(row).p <= 0.05 for row in rows]
        assert (hits / 400 <= 0.069 + 3.5 * np.sqrt(0.069 * 0.931 / 400)).all(), (spread, hits / 400)
        assert (hits / 400 >= 0.035 - 3.5 * np.sqrt(0.035 * 0.965 / 400)).all(), (spread, hits / 400)


def test_plots_without_a_variance_fall_back_on_complete_blocks() -> None:
    """Where whole plots differ less than their parts, a mixed model would count parts as replicates of whole plots."""
    whole, within, block, plot = design(4, (2, 2))
    y = np.array([1.0, -1, -1, 1] * 4) * np.array([1, 1, 1, 1, 1.3, 1.3, 1.3, 1.3, 0.8, 0.8, 0.8, 0.8, 1, 1, 1, 1])
    y += np.tile([0.0, 0.02, 0.05, 0.01], 4) + np.repeat([0.1, 0.2, 0.05, 0.3], 4) * np.tile([0, 0, 1, 1], 4) * 0.1
    keep = np.arange(15)
    fit = fit_split_plot(y[keep], whole[keep], within[keep], block[keep], plot[keep], (2, 2))
    assert fit.whole is not None
    assert (fit.blocks, fit.whole.df) == (3, 2)
    assert not fit.weights[:, 12:].any()


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"whole": [0, 1, 1, 1, 0, 0, 1, 1]}, "more than one level"),
        ({"blocks": [0, 1, 0, 0, 1, 1, 1, 1]}, "more than one block"),
        ({"within": [0, 0, 0, 0, 0, 0, 0, 0]}, "no row has level 0 on whole plots with 1"),
        ({"within": [0, 2, 0, 1, 0, 1, 0, 1]}, "level codes from 0 to 1"),
        ({"blocks": [0] * 8}, "at least two blocks"),
    ],
)
def test_what_cannot_be_analysed_is_said(change: dict[str, list[int]], message: str) -> None:
    given_ = {
        "whole": [0, 0, 1, 1] * 2,
        "within": [0, 1] * 4,
        "blocks": [0] * 4 + [1] * 4,
        "plots": [0, 0, 1, 1, 2, 2, 3, 3],
    }
    with pytest.raises(ValueError, match=message):
        fit_split_plot([1.0, 2, 3, 4, 5, 6, 7, 9], **{**given_, **change}, levels=(2, 2))


def test_weights_that_are_no_contrast_are_refused() -> None:
    with pytest.raises(ValueError, match="add up to zero"):
        stroup().contrast([1.0, 0, 0, 0, 0, 0])
