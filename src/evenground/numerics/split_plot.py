"""Two factors in a split plot: one on whole plots, one on the parts of a plot, each judged by the error of its own.

A complete table gives the classic analysis of variance with two errors: the mean square of whole plots within blocks
and that of parts within whole plots. No variance is bounded at zero there, so it errs as often as it says whatever the
plots are like. An incomplete table is fitted as a mixed model (cells fixed, whole plots random, blocks random or fixed;
Kenward-Roger). Where that puts the variance of whole plots at zero the parts would pass for independent units, so the
complete blocks alone are analysed.

Source: Yates, J. R. Stat. Soc. Suppl. 2 (1935) 181-247 (split plots); Satterthwaite, Biometrics Bulletin 2 (1946)
110-114 (contrasts that carry both errors); Kenward & Roger, Biometrics 53 (1997) 983-997.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from evenground.numerics import kenward_roger, mixed, satterthwaite
from evenground.numerics.arrays import FloatArray, finite, indicator
from evenground.numerics.kenward_roger import FTest, KenwardRoger, weight_rows
from evenground.numerics.linear import Contrast, independent_columns, t_contrast
from evenground.numerics.split_plot_table import SplitTable, split_table
from evenground.numerics.t_distribution import f_upper_tail

Effect = Literal["whole", "within", "both"]
EXACT = 1e-13
"""Residuals shorter than this share of the data are rounding, not spread."""


@dataclass(frozen=True)
class Stratum:
    """One error of the analysis of variance.

    Attributes
    ----------
    mean_square : float
        On the scale of one part [unit squared].
    df : int
        Degrees of freedom [1].
    """

    mean_square: float
    df: int


@dataclass(frozen=True)
class SplitPlotFit:
    """Two factors compared; cells are numbered whole level times levels within, plus level within.

    Attributes
    ----------
    levels : tuple of int
        Levels of the whole-plot factor and of the factor within [1].
    means : ndarray, shape (cells,)
        Adjusted means [any unit].
    weights : ndarray, shape (cells, rows)
        ``means = weights @ y`` up to what all cells share; a row left out weighs 0 [1].
    whole, within : Stratum or None
        The two errors of a complete table; None where a mixed model was fitted.
    block_variance, plot_variance : float
        Variance of blocks and of whole plots within them [unit squared]; may be below zero in a complete table.
    residual_variance : float
        Variance of parts within a whole plot [unit squared].
    blocks : int
        Complete blocks used by the analysis of variance [1]; 0 for a mixed model.
    model : MixedFit or None
        The mixed model.
    adjusted : KenwardRoger or None
        Its small-sample adjustment.
    """

    levels: tuple[int, int]
    means: FloatArray
    weights: FloatArray
    whole: Stratum | None
    within: Stratum | None
    block_variance: float
    plot_variance: float
    residual_variance: float
    blocks: int
    model: mixed.MixedFit | None = None
    adjusted: KenwardRoger | None = None

    def covariance(self, weights: npt.ArrayLike) -> FloatArray:
        """Return the covariance of several contrasts of cells [unit squared].

        Parameters
        ----------
        weights : array_like, shape (contrasts, cells)
            Each row adds up to zero [1].

        Returns
        -------
        ndarray, shape (contrasts, contrasts)

        Source: the two strata of Yates (1935); Kenward & Roger (1997).
        """
        rows = self._contrasts(weights)
        if self.adjusted is not None:
            wide = self._wide(rows)
            return np.asarray(wide @ self.adjusted.covariance @ wide.T)
        upper, lower = self._parts(rows)
        return upper + lower

    def contrast(self, weights: npt.ArrayLike) -> Contrast:
        """Estimate and test one contrast of cells.

        Parameters
        ----------
        weights : array_like, shape (cells,)
            Adds up to zero [1].

        Returns
        -------
        Contrast

        Raises
        ------
        ValueError
            If the weights are all zero, not finite, or do not add up to zero.

        Source: exact where the contrast lies in one stratum; Satterthwaite (1946) where it carries both errors.
        """
        row = self._contrasts(weights)
        if self.adjusted is not None:
            return self.adjusted.contrast(self._wide(row)[0])
        upper, lower = (float(part[0, 0]) for part in self._parts(row))
        return t_contrast(float(row[0] @ self.means), upper + lower, self._df(upper, lower))

    def satterthwaite_df(self, weights: npt.ArrayLike) -> float:
        """Return Satterthwaite's degrees of freedom of one contrast [1], from the observed information.

        Parameters
        ----------
        weights : array_like, shape (cells,)
            Adds up to zero [1].

        Source: Satterthwaite (1946).
        """
        row = self._contrasts(weights)
        if self.model is not None:
            return float(satterthwaite.contrast(self.model, self._wide(row)[0]).df)
        upper, lower = (float(part[0, 0]) for part in self._parts(row))
        return self._df(upper, lower)

    def effect(self, name: Effect) -> FTest:
        """Test a factor, or that the two factors add up.

        Parameters
        ----------
        name : {"whole", "within", "both"}
            The whole-plot factor, the factor within, or whether each does the same whatever the other is.

        Returns
        -------
        FTest

        Source: Yates (1935): the factor on whole plots against their error, the others against that within.
        """
        rows = effect_rows(self.levels, name)
        if self.adjusted is not None:
            return self.adjusted.f_test(self._wide(rows))
        stratum = self.whole if name == "whole" else self.within
        assert stratum is not None
        estimate = rows @ self.means
        total = float(estimate @ np.linalg.solve(rows @ rows.T, estimate)) * self.blocks
        f = total / len(rows) / stratum.mean_square if stratum.mean_square > 0 else np.inf
        return FTest(f, len(rows), float(stratum.df), f_upper_tail(f, len(rows), float(stratum.df)), 1.0)

    def _contrasts(self, weights: npt.ArrayLike) -> FloatArray:
        rows = weight_rows(weights, len(self.means))
        if (np.abs(rows.sum(1)) > 1e-9 * np.abs(rows).max(1)).any():
            raise ValueError("the weights of cells must add up to zero")
        return rows

    def _wide(self, rows: FloatArray) -> FloatArray:
        assert self.model is not None
        return np.hstack([rows, np.zeros((len(rows), self.model.design.shape[1] - rows.shape[1]))])

    def _parts(self, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Covariance from the errors of whole plots and from those within them."""
        assert self.whole is not None
        assert self.within is not None
        count = self.levels[1]
        upper = np.repeat(rows.reshape(-1, *self.levels).sum(2), count, axis=1) / count
        lower = rows - upper
        return (
            np.asarray(upper @ upper.T) * self.whole.mean_square / self.blocks,
            np.asarray(lower @ lower.T) * self.within.mean_square / self.blocks,
        )

    def _df(self, upper: float, lower: float) -> float:
        assert self.whole is not None
        assert self.within is not None
        # A share of 1e-14 is what rounding leaves of a part that is not there.
        parts = [(upper, self.whole.df), (lower, self.within.df)]
        kept = [(size, df) for size, df in parts if size > 1e-14 * (upper + lower)] or parts
        return (
            sum(size for size, _ in kept) ** 2 / sum(size**2 / df for size, df in kept)
            if upper + lower > 0
            else (float(min(self.whole.df, self.within.df)))
        )


