"""Blocks from slots: which neighbouring slots make the most blocks, and then the most metres of strip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# Strips of a block lie side by side over at least this share of the longest of them; less is no neighbour. Judgement.
SHARED_LENGTH = 0.5


@dataclass(frozen=True, slots=True)
class Packing:
    """Best blocks for every number of blocks, for one or several positions of the slots.

    Attributes
    ----------
    ahead_cm : ndarray, shape (slots + 1, positions, blocks + 1)
        Total length of the strips with 0, 1, ... blocks in the slots from each one on, in whole centimetres; minus
        infinity where so many do not fit.
    block_cm : ndarray, shape (slots, positions)
        Length of the strips of the block that begins at each slot, likewise.
    methods : int
        Slots of a block [1].
    """

    ahead_cm: Floats
    block_cm: Floats
    methods: int

    @property
    def metres(self) -> Floats:
        """Total length of the strips with 0, 1, ... blocks, shape (positions, blocks + 1) [m]."""
        metres: Floats = self.ahead_cm[0] / 100.0
        return metres

    def first_slots(self, position: int, blocks: int) -> tuple[int, ...]:
        """Return the first slot (from 0) of each block of the best packing.

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
        if not np.isfinite(self.ahead_cm[0, position, blocks]):
            raise ValueError(f"{blocks} blocks do not fit")
        found: list[int] = []
        slot = 0
        while len(found) < blocks:
            left = blocks - len(found)
            # Whole centimetres add up exactly. Among equals the block is taken at once: no needless gaps.
            with_block = self.block_cm[slot, position] + self.ahead_cm[slot + self.methods, position, left - 1]
            if with_block == self.ahead_cm[slot, position, left]:
                found.append(slot)
                slot += self.methods
            else:
                slot += 1
        return tuple(found)


def pack_blocks(low_m: Floats, high_m: Floats, *, methods: int, shortest_m: float, most: int) -> Packing:
    """Return the packings of blocks into a row of slots that give the most metres of strip.

    Answers: of a row of neighbouring slots, which ones carry the blocks? A block takes as many slots side by side as
    there are methods, each long enough; its strips lie beside one another over at least ``shortest_m`` and half of the
    longest of them. Slots may stay empty between blocks.

    Parameters
    ----------
    low_m, high_m : ndarray, shape (positions, slots)
        Ends of the straight run in each slot [m].
    methods : int
        Slots of a block [1].
    shortest_m : float
        Shorter strips are not used [m].
    most : int
        Blocks to look for at most [1].

    Returns
    -------
    Packing

    Source: dynamic programming over the slots from right to left.
    """
    positions, slots = low_m.shape
    most = min(most, slots // methods)
    gain = _block_cm(low_m, high_m, methods, shortest_m)
    ahead = np.full((slots + 1, positions, most + 1), -np.inf)
    ahead[:, :, 0] = 0.0
    for slot in range(slots - methods, -1, -1):
        with_block = ahead[slot + methods, :, :-1] + gain[slot][:, np.newaxis]
        ahead[slot, :, 1:] = np.maximum(ahead[slot + 1, :, 1:], with_block)
    return Packing(ahead, gain, methods)


def _block_cm(low: Floats, high: Floats, methods: int, shortest_m: float) -> Floats:
    """Return the length of the block that begins at each slot, shape (slots, positions) [cm]."""
    length = high - low
    slots = length.shape[1]
    out = np.full(length.shape, -np.inf)
    starts = slots - methods + 1
    if starts < 1:
        return out.T
    window = np.lib.stride_tricks.sliding_window_view
    lengths = window(length, methods, axis=1)
    shared = window(high, methods, axis=1).min(axis=2) - window(low, methods, axis=1).max(axis=2)
    # A hair of rounding does not drop a strip that is exactly as long as asked for.
    fits = shared >= np.maximum(shortest_m, SHARED_LENGTH * lengths.max(axis=2)) - 1e-6
    out[:, :starts] = np.where(fits, np.round(100.0 * lengths.sum(axis=2)), -np.inf)
    return out.T
