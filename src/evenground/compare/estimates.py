"""The model's answer: adjusted means and gains with their covariance, by the block rule of the method page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from evenground.basis.errors import CannotCompareError
from evenground.compare.values import StripValues, codes
from evenground.numerics import linear, mixed, satterthwaite
from evenground.numerics.blocks import BlockFit, FixedBlocks, fit_blocks
from evenground.numerics.kenward_roger import adjust

Floats = NDArray[np.float64]


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
        Fixed-block analysis of the strips: the likelihood of the posterior.
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


def estimate(strips: StripValues, baseline: str) -> Estimates:
    """Estimate means and gains from one value a strip.

    Parameters
    ----------
    strips : StripValues
        One row a strip [outcome unit].
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
    fit = _block_fit(strips, baseline)
    return Estimates(
        strips.method_order,
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


def _block_fit(strips: StripValues, baseline: str) -> BlockFit:
    methods = strips.method_order
    method_codes = codes(strips.methods, methods)
    block_codes = codes(strips.blocks, strips.block_order)
    try:
        return fit_blocks(strips.y, method_codes, block_codes, len(methods), methods.index(baseline))
    except ValueError as error:
        raise CannotCompareError(f"these strips cannot be compared: {error}.") from error


def estimate_plots(plots: StripValues, strips: StripValues, baseline: str) -> Estimates:
    """Estimate from plots of unequal number: the strip is a random factor within blocks.

    Parameters
    ----------
    plots : StripValues
        One row a plot [outcome unit].
    strips : StripValues
        The strip means, for the block rule and the fixed-block analysis.
    baseline : str
        Baseline method.

    Returns
    -------
    Estimates
        Residual variance is that between strips for single plots: strip plus plot variance.

    Raises
    ------
    CannotCompareError
        As `estimate`.

    Source: Kenward & Roger (1997); strips as a nested random factor.
    """
    simple = _block_fit(strips, baseline)
    methods = strips.method_order
    method_columns = (codes(plots.methods, methods)[:, None] == np.arange(len(methods))).astype(np.float64)
    blocks = codes(plots.blocks, strips.block_order)
    strip_codes = codes(plots.strips, strips.strips)
    random = simple.block_effects == "random"
    fit = _fit_plots(plots.y, method_columns, blocks, strip_codes, random)
    if random and bool(fit.variances[0] <= 0.0):
        random = False
        fit = _fit_plots(plots.y, method_columns, blocks, strip_codes, random)
    adjusted = adjust(fit)
    weights = np.zeros((len(methods) - 1, fit.design.shape[1]))
    others = [i for i, m in enumerate(methods) if m != baseline]
    weights[np.arange(len(others)), others] = 1.0
    weights[:, methods.index(baseline)] = -1.0
    mean_rows = np.tile(fit.design[:, len(methods) :].mean(axis=0), (len(methods), 1))
    return Estimates(
        methods,
        adjusted.coefficients[: len(methods)] + mean_rows @ adjusted.coefficients[len(methods) :],
        weights @ adjusted.coefficients,
        weights @ adjusted.covariance @ weights.T,
        np.array([adjusted.contrast(row).df for row in weights]),
        np.array([satterthwaite.contrast(fit, row).df for row in weights]),
        "random" if random else "fixed",
        float(fit.variances[0]) if random else simple.block_variance_unbounded,
        float(fit.parameters[-2] + fit.residual_variance),
        simple.fixed,
    )


def _fit_plots(
    y: Floats, method_columns: Floats, blocks: NDArray[np.intp], strips: NDArray[np.intp], random: bool
) -> mixed.MixedFit:
    """REML with strips random, blocks random or fixed."""
    block_columns = (blocks[:, None] == np.arange(1, blocks.max() + 1)).astype(np.float64)
    design = method_columns if random else np.hstack([method_columns, block_columns])
    design = design[:, linear.independent_columns(design)]
    try:
        return mixed.fit(y, design, [blocks, strips] if random else [strips])
    except ValueError as error:
        raise CannotCompareError(f"these plots cannot be compared: {error}.") from error
