"""Linear models for values at points whose errors resemble those of their neighbours: generalised least squares, REML.

Source: Cressie, Statistics for Spatial Data (1993), section 2.3; Patterson & Thompson, Biometrika 58 (1971) 545-554.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import cho_factor, cho_solve

from evenground.numerics.arrays import FloatArray, finite

# Reaches tried, as shares of the largest distance: what matters is how alike neighbours are, so coarse steps do.
_REACHES = (0.02, 0.04, 0.08, 0.15, 0.3, 0.6)
# Nugget over sill tried. The last is next to no correlation at all.
_NUGGETS = np.geomspace(1e-3, 1e3, 37)


@dataclass(frozen=True)
class Coefficients:
    """Coefficients of a linear model and their covariance, in the unit of the outcome."""

    values: FloatArray
    covariance: FloatArray


def generalised_least_squares(design: npt.ArrayLike, values: npt.ArrayLike, covariance: npt.ArrayLike) -> Coefficients:
    """Fit a linear model whose errors have a known covariance.

    Parameters
    ----------
    design : array_like, shape (rows, columns)
        Fixed-effects matrix of full column rank.
    values : array_like, shape (rows,)
        Outcome [any unit].
    covariance : array_like, shape (rows, rows)
        Covariance of the errors [unit squared], positive definite.

    Returns
    -------
    Coefficients

    Raises
    ------
    ValueError
        If a number is not finite or the shapes do not fit.
    numpy.linalg.LinAlgError
        If the covariance is not positive definite.

    Source: Aitken, Proc. R. Soc. Edinburgh 55 (1935) 42-48.

    Examples
    --------
    >>> fit = generalised_least_squares([[1.0], [1.0]], [1.0, 3.0], [[1.0, 0.0], [0.0, 1.0]])
    >>> float(fit.values[0]), float(fit.covariance[0, 0])
    (2.0, 0.5)
    """
    x, y, v = finite(design, "design", 2), finite(values, "values", 1), finite(covariance, "covariance", 2)
    if v.shape != (len(y), len(y)) or len(x) != len(y):
        raise ValueError("design, values and covariance do not have the same number of rows")
    factor = cho_factor(v, lower=True)
    solved = cho_solve(factor, x)
    inverse: FloatArray = np.asarray(np.linalg.inv(x.T @ solved), dtype=np.float64)
    return Coefficients(inverse @ (solved.T @ y), inverse)


@dataclass(frozen=True)
class Places:
    """Places taken apart once, so that many outcomes at them can be fitted quickly.

    Attributes
    ----------
    reaches : ndarray, shape (reaches,)
        Distances over which the correlation may fall to 1/e [m].
    roots : ndarray, shape (places,)
        Square root of the number of values behind each place.
    vectors : ndarray, shape (reaches, places, places)
        Eigenvectors of the weighted correlation matrix, one matrix a reach.
    eigenvalues : ndarray, shape (reaches, places)
        Its eigenvalues.
    """

    reaches: FloatArray
    roots: FloatArray
    vectors: FloatArray
    eigenvalues: FloatArray


def places_of(x: npt.ArrayLike, y: npt.ArrayLike, counts: npt.ArrayLike | None = None) -> Places:
    """Take places apart for `fit_correlated`.

    Parameters
    ----------
    x, y : array_like, shape (places,)
        Where they are [m].
    counts : array_like, shape (places,), optional
        Values averaged at each place [1]; the nugget falls with it.

    Returns
    -------
    Places

    Raises
    ------
    ValueError
        If a number is not finite, or all places are one.

    Source: exponential correlation, Cressie (1993) section 2.3.1; spectral form of the likelihood as in
    Kang et al., Genetics 178 (2008) 1709-1723.
    """
    at = np.column_stack([finite(x, "x", 1), finite(y, "y", 1)])
    roots = np.sqrt(np.ones(len(at)) if counts is None else finite(counts, "counts", 1))
    apart = np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1))
    largest = float(apart.max())
    if largest <= 0.0:
        raise ValueError("all places are the same")
    reaches = largest * np.array(_REACHES)
    parts = [np.linalg.eigh(np.outer(roots, roots) * np.exp(-apart / reach)) for reach in reaches]
    return Places(reaches, roots, np.stack([p.eigenvectors for p in parts]), np.stack([p.eigenvalues for p in parts]))


@dataclass(frozen=True)
class CorrelatedFit:
    """A fitted linear model with correlated errors.

    Attributes
    ----------
    coefficients, covariance : ndarray
        Of the columns of the design.
    sill, nugget : float
        Variance of what neighbours share, and of what each value has by itself [unit squared].
    reach : float
        Distance over which the correlation of the shared part falls to 1/e [m].
    """

    coefficients: FloatArray
    covariance: FloatArray
    sill: float
    nugget: float
    reach: float


def fit_correlated(places: Places, design: npt.ArrayLike, values: npt.ArrayLike) -> CorrelatedFit:
    """Fit a linear model with errors of exponential correlation and a nugget, by REML over a grid of both.

    Parameters
    ----------
    places : Places
        Where the values are.
    design : array_like, shape (places, columns)
        Fixed-effects matrix of full column rank.
    values : array_like, shape (places,)
        Outcome [any unit]; means where several values lie behind a place.

    Returns
    -------
    CorrelatedFit
        Variances are those of a single value. The grid has 6 reaches and 37 nugget ratios.

    Raises
    ------
    ValueError
        If a number is not finite, or there are no more places than columns.

    Source: Patterson & Thompson (1971).
    """
    x, y = finite(design, "design", 2), finite(values, "values", 1)
    rows, columns = x.shape
    if rows <= columns:
        raise ValueError("there are no more places than coefficients")
    weighted_x, weighted_y = places.roots[:, None] * x, places.roots * y
    best: tuple[float, CorrelatedFit] | None = None
    for reach, vectors, eigenvalues in zip(places.reaches, places.vectors, places.eigenvalues, strict=True):
        found = _best_nugget(eigenvalues, vectors.T @ weighted_x, vectors.T @ weighted_y, float(reach))
        if best is None or found[0] > best[0]:
            best = found
    assert best is not None  # there is always a reach
    return best[1]


def _best_nugget(d: FloatArray, x: FloatArray, y: FloatArray, reach: float) -> tuple[float, CorrelatedFit]:
    """Return the REML log-likelihood (up to a constant) and the fit of the best nugget for one reach."""
    rows, columns = x.shape
    spread = np.maximum(d, 0.0)[None, :] + _NUGGETS[:, None]
    crossed = np.einsum("ni,ln,nj->lij", x, 1.0 / spread, x)
    moments = np.einsum("ni,ln,n->li", x, 1.0 / spread, y)
    beta = np.linalg.solve(crossed, moments[:, :, None])[:, :, 0]
    left = ((y[None, :] - beta @ x.T) ** 2 / spread).sum(axis=1) / (rows - columns)
    tiny = np.finfo(float).tiny
    likelihood = -0.5 * (
        (rows - columns) * np.log(np.maximum(left, tiny)) + np.log(spread).sum(axis=1) + np.linalg.slogdet(crossed)[1]
    )
    k = int(np.argmax(likelihood))
    sill = float(left[k])
    fit = CorrelatedFit(beta[k], sill * np.linalg.inv(crossed[k]), sill, sill * float(_NUGGETS[k]), reach)
    return float(likelihood[k]), fit
