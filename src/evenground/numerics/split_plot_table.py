"""The table of a split plot: cells, blocks and whole plots of each row, checked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray, IntArray, indicator, level_codes

_NAMES = ("whole", "within")


@dataclass(frozen=True)
class SplitTable:
    """Rows of a split plot.

    Attributes
    ----------
    cells : ndarray of int, shape (rows,)
        Whole level times levels within, plus level within.
    blocks, plots : ndarray of int, shape (rows,)
        Codes from 0.
    levels : tuple of int
        Levels of the two factors [1].
    """

    cells: IntArray
    blocks: IntArray
    plots: IntArray
    levels: tuple[int, int]

    def complete_blocks(self) -> BoolArray:
        """Which blocks hold every cell once, the cells of a whole level in one whole plot."""
        count = int(self.blocks.max()) + 1
        incidence = indicator(self.blocks, count).T @ indicator(self.cells, self.levels[0] * self.levels[1])
        plots = [len(np.unique(self.plots[self.blocks == b])) for b in range(count)]
        return np.asarray((incidence == 1).all(1) & (np.array(plots) == self.levels[0]))

    def only(self, kept: BoolArray) -> SplitTable:
        """Return the table of some rows, blocks numbered anew."""
        blocks = np.unique(self.blocks[kept], return_inverse=True)[1]
        plots = np.unique(self.plots[kept], return_inverse=True)[1]
        return SplitTable(self.cells[kept], blocks.astype(np.int64), plots.astype(np.int64), self.levels)


def split_table(
    y: FloatArray,
    whole: npt.ArrayLike,
    within: npt.ArrayLike,
    blocks: npt.ArrayLike,
    plots: npt.ArrayLike,
    levels: tuple[int, int],
) -> SplitTable:
    """Check the codes of a split plot and number them.

    Parameters
    ----------
    y : ndarray, shape (rows,)
        Outcome [any unit]; only its length counts.
    whole, within, blocks, plots, levels
        As `evenground.numerics.split_plot.fit_split_plot`.

    Returns
    -------
    SplitTable

    Raises
    ------
    ValueError
        As there.

    Source: definition.
    """
    upper, lower = (_codes(c, n, name, len(y)) for c, n, name in zip((whole, within), levels, _NAMES, strict=True))
    block, _ = level_codes(blocks, "blocks", len(y))
    plot, plot_count = level_codes(plots, "plots", len(y))
    for codes, name in ((upper, "level of the factor on whole plots"), (block, "block")):
        first = codes[np.unique(plot, return_index=True)[1]]
        if (first[plot] != codes).any():
            raise ValueError(
                f"whole plot number {int(plot[first[plot] != codes][0])} (from 0) has more than one {name}"
            )
    cells = upper * levels[1] + lower
    missing = np.flatnonzero(np.bincount(cells, minlength=levels[0] * levels[1]) == 0)
    if len(missing):
        raise ValueError(f"no row has level {missing[0] // levels[1]} on whole plots with {missing[0] % levels[1]}")
    if plot_count <= levels[0] or int(block.max()) < 1:
        raise ValueError("at least two blocks are needed")
    return SplitTable(cells, block, plot, levels)


def _codes(codes: npt.ArrayLike, count: int, name: str, rows: int) -> IntArray:
    given = np.asarray(codes)
    if count < 2 or given.shape != (rows,) or not ((given >= 0) & (given < count)).all():
        raise ValueError(f"{name}: {rows} level codes from 0 to {count - 1} expected, two levels at least")
    return given.astype(np.int64)
