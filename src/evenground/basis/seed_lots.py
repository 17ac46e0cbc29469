"""Which seed lot goes into which blocks: every lot to every method, changed between blocks and never inside one."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from evenground.basis.plan import Plan


def lots_of_blocks(plan: Plan, blocks: Iterable[int]) -> dict[str, list[int]]:
    """Deal the blocks out to the lots, in turn and about as many to each.

    Answers: which lot is sown in which blocks, so that the methods of a block always have the same seed?

    Parameters
    ----------
    plan : Plan
        Lots; the plan has made sure that each goes to every method.
    blocks : iterable of int
        Numbers of the blocks.

    Returns
    -------
    dict
        Name of the lot to its blocks; a lot too many has none.

    Source: common practice, no source.
    """
    names = [lot.lot for lot in plan.seed.lots] or [f"Lot {i + 1}" for i in range(plan.trial.seed_lots)]
    known = sorted(set(blocks))
    cuts = [round(i * len(known) / len(names)) for i in range(len(names) + 1)]
    return dict(zip(names, (known[a:b] for a, b in pairwise(cuts)), strict=True))
