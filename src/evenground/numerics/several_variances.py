"""Variance ratios of several random factors by REML: scoring far from the top, Newton near it.

Source: Harville, JASA 72 (1977) 320-340: gradient, observed and expected information; start values by equating
quadratic forms to their expectations, Rao, Journal of Multivariate Analysis 1 (1971) 445-456.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray

MAX_STEPS = 200
DONE = 1e-15
"""A Newton step that promises less gain in log-likelihood than this is the last: it squares an error of about 3e-8."""
NEAR = 1e-7
"""Below this promised gain rounding hides the climb, so that Newton steps are taken without looking at the height."""


@dataclass(frozen=True)
class State:
    """What one set of ratios gives: height, residual variance, gradient, and the parts the information needs."""

    log_likelihood: float
    residual_variance: float
    gradient: FloatArray
    observed: FloatArray
    expected: FloatArray
    inner: FloatArray
    """Z'PZ with the residual variance taken out."""
    along: FloatArray
    """Z'Py, same."""
    projected: FloatArray
    """Py, same."""


@dataclass(frozen=True)
class Swept:
    """A mixed model with the fixed effects swept out of outcome (`rest`) and factor indicators (`free`)."""

    rest: FloatArray
    free: FloatArray
    levels: npt.NDArray[np.int64]
    df: int

    @cached_property
    def gram(self) -> FloatArray:
        """S = Z'MZ."""
        return np.asarray(self.free.T @ self.free)

    @cached_property
    def products(self) -> FloatArray:
        """Z'My."""
        return np.asarray(self.free.T @ self.rest)

    @cached_property
    def starts(self) -> npt.NDArray[np.int64]:
        """First column of each factor."""
        return np.concatenate([[0], np.cumsum(self.levels)[:-1]]).astype(np.int64)

    def sums(self, values: FloatArray) -> FloatArray:
        """Add the entries (or, for a matrix, the blocks) that belong to each factor."""
        down = np.add.reduceat(values, self.starts, axis=0)
        return np.asarray(down if values.ndim == 1 else np.add.reduceat(down, self.starts, axis=1))

    def at(self, ratios: FloatArray) -> State:
        """Height, slope and curvature of the profile log-likelihood at the given ratios.

        Parameters
        ----------
        ratios : ndarray, shape (factors,)
            Factor variances over the residual variance [-], none negative.

        Returns
        -------
        State

        Source
        ------
        Harville (1977), with the residual variance profiled out.
        """
        spread = np.repeat(ratios, self.levels)
        system = np.eye(len(spread)) + self.gram * spread
        sides = np.column_stack([self.gram, self.products])
        solved = np.asarray(np.linalg.solve(system, sides), dtype=np.float64)
        inner, along = solved[:, :-1], solved[:, -1]
        projected = self.rest - self.free @ (spread * along)
        total = float(projected @ projected + spread @ along**2)
        variance = total / self.df
        height = -0.5 * (self.df * np.log(variance) + float(np.linalg.slogdet(system)[1]))
        traces, fits = self.sums(np.diag(inner)), self.sums(along**2) / variance
        crossed = self.sums(inner * inner.T)
        curved = self.sums(along[:, None] * inner * along[None, :]) / variance
        observed = curved - 0.5 * crossed - 0.5 * np.outer(fits, fits) / self.df
        expected = 0.5 * (crossed - np.outer(traces, traces) / self.df)
        return State(height, variance, 0.5 * (fits - traces), observed, expected, inner, along, projected)

    def information(self, ratios: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return expected and observed information on the variances themselves, residual last.

        Parameters
        ----------
        ratios : ndarray, shape (factors,)
            Factor variances over the residual variance [-].

        Returns
        -------
        tuple of ndarray, each shape (factors + 1, factors + 1)
            1/2 tr(P G_i P G_j) and y'P G_i P G_j P y - 1/2 tr(P G_i P G_j).

        Source
        ------
        Harville (1977).
        """
        state = self.at(ratios)
        spread = np.repeat(ratios, self.levels)
        inverse = np.linalg.inv(np.eye(len(spread)) + self.gram * spread)
        last = self.df - len(spread) + float(np.einsum("ij,ji->", inverse, inverse))
        border = self.sums(np.einsum("ij,ij->i", state.inner, inverse))
        crossed = self.sums(state.inner * state.inner.T)
        traces = np.block([[crossed, border[:, None]], [border[None, :], np.array([[last]])]])
        shares = np.add.reduceat(self.free * state.along, self.starts, axis=1)
        seen = np.column_stack([shares, state.projected])
        pushed = seen - self.free @ (spread[:, None] * (inverse @ (self.free.T @ seen)))
        quadratic = seen.T @ pushed / state.residual_variance
        half = 0.5 * traces / state.residual_variance**2
        return half, 0.5 * (quadratic + quadratic.T) / state.residual_variance**2 - half


def climb(swept: Swept) -> FloatArray:
    """Find the ratios, none below zero, with the highest REML likelihood.

    Parameters
    ----------
    swept : Swept
        Problem with the fixed effects taken out.

    Returns
    -------
    ndarray, shape (factors,)
        Variance of each factor over the residual variance [-].

    Raises
    ------
    ValueError
        If the climb does not settle: the factors cannot be told apart, or there is no residual variance.

    Source
    ------
    Harville (1977).
    """
    factors = len(swept.levels)
    ends = [_climb_from(swept, start) for start in (_quadratic_start(swept), np.zeros(factors))]
    return max(ends, key=lambda ratios: swept.at(ratios).log_likelihood)


def _quadratic_start(swept: Swept) -> FloatArray:
    """Equate quadratic forms at ratios of one to their expectations: exact already in balanced tables."""
    factors = len(swept.levels)
    expected, observed = swept.information(np.ones(factors))
    # At any trial point 2 E theta = y'P G_i P y, and with V linear y'P G_i P y = sum_j theta_j y'P G_i P G_j P y.
    variance = swept.at(np.ones(factors)).residual_variance
    forms = (observed + expected) @ np.full(factors + 1, variance)
    guess = np.linalg.lstsq(2.0 * expected, forms, rcond=None)[0]
    return np.asarray(np.clip(guess[:-1] / max(guess[-1], 1e-6 * np.abs(guess).max()), 0.0, 1e6))


def _climb_from(swept: Swept, ratios: FloatArray) -> FloatArray:
    """Climb until a Newton step promises nothing more; ratios whose slope points below zero stay at zero."""
    state, before = swept.at(ratios), np.inf
    for _ in range(MAX_STEPS):
        free = (ratios > 0) | (state.gradient > 0)
        step, promised, newton = _direction(state, free)
        if newton and promised <= NEAR and (ratios + step >= 0).all():
            if promised <= DONE or promised >= before:
                return ratios + step
            following, before = ratios + step, promised
            reached = swept.at(following)
        else:
            following, reached = _uphill(swept, state, ratios, step)
            if (following == ratios).all():
                return ratios
        ratios, state = following, reached
    raise ValueError("the variances did not settle: factors cannot be told apart, or there is no residual variance")


def _direction(state: State, free: BoolArray) -> tuple[FloatArray, float, bool]:
    """Newton's step where the surface is a hill, else the scoring step; and the gain in height it promises."""
    step = np.zeros(len(free))
    if not free.any():
        return step, 0.0, True
    # Ratios may differ by many powers of ten: every direction is measured by its own information.
    scale = 1.0 / np.sqrt(np.maximum(np.diag(state.expected)[free], np.finfo(float).tiny))
    slope, chosen, scales = state.gradient[free] * scale, np.ix_(free, free), np.outer(scale, scale)
    observed = state.observed[chosen] * scales
    newton = bool(np.linalg.eigvalsh(observed)[0] > 1e-10)
    step[free] = np.linalg.lstsq(observed if newton else state.expected[chosen] * scales, slope, rcond=1e-13)[0]
    promised = 0.5 * float(slope @ step[free])
    step[free] *= scale
    return step, promised, newton


def _uphill(swept: Swept, state: State, ratios: FloatArray, step: FloatArray) -> tuple[FloatArray, State]:
    """Shorten the step, folded at zero, until it leads uphill; no step at all when rounding hides the rest."""
    share = 1.0
    for _ in range(50):
        following = np.maximum(ratios + share * step, 0.0)
        reached = swept.at(following)
        if reached.log_likelihood > state.log_likelihood:
            return following, reached
        share *= 0.5
    return ratios, state
