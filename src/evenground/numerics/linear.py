"""Ordinary least squares for any fixed-effects matrix, also one with dependent columns.

Source: Searle, Linear Models (1971), chapter 5 (estimable functions); Golub & Van Loan, Matrix Computations (2013).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray, IntArray, finite
from evenground.numerics.t_distribution import two_sided_p

DEPENDENT = 1e-9
"""A column whose part outside the earlier ones is shorter than this share of it counts as dependent."""


@dataclass(frozen=True)
class Contrast:
    """One linear combination of coefficients, tested against zero."""

    estimate: float
    standard_error: float
    df: float
    t: float
    p: float


@dataclass(frozen=True)
class LinearFit:
    """Least-squares fit; `covariance_factor` times `mean_square` is the covariance of the coefficients."""

    coefficients: FloatArray
    covariance_factor: FloatArray
    mean_square: float
    df: int
    rank: int
    residuals: FloatArray
    row_space: FloatArray
    """Orthonormal rows; a contrast is estimable when it lies in their span."""

    def contrast(self, weights: npt.ArrayLike) -> Contrast:
        """Estimate and test one combination of coefficients.

        Parameters
        ----------
        weights : array_like, shape (coefficients,)
            Weight of each coefficient [-].

        Returns
        -------
        Contrast
            In the unit of the outcome; with zero residual mean square t is infinite, or 0 for a zero estimate.

        Raises
        ------
        ValueError
            If the data cannot tell the combination, or no degrees of freedom are left.

        Source
        ------
        Searle (1971) section 5.4.
        """
        row = finite(weights, "weights", 1)
        outside = row - self.row_space.T @ (self.row_space @ row)
        if np.linalg.norm(outside) > 1e-7 * np.linalg.norm(row):
            raise ValueError("this combination cannot be estimated: its columns are not separable in the data")
        if self.df < 1:
            raise ValueError("no residual degrees of freedom are left")
        estimate = float(row @ self.coefficients)
        return t_contrast(estimate, float(row @ self.covariance_factor @ row) * self.mean_square, float(self.df))


def t_contrast(estimate: float, variance: float, df: float) -> Contrast:
    """Put an estimate and its variance together as a t test against zero.

    Parameters
    ----------
    estimate : float
        Estimate [unit of the outcome].
    variance : float
        Its variance [unit squared], not negative.
    df : float
        Degrees of freedom [-].

    Returns
    -------
    Contrast

    Source
    ------
    Student, Biometrika 6 (1908) 1-25.
    """
    error = float(np.sqrt(max(variance, 0.0)))
    t = estimate / error if error > 0 else float(np.copysign(np.inf, estimate)) if estimate else 0.0
    return Contrast(estimate, error, df, t, two_sided_p(t, df))


def independent_columns(design: npt.ArrayLike) -> IntArray:
    """Which columns to keep so that none is a combination of earlier ones.

    Parameters
    ----------
    design : array_like, shape (rows, columns)
        Fixed-effects matrix.

    Returns
    -------
    ndarray of int
        Indices of the columns kept, in order.

    Raises
    ------
    ValueError
        If a value is not finite.

    Source
    ------
    Gram-Schmidt with a second pass, Golub & Van Loan (2013) 5.2.

    Examples
    --------
    >>> independent_columns([[1, 1, 0], [1, 0, 1], [1, 1, 0]]).tolist()
    [0, 1]
    """
    matrix = finite(design, "design", 2)
    basis = np.zeros((matrix.shape[0], 0))
    kept: list[int] = []
    for index, column in enumerate(matrix.T):
        rest = column - basis @ (basis.T @ column)
        rest -= basis @ (basis.T @ rest)
        length = np.linalg.norm(rest)
        if length > DEPENDENT * max(float(np.linalg.norm(column)), np.finfo(float).tiny):
            basis = np.column_stack([basis, rest / length])
            kept.append(index)
    return np.array(kept, dtype=np.int64)


def fit(y: npt.ArrayLike, design: npt.ArrayLike) -> LinearFit:
    """Fit y = X b + e by least squares; dependent columns share their effect (shortest solution).

    Parameters
    ----------
    y : array_like, shape (rows,)
        Outcome [any unit].
    design : array_like, shape (rows, columns)
        Fixed-effects matrix X.

    Returns
    -------
    LinearFit
        With no degrees of freedom left the mean square is NaN.

    Raises
    ------
    ValueError
        If lengths differ or a value is not finite.

    Source
    ------
    Golub & Van Loan (2013) 5.5.2 (singular value decomposition).

    Examples
    --------
    >>> round(fit([1.0, 3.0, 2.0, 6.0], [[1, 0], [1, 1], [1, 0], [1, 1]]).contrast([0, 1]).estimate, 6)
    3.0
    """
    outcome, matrix = finite(y, "y", 1), finite(design, "design", 2)
    if len(outcome) != matrix.shape[0]:
        raise ValueError(f"y has {len(outcome)} rows, the design {matrix.shape[0]}")
    scale = np.linalg.norm(matrix, axis=0)
    scale[scale == 0] = 1.0
    left, singular, right = np.linalg.svd(matrix / scale, full_matrices=False)
    rank = int((singular > singular[0] * DEPENDENT).sum())
    left, right = left[:, :rank], right[:rank]
    inverse = (right.T / singular[:rank]) / scale[:, None]
    coefficients = inverse @ (left.T @ outcome)
    residuals = outcome - left @ (left.T @ outcome)
    residuals -= left @ (left.T @ residuals)
    df = len(outcome) - rank
    mean_square = float(residuals @ residuals) / df if df else float("nan")
    row_space = np.linalg.qr((right * scale).T)[0].T
    return LinearFit(coefficients, inverse @ inverse.T, mean_square, df, rank, residuals, row_space)
