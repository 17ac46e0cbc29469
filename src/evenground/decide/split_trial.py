"""A trial of two factors as drawn, handed to the comparison: whole plots, levels, and what each draw allowed."""

from __future__ import annotations

import numpy as np

from evenground.basis.errors import CannotCompareError
from evenground.basis.strip import Draw
from evenground.compare.reference_set import ReferenceSet
from evenground.compare.split_plot import SplitPlot
from evenground.decide.allowed_orders import DRAWS
from evenground.layout.draw import AllowedSet
from evenground.layout.split_draw import whole_set, within_set
from evenground.numerics.reference_sets import pair_set, sampled_pair_set

# Ways to turn blocks round that are listed; more are drawn at random.
_LISTED = 2**20


def split_of(draw: Draw, seed: int | None = None) -> SplitPlot | None:
    """Return how a drawn trial of two factors is compared.

    Parameters
    ----------
    draw : Draw
        As stored; its drawn methods count, whatever was sown later.
    seed : int or None
        Seed for sets too large to list; None leaves the randomisation tests out.

    Returns
    -------
    SplitPlot or None
        None where one factor was drawn.

    Raises
    ------
    CannotCompareError
        If the stored order is not one the stored limits allow, or whole plots are broken.

    Source: docs/layout.md.
    """
    split = draw.split
    if split is None:
        return None
    try:
        sets = (whole_set(draw), within_set(draw))
        references = {} if seed is None else {**_references(sets[0], seed), **_references(sets[1], seed)}
    except ValueError as error:
        raise CannotCompareError(f"the drawn order and its limits do not agree: {error}.") from error
    return SplitPlot(
        whole=split.whole,
        within=split.within,
        whole_levels=split.whole_levels,
        within_levels=split.within_levels,
        letters=split.letters,
        plots={str(s.strip): str(s.whole_plot) for s in draw.strips},
        drawn={str(s.strip): s.method for s in draw.strips},
        references=references,
    )


def _references(allowed: AllowedSet, seed: int) -> dict[str, ReferenceSet]:
    """Return what a draw allowed for each level against the first, by level."""
    places = tuple(str(number) for number in allowed.strips)
    drawn = tuple(allowed.letters[code] for code in allowed.order)
    found = {}
    for code, name in enumerate(allowed.letters[1:], start=1):
        whole = allowed.order_plan, allowed.limits, allowed.order, 0, code
        # Both levels stand once in every block, so that each block can be turned round or not.
        if 2 ** len(allowed.order_plan.blocks) <= _LISTED:
            found[name] = ReferenceSet(pair_set(*whole), places, drawn)
        else:
            sample = sampled_pair_set(*whole, rng=np.random.default_rng(seed), draws=DRAWS)
            found[name] = ReferenceSet(sample, places, drawn, listed=False)
    return found
