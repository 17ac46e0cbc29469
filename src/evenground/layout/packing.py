"""Blocks from slots: for every number of blocks the neighbouring slots in which strips sown alike differ least."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# Strips of a block lie side by side over at least this share of the longest of them; less is no neighbour. Judgement.
SHARED_LENGTH = 0.5
# Costs are counted in whole millionths of a unit, so that sums are exact and equals are equal.
_STEPS = 1e6


@dataclass(frozen=True, slots=True)
class Packing:
    """Best blocks for every number of blocks, for one or several positions of the slots.

    Attributes
    ----------
    ahead : ndarray, shape (slots + 1, positions, blocks + 1)
        Least cost of 0, 1, ... blocks in the slots from each one on, in millionths; infinite where so many do not fit.
    block : ndarray, shape (slots, positions)
        Cost of the block that begins at each slot, likewise.
    strips : int
        Slots of a block [1].
    """

    ahead: Floats
    block: Floats
    strips: int

    @property
    def cost(self) -> Floats:
        """Least cost of 0, 1, ... blocks, shape (positions, blocks + 1) [unit of the block costs]."""
        cost: Floats = self.ahead[0] / _STEPS
        return cost

    def first_slots(self, position: int, blocks: int) -> tuple[int, ...]:
        """Return the first slot of each block of the best packing, from left to right.

        Parameters
        ----------
        position : int
            Which position of the slots.
        blocks : int
            How many blocks [1].

        Returns
        -------
        tuple of int

        Raises
        ------
        ValueError
            If so many blocks do not fit.

        Source: backtracking of the dynamic programme.
        """
        if not np.isfinite(self.ahead[0, position, blocks]):
            raise ValueError(f"{blocks} blocks do not fit")
        found: list[int] = []
        slot = 0
        while len(found) < blocks:
            left = blocks - len(found)
            # Whole numbers add up exactly. Among equals the block is taken at once: no needless gaps.
            with_block = self.block[slot, position] + self.ahead[slot + self.strips, position, left - 1]
            if with_block == self.ahead[slot, position, left]:
                found.append(slot)
                slot += self.strips
            else:
                slot += 1
        return tuple(found)


def pack_blocks(
    low_m: Floats,
    high_m: Floats,
    *,
    strips: int,
    shortest_m: float,
    most: int,
    cost: Callable[[Floats, Floats], Floats],
) -> Packing:
    """Return the packings of blocks into a row of slots that cost least, for every number of blocks.

    Answers: of a row of neighbouring slots, which ones carry the blocks? A block takes ``strips`` slots side by side,
    each long enough; its strips lie beside one another over at least ``shortest_m`` and half of the longest of them.
    Slots may stay empty between blocks.

    Parameters
    ----------
    low_m, high_m : ndarray, shape (positions, slots)
        Ends of the straight run in each slot [m].
    strips : int
        Slots of a block [1].
    shortest_m : float
        Shorter strips are not used [m].
    most : int
        Blocks to look for at most [1].
    cost : callable
        Cost of blocks from the ends of their strips, shape (blocks, strips) each: the strip error variance, say.

    Returns
    -------
    Packing

    Source: dynamic programming over the slots from right to left; exact, as the costs of blocks add up.
    """
    positions, slots = low_m.shape
    most = max(0, min(most, slots // strips))
    block = _block_costs(low_m, high_m, strips, shortest_m, cost)
    ahead = np.full((slots + 1, positions, most + 1), np.inf)
    ahead[:, :, 0] = 0.0
    for slot in range(slots - strips, -1, -1):
        with_block = ahead[slot + strips, :, :-1] + block[slot][:, np.newaxis]
        ahead[slot, :, 1:] = np.minimum(ahead[slot + 1, :, 1:], with_block)
    return Packing(ahead, block, strips)


def _block_costs(
    low: Floats, high: Floats, strips: int, shortest_m: float, cost: Callable[[Floats, Floats], Floats]
) -> Floats:
    """Return the cost of the block that begins at each slot, shape (slots, positions)."""
    out = np.full(low.shape, np.inf)
    starts = low.shape[1] - strips + 1
    if starts < 1:
        return out.T
    window = np.lib.stride_tricks.sliding_window_view
    lows, highs = window(low, strips, axis=1), window(high, strips, axis=1)
    shared = highs.min(axis=2) - lows.max(axis=2)
    # A hair of rounding does not drop a strip that is exactly as long as asked for.
    fits = shared >= np.maximum(shortest_m, SHARED_LENGTH * (highs - lows).max(axis=2)) - 1e-6
    if fits.any():
        out[:, :starts][fits] = np.round(_STEPS * cost(lows[fits], highs[fits]))
    return out.T
