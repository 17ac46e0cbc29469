"""Several treatments against one baseline at once: chance and critical value of the largest |t|, by quadrature.

The t values are T_i = Z_i / S with Z normal, correlation R, and S^2 an independent chi-square over its degrees of
freedom. Where R has the product form R_ij = l_i l_j (every design with one common baseline and independent means, and
any two comparisons) one normal variable is shared and the rest are independent given it; three comparisons of any
correlation are taken one after the other. Both integrals use fixed rules, no random numbers.

Source: Dunnett, JASA 50 (1955) 1096-1121; Dunnett & Sobel, Biometrika 42 (1955) 258-260 (product form); trapezoidal
rule on the whole line: Trefethen & Weideman, SIAM Review 56 (2014) 385-458; bounds: Sidak, JASA 62 (1967) 626-633.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln, ndtr

from evenground.numerics.arrays import FloatArray, finite
from evenground.numerics.t_distribution import quantile, two_sided_p

SCALE_NODES = 160
SHARED_NODES = 201
SHARED_REACH = 8.5
SLICE_NODES = 48
COPY = 1e-7
"""Comparisons whose correlation is nearer to 1 or -1 than this are one comparison."""
PRODUCT_FORM = 1e-9
"""A correlation matrix is of product form when no entry is further than this from l_i l_j."""


@dataclass(frozen=True)
class Comparisons:
    """Correlations of comparisons with a common baseline, ready for chances and critical values."""

    correlation: FloatArray
    loadings: FloatArray | None
    """l_i of the product form; None where three comparisons do not have one."""
    distance: float
    """Largest |R_ij - l_i l_j| where more than three comparisons are only nearly of product form, else 0."""

    @cached_property
    def _shared(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Nodes and weights of the shared normal variable, its loadings, and what is left of each comparison."""
        if self.loadings is None:
            raise ValueError("these comparisons have no product form")
        left = np.sqrt(1.0 - self.loadings**2)
        # The integrand bends over a width of `left`: the rule must be finer than that.
        nodes = int(SHARED_NODES * max(1.0, min(40.0, 0.25 / max(float(left.min()), 1e-3))))
        points, step = np.linspace(-SHARED_REACH, SHARED_REACH, nodes, retstep=True)
        return points, _density(points) * float(step), self.loadings, left

    def chance_within(self, limit: float, df: float) -> float:
        """How often all |t| stay within a limit when there is no difference anywhere.

        Parameters
        ----------
        limit : float
            Limit for |t| [-], not negative.
        df : float
            Degrees of freedom [-], above zero, may be fractional or infinite.

        Returns
        -------
        float
            Chance [-].

        Raises
        ------
        ValueError
            If the limit is negative or the df not above zero.

        Source
        ------
        Dunnett (1955), two-sided; Dunnett & Sobel (1955).
        """
        if not limit >= 0 or not df > 0:
            raise ValueError(f"limit must not be negative and df above zero, {limit} and {df} given")
        if math.isinf(limit):
            return 1.0
        if len(self.correlation) == 1:
            return 1.0 - two_sided_p(limit, df)
        scales, weights = _scale_rule(df)
        inside = self._sliced(limit * scales) if self.loadings is None else self._given_shared(limit * scales)
        return float(np.clip(weights @ inside, 0.0, 1.0))

    def p(self, t: float, df: float) -> float:
        """How often the largest |t| of all comparisons is at least this large when there is no difference.

        Parameters
        ----------
        t : float
            Observed t of one comparison [-].
        df : float
            Its degrees of freedom [-].

        Returns
        -------
        float
            Chance [-]; never below the chance for the comparison alone, nor above the number of comparisons times it.

        Raises
        ------
        ValueError
            If t is not a number or the df not above zero.

        Source
        ------
        Dunnett (1955).
        """
        if math.isnan(t):
            raise ValueError("t is not a number")
        alone = two_sided_p(t, df)
        return float(np.clip(1.0 - self.chance_within(abs(t), df), alone, min(1.0, len(self.correlation) * alone)))

    def critical_value(self, level: float, df: float) -> float:
        """Return the limit that all |t| stay within with the chance `level` when there is no difference.

        Parameters
        ----------
        level : float
            Simultaneous level [-], such as 0.9.
        df : float
            Degrees of freedom [-], above zero, may be fractional or infinite.

        Returns
        -------
        float
            Critical |t| [-].

        Raises
        ------
        ValueError
            If the level is not between 0 and 1 or the df not above zero.

        Source
        ------
        Dunnett (1955); the root lies between the single value and Sidak's (1967).
        """
        if not 0.0 < level < 1.0:
            raise ValueError(f"a level lies between 0 and 1, {level} given")
        count = len(self.correlation)
        low = quantile(0.5 + 0.5 * level, df)
        if count == 1:
            return low
        high = quantile(0.5 + 0.5 * level ** (1.0 / count), df) * (1.0 + 1e-9)
        return _root(lambda limit: self.chance_within(limit, df) - level, low, high)

    def _given_shared(self, limits: FloatArray) -> FloatArray:
        """Chance that all |Z_i| stay within each limit: independent given the shared variable."""
        points, weights, loadings, left = self._shared
        inside = np.ones((len(limits), len(points)))
        pairs, counts = np.unique(np.column_stack([loadings, left]), axis=0, return_counts=True)
        for (loading, rest), count in zip(pairs, counts, strict=True):
            centre = loading * points
            chance = ndtr((limits[:, None] - centre) / rest) - ndtr((-limits[:, None] - centre) / rest)
            inside *= chance**count
        return np.asarray(inside @ weights)

    def _sliced(self, limits: FloatArray) -> FloatArray:
        """Chance that three |Z_i| stay within each limit: first, second given first, third given both."""
        root = _triangle(self.correlation)
        nodes, weights = np.polynomial.legendre.leggauss(SLICE_NODES)
        half = np.minimum(limits, SHARED_REACH)[:, None]
        first = half * nodes
        outer = half * weights * _density(first)
        limit = limits[:, None]
        low, high = _between((-limit - root[1, 0] * first) / root[1, 1], (limit - root[1, 0] * first) / root[1, 1])
        width, middle = 0.5 * (high - low)[..., None], 0.5 * (high + low)[..., None]
        second = middle + width * nodes
        centre = root[2, 0] * first[..., None] + root[2, 1] * second
        third = ndtr((limit[..., None] - centre) / root[2, 2]) - ndtr((-limit[..., None] - centre) / root[2, 2])
        inner = (width * weights * _density(second) * third).sum(-1)
        return np.asarray((outer * inner).sum(-1))


