"""What the truth tables are made of, against outside numbers: R, normal theory, hand counts, sizes of real fields."""

from __future__ import annotations

import csv
import math
from fractions import Fraction

import numpy as np
import pytest
from scipy.special import ndtr, ndtri, stdtrit

from evenground.numerics.blocks import fit_blocks_many, lay_out
from evenground.numerics.normal_posterior import ErrorPrior
from tests.cases import reference
from tests.truth import block_rule, claims, clipped_rule, gaussian_fields, restricted_draws, shared_figures, uniformity
from tests.truth.table import Cell, Limits, Row, Share, Table


@pytest.mark.parametrize(
    ("pairs", "strip_error", "points", "percent"),
    [(4, 0.035, 1.0, 21), (8, 0.035, 1.0, 40), (12, 0.035, 1.0, 50), (8, 0.05, 1.0, 27), (8, 0.05, 2.0, 53)],
)
def test_quoted_sizes_follow_from_normal_theory(pairs, strip_error, points, percent):
    # The project's statistical contract, whole percents; the settings are those that give them.
    setting = shared_figures.Setting(pairs, strip_error, points, 0.0)
    assert 100 * shared_figures.theory(setting) == pytest.approx(percent, abs=0.5)


def test_a_posterior_with_three_degrees_of_freedom_and_a_common_error_is_cautious():
    # Behrens and Fisher's problem on a grid: t with 3 df scaled by the standard error plus a normal of known SD. No
    # code of the project is used; the table's first row, 5,000 trials, must agree within 3.5 standard errors.
    setting, rng = shared_figures.SETTINGS[0], np.random.default_rng(8)
    error = math.sqrt(2 / setting.pairs) * setting.strip_error
    common = math.sqrt(2) * setting.sampling_points / 100 / shared_figures.DRY_MATTER
    gain = rng.normal(0, math.hypot(error, common), 20_000)
    seen = error * np.sqrt(rng.chisquare(setting.pairs - 1, len(gain)) / (setting.pairs - 1))
    grid = stdtrit(setting.pairs - 1, (np.arange(400) + 0.5) / 400)
    below = np.array([ndtr(-(g + s * grid) / common).mean() for g, s in zip(gain, seen, strict=True)])
    covers = ((below > 0.05) & (below < 0.95)).mean()
    assert covers == pytest.approx(0.932, abs=3.5 * math.sqrt(0.932 * 0.068 * (1 / 5_000 + 1 / 20_000)))
    assert covers > 0.92


