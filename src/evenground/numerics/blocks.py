"""Treatments compared in blocks: random with Kenward-Roger, or fixed where the block variance is not positive.

The block variance is first estimated without a bound. Where it is positive the blocks are random (REML,
Kenward-Roger); where it is zero, negative, or has no estimate the blocks are fixed and the ordinary t on the residual
degrees of freedom holds. So a complete table gives its two-way analysis of variance either way (two treatments: the
paired t). Where the likelihood has a peak above zero that is higher than zero itself, that peak is the estimate.
Everything that depends on the layout alone is worked out once, so that many data sets of one layout are fitted at once.

Source: fixed blocks: Yates, J. Agric. Sci. 23 (1933) 108-145; recovery of what lies between blocks: Patterson &
Thompson, Biometrika 58 (1971) 545-554; Kenward & Roger, Biometrics 53 (1997) 983-997; negative variances: Nelder,
Biometrika 41 (1954) 544-548.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray, IntArray, finite, indicator, level_codes
from evenground.numerics.block_moments import RandomBlocks, random_blocks
from evenground.numerics.one_variance import Canonical, data_rows, negative_ratio, positive_ratio
from evenground.numerics.t_distribution import two_sided_p

EXACT = 1e-13
"""Residuals shorter than this share of the data are rounding, not spread."""


@dataclass(frozen=True)
class FixedBlocks:
    """The analysis with fixed blocks: gains, their covariance as a multiple of the mean square, and its df."""

    gains: FloatArray
    covariance_factor: FloatArray
    mean_square: float
    df: int


@dataclass(frozen=True)
class BlockFit:
    """Treatments compared in blocks; gains are every other treatment minus the baseline, in order of code."""

    means: FloatArray
    gains: FloatArray
    gain_covariance: FloatArray
    standard_errors: FloatArray
    df: FloatArray
    df_satterthwaite: FloatArray
    t: FloatArray
    p: FloatArray
    block_effects: Literal["random", "fixed"]
    block_variance_unbounded: float | None
    residual_variance: float
    fixed: FixedBlocks


@dataclass(frozen=True)
class BlockFits:
    """Many data sets of one layout: the leading axis of every array counts data sets (see BlockFit)."""

    means: FloatArray
    gains: FloatArray
    gain_covariance: FloatArray
    df: FloatArray
    df_satterthwaite: FloatArray
    random: BoolArray
    block_variance_unbounded: FloatArray
    """NaN where there is no estimate."""
    residual_variance: FloatArray
    fixed_gains: FloatArray
    fixed_covariance_factor: FloatArray
    """One for all data sets."""
    fixed_mean_square: FloatArray
    fixed_df: int

    @property
    def standard_errors(self) -> FloatArray:
        """Standard errors of the gains [unit of the outcome]."""
        return np.asarray(np.sqrt(np.einsum("sii->si", self.gain_covariance)))

    @property
    def t(self) -> FloatArray:
        """Gains over their standard errors [-]; infinite (or 0 for no gain) where there is no spread at all."""
        errors = self.standard_errors
        beyond = np.where(self.gains == 0, 0.0, np.copysign(np.inf, self.gains))
        return np.divide(self.gains, errors, out=beyond, where=errors > 0)

    @property
    def p(self) -> FloatArray:
        """Two-sided chances [-]."""
        return two_sided_p(self.t, self.df)

    def one(self, number: int) -> BlockFit:
        """Return the fit of one data set.

        Parameters
        ----------
        number : int
            Which data set, from 0.

        Returns
        -------
        BlockFit

        Raises
        ------
        IndexError
            If there is no such data set.
        """
        unbounded = float(self.block_variance_unbounded[number])
        fixed = FixedBlocks(
            self.fixed_gains[number],
            self.fixed_covariance_factor,
            float(self.fixed_mean_square[number]),
            self.fixed_df,
        )
        return BlockFit(
            self.means[number],
            self.gains[number],
            self.gain_covariance[number],
            self.standard_errors[number],
            self.df[number],
            self.df_satterthwaite[number],
            self.t[number],
            self.p[number],
            "random" if self.random[number] else "fixed",
            None if np.isnan(unbounded) else unbounded,
            float(self.residual_variance[number]),
            fixed,
        )


@dataclass(frozen=True)
class BlockLayout:
    """What the layout alone decides; build it with `lay_out`."""

    treatments: IntArray
    blocks: IntArray
    incidence: FloatArray
    """Rows per block (down) and treatment (across)."""
    contrasts: FloatArray
    """Treatment minus baseline."""
    connected: bool
    """Every gain can be estimated within blocks."""
    inverse_within: FloatArray
    """Generalised inverse of the treatments' information within blocks."""
    eigenvalues: FloatArray
    vectors: FloatArray
    """Of Z'MZ, positive eigenvalues only."""
    df_within: int

    @property
    def block_sizes(self) -> FloatArray:
        """Rows per block [-]."""
        return np.asarray(self.incidence.sum(1))

    @property
    def replication(self) -> FloatArray:
        """Rows per treatment [-]."""
        return np.asarray(self.incidence.sum(0))


