"""The mixed-model fit against its own definition written out with full matrices, and what it refuses."""

import math

import numpy as np
import pytest
from scipy import optimize

from evenground.numerics import kenward_roger, mixed, satterthwaite
from evenground.numerics.arrays import FloatArray, IntArray, cross, indicator


def made_up(seed: int, rows: int = 40) -> tuple[FloatArray, FloatArray, list[IntArray]]:
    """Unbalanced invented data with two crossed factors."""
    rng = np.random.default_rng(seed)
    first, second = rng.integers(0, 7, rows), rng.integers(0, 6, rows)
    design = np.column_stack([np.ones(rows), rng.normal(size=rows), rng.integers(0, 2, rows)])
    y = design @ [5.0, 0.5, 1.0] + rng.normal(size=7)[first] * 1.2 + rng.normal(size=6)[second] + rng.normal(size=rows)
    return y, design, [first.astype(np.int64), second.astype(np.int64)]


def dense_covariance(factors: list[IntArray], variances: FloatArray) -> FloatArray:
    """V written out, residual variance last."""
    total = variances[-1] * np.eye(len(factors[0]))
    for codes, variance in zip(factors, variances, strict=False):
        total = total + variance * np.equal.outer(codes, codes)
    return total


def dense_log_likelihood(y: FloatArray, design: FloatArray, factors: list[IntArray], variances: FloatArray) -> float:
    """-1/2 [(n - p) log 2 pi + log det V + log det X'V^-1X + r'V^-1r] by plain linear algebra."""
    covariance = dense_covariance(factors, variances)
    inverse = np.linalg.inv(covariance)
    information = design.T @ inverse @ design
    rest = y - design @ np.linalg.solve(information, design.T @ inverse @ y)
    rows, columns = design.shape
    determinants = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(information)[1]
    return float(-0.5 * ((rows - columns) * math.log(2 * math.pi) + determinants + rest @ inverse @ rest))


def projection(design: FloatArray, covariance: FloatArray) -> FloatArray:
    inverse = np.linalg.inv(covariance)
    return inverse - inverse @ design @ np.linalg.inv(design.T @ inverse @ design) @ design.T @ inverse


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_height_and_top(seed: int) -> None:
    """The log-likelihood is the one defined, and no small step in any variance goes higher (slopes are zero)."""
    y, design, factors = made_up(seed)
    fit = mixed.fit(y, design, factors)
    top = dense_log_likelihood(y, design, factors, fit.parameters)
    assert fit.log_likelihood == pytest.approx(top, abs=1e-10)
    for k in range(3):
        step = np.zeros(3)
        step[k] = 1e-4 * fit.parameters[k]
        up, down = (dense_log_likelihood(y, design, factors, fit.parameters + sign * step) for sign in (1, -1))
        assert max(up, down) < top + 1e-12
        # central difference of a function that is flat here: rounding of the height over the step is its error
        assert (up - down) / 2e-4 == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("seed", [4, 5])
def test_information_matrices(seed: int) -> None:
    """1/2 tr(P G_i P G_j) and y'P G_i P G_j P y minus it, with P written out."""
    y, design, factors = made_up(seed)
    fit = mixed.fit(y, design, factors)
    matrices = [np.equal.outer(codes, codes).astype(float) for codes in factors] + [np.eye(len(y))]
    p = projection(design, dense_covariance(factors, fit.parameters))
    expected = np.array([[0.5 * np.trace(p @ a @ p @ b) for b in matrices] for a in matrices])
    quadratic = np.array([[y @ p @ a @ p @ b @ p @ y for b in matrices] for a in matrices])
    np.testing.assert_allclose(fit.information_expected, expected, rtol=1e-9)
    np.testing.assert_allclose(fit.information_observed, quadratic - expected, rtol=1e-7, atol=1e-9)


def test_kenward_roger_written_out() -> None:
    """The adjusted covariance of Kenward & Roger (1997) with full matrices."""
    y, design, factors = made_up(6)
    fit = mixed.fit(y, design, factors)
    matrices = [np.equal.outer(codes, codes).astype(float) for codes in factors] + [np.eye(len(y))]
    inverse = np.linalg.inv(dense_covariance(factors, fit.parameters))
    phi = np.linalg.inv(design.T @ inverse @ design)
    p = [-design.T @ inverse @ g @ inverse @ design for g in matrices]
    w = np.linalg.inv(fit.information_expected)
    middle = np.zeros_like(phi)
    for i, a in enumerate(matrices):
        for j, b in enumerate(matrices):
            q = design.T @ inverse @ a @ inverse @ b @ inverse @ design
            middle += w[i, j] * (q - p[i] @ phi @ p[j])
    np.testing.assert_allclose(kenward_roger.adjust(fit).covariance, phi + 2 * phi @ middle @ phi, rtol=1e-9)


