"""The variance ratio of one factor: exact where there is a formula, the highest peak where there are two."""

import numpy as np
import pytest

from evenground.numerics.one_variance import Canonical, data_rows, negative_ratio, positive_ratio


def one(eigenvalues: list[float], squares: list[float], residual: float, df: int) -> Canonical:
    return Canonical(np.array(eigenvalues), np.array([squares]), np.array([residual]), df)


@pytest.mark.parametrize("between", [0.5, 3.0, 40.0, 1e6])
def test_equal_eigenvalues_have_a_formula(between: float) -> None:
    """Balanced data: (between / within mean square - 1) / size, positive or not (analysis of variance)."""
    data = one([4.0] * 5, [between] * 5, 12.0, 12)
    expected = (between - 1.0) / 4.0
    assert positive_ratio(data)[0] == pytest.approx(max(expected, 0.0), rel=1e-12)
    if expected < 0:
        assert negative_ratio(data, 4.0)[0] == pytest.approx(expected, rel=1e-12)


def test_the_score_is_the_slope_and_its_slope() -> None:
    data = one([0.5, 2.0, 3.0], [1.0, 7.0, 0.2], 4.0, 6)
    for ratio in (-0.2, 0.0, 0.7, 5.0):
        near = np.array([[ratio - 1e-5, ratio + 1e-5]])
        heights, (slopes, _) = data.log_likelihood(near)[0], data.score(near)
        slope, curvature = data.score(np.array([[ratio]]))
        assert slope[0, 0] == pytest.approx(2 * (heights[1] - heights[0]) / 2e-5, rel=1e-5, abs=1e-8)
        assert curvature[0, 0] == pytest.approx((slopes[0, 1] - slopes[0, 0]) / 2e-5, rel=1e-5)


def test_two_peaks_the_higher_one_wins() -> None:
    """Very unequal eigenvalues can give two peaks (one trial in seven here); a fine grid says which is higher."""
    rng = np.random.default_rng(1)
    grid = np.concatenate([[0.0], np.logspace(-6, 9, 2000)])[None]
    found = 0
    for _ in range(150):
        count = int(rng.integers(2, 7))
        values, squares = 10 ** rng.uniform(-3, 2, count), 10 ** rng.uniform(-2, 3, count)
        data = one(values.tolist(), squares.tolist(), 10 ** rng.uniform(-2, 2), int(rng.integers(1, 8)))
        heights = data.log_likelihood(grid)[0]
        found += (np.diff(np.sign(np.diff(heights))) < 0).sum() > 1
        ratio = positive_ratio(data)
        assert data.log_likelihood(ratio[:, None])[0, 0] >= heights.max() - 1e-9
    assert found > 10


def test_no_residual_has_no_ratio() -> None:
    assert np.isnan(positive_ratio(one([2.0, 2.0], [1.0, 3.0], 0.0, 2))[0])


def test_levels_all_alike_have_no_estimate() -> None:
    data = one([2.0] * 5, [0.0] * 5, 5.0, 5)
    assert positive_ratio(data)[0] == 0.0
    assert np.isnan(negative_ratio(data, 2.0)[0])


def test_nothing_between_levels() -> None:
    data = Canonical(np.zeros(0), np.zeros((3, 0)), np.ones(3), 5)
    assert (positive_ratio(data) == 0).all()
    assert np.isnan(negative_ratio(data, 2.0)).all()


def test_choosing_data_sets() -> None:
    data = Canonical(np.array([1.0]), np.array([[1.0], [2.0]]), np.array([3.0, 4.0]), 5)
    chosen = data_rows(data, np.array([False, True]))
    assert (chosen.squares.tolist(), chosen.residual.tolist(), chosen.df) == ([[2.0]], [4.0], 6)