def lay_out(treatments: npt.ArrayLike, blocks: npt.ArrayLike, count: int, baseline: int = 0) -> BlockLayout:
    """Work out what depends on the layout alone.

    Parameters
    ----------
    treatments : array_like of int, shape (rows,)
        Treatment of each row, 0 to count - 1.
    blocks : array_like of int, shape (rows,)
        Block of each row, any integers.
    count : int
        Number of treatments [-], at least two.
    baseline : int
        The treatment the others are compared with.

    Returns
    -------
    BlockLayout

    Raises
    ------
    ValueError
        If a code is out of range, a treatment has no row, or no degrees of freedom are left within blocks.

    Source
    ------
    Yates (1933), matrices as in John & Williams, Cyclic and Computer Generated Designs (1995), chapter 1.
    """
    codes = np.asarray(treatments)
    if count < 2 or not 0 <= baseline < count:
        raise ValueError(f"at least two treatments and a baseline among them are needed, {count} and {baseline} given")
    if codes.ndim != 1 or not np.issubdtype(codes.dtype, np.integer) or not ((codes >= 0) & (codes < count)).all():
        raise ValueError(f"treatment codes must be integers from 0 to {count - 1}, one per row")
    numbered, block_count = level_codes(blocks, "blocks", len(codes))
    incidence = indicator(numbered, block_count).T @ indicator(codes.astype(np.int64), count)
    replication, sizes = incidence.sum(0), incidence.sum(1)
    if (replication == 0).any():
        raise ValueError(f"no row has treatment {int(np.flatnonzero(replication == 0)[0])}")
    eigenvalues, vectors = np.linalg.eigh(np.diag(sizes) - (incidence / replication) @ incidence.T)
    kept = eigenvalues > 1e-9 * sizes.max()
    df_within = len(codes) - count - int(kept.sum())
    if df_within < 1:
        raise ValueError("no degrees of freedom are left within blocks: each block needs more than one treatment")
    within = np.diag(replication) - (incidence.T / sizes) @ incidence
    values, axes = np.linalg.eigh(within)
    told = values > 1e-9 * replication.max()
    return BlockLayout(
        codes.astype(np.int64),
        numbered,
        incidence,
        np.delete(np.eye(count) - np.eye(count)[baseline], baseline, axis=0),
        int(told.sum()) == count - 1,
        (axes[:, told] / values[told]) @ axes[:, told].T,
        eigenvalues[kept],
        vectors[:, kept],
        df_within,
    )


def fit_blocks(
    y: npt.ArrayLike, treatments: npt.ArrayLike, blocks: npt.ArrayLike, count: int, baseline: int = 0
) -> BlockFit:
    """Compare treatments in blocks.

    Parameters
    ----------
    y : array_like, shape (rows,)
        Outcome of each strip [any unit].
    treatments, blocks : array_like of int, shape (rows,)
        Treatment (0 to count - 1) and block of each strip.
    count : int
        Number of treatments [-].
    baseline : int
        The treatment the others are compared with.

    Returns
    -------
    BlockFit

    Raises
    ------
    ValueError
        As `lay_out`; and where blocks must be fixed but a treatment never shares a block with the rest.

    Source
    ------
    See the head of this module.

    Examples
    --------
    >>> fit = fit_blocks([3.0, 4.0, 5.0, 6.5, 4.0, 5.6], [0, 1, 0, 1, 0, 1], [0, 0, 1, 1, 2, 2], 2)
    >>> fit.block_effects, round(float(fit.gains[0]), 4), round(float(fit.df[0]), 4)
    ('random', 1.3667, 2.0)
    """
    return fit_blocks_many(finite(y, "y", 1)[None], lay_out(treatments, blocks, count, baseline)).one(0)


