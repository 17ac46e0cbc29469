"""Plots within strips: never counted as replicates. R: cases/r/more_models.json; data invented and stored beside it."""

import numpy as np
import pytest
from tests.cases import reference

from evenground.numerics.blocks import fit_blocks
from evenground.numerics.subsamples import fit_subsamples


def plots(outcome: str) -> tuple[np.ndarray, ...]:
    table = reference.rows("invented_plots_in_strips.csv")
    strips, blocks = (np.array([int(row[name]) for row in table]) for name in ("strip", "block"))
    return (
        np.array([float(row[outcome]) for row in table]),
        strips,
        np.array(["ABC".index(r["trt"]) for r in table]),
        blocks,
    )


def test_unequal_numbers_random_blocks_against_r() -> None:
    fit, expected = fit_subsamples(*plots("y"), 3), reference.expected("plots_in_strips")
    assert fit.block_effects == "random"
    assert fit.block_variance_unbounded == pytest.approx(expected["variance_components"]["block"], rel=1e-5)
    for k, coefficient in enumerate(expected["fixed"][1:]):
        assert fit.gains[k] == pytest.approx(coefficient["estimate"], rel=1e-5)
        assert fit.standard_errors[k] == pytest.approx(coefficient["se_KR"], rel=1e-5)
        assert fit.df[k] == pytest.approx(coefficient["df_KR"], rel=1e-4)
        assert fit.df_satterthwaite[k] == pytest.approx(expected["satterthwaite_df"][coefficient["term"]], rel=1e-4)


def test_unequal_numbers_blocks_alike_against_r_with_fixed_blocks() -> None:
    """R with random blocks is singular here, so the target is R with blocks in the fixed part."""
    assert reference.expected("plots_in_strips_alike")["singular"]
    fit, expected = fit_subsamples(*plots("y_alike"), 3), reference.expected("plots_in_strips_fixed")
    assert fit.block_effects == "fixed"
    assert fit.block_variance_unbounded is None
    for k, coefficient in enumerate(expected["fixed"][1:3]):
        assert fit.gains[k] == pytest.approx(coefficient["estimate"], rel=1e-5)
        assert fit.standard_errors[k] == pytest.approx(coefficient["se_KR"], rel=1e-5)
        assert fit.df[k] == pytest.approx(coefficient["df_KR"], rel=1e-4)
    assert fit.means[1:] - fit.means[0] == pytest.approx(fit.gains, rel=1e-9)


def test_equal_numbers_are_strip_means() -> None:
    rng = np.random.default_rng(1)
    treatments, blocks = np.tile([0, 1], 6), np.repeat(np.arange(6), 2)
    means = 10 + 0.5 * treatments + rng.normal(size=6)[blocks] + rng.normal(size=12)
    spread = np.array([-1.0, 0.0, 1.0])
    y = (means[:, None] + spread).ravel()
    codes = [np.repeat(codes, 3) for codes in (np.arange(12), treatments, blocks)]
    fit, by_means = fit_subsamples(y, *codes, 2), fit_blocks(means, treatments, blocks, 2)
    assert (fit.t[0], fit.df[0]) == pytest.approx((by_means.t[0], by_means.df[0]), rel=1e-9)


def test_writing_every_plot_twice_does_not_make_the_answer_surer() -> None:
    y, strips, treatments, blocks = plots("y")
    once = fit_subsamples(y, strips, treatments, blocks, 3)
    twice = fit_subsamples(*(np.concatenate([a, a]) for a in (y, strips, treatments, blocks)), 3)
    # the within-strip variance is halved in the second fit, so a little, but far from sqrt(2), is gained
    assert (twice.standard_errors > 0.9 * once.standard_errors).all()
    assert (twice.df < 1.3 * once.df).all()


def test_strips_more_alike_than_their_plots_fall_back_on_means() -> None:
    """Strip variance zero would let plots pass for replicates: strip means are used instead."""
    rng = np.random.default_rng(2)
    treatments, blocks = np.tile([0, 1], 6), np.repeat(np.arange(6), 2)
    counts = np.array([2, 3, 2, 3, 2, 3, 2, 3, 2, 3, 2, 4])
    strips = np.repeat(np.arange(12), counts)
    y = np.concatenate(
        [m + np.linspace(-2, 2, n) for m, n in zip(10 + 0.01 * rng.normal(size=12), counts, strict=True)]
    )
    fit = fit_subsamples(y, strips, treatments[strips], blocks[strips], 2)
    means = np.bincount(strips, y) / counts
    assert fit.p[0] == fit_blocks(means, treatments, blocks, 2).p[0]


@pytest.mark.parametrize(("which", "message"), [(2, "more than one treatment"), (3, "more than one block")])
def test_a_strip_in_two_places_is_refused(which: int, message: str) -> None:
    arguments = [array.copy() for array in plots("y")]
    strip = int(np.bincount(arguments[1]).argmax())
    arguments[which][np.flatnonzero(arguments[1] == strip)[0]] = (arguments[which].max() + arguments[which].min()) // 2
    first = arguments[which][arguments[1] == strip]
    if len(set(first)) == 1:
        arguments[which][np.flatnonzero(arguments[1] == strip)[0]] = arguments[which].min()
    with pytest.raises(ValueError, match=message):
        fit_subsamples(*arguments, 3)
