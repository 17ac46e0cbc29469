"""Least squares, also with dependent columns, against textbook data and numpy."""

import numpy as np
import pytest

from evenground.numerics import linear
from evenground.numerics.arrays import cross, finite, indicator, level_codes


def test_students_sleep_data() -> None:
    """Student, Biometrika 6 (1908) 1-25: ten paired differences, mean 1.58, t 4.06 on 9 df (from memory)."""
    gains = [1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4]
    test = linear.fit(gains, np.ones((10, 1))).contrast([1.0])
    assert test.estimate == pytest.approx(1.58, abs=1e-12)
    assert test.t == pytest.approx(4.06, abs=5e-3)
    assert test.df == 9


def test_longley_certified_values() -> None:
    """NIST StRD Longley (higher difficulty), data and certified digits from memory (a slip would not agree to 1e-8)."""
    data = np.array(
        [
            [60323, 83.0, 234289, 2356, 1590, 107608, 1947],
            [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
            [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
            [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
            [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
            [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
            [64989, 99.0, 365385, 1870, 3547, 115094, 1953],
            [63761, 100.0, 363112, 3578, 3350, 116219, 1954],
            [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
            [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
            [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
            [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
            [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
            [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
            [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
            [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
        ]
    )
    fit = linear.fit(data[:, 0], np.column_stack([np.ones(16), data[:, 1:]]))
    certified = [
        -3482258.63459582,
        15.0618722713733,
        -0.358191792925910e-01,
        -2.02022980381683,
        -1.03322686717359,
        -0.511041056535807e-01,
        1829.15146461355,
    ]
    assert fit.rank == 7
    np.testing.assert_allclose(fit.coefficients, certified, rtol=1e-8)
    assert np.sqrt(fit.mean_square) == pytest.approx(304.854073561965, rel=1e-9)
    assert fit.contrast(np.eye(7)[6]).standard_error == pytest.approx(455.478499142212, rel=1e-8)


def blocks_and_methods() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(1)
    methods, blocks = np.tile(np.arange(3), 4), np.repeat(np.arange(4), 3)
    design = np.hstack([np.ones((12, 1)), indicator(methods, 3), indicator(blocks, 4)])
    return rng.normal(size=12), design


def test_dependent_columns_give_the_same_differences_as_independent_ones() -> None:
    y, design = blocks_and_methods()
    full, kept = linear.fit(y, design), linear.independent_columns(design)
    reduced = linear.fit(y, design[:, kept])
    assert kept.tolist() == [0, 1, 2, 4, 5, 6]
    assert (full.rank, full.df) == (6, 6)
    assert full.mean_square == pytest.approx(reduced.mean_square, rel=1e-12)
    one = full.contrast([0, 1, -1, 0, 0, 0, 0, 0])
    other = reduced.contrast([0, 1, -1, 0, 0, 0])
    assert (one.estimate, one.standard_error, one.p) == pytest.approx((other.estimate, other.standard_error, other.p))


def test_what_cannot_be_told_is_refused() -> None:
    y, design = blocks_and_methods()
    with pytest.raises(ValueError, match="cannot be estimated"):
        linear.fit(y, design).contrast([0, 1, 0, 0, 0, 0, 0, 0])


def test_scale_of_columns_does_not_decide_rank() -> None:
    rng = np.random.default_rng(2)
    x = np.column_stack([np.ones(9), 1e-9 * rng.normal(size=9), 1e9 * rng.normal(size=9)])
    assert linear.fit(rng.normal(size=9), x).rank == 3
    assert linear.independent_columns(x).tolist() == [0, 1, 2]


def test_against_numpy() -> None:
    rng = np.random.default_rng(3)
    x, y = rng.normal(size=(20, 4)), rng.normal(size=20)
    fit = linear.fit(y, x)
    solution, squares, _, _ = np.linalg.lstsq(x, y, rcond=None)
    np.testing.assert_allclose(fit.coefficients, solution, rtol=1e-10)
    assert fit.mean_square == pytest.approx(float(squares[0]) / 16, rel=1e-12)
    np.testing.assert_allclose(fit.covariance_factor, np.linalg.inv(x.T @ x), rtol=1e-9)
    np.testing.assert_allclose(fit.residuals, y - x @ solution, atol=1e-12)


def test_no_rows_to_spare() -> None:
    fit = linear.fit([1.0, 2.0], np.eye(2))
    assert np.isnan(fit.mean_square)
    with pytest.raises(ValueError, match="no residual degrees"):
        fit.contrast([1.0, -1.0])


def test_no_spread() -> None:
    assert linear.t_contrast(2.0, 0.0, 5.0).t == np.inf
    assert linear.t_contrast(-2.0, 0.0, 5.0).p == 0.0
    assert linear.t_contrast(0.0, 0.0, 5.0).p == 1.0


@pytest.mark.parametrize(
    ("y", "design", "message"),
    [
        ([1.0, 2.0, 3.0], np.ones((2, 1)), "3 rows, the design 2"),
        ([1.0, np.nan], np.ones((2, 1)), "finite"),
        ([], np.ones((0, 1)), "no values"),
        ([[1.0]], np.ones((1, 1)), "1 dimension"),
    ],
)
def test_refusals(y: object, design: np.ndarray, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        linear.fit(y, design)  # type: ignore[arg-type]


def test_level_codes() -> None:
    codes, count = level_codes([7, -2, 7, 30], "blocks", 4)
    assert (codes.tolist(), count) == ([1, 0, 1, 2], 3)
    assert cross([0, 0, 1], [5, 5, 5]).tolist() == [0, 0, 1]
    with pytest.raises(ValueError, match="same length"):
        cross([0, 1], [0])
    with pytest.raises(ValueError, match="integers"):
        level_codes(["a", "b"], "blocks", 2)
    with pytest.raises(ValueError, match="2 dimension"):
        finite([1.0], "design", 2)