def comparisons(covariance: npt.ArrayLike) -> Comparisons:
    """Prepare comparisons with a common baseline from the covariance of their estimates.

    Parameters
    ----------
    covariance : array_like, shape (comparisons, comparisons)
        Covariance of the gains [any unit squared], or their correlation.

    Returns
    -------
    Comparisons
        With more than three comparisons that are not of product form, the nearest product form is used and `distance`
        says how near it is.

    Raises
    ------
    ValueError
        If the matrix is not a covariance.

    Source
    ------
    Dunnett & Sobel (1955).
    """
    matrix = finite(covariance, "covariance", 2)
    spread = np.sqrt(np.clip(np.diag(matrix), 0.0, None)) if matrix.shape[0] == matrix.shape[1] else np.zeros(1)
    if not (spread > 0).all():
        raise ValueError("a square covariance with variances above zero is needed")
    correlation = matrix / np.outer(spread, spread)
    if not np.allclose(correlation, correlation.T, atol=1e-8) or np.linalg.eigvalsh(correlation)[0] < -1e-8:
        raise ValueError("the covariance is not symmetric and positive")
    correlation = _without_copies(np.clip(0.5 * (correlation + correlation.T), -1.0, 1.0))
    loadings = _product_form(correlation)
    off = ~np.eye(len(correlation), dtype=bool)
    distance = float(np.abs(correlation - np.outer(loadings, loadings))[off].max(initial=0.0))
    if distance <= PRODUCT_FORM:
        return Comparisons(correlation, loadings, 0.0)
    if len(correlation) == 3:
        return Comparisons(correlation, None, 0.0)
    return Comparisons(correlation, loadings, distance)