def fit_blocks_many(y: npt.ArrayLike, layout: BlockLayout) -> BlockFits:
    """Compare treatments in blocks for many data sets of one layout.

    Parameters
    ----------
    y : array_like, shape (sets, rows)
        Outcomes [any unit].
    layout : BlockLayout
        From `lay_out`.

    Returns
    -------
    BlockFits

    Raises
    ------
    ValueError
        If the number of rows differs from the layout's, or blocks must be fixed but cannot be.

    Source
    ------
    See the head of this module.
    """
    data = finite(y, "y", 2)
    if data.shape[1] != len(layout.treatments):
        raise ValueError(f"{len(layout.treatments)} rows expected in every data set, {data.shape[1]} given")
    centre = data.mean(1)
    within = _within_blocks(data - centre[:, None], layout)
    canonical = _canonical(data - centre[:, None], within.squares, layout)
    ratio = positive_ratio(canonical)
    random = ratio > 0
    if not layout.connected and not random.all():
        raise ValueError("blocks must be fixed here, but a treatment never shares a block with the others")
    factor = layout.contrasts @ layout.inverse_within @ layout.contrasts.T
    gains = within.effects @ layout.contrasts.T if layout.connected else np.full((len(data), len(factor)), np.nan)
    square = within.squares / layout.df_within
    fits = BlockFits(
        within.means.copy(),
        gains.copy(),
        square[:, None, None] * factor,
        np.full(gains.shape, float(layout.df_within)),
        np.full(gains.shape, float(layout.df_within)),
        random,
        _unbounded(canonical, ratio, float(layout.block_sizes.max())),
        square.copy(),
        gains,
        factor if layout.connected else np.full(factor.shape, np.nan),
        square,
        layout.df_within,
    )
    if random.any():
        totals = within.by_block[random], within.by_treatment[random]
        moments = random_blocks(layout.incidence, layout.contrasts, totals, data_rows(canonical, random), ratio[random])
        _write_random(fits, moments)
    fits.means[:] += centre[:, None]
    return fits


@dataclass(frozen=True)
class _Within:
    """Sums by block and treatment; means, effects and residual sum of squares with fixed blocks."""

    by_block: FloatArray
    by_treatment: FloatArray
    means: FloatArray
    effects: FloatArray
    squares: FloatArray


def _within_blocks(data: FloatArray, layout: BlockLayout) -> _Within:
    """Analyse with fixed blocks; a treatment's mean is taken over all blocks alike."""
    blocks = indicator(layout.blocks, len(layout.incidence))
    treatments = indicator(layout.treatments, layout.incidence.shape[1])
    by_block = data @ blocks
    level = by_block / layout.block_sizes
    effects = (data - level[:, layout.blocks]) @ treatments @ layout.inverse_within
    shifts = level - effects @ (layout.incidence.T / layout.block_sizes)
    rest = data - shifts[:, layout.blocks] - effects[:, layout.treatments]
    squares = (rest**2).sum(1)
    squares[squares <= EXACT**2 * (data**2).sum(1)] = 0.0
    return _Within(by_block, data @ treatments, effects + shifts.mean(1)[:, None], effects, squares)


def _canonical(data: FloatArray, squares: FloatArray, layout: BlockLayout) -> Canonical:
    """Between-block part of the data in the eigenvectors of the blocks' information."""
    treatments = indicator(layout.treatments, layout.incidence.shape[1])
    swept = data - (data @ treatments / layout.replication)[:, layout.treatments]
    along = swept @ indicator(layout.blocks, len(layout.incidence)) @ layout.vectors
    return Canonical(layout.eigenvalues, along**2 / layout.eigenvalues, squares, layout.df_within)


def _unbounded(canonical: Canonical, ratio: FloatArray, largest: float) -> FloatArray:
    """Block variance without a bound at zero; NaN where there is none."""
    ratios = ratio.copy()
    below = ratio == 0
    if below.any():
        ratios[below] = negative_ratio(data_rows(canonical, below), largest)
    spread = 1.0 + ratios[:, None] * canonical.eigenvalues
    return np.asarray(ratios * (canonical.residual + (canonical.squares / spread).sum(1)) / canonical.df)


def _write_random(fits: BlockFits, moments: RandomBlocks) -> None:
    """Put the results with random blocks where the block variance is positive."""
    chosen = fits.random
    fits.means[chosen] = moments.means
    fits.gains[chosen] = moments.gains
    fits.gain_covariance[chosen] = moments.gain_covariance
    fits.df[chosen] = moments.df
    fits.df_satterthwaite[chosen] = moments.df_satterthwaite
    fits.residual_variance[chosen] = moments.residual_variance
