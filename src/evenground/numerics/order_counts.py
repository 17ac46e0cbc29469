"""How many orders keep limits, without listing them: the blocks are cut in two halves that meet in the middle."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenground.numerics.order_limits import Limit
from evenground.numerics.orders import MOST_ORDERS, OrderPlan, list_orders

# Pairs of halves looked at together; some megabytes for each figure of a limit.
_AT_ONCE = 2**17


def count_allowed(plan: OrderPlan, limits: Sequence[Limit], *, most: int = MOST_ORDERS) -> int:
    """Return how many orders of a plan keep limits [1].

    Answers: how large is the set an order is drawn from? Every limit judges an order by sums over its blocks
    (`Limit.sums`). So each half of the blocks is listed by itself, and the sums of every first half are added to those
    of every second half: with two times ten pairs that is two lists of 1,024 in place of one of 1,048,576 rows.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block.
    limits : sequence of Limit
        What an order must keep.
    most : int
        Orders that may be counted [1].

    Returns
    -------
    int
        The number of rows of `evenground.numerics.orders.list_orders`.

    Raises
    ------
    ValueError
        If the plan has more than ``most`` orders.

    Source: meet in the middle (Horowitz & Sahni, J. ACM 21 (1974) 277-292, from memory).

    Examples
    --------
    >>> count_allowed(OrderPlan.complete(2, 20), ())
    1048576
    """
    if plan.count() > most:
        raise ValueError(f"{plan.count()} orders are too many to count; allowed: {most}")
    blocks = plan.blocks
    if not limits or len(blocks) == 1:
        return plan.count() if not limits else len(list_orders(plan, limits, most=most))
    middle = _middle(plan)
    first, second = list_orders(OrderPlan(blocks[:middle])), list_orders(OrderPlan(blocks[middle:]))
    left = [limit.sums(first, blocks, 0) for limit in limits]
    right = [limit.sums(second, blocks, middle) for limit in limits]
    rows, found = max(1, _AT_ONCE // len(second)), 0
    for start in range(0, len(first), rows):
        here = [[one[start : start + rows] for one in sums] for sums in left]
        kept = np.ones((len(here[0][0]) if here[0] else min(rows, len(first) - start), len(second)), dtype=np.bool_)
        for limit, ours, theirs in zip(limits, here, right, strict=True):
            kept &= limit.keeps([a[:, np.newaxis] + b for a, b in zip(ours, theirs, strict=True)])
        found += int(np.count_nonzero(kept))
    return found


def _middle(plan: OrderPlan) -> int:
    """Return the number of blocks of the first half, so that both halves have about as many orders."""
    sizes = [OrderPlan(plan.blocks[:n]).count() for n in range(1, len(plan.blocks))]
    total = plan.count()
    return 1 + min(range(len(sizes)), key=lambda i: max(sizes[i], total // sizes[i]))
