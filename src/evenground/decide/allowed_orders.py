"""The orders the draw could have given, handed to the randomisation test."""

from __future__ import annotations

import numpy as np

from evenground.basis.errors import CannotCompareError
from evenground.basis.strip import Draw
from evenground.compare.reference_set import ReferenceSet
from evenground.harvest.strips import Harvest, StripHarvest
from evenground.layout.draw import allowed_set, pair_patterns_of
from evenground.numerics.reference_sets import sampled_pair_set

# Orders drawn at random where the set is too large to list: the error of a p near 0.05 is then 0.0007.
DRAWS = 99_999


def references_of(draw: Draw, harvest: Harvest, baseline: str, seed: int) -> dict[str, ReferenceSet] | None:
    """Return what the draw allowed, for each other method.

    Parameters
    ----------
    draw : Draw
        As stored.
    harvest : Harvest
        What was sown and weighed.
    baseline : str
        Letter.
    seed : int
        Seed for sets too large to list.

    Returns
    -------
    dict of str to ReferenceSet, or None
        Empty where two factors were drawn, one after the other: their levels are tested instead, see
        `evenground.decide.split_trial`. None where no limit was applied and every weighed strip was sown as drawn and
        weighed by itself: then the set is all orders within the blocks that hold both methods, which the comparison
        counts without listing them.
    """
    if draw.split is not None:
        return {}
    free = not any(limit.applied for limit in draw.limits)
    if free and all(s.method == s.drawn_method and not s.weighed_with for s in harvest.strips if s.outcome is not None):
        return None
    letters = sorted({s.method for s in draw.strips} - {baseline})
    found = {m: reference_of(draw, m, baseline, seed) for m in letters}
    return {m: r for m, r in found.items() if r is not None}


def blocks_as_drawn(harvest: Harvest, method: str, baseline: str) -> int:
    """Count the blocks in which the strips of a method and the baseline were sown and weighed as drawn [1]."""
    pair = {method, baseline}
    blocks: dict[int, list[StripHarvest]] = {}
    for s in harvest.strips:
        if s.drawn_method in pair or s.method in pair:
            blocks.setdefault(s.block, []).append(s)
    return sum(
        {s.drawn_method for s in strips} == pair
        and all(s.method == s.drawn_method and s.outcome is not None and not s.weighed_with for s in strips)
        for strips in blocks.values()
    )


def reference_of(draw: Draw, method: str, baseline: str, seed: int) -> ReferenceSet | None:
    """Return what the draw allowed for a method against the baseline.

    Parameters
    ----------
    draw : Draw
        As stored; its drawn methods count, whatever was sown later.
    method, baseline : str
        Letters.
    seed : int
        Seed for sets too large to list.

    Returns
    -------
    ReferenceSet or None
        None where the draw does not hold both.

    Raises
    ------
    CannotCompareError
        If the stored order is not one the stored limits allow.

    Source: docs/layout.md.
    """
    try:
        return _reference(draw, method, baseline, seed)
    except ValueError as error:
        raise CannotCompareError(f"the drawn order and its limits do not agree: {error}.") from error


def _reference(draw: Draw, method: str, baseline: str, seed: int) -> ReferenceSet | None:
    whole = allowed_set(draw)
    if not {method, baseline} <= set(whole.letters):
        return None
    strips = tuple(str(s) for s in whole.strips)
    drawn = tuple(whole.letters[code] for code in whole.order)
    try:
        return ReferenceSet(pair_patterns_of(draw, method, baseline), strips, drawn)
    except ValueError:
        # too many to list; any other fault comes up again here
        first, second = whole.letters.index(baseline), whole.letters.index(method)
        rng = np.random.default_rng(seed)
        sample = sampled_pair_set(whole.order_plan, whole.limits, whole.order, first, second, rng=rng, draws=DRAWS)
        return ReferenceSet(sample, strips, drawn, listed=False)
