"""The orders the draw could have given, tied to the strips they were drawn for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenground.compare.values import StripValues
from evenground.numerics.reference_sets import PairSet


@dataclass(frozen=True)
class ReferenceSet:
    """Allowed orders of one method and the baseline that leave all other methods where they are.

    Attributes
    ----------
    pairs : PairSet
        The orders; its slots count through ``strips``, its second method is the one compared.
    strips : tuple of str
        Strip in each slot of the draw.
    drawn : tuple of str
        Method drawn for each slot.
    listed : bool
        True if the orders are the whole set; False if they are drawn from it at random.
    """

    pairs: PairSet
    strips: tuple[str, ...]
    drawn: tuple[str, ...]
    listed: bool = True

    def as_weighed(self, values: StripValues, method: str, baseline: str) -> tuple[PairSet, NDArray[np.float64]] | None:
        """Project the set on the blocks that were sown and weighed as drawn.

        A block leaves if a strip drawn for one of the two methods is missing or was sown otherwise, or if a strip
        drawn for another method was sown with one of the two.

        Parameters
        ----------
        values : StripValues
            What was weighed, methods as sown.
        method, baseline : str
            Who is compared.

        Returns
        -------
        (PairSet, ndarray) or None
            The set that is left and the outcome in each of its slots [outcome unit]; None if no block is left.
        """
        sown = dict(zip(values.strips, values.methods, strict=True))
        weighed = dict(zip(values.strips, values.outcome, strict=True))
        pair = (method, baseline)
        broken_strips = {
            strip
            for strip, drawn in zip(self.strips, self.drawn, strict=True)
            if (drawn in pair or sown.get(strip) in pair) and sown.get(strip) != drawn
        }
        broken_blocks = {block for strip, block in self._blocks(values).items() if strip in broken_strips}
        if broken_blocks >= set(self.pairs.block_of_slot.tolist()):
            return None
        left = self.pairs.without_blocks(broken_blocks) if broken_blocks else self.pairs
        return left, np.array([weighed[self.strips[slot]] for slot in left.slots])

    def _blocks(self, values: StripValues) -> dict[str, int]:
        """Block number, as the set counts them, of each strip; strips of other methods take their neighbours' block."""
        known = {self.strips[s]: int(b) for s, b in zip(self.pairs.slots, self.pairs.block_of_slot, strict=True)}
        names = dict(zip(values.strips, values.blocks, strict=True))
        by_name = {names[strip]: block for strip, block in known.items() if strip in names}
        return {**{strip: by_name[name] for strip, name in names.items() if name in by_name}, **known}