def _without_copies(correlation: FloatArray) -> FloatArray:
    """Drop comparisons whose |t| is always that of an earlier one."""
    copies = np.triu(np.abs(correlation) > 1.0 - COPY, 1).any(axis=0)
    return correlation[np.ix_(~copies, ~copies)]


def _product_form(correlation: FloatArray) -> FloatArray:
    """Find loadings whose products come nearest to the correlations (least squares; exact where they can be)."""
    count = len(correlation)
    largest = 1.0 - 1e-10
    if count == 1:
        return np.zeros(1)
    if count == 2:
        size = math.sqrt(abs(correlation[0, 1]))
        pair = np.array([size, math.copysign(size, correlation[0, 1])])
        return np.asarray(np.clip(pair, -largest, largest), dtype=np.float64)
    values, vectors = np.linalg.eigh(correlation)
    loadings: FloatArray = vectors[:, -1] * math.sqrt(max(values[-1] - 1.0 + 1.0 / count, 0.0))
    for _ in range(500):
        before = loadings.copy()
        for i in range(count):
            others = np.delete(loadings, i)
            size = float(others @ others)
            loadings[i] = 0.0 if size == 0 else float(np.delete(correlation[i], i) @ others) / size
        loadings = np.asarray(np.clip(loadings, -largest, largest), dtype=np.float64)
        if np.abs(loadings - before).max() < 1e-15:
            break
    return loadings


def _scale_rule(df: float) -> tuple[FloatArray, FloatArray]:
    """Values of S and their weights: trapezoidal rule in log S over all of its mass."""
    if math.isinf(df) or df > 1e9:
        return np.ones(1), np.ones(1)
    grid = np.linspace(-45.0 / df - 9.0 / math.sqrt(df), 9.0 / math.sqrt(df), 4 * SCALE_NODES)
    height = df * grid - 0.5 * df * np.expm1(2.0 * grid)
    mass = grid[height > -38.0]
    points, step = np.linspace(mass[0], mass[-1], SCALE_NODES, retstep=True)
    constant = 0.5 * df * math.log(0.5 * df) - 0.5 * df - float(gammaln(0.5 * df)) + math.log(2.0)
    weights = np.exp(constant + df * points - 0.5 * df * np.expm1(2.0 * points)) * float(step)
    return np.exp(points), weights


def _density(values: FloatArray) -> FloatArray:
    return np.asarray(np.exp(-0.5 * values**2) / math.sqrt(2.0 * math.pi))


def _between(low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Cut an interval at where the normal density has no mass left."""
    return np.clip(low, -SHARED_REACH, SHARED_REACH), np.clip(high, -SHARED_REACH, SHARED_REACH)


def _triangle(correlation: FloatArray) -> FloatArray:
    """Lower triangular root; a correlation that is singular gets the smallest nudge that gives it one."""
    nudge = max(0.0, 1e-12 - float(np.linalg.eigvalsh(correlation)[0]))
    return np.asarray(
        np.linalg.cholesky((correlation + nudge * np.eye(len(correlation))) / (1.0 + nudge)), dtype=np.float64
    )


def _root(height: Callable[[float], float], low: float, high: float) -> float:
    """Zero of a rising function: secant steps in a bracket, the end that stays put counted half (Illinois rule)."""
    at_low, at_high = height(low), height(high)
    if at_low >= 0.0:
        return low
    if at_high <= 0.0:
        return high
    side = 0
    for _ in range(60):
        middle = low + (high - low) * min(max(-at_low / (at_high - at_low), 0.02), 0.98)
        at_middle = height(middle)
        if abs(at_middle) < 1e-13 or high - low < 1e-12 * high:
            return middle
        if at_middle < 0.0:
            low, at_low, at_high = middle, at_middle, at_high * (0.5 if side < 0 else 1.0)
            side = -1
        else:
            high, at_high, at_low = middle, at_middle, at_low * (0.5 if side > 0 else 1.0)
            side = 1
    return 0.5 * (low + high)