def effect_rows(levels: tuple[int, int], name: Effect) -> FloatArray:
    """Return the contrasts of cells that make up a factor or the two together.

    Parameters
    ----------
    levels : tuple of int
        Levels of the factor on whole plots and of the factor within [1].
    name : {"whole", "within", "both"}
        Which.

    Returns
    -------
    ndarray, shape (contrasts, cells)
        Each level against level 0 [1].

    Source: definition.

    Examples
    --------
    >>> effect_rows((2, 2), "whole").tolist(), effect_rows((2, 2), "both").tolist()
    ([[-0.5, -0.5, 0.5, 0.5]], [[1.0, -1.0, -1.0, 1.0]])
    """
    steps = [np.hstack([-np.ones((n - 1, 1)), np.eye(n - 1)]) for n in levels]
    means = [np.full((1, n), 1.0 / n) for n in levels]
    parts = {"whole": (steps[0], means[1]), "within": (means[0], steps[1]), "both": (steps[0], steps[1])}
    return np.asarray(np.kron(*parts[name]))


def fit_split_plot(
    y: npt.ArrayLike,
    whole: npt.ArrayLike,
    within: npt.ArrayLike,
    blocks: npt.ArrayLike,
    plots: npt.ArrayLike,
    levels: tuple[int, int],
) -> SplitPlotFit:
    """Fit two factors in a split plot.

    Parameters
    ----------
    y : array_like, shape (rows,)
        Outcome of each part [any unit].
    whole, within : array_like of int, shape (rows,)
        Level of the factor on whole plots and of the factor within, from 0.
    blocks, plots : array_like of int, shape (rows,)
        Block and whole plot of each part; a whole plot has a code of its own in the whole table.
    levels : tuple of int
        Levels of the two factors [1], at least two each.

    Returns
    -------
    SplitPlotFit

    Raises
    ------
    ValueError
        If a code is out of range, a cell has no row, a whole plot lies in two blocks or has two levels, or too little
        is left to judge the spread by.

    Source
    ------
    See the head of this module.

    Examples
    --------
    >>> y = [5.0, 6.0, 5.5, 7.0, 4.0, 5.5, 5.0, 6.0]
    >>> fit = fit_split_plot(y, [0, 0, 1, 1] * 2, [0, 1] * 4, [0] * 4 + [1] * 4, [0, 0, 1, 1, 2, 2, 3, 3], (2, 2))
    >>> round(float(fit.contrast([-0.5, -0.5, 0.5, 0.5]).estimate), 4), fit.within.df
    (0.75, 2)
    """
    outcome = finite(y, "y", 1)
    table = split_table(outcome, whole, within, blocks, plots, levels)
    sound = table.complete_blocks()
    if sound.all():
        return _strata(outcome, table, levels)
    try:
        found = _mixed(outcome, table, levels)
    except ValueError:
        # Where nothing can be said of whole plots from all rows, complete blocks may still do.
        found = None
    if found is not None and found.plot_variance > 0:
        return found
    kept = sound[table.blocks]
    if int(sound.sum()) < 2:
        raise ValueError("too few whole blocks are left to tell the spread of whole plots from that within them")
    fitted = _strata(outcome[kept], table.only(kept), levels)
    weights = np.zeros((len(fitted.means), len(outcome)))
    weights[:, kept] = fitted.weights
    return SplitPlotFit(**(vars(fitted) | {"weights": weights}))