def test_one_row_of_weights_gives_the_same_by_t_and_by_f() -> None:
    y, design, factors = made_up(7)
    fit = mixed.fit(y, design, factors)
    adjusted = kenward_roger.adjust(fit)
    t, f = adjusted.contrast([0, 1, -1]), adjusted.f_test([[0, 1, -1]])
    assert (f.f, f.df_denominator, f.p, f.scaling) == pytest.approx((t.t**2, t.df, t.p, 1.0), rel=1e-10)
    t, f = satterthwaite.contrast(fit, [0, 1, -1]), satterthwaite.f_test(fit, [[0, 1, -1]])
    assert (f.f, f.df_denominator, f.p) == pytest.approx((t.t**2, t.df, t.p), rel=1e-10)


def test_joint_test_does_not_depend_on_how_the_hypothesis_is_written() -> None:
    y, design, factors = made_up(8)
    adjusted = kenward_roger.adjust(mixed.fit(y, design, factors))
    one, other = adjusted.f_test([[0, 1, 0], [0, 0, 1]]), adjusted.f_test([[0, 1, 5], [0, 3, -1]])
    assert (one.f, one.df_denominator, one.p) == pytest.approx((other.f, other.df_denominator, other.p), rel=1e-9)


def test_units_and_origin_do_not_matter() -> None:
    """In kilograms and far from zero the fit is the same but for the unit."""
    y, design, factors = made_up(9)
    adjusted = kenward_roger.adjust(mixed.fit(y, design, factors))
    moved = kenward_roger.adjust(mixed.fit(1000.0 * (y + 10000.0), design, factors))
    one, other = adjusted.contrast([0, 1, 0]), moved.contrast([0, 1, 0])
    assert other.standard_error == pytest.approx(1000.0 * one.standard_error, rel=1e-8)
    assert (other.t, other.df) == pytest.approx((one.t, one.df), rel=1e-8)


def test_factor_order_and_labels_do_not_matter() -> None:
    y, design, factors = made_up(10)
    fit, turned = mixed.fit(y, design, factors), mixed.fit(y, design, [factors[1] * 17 - 3, factors[0]])
    assert turned.variances[::-1] == pytest.approx(fit.variances, rel=1e-9)


def test_large_variance_ratio() -> None:
    """Levels a million times further apart than rows: still the within-level answer for a within-level effect."""
    rng = np.random.default_rng(11)
    level = np.repeat(np.arange(6), 4)
    x = np.tile([0.0, 1.0, 0.0, 1.0], 6)
    y = 1000.0 * rng.normal(size=6)[level] + x + rng.normal(size=24)
    fit = mixed.fit(y, np.column_stack([np.ones(24), x]), [level])
    test = kenward_roger.adjust(fit).contrast([0, 1])
    within = y - np.array([y[level == k].mean() for k in range(6)])[level]
    assert test.estimate == pytest.approx(within[x == 1].mean() - within[x == 0].mean(), rel=1e-9)
    assert test.df == pytest.approx(17.0, rel=1e-6)


def test_variance_on_its_bound() -> None:
    """Balanced data whose level means are more alike than chance: on the bound, reported, least squares elsewhere."""
    y = np.array([1.0, 5.0, 5.2, 0.9, 0.8, 5.1, 4.9, 1.1])
    fit = mixed.fit(y, np.ones((8, 1)), [np.repeat(np.arange(4), 2)])
    assert fit.singular
    assert fit.variances[0] == 0.0
    assert fit.residual_variance == pytest.approx(y.var(ddof=1), rel=1e-12)


def test_a_second_peak_is_not_mistaken_for_the_top() -> None:
    """Whatever the start, the fit is at least as high as every point of a fine grid."""
    for seed in range(12, 18):
        y, design, factors = made_up(seed, rows=16)
        fit = mixed.fit(y, design, factors)
        for a in (0.0, 0.1, 1.0, 10.0):
            for b in (0.0, 0.1, 1.0, 10.0):
                point = np.array([a, b, 1.0])
                rest = y @ projection(design, dense_covariance(factors, point)) @ y / (len(y) - design.shape[1])
                assert dense_log_likelihood(y, design, factors, rest * point) <= fit.log_likelihood + 1e-9


