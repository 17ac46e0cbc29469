"""Rectangles side by side on uneven ground: variances and covariances of their means under a falling correlation."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def mean_correlation(
    low: ArrayLike, high: ArrayLike, other_low: ArrayLike, other_high: ArrayLike, reach: float
) -> Floats:
    """Return the mean of ``exp(-|s - t| / reach)`` over s in one stretch and t in another.

    Answers: how alike are the means of two stretches of a line along which correlation falls exponentially?

    Parameters
    ----------
    low, high, other_low, other_high : array_like
        Ends of the two stretches [m]; broadcast against each other; each stretch is longer than zero.
    reach : float
        Distance over which the correlation falls to 1/e [m].

    Returns
    -------
    ndarray
        Between 0 and 1 [1].

    Raises
    ------
    ValueError
        If the reach is not above zero or a stretch has no length.

    Source: the double integral in closed form; for one stretch ``2 (r/L)^2 (L/r - 1 + exp(-L/r))``.

    Examples
    --------
    >>> round(float(mean_correlation(0.0, 1.0, 0.0, 1.0, 1.0)), 6)
    0.735759
    """
    if not 0.0 < reach < math.inf:
        raise ValueError(f"the reach must be above zero, got {reach}")
    a, b, c, d = (np.asarray(x, dtype=np.float64) / reach for x in (low, high, other_low, other_high))
    if (b <= a).any() or (d <= c).any():
        raise ValueError("every stretch must be longer than zero")
    total = _twice_integrated(b - c) - _twice_integrated(b - d) - _twice_integrated(a - c) + _twice_integrated(a - d)
    out: Floats = total / ((b - a) * (d - c))
    return np.clip(out, 0.0, 1.0)


def strip_covariance(
    left: ArrayLike, width: float, low: ArrayLike, high: ArrayLike, reach_across: float, reach_along: float
) -> Floats:
    """Return the covariances of the means of parallel rectangles, as shares of the variance at a point.

    The correlation of two points is ``exp(-dx / reach_across) exp(-dy / reach_along)``.

    Parameters
    ----------
    left : array_like, shape (strips,)
        Left edge of each rectangle [m across].
    width : float
        Width of all rectangles [m].
    low, high : array_like, shape (strips,)
        Ends of each rectangle [m along].
    reach_across, reach_along : float
        Distances over which the correlation falls to 1/e [m].

    Returns
    -------
    ndarray, shape (strips, strips)
        Symmetric, positive semidefinite [1].

    Raises
    ------
    ValueError
        As `mean_correlation`.

    Source: separable exponential correlation; product of two closed integrals.
    """
    x, y1, y2 = (np.asarray(v, dtype=np.float64) for v in (left, low, high))
    across = mean_correlation(x[:, None], x[:, None] + width, x[None, :], x[None, :] + width, reach_across)
    along = mean_correlation(y1[:, None], y2[:, None], y1[None, :], y2[None, :], reach_along)
    out: Floats = across * along
    return out


def _twice_integrated(u: Floats) -> Floats:
    """Return a function whose second derivative is ``exp(-|u|)``; its odd part cancels in the double integral."""
    size = np.abs(u)
    # exp(-s) - 1 + s loses nothing for short stretches beside a long reach.
    out: Floats = np.where(size < 1e-3, size**2 / 2 - size**3 / 6 + size**4 / 24, np.expm1(-size) + size)
    return out
