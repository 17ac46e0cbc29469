"""The model's answer: adjusted means and gains with their covariance, by the block rule of the method page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from evenground.basis.errors import CannotCompareError
from evenground.compare.values import StripValues, codes
from evenground.numerics.blocks import FixedBlocks
from evenground.numerics.subsamples import fit_subsamples

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Likelihood:
    """What the posterior of one gain needs.

    Attributes
    ----------
    gain : float
        [outcome unit]
    variance_factor : float
        Variance of the gain per unit of strip variance [1].
    mean_square : float
        Strip variance as estimated [outcome unit squared].
    df : float
        Its degrees of freedom [1].
    """

    gain: float
    variance_factor: float
    mean_square: float
    df: float


@dataclass(frozen=True)
class Estimates:
    """Means and gains; gains are every method but the baseline, in the order of ``methods``.

    Attributes
    ----------
    methods : tuple of str
        All methods, in order of first appearance.
    means : ndarray, shape (methods,)
        Model-adjusted means [outcome unit].
    gains : ndarray, shape (gains,)
        Method minus baseline [outcome unit].
    covariance : ndarray, shape (gains, gains)
        Of the gains [outcome unit squared].
    df, df_satterthwaite : ndarray, shape (gains,)
        Degrees of freedom [1]; NaN where Satterthwaite's do not exist.
    block_effects : {"random", "fixed"}
        How blocks were treated.
    block_variance : float or None
        Unbounded estimate [outcome unit squared].
    residual_variance : float
        [outcome unit squared].
    fixed : FixedBlocks
        Fixed-block analysis of the strips: the likelihood of the posterior of one factor.
    weights : ndarray or None, shape (gains, strips)
        How much each strip counts in each gain [1]; None where it follows from the blocks.
    likelihoods : tuple of Likelihood
        Of each gain, where it is not that of the fixed-block analysis; empty otherwise.
    """

    methods: tuple[str, ...]
    means: Floats
    gains: Floats
    covariance: Floats
    df: Floats
    df_satterthwaite: Floats
    block_effects: Literal["random", "fixed"]
    block_variance: float | None
    residual_variance: float
    fixed: FixedBlocks
    weights: Floats | None = None
    likelihoods: tuple[Likelihood, ...] = ()

    def likelihood(self, i: int) -> Likelihood:
        """Return what the posterior of the i-th gain needs."""
        if self.likelihoods:
            return self.likelihoods[i]
        factor = float(self.fixed.covariance_factor[i, i])
        return Likelihood(float(self.fixed.gains[i]), factor, self.fixed.mean_square, self.fixed.df)


def estimate(rows: StripValues, strips: StripValues, baseline: str) -> Estimates:
    """Estimate means and gains.

    Parameters
    ----------
    rows : StripValues
        One row a strip or a plot [outcome unit]; with unequal numbers of plots the strip is a random factor.
    strips : StripValues
        The strip means of the same rows.
    baseline : str
        Baseline method.

    Returns
    -------
    Estimates

    Raises
    ------
    CannotCompareError
        If nothing is left to judge the spread of strips by, or a method never meets the others.

    Source: Kenward & Roger, Biometrics 53 (1997) 983-997; block rule: docs/compare.md.
    """
    methods, blocks = strips.method_order, strips.block_order
    base = methods.index(baseline)
    try:
        fit = fit_subsamples(
            rows.y,
            codes(rows.strips, strips.strips),
            codes(rows.methods, methods),
            codes(rows.blocks, blocks),
            len(methods),
            base,
        )
    except ValueError as error:
        raise CannotCompareError(f"these strips cannot be compared: {error}.") from error
    return Estimates(
        methods,
        fit.means,
        fit.gains,
        fit.gain_covariance,
        fit.df,
        fit.df_satterthwaite,
        fit.block_effects,
        fit.block_variance_unbounded,
        fit.residual_variance,
        fit.fixed,
    )
