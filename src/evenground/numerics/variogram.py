"""How unlikeness grows with distance: an exponential variogram fitted to scattered values, with bounded work."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import nnls

Floats = NDArray[np.float64]
# Pairs of points looked at, at most; more change the fit by less than the field itself is uncertain.
MOST_PAIRS = 400_000
_CLASSES = 24
_FEWEST_PAIRS = 30
_REACHES = 40


@dataclass(frozen=True, slots=True)
class Variogram:
    """Semivariance ``nugget + sill (1 - exp(-distance / reach))``.

    Attributes
    ----------
    nugget : float
        Semivariance of points side by side [unit squared].
    sill : float
        What distance adds at most [unit squared].
    reach : float
        Distance over which the correlation of the smooth part falls to 1/e [m].
    pairs : int
        Pairs of points used [1].
    """

    nugget: float
    sill: float
    reach: float
    pairs: int


def fit_variogram(x: ArrayLike, y: ArrayLike, values: ArrayLike, rng: np.random.Generator) -> Variogram:
    """Fit an exponential variogram to values at points.

    Semivariances are averaged in classes of distance up to half the largest extent. For each of 40 reaches nugget and
    sill follow by non-negative least squares, classes weighted by their pairs over the squared fit of a first round;
    the best reach wins.

    Parameters
    ----------
    x, y : array_like, shape (points,)
        Places [m].
    values : array_like, shape (points,)
        What was measured [any unit].
    rng : numpy.random.Generator
        Draws the pairs where there are more than `MOST_PAIRS`.

    Returns
    -------
    Variogram

    Raises
    ------
    ValueError
        If there are fewer than 30 points, a number is not finite, or all values or places are the same.

    Source: Cressie, Mathematical Geology 17 (1985) 563-586: weighted least squares (form from memory).
    """
    px, py, z = (np.asarray(v, dtype=np.float64) for v in (x, y, values))
    if len(z) < _FEWEST_PAIRS or not (np.isfinite(px).all() and np.isfinite(py).all() and np.isfinite(z).all()):
        raise ValueError(f"at least {_FEWEST_PAIRS} points with finite numbers are needed, got {len(z)}")
    first, second = _pairs(len(z), rng)
    apart = np.hypot(px[first] - px[second], py[first] - py[second])
    farthest = 0.5 * float(np.hypot(np.ptp(px), np.ptp(py)))
    if farthest <= 0 or np.ptp(z) == 0:
        raise ValueError("the points must differ in place and value")
    near = (apart <= farthest) & (apart > 0)
    bins = np.minimum((apart[near] / farthest * _CLASSES).astype(np.intp), _CLASSES - 1)
    count = np.bincount(bins, minlength=_CLASSES).astype(np.float64)
    used = count >= _FEWEST_PAIRS
    half_squares = 0.5 * (z[first] - z[second])[near] ** 2
    semi = np.bincount(bins, half_squares, minlength=_CLASSES)[used] / count[used]
    distance = np.bincount(bins, apart[near], minlength=_CLASSES)[used] / count[used]
    if used.sum() < 4:
        raise ValueError("the points give too few distances to fit a variogram")
    return _best(distance, semi, count[used], farthest)


def _pairs(points: int, rng: np.random.Generator) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    if points * (points - 1) // 2 <= MOST_PAIRS:
        first, second = np.triu_indices(points, 1)
        return first, second
    drawn = rng.integers(points, size=(2, MOST_PAIRS))
    drawn = drawn[:, drawn[0] != drawn[1]]
    return drawn[0], drawn[1]


def _best(distance: Floats, semi: Floats, count: Floats, farthest: float) -> Variogram:
    fits: list[tuple[float, float, float, float]] = []
    for reach in np.geomspace(max(distance[0] / 3, farthest / 200), farthest * 2, _REACHES):
        rise = -np.expm1(-distance / reach)
        design = np.column_stack((np.ones_like(rise), rise))
        weight = np.sqrt(count)
        for _ in range(2):
            (nugget, sill), _rest = nnls(design * weight[:, None], semi * weight)
            fitted = np.maximum(design @ (nugget, sill), 1e-12 * float(semi.max()))
            weight = np.sqrt(count) / fitted
        # Weighted by the data's own semivariances here, so that all reaches are judged by the same weights.
        misfit = float((count * ((semi - fitted) / semi.clip(1e-12)) ** 2).sum())
        fits.append((misfit, float(nugget), float(sill), float(reach)))
    _, nugget, sill, reach = min(fits)
    return Variogram(nugget, sill, reach, int(count.sum()))