def _strata(y: FloatArray, table: SplitTable, levels: tuple[int, int]) -> SplitPlotFit:
    """Give a complete table its analysis of variance."""
    (upper, lower), blocks = levels, int(table.blocks.max()) + 1
    cube = np.empty((blocks, upper, lower))
    cube[table.blocks, table.cells // lower, table.cells % lower] = y - y.mean()
    means = cube.mean(0)
    rest = cube - means
    by_plot = rest.mean(2)
    by_block = by_plot.mean(1)
    total = float((cube**2).sum())
    squares = [
        lower * float(((by_plot - by_block[:, None]) ** 2).sum()),
        float(((rest - by_plot[:, :, None]) ** 2).sum()),
    ]
    one, two = (0.0 if s <= EXACT**2 * total else s for s in squares)
    whole = Stratum(one / ((blocks - 1) * (upper - 1)), (blocks - 1) * (upper - 1))
    within = Stratum(two / ((blocks - 1) * upper * (lower - 1)), (blocks - 1) * upper * (lower - 1))
    between = upper * lower * float((by_block**2).sum()) / (blocks - 1)
    return SplitPlotFit(
        levels,
        means.ravel() + y.mean(),
        indicator(table.cells, upper * lower).T / blocks,
        whole,
        within,
        (between - whole.mean_square) / (upper * lower),
        (whole.mean_square - within.mean_square) / lower,
        within.mean_square,
        blocks,
    )


def _mixed(y: FloatArray, table: SplitTable, levels: tuple[int, int]) -> SplitPlotFit:
    """Fit cells fixed, whole plots random, and blocks random where their variance is above zero, else fixed."""
    count = levels[0] * levels[1]
    design, average = indicator(table.cells, count), np.eye(count)
    fit = mixed.fit(y, design, [table.blocks, table.plots])
    block_variance, plot_variance = (float(v) for v in fit.variances)
    if block_variance == 0:
        indicators = indicator(table.blocks, int(table.blocks.max()) + 1)
        full = np.hstack([design, indicators[:, 1:]])
        if len(independent_columns(full)) < full.shape[1]:
            raise ValueError("blocks must be fixed here, but a cell never shares a block with the others")
        fit = mixed.fit(y, full, [table.plots])
        plot_variance = float(fit.variances[0])
        average = np.hstack([average, np.full((count, full.shape[1] - count), 1.0 / indicators.shape[1])])
    weights = average @ fit.covariance @ fit.row_covariance.solve(fit.design).T
    return SplitPlotFit(
        levels,
        average @ fit.coefficients,
        np.asarray(weights),
        None,
        None,
        block_variance,
        plot_variance,
        fit.residual_variance,
        0,
        fit,
        kenward_roger.adjust(fit) if plot_variance > 0 else None,
    )
