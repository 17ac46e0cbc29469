"""The variance ratio of one random factor by REML, from the eigenvalues of the problem, for many data sets at once.

With the fixed effects swept out, K'y has the covariance s2 (I + g S), S = Z'MZ. In the eigenvectors of S every data set
is a row of squares d (one per positive eigenvalue s) and a residual sum of squares r that g does not touch:

    -2 log L = v log(Q / v) + sum log(1 + g s) + constant,   Q = r + sum d / (1 + g s).

Source: Patterson & Thompson, Biometrika 58 (1971) 545-554; Searle, Casella & McCulloch,
Variance Components (1992), chapter 6; the canonical form is theirs written out for one factor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenground.numerics.arrays import BoolArray, FloatArray

NEWTON_STEPS = 80
STEPS_ABOVE_ZERO = np.concatenate([[0.0], np.logspace(-5, 9, 57)])
"""Trial ratios, times the mean eigenvalue: four per decade, so that a second peak of the likelihood is not missed."""
STEPS_BELOW_ZERO = np.concatenate([np.logspace(-8, -1, 29), np.linspace(0.12, 1.0, 23)])
"""Trial values of 1 + g k for the largest level size k: from just above a covariance that is singular up to g = 0."""


@dataclass(frozen=True)
class Canonical:
    """Many data sets of one design in canonical form; shapes (levels,), (sets, levels), (sets,)."""

    eigenvalues: FloatArray
    squares: FloatArray
    residual: FloatArray
    residual_df: int

    @property
    def df(self) -> int:
        """Rows minus fixed effects [-]."""
        return self.residual_df + len(self.eigenvalues)

    def log_likelihood(self, ratio: FloatArray) -> FloatArray:
        """Profile REML log-likelihood up to a constant of the design, at ratios of shape (sets, any)."""
        spread = 1.0 + ratio[..., None] * self.eigenvalues
        total = self.residual[:, None] + (self.squares[:, None, :] / spread).sum(-1)
        height = self.df * np.log(np.maximum(total, np.finfo(float).tiny)) + np.log(spread).sum(-1)
        return np.asarray(-0.5 * height, dtype=np.float64)

    def score(self, ratio: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Slope (doubled) of that log-likelihood in the ratio, and the slope's own slope."""
        weight = self.eigenvalues / (1.0 + ratio[..., None] * self.eigenvalues)
        squares = self.squares[:, None, :] * weight / np.where(self.eigenvalues > 0, self.eigenvalues, 1.0)
        total = np.maximum(self.residual[:, None] + squares.sum(-1), np.finfo(float).tiny)
        first = (squares * weight).sum(-1) / total
        second = (squares * weight**2).sum(-1) / total
        slope = self.df * first - weight.sum(-1)
        return slope, (weight**2).sum(-1) - self.df * (2.0 * second - first**2)


def positive_ratio(data: Canonical) -> FloatArray:
    """Find the ratio of factor variance to residual variance with the highest likelihood at or above zero.

    Parameters
    ----------
    data : Canonical
        Data sets of one design.

    Returns
    -------
    ndarray, shape (sets,)
        Ratio [-]; 0 where zero itself is best; NaN where the likelihood still rises at the end of the range, which
        happens when there is no residual variance.

    Source
    ------
    Patterson & Thompson (1971).
    """
    if not len(data.eigenvalues):
        return np.zeros(len(data.residual))
    return _best_peak(data, STEPS_ABOVE_ZERO / data.eigenvalues.mean(), rising_end=np.nan, falling_start=0.0)


def negative_ratio(data: Canonical, largest_level: float) -> FloatArray:
    """Find the ratio with the highest likelihood below zero, where the rows' covariance is still positive definite.

    Parameters
    ----------
    data : Canonical
        Data sets whose best ratio above zero is zero.
    largest_level : float
        Rows of the largest level [-]; the ratio stays above -1 / largest_level.

    Returns
    -------
    ndarray, shape (sets,)
        Ratio [-]; NaN where there is none: the likelihood is highest where the covariance becomes singular.

    Source
    ------
    Nelder, Biometrika 41 (1954) 544-548, on negative variance components.
    """
    if not len(data.eigenvalues):
        return np.full(len(data.residual), np.nan)
    grid = (STEPS_BELOW_ZERO - 1.0) / largest_level
    return _best_peak(data, grid, rising_end=0.0, falling_start=np.nan)


def _best_peak(data: Canonical, grid: FloatArray, rising_end: float, falling_start: float) -> FloatArray:
    """Highest peak between the ends of the grid; an end that is higher than every peak gives its stand-in."""
    ratios = np.broadcast_to(grid, (len(data.residual), len(grid)))
    heights, (slopes, _) = data.log_likelihood(ratios), data.score(ratios)
    peak = (slopes[:, :-1] > 0) & (slopes[:, 1:] <= 0)
    height = np.where(peak, np.maximum(heights[:, :-1], heights[:, 1:]), -np.inf)
    place = height.argmax(1)
    rows = np.arange(len(place))
    best = height[rows, place]
    found: FloatArray = np.full(len(rows), np.nan)
    some = np.isfinite(best)
    if some.any():
        found[some] = _root(data_rows(data, some), grid[place[some]], grid[place[some] + 1])
        best[some] = data_rows(data, some).log_likelihood(found[some][:, None])[:, 0]
    start = (slopes[:, 0] <= 0) & (heights[:, 0] >= best)
    end = (slopes[:, -1] > 0) & (heights[:, -1] >= best)
    return np.where(end, rising_end, np.where(start, falling_start, found))


def _root(data: Canonical, low: FloatArray, high: FloatArray) -> FloatArray:
    """Zero of the score between two ratios: Newton, halving the bracket where a step leaves it."""
    ratio = 0.5 * (low + high)
    for _ in range(NEWTON_STEPS):
        slopes, curvatures = data.score(ratio[:, None])
        slope, curvature = slopes[:, 0], curvatures[:, 0]
        low, high = np.where(slope > 0, ratio, low), np.where(slope > 0, high, ratio)
        step = np.divide(-slope, curvature, out=np.full_like(slope, np.inf), where=curvature < 0)
        inside = (ratio + step > low) & (ratio + step < high)
        following = np.where(inside, ratio + step, np.where(slope == 0, ratio, 0.5 * (low + high)))
        moved = np.abs(following - ratio)
        ratio = following
        if (moved <= 4e-16 * np.abs(ratio)).all():
            break
    return ratio


def data_rows(data: Canonical, chosen: BoolArray) -> Canonical:
    """Return the chosen data sets only."""
    return Canonical(data.eigenvalues, data.squares[chosen], data.residual[chosen], data.residual_df)
