"""Treatments compared in blocks when units carry several rows: subsamples never pass for replicates.

With equally many rows in every unit the unit means hold all there is to know about treatments. Otherwise units are a
random factor within blocks (REML, Kenward-Roger), and blocks are random or fixed by the rule of `blocks`. Where the
units' variance is estimated as zero the rows would count as replicates, and unit means are taken instead.

Source: Searle, Casella & McCulloch, Variance Components (1992), 3.6 (nested classification); Kenward & Roger (1997).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from evenground.numerics import kenward_roger, mixed, satterthwaite
from evenground.numerics.arrays import FloatArray, IntArray, finite, indicator, level_codes
from evenground.numerics.blocks import BlockFit, fit_blocks, lay_out
from evenground.numerics.linear import independent_columns


def fit_subsamples(
    y: npt.ArrayLike,
    units: npt.ArrayLike,
    treatments: npt.ArrayLike,
    blocks: npt.ArrayLike,
    count: int,
    baseline: int = 0,
) -> BlockFit:
    """Compare treatments in blocks from rows that are subsamples of units.

    Parameters
    ----------
    y : array_like, shape (rows,)
        Outcome of each row [any unit].
    units, treatments, blocks : array_like of int, shape (rows,)
        Unit, treatment (0 to count - 1) and block of each row.
    count : int
        Number of treatments [-].
    baseline : int
        The treatment the others are compared with.

    Returns
    -------
    BlockFit
        `fixed` is always the analysis of unit means; with unequal numbers of rows `residual_variance` is the variance
        of the mean of a unit with the harmonic mean number of rows, and `block_variance_unbounded` is None where the
        variance is at its bound of zero.

    Raises
    ------
    ValueError
        If a unit lies in two blocks or has two treatments; and as `blocks.fit_blocks`.

    Source
    ------
    See the head of this module.
    """
    outcome = finite(y, "y", 1)
    unit_codes, unit_count = level_codes(units, "units", len(outcome))
    block_codes, _ = level_codes(blocks, "blocks", len(outcome))
    codes = np.asarray(treatments)
    by_unit = _of_units(codes, unit_codes, "treatment"), _of_units(block_codes, unit_codes, "block")
    rows = np.bincount(unit_codes, minlength=unit_count)
    means = np.bincount(unit_codes, outcome, minlength=unit_count) / rows
    by_means = fit_blocks(means, *by_unit, count, baseline)
    if (rows == rows[0]).all():
        return by_means
    contrasts = lay_out(*by_unit, count, baseline).contrasts
    harmonic = float(len(rows) / (1.0 / rows).sum())
    return _nested(outcome, codes, block_codes, unit_codes, contrasts, harmonic, by_means)


def _of_units(codes: npt.NDArray[np.generic], units: IntArray, name: str) -> IntArray:
    """Code of each unit, which must be the same in all of its rows."""
    if codes.shape != units.shape:
        raise ValueError(f"{name}: {len(units)} codes expected, shape {codes.shape} given")
    first = codes[np.unique(units, return_index=True)[1]]
    if (first[units] != codes).any():
        raise ValueError(f"unit number {int(units[first[units] != codes][0])} (from 0) has more than one {name}")
    return np.asarray(first, dtype=np.int64)


def _nested(
    y: FloatArray,
    treatments: IntArray,
    blocks: IntArray,
    units: IntArray,
    contrasts: FloatArray,
    rows_per_unit: float,
    by_means: BlockFit,
) -> BlockFit:
    """Units random within random or fixed blocks; unit means where the units' variance is zero."""
    count = contrasts.shape[1]
    design = indicator(treatments, count)
    fit = mixed.fit(y, design, [blocks, units])
    effects: Literal["random", "fixed"] = "random"
    unbounded, average = (float(fit.variances[0]) or None), np.eye(count)
    if fit.variances[0] == 0:
        effects = "fixed"
        indicators = indicator(blocks, int(blocks.max()) + 1)
        full = np.hstack([design, indicators[:, 1:]])
        if len(independent_columns(full)) < full.shape[1]:
            raise ValueError("blocks must be fixed here, but a treatment never shares a block with the others")
        fit = mixed.fit(y, full, [units])
        share = np.full((count, full.shape[1] - count), 1.0 / indicators.shape[1])
        average = np.hstack([average, share])
    if fit.variances[-1] == 0:
        return by_means
    adjusted = kenward_roger.adjust(fit)
    wide = np.hstack([contrasts, np.zeros((len(contrasts), fit.design.shape[1] - count))])
    tests = [adjusted.contrast(row) for row in wide]
    return BlockFit(
        average @ fit.coefficients,
        np.array([test.estimate for test in tests]),
        wide @ adjusted.covariance @ wide.T,
        np.array([test.standard_error for test in tests]),
        np.array([test.df for test in tests]),
        np.array([satterthwaite.contrast(fit, row).df for row in wide]),
        np.array([test.t for test in tests]),
        np.array([test.p for test in tests]),
        effects,
        unbounded,
        float(fit.variances[-1] + fit.residual_variance / rows_per_unit),
        by_means.fixed,
    )