def test_324_rows_and_three_factors_agree_with_a_dense_evaluation() -> None:
    rng = np.random.default_rng(18)
    site, block, method = np.repeat(np.arange(9), 36), np.tile(np.repeat(np.arange(4), 9), 9), np.tile(np.arange(9), 36)
    nested, crossed = cross(site, block), cross(site, method)
    effects = 3 * rng.normal(size=9)[site] + rng.normal(size=36)[nested] + rng.normal(size=81)[crossed]
    y, design = effects + rng.normal(size=324), indicator(method, 9)
    factors = [crossed, nested, site]
    fit = mixed.fit(y, design, factors)
    assert fit.log_likelihood == pytest.approx(dense_log_likelihood(y, design, factors, fit.parameters), abs=1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"factors": []}, "no random factor"),
        ({"y": np.arange(7.0)}, "codes expected"),
        ({"design": np.ones((5, 1))}, "the design 5"),
        ({"design": np.ones((8, 2))}, "depend on each other"),
        ({"design": np.eye(8)}, "as many fixed effects as rows"),
        ({"factors": [np.zeros(8, dtype=int)]}, "not separable from the fixed effects"),
        ({"factors": [np.arange(8)]}, "level of its own for every row"),
        ({"factors": [np.linspace(0, 1, 8)]}, "must be integers"),
        ({"y": np.array([1.0, np.nan, 3, 4, 5, 6, 7, 8])}, "finite"),
        ({"y": np.full(8, 3.0)}, "explain the outcome exactly"),
        ({"y": np.repeat([1.0, 4.0, 2.0, 7.0], 2)}, "no residual variance"),
    ],
)
def test_refusals(change: dict[str, object], message: str) -> None:
    arguments: dict[str, object] = {
        "y": np.array([1.0, 2.0, 4.0, 3.0, 6.0, 5.0, 9.0, 7.0]),
        "design": np.ones((8, 1)),
        "factors": [np.repeat(np.arange(4), 2)],
    }
    with pytest.raises(ValueError, match=message):
        mixed.fit(**(arguments | change))  # type: ignore[arg-type]


def test_factors_with_the_same_levels_are_refused() -> None:
    rng = np.random.default_rng(19)
    level = np.repeat(np.arange(5), 4)
    y = rng.normal(size=5)[level] + 0.3 * rng.normal(size=20)
    with pytest.raises(ValueError, match="told apart"):
        kenward_roger.adjust(mixed.fit(y, np.ones((20, 1)), [level, level]))


@pytest.mark.parametrize(
    ("weights", "message"),
    [([0.0, 0.0, 0.0], "depend"), ([1.0, 0.0], "3 weights"), ([np.inf, 0.0, 0.0], "finite")],
)
def test_weights_are_checked(weights: list[float], message: str) -> None:
    y, design, factors = made_up(20)
    fit = mixed.fit(y, design, factors)
    with pytest.raises(ValueError, match=message):
        kenward_roger.adjust(fit).contrast(weights)
    with pytest.raises(ValueError, match=message):
        satterthwaite.contrast(fit, weights)


def awkward(seed: int) -> tuple[FloatArray, FloatArray, list[IntArray]]:
    """Small tables with two or three factors whose SDs lie between nothing and a thousand times the residual's."""
    rng = np.random.default_rng(seed)
    rows = int(rng.integers(12, 50))
    level = rng.integers(0, 6, rows)
    factors = [level, cross(level, rng.integers(0, 3, rows)), rng.integers(0, 5, rows)][: int(rng.integers(2, 4))]
    y = rng.normal(size=rows)
    for codes in factors:
        y = y + rng.choice([0.0, 0.1, 1.0, 10.0, 1000.0]) * rng.normal(size=codes.max() + 1)[codes]
    return y, np.column_stack([np.ones(rows), rng.normal(size=rows)]), factors


def test_awkward_variances_are_found_too() -> None:
    """Not lower than another optimiser from three starts (scipy's BFGS), over six orders of magnitude of SD ratios."""
    for seed in range(20):
        y, design, factors = awkward(seed)
        fit = mixed.fit(y, design, factors)

        def depth(
            roots: FloatArray, data: tuple[FloatArray, FloatArray, list[IntArray]] = (y, design, factors)
        ) -> float:
            point = np.append(roots**2, 1.0)
            p = projection(data[1], dense_covariance(data[2], point))
            return -dense_log_likelihood(*data, float(data[0] @ p @ data[0] / (len(data[0]) - 2)) * point)

        best = max(
            -float(optimize.minimize(depth, np.full(len(factors), s), method="BFGS").fun) for s in (0.3, 3.0, 300.0)
        )
        assert fit.log_likelihood >= best - 1e-6, seed