def _rows_of(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    if name == "darwin":
        rows = reference.darwin_rows()
        values, kinds, blocks = (
            [r["height"] for r in rows],
            [r["type"] == "cross" for r in rows],
            [r["pair"] for r in rows],
        )
    else:
        rows = reference.rows("boundary_blocks.csv")
        values, kinds, blocks = [r["y"] for r in rows], [r["trt"] == "B" for r in rows], [r["block"] for r in rows]
    order = sorted(set(blocks))
    return (
        np.array([[float(value) for value in values]]),
        np.array(kinds, dtype=np.int64),
        np.array([order.index(b) for b in blocks]),
    )


@pytest.mark.parametrize("name", ["darwin", "boundary_zero_block"])
def test_the_clipped_peer_is_what_r_gives(name):
    # lme4 + pbkrtest 0.5.2, singular fits (tests/cases/r/mixed_models.json): 0.0287 and 0.0902. R stops within 1e-14 of
    # zero block variance, so 1e-6 relative holds.
    y, treatments, blocks = _rows_of(name)
    p = clipped_rule.fit(y, treatments, blocks, bounded=True).p[0]
    assert p == pytest.approx(reference.expected(name)["fixed"][1]["p"], rel=1e-6)


def test_our_rule_on_the_same_pairs_is_the_paired_t():
    # Fisher (1935), The Design of Experiments, section 17, on Darwin's pairs; R's paired t: 0.049703.
    y, treatments, blocks = _rows_of("darwin")
    assert fit_blocks_many(y, lay_out(treatments, blocks, 2)).p[0, 0] == pytest.approx(0.049703, abs=5e-7)


def test_the_peers_agree_with_the_rule_where_the_block_variance_is_positive():
    design = block_rule.designs(6)[4]
    y = block_rule.draw(np.random.default_rng(3), 200, design.blocks, 1.0)
    ours = fit_blocks_many(y, lay_out(design.treatments, design.blocks, 3))
    for bounded in (True, False):
        peer = clipped_rule.fit(y, design.treatments, design.blocks, bounded=bounded)
        assert ours.random.sum() > 100
        np.testing.assert_allclose(peer.p[ours.random], ours.p[ours.random, 0], rtol=1e-7)


@pytest.mark.parametrize("ratio", [-0.3, 0.0, 2.0])
def test_strips_of_a_block_share_the_covariance_asked_for(ratio):
    # I + ratio J within blocks of three; 40,000 draws, standard error of a covariance at most 0.02.
    y = block_rule.draw(np.random.default_rng(4), 40_000, np.array([0, 0, 0, 1, 1, 1]), ratio)
    expected = np.kron(np.eye(2), np.eye(3) + ratio)
    np.testing.assert_allclose(np.cov(y.T), expected, atol=0.08)


def test_claims_follow_normal_theory_where_the_strip_error_is_known(monkeypatch):
    # With sigma known, gain, theta and mu are jointly normal, so what comes true is an integral over the gain.
    monkeypatch.setattr(claims, "ERROR", ErrorPrior(claims.ERROR.median, 1e-3))
    analysis = claims.Analysis("", claims.GAIN, claims.ERROR, "theta", "mu")
    made, true, mean = claims.claims(claims.draw(np.random.default_rng(5), 8_000), analysis)
    prior, season = claims.GAIN.sd**2, claims.GAIN.season_sd**2
    noise = 2 / claims.PAIRS * claims.ERROR.median**2
    z = (np.arange(200_000) + 0.5) / 200_000
    gain = math.sqrt(prior + season + noise) * ndtri(z)  # above the prior mean, which is the worthwhile gain
    this = (prior + season) / (prior + season + noise)
    long = prior / (prior + season + noise)
    said = ndtr(this * gain / math.sqrt(noise * this))
    so = ndtr(long * gain / math.sqrt(prior * (1 - long)))
    band = (said >= claims.LOW) & (said <= claims.HIGH)
    assert so[band].mean() == pytest.approx(0.77, abs=0.01)  # the quoted share
    assert true.value == pytest.approx(so[band].mean(), abs=3.5 * true.error)
    assert made.value == pytest.approx(band.mean(), abs=3.5 * made.error)
    assert mean == pytest.approx(said[band].mean(), abs=0.01)


@pytest.mark.parametrize(
    ("name", "rows", "columns", "empty", "total"),
    # Sizes as published (see tests/truth/uniformity.py); Mercer & Hall's 500 plots weigh 1974.32 lb (from memory: their
    # mean is given as 3.95 lb).
    [
        ("wheat", 20, 25, 0, 1974.32),
        ("apple", 18, 11, 11, None),
        ("peach", 18, 8, 0, None),
        ("tomato", 6, 30, 0, None),
        ("grape", 31, 5, 30, None),
    ],
)
def test_fields_are_read_as_published(name, rows, columns, empty, total):
    source = next(source for source in uniformity.SOURCES if source.name == name)
    field = uniformity.grid(source)
    assert (len(field), len(field[0])) == (rows, columns)
    # A plot may be empty or not written down at all.
    assert sum(cell is None for row in field for cell in row) == empty
    if total is not None:
        assert float(sum(cell for row in field for cell in row)) == pytest.approx(total, abs=0.005)


def test_every_plot_with_a_yield_is_read_once():
    for source in uniformity.SOURCES:
        with (uniformity.DATA / source.file).open(newline="") as file:
            written = sum(Fraction(row["yield"]) for row in csv.DictReader(file) if row["yield"] not in ("", "NA"))
        assert sum(cell for row in uniformity.grid(source) for cell in row if cell is not None) == written


def test_attainable_levels_by_hand():
    def pairs(*differences: int) -> list[tuple[Fraction, Fraction]]:
        return [(Fraction(0), Fraction(d, 3)) for d in differences]

    assert uniformity.attainable(pairs(1, 2, 4, 8, 16, 32)) == 2 / 64  # all 64 sums differ: one mirror pair
    assert uniformity.attainable(pairs(1, 2, 4, 8, 16, 32, 64, 128)) == 12 / 256  # 12.8 orders in mirror pairs
    assert uniformity.attainable(pairs(1, 1, 1, 1, 1, 1)) == 2 / 64  # |sum| 6: 2 orders, 4 or more: 14
    assert uniformity.attainable(pairs(1, 1, 1, 1)) == 0.0  # the smallest p is 2 / 16


def test_attainable_levels_of_the_trials_on_invented_fields():
    assert [trial.attainable for trial in gaussian_fields.TRIALS] == [12 / 256, 204 / 4096, 6 / 128, 2 / 64]


def test_strips_of_an_invented_field_are_as_alike_as_the_field_says():
    # AR1 with noise-free cells: correlation of strip means worked out from the correlation of cells; 4,000 fields.
    ground = gaussian_fields.GROUNDS[2]
    cells = np.arange(2 * gaussian_fields.WIDTH)
    across = ground.across ** np.abs(np.subtract.outer(cells, cells))
    half = gaussian_fields.WIDTH
    expected = across[:half, half:].mean() / across[:half, :half].mean()
    means = gaussian_fields.strip_means(np.random.default_rng(6), 4_000, ground, 2)
    error = (1 - expected**2) / math.sqrt(4_000)  # large-sample standard error of a correlation
    assert np.corrcoef(means.T)[0, 1] == pytest.approx(expected, abs=3.5 * error)


def test_numbers_of_orders_the_limited_draws_can_give():
    # The project's statistical contract: 70 with equal AB and BA, 8 balanced for trends, 36 in the best tenth.
    plan = restricted_draws.OrderPlan.complete(2, restricted_draws.PAIRS)
    counts = [len(restricted_draws.list_orders(plan, draw.limits)) for draw in restricted_draws.draws()]
    assert counts == [256, 70, 8, 36]


def test_limits_can_fail():
    nominal = Limits(0.05, 0.05)
    assert nominal.hold(Share(50, 1000))
    assert nominal.ends(Share(50, 1000)) == pytest.approx((0.05 - 0.02412, 0.05 + 0.02412), abs=1e-5)
    assert not nominal.hold(Share(75, 1000))
    assert not nominal.hold(Share(25, 1000))
    assert nominal.hold(Share(5, 100, exact=True))
    assert not nominal.hold(Share(6, 100, exact=True))
    bad = Table("t", "q", "a", ("l",), ("c",), (Row(("one",), (Cell(Share(75, 1000), "5", nominal),)),))
    assert bad.outside() == ["l one: c 7.5 ± 0.8, limits 2.6-7.4"]
    assert "**outside**" in bad.markdown()
    assert "Outside their limits:" in bad.markdown()
