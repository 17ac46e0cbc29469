"""Linear mixed models y = X b + sum Z_k u_k + e by REML: any fixed-effects matrix, nested or crossed random factors.

The fixed effects are swept out first (M = I - X (X'X)^-1 X'); what is left depends on the variances only through
S = Z'MZ, c = Z'My and y'My, matrices as large as the number of factor levels, not of rows. The residual variance is
profiled out and the likelihood climbed in the ratios g_k of factor variance to residual variance.

Source: Patterson & Thompson, Biometrika 58 (1971) 545-554; Harville, JASA 72 (1977) 320-340 (gradient, observed and
expected information); Searle, Casella & McCulloch, Variance Components (1992), chapter 6.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray, finite, indicator, level_codes
from evenground.numerics.factor_covariance import FactorCovariance
from evenground.numerics.linear import independent_columns
from evenground.numerics.one_variance import Canonical, positive_ratio
from evenground.numerics.several_variances import Swept, climb

ALIASED = 1e-9
"""A factor whose swept-out part is smaller than this share of itself is not separable from the fixed effects."""
NO_RESIDUAL = 1e-8
"""A residual variance that is a smaller share of all variance than this cannot be told from rounding."""


@dataclass(frozen=True)
class MixedFit:
    """REML fit. Variance parameters are ordered: each random factor, then the residual."""

    coefficients: FloatArray
    covariance: FloatArray
    """(X'V^-1X)^-1, not yet adjusted for the variances having been estimated."""
    variances: FloatArray
    residual_variance: float
    log_likelihood: float
    """-1/2 [(n - p) log 2 pi + log det V + log det X'V^-1X + r'V^-1r]."""
    singular: bool
    """True where a factor's variance is on its bound of zero."""
    information_expected: FloatArray
    information_observed: FloatArray
    design: FloatArray
    row_covariance: FactorCovariance

    @property
    def parameters(self) -> FloatArray:
        """Variances of the factors and, last, of the residual [unit squared]."""
        return np.append(self.variances, self.residual_variance)


def fit(y: npt.ArrayLike, design: npt.ArrayLike, factors: Sequence[npt.ArrayLike]) -> MixedFit:
    """Fit a mixed model by REML; variances of factors stay at or above zero.

    Parameters
    ----------
    y : array_like, shape (rows,)
        Outcome [any unit].
    design : array_like, shape (rows, p)
        Fixed-effects matrix, independent columns.
    factors : sequence of array_like of int, shape (rows,)
        Random factors, a level code per row; nested factors with a code of their own per nested level
        (see `arrays.cross`).

    Returns
    -------
    MixedFit

    Raises
    ------
    ValueError
        If lengths differ, columns are dependent, a factor is not separable from the fixed effects or from the residual,
        or nothing is left to estimate the residual variance from.

    Source
    ------
    Harville (1977); one factor: Patterson & Thompson (1971).
    """
    outcome, matrix = finite(y, "y", 1), finite(design, "design", 2)
    codes = [level_codes(factor, f"factor {k + 1}", len(outcome)) for k, factor in enumerate(factors)]
    _check_shapes(outcome, matrix, len(codes))
    levels = np.array([count for _, count in codes])
    loading = np.hstack([indicator(code, count) for code, count in codes])
    swept = _sweep(outcome, matrix, loading, levels)
    ratios = _one_ratio(swept) if len(levels) == 1 else climb(swept)
    state = swept.at(ratios)
    expected, observed = swept.information(ratios)
    if state.residual_variance * swept.df <= NO_RESIDUAL * float(swept.rest @ swept.rest) or expected[-1, -1] <= 0:
        raise ValueError("there is no residual variance: the factors and the fixed effects explain the outcome exactly")
    row_covariance = FactorCovariance(loading, levels, ratios * state.residual_variance, state.residual_variance)
    coefficients, covariance = _generalised_least_squares(outcome, matrix, row_covariance)
    log_det_design = float(2.0 * np.log(np.abs(np.diag(np.linalg.qr(matrix, mode="r")))).sum())
    return MixedFit(
        coefficients,
        covariance,
        ratios * state.residual_variance,
        state.residual_variance,
        state.log_likelihood - 0.5 * swept.df * (1.0 + math.log(2.0 * math.pi)) - 0.5 * log_det_design,
        bool((ratios == 0).any()),
        expected,
        observed,
        matrix,
        row_covariance,
    )


def _check_shapes(outcome: FloatArray, matrix: FloatArray, factors: int) -> None:
    rows, columns = matrix.shape
    if factors == 0:
        raise ValueError("no random factor given: use ordinary least squares")
    if len(outcome) != rows:
        raise ValueError(f"y has {len(outcome)} rows, the design {rows}")
    if len(independent_columns(matrix)) < columns:
        raise ValueError("columns of the design depend on each other: drop some (linear.independent_columns)")
    if rows <= columns:
        raise ValueError("as many fixed effects as rows: nothing is left to estimate variances from")


def _sweep(outcome: FloatArray, matrix: FloatArray, loading: FloatArray, levels: npt.NDArray[np.int64]) -> Swept:
    """Take the fixed effects out of the outcome and of the factors' indicators, twice for full accuracy."""
    basis = np.linalg.qr(matrix)[0]
    rest, free = outcome, loading
    for _ in range(2):
        rest, free = rest - basis @ (basis.T @ rest), free - basis @ (basis.T @ free)
    start = 0
    for number, count in enumerate(levels):
        block = slice(start, start + count)
        if np.linalg.norm(free[:, block]) <= ALIASED * np.linalg.norm(loading[:, block]):
            raise ValueError(f"factor {number + 1} is not separable from the fixed effects")
        if loading[:, block].sum(0).max() == 1:
            raise ValueError(f"factor {number + 1} has a level of its own for every row: it is the residual itself")
        start += count
    if rest @ rest <= (1e-13 * np.linalg.norm(outcome)) ** 2:
        raise ValueError("the fixed effects explain the outcome exactly: there is no variance to estimate")
    return Swept(rest, free, levels, matrix.shape[0] - matrix.shape[1])


def _one_ratio(swept: Swept) -> FloatArray:
    eigenvalues, vectors = np.linalg.eigh(swept.gram)
    kept = eigenvalues > 1e-10 * eigenvalues[-1]
    along = (vectors.T @ swept.products)[kept]
    residual_df = swept.df - int(kept.sum())
    inside = swept.rest - swept.free @ (vectors[:, kept] @ (along / eigenvalues[kept]))
    data = Canonical(eigenvalues[kept], (along**2 / eigenvalues[kept])[None], np.array([inside @ inside]), residual_df)
    ratio = positive_ratio(data)
    if not np.isfinite(ratio[0]) or residual_df == 0:
        raise ValueError("there is no residual variance: the factor and the fixed effects explain the outcome exactly")
    return ratio


def _generalised_least_squares(
    outcome: FloatArray, matrix: FloatArray, row_covariance: FactorCovariance
) -> tuple[FloatArray, FloatArray]:
    """Estimate the coefficients as least squares plus a correction: exact where the two agree."""
    first = np.linalg.lstsq(matrix, outcome, rcond=None)[0]
    weighted = row_covariance.solve(matrix)
    covariance = np.linalg.inv(matrix.T @ weighted)
    correction = covariance @ (weighted.T @ (outcome - matrix @ first))
    return first + correction, 0.5 * (covariance + covariance.T)
