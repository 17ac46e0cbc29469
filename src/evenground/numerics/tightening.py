"""How far the limits of a draw may be tightened before its randomisation test can no longer reject."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from evenground.numerics.order_limits import Limit, allowed
from evenground.numerics.orders import OrderPlan, Orders, list_orders, sample_allowed, sample_orders
from evenground.numerics.reference_sets import pair_set

# With three or more methods the set of a pair depends on the drawn order; so many drawn orders are looked at.
_LOOKED_AT = 40
# A pair's set larger than this can give p far below any level in use; it is not listed for each order looked at.
_LISTED_PER_ORDER = 2**13
# Larger sets are judged from a sample here, so that trying many limits stays quick; the test itself lists more.
_LISTED = 2**18
_SAMPLE = 20_000


@dataclass(frozen=True, slots=True)
class Tightened:
    """The limits of a draw and what they cost.

    Attributes
    ----------
    limits : tuple of Limit
        Limits to draw under, most important first.
    rungs : tuple of (int or None)
        For each candidate the place of its chosen limit in its ladder (0 = strictest); None where it was dropped.
    dropped : tuple of str
        Names of the candidates that no rung of theirs could be kept for.
    orders : float
        Number of orders the draw can give [1]; an estimate where ``exact`` is False.
    exact : bool
        True where all orders were listed.
    smallest_p : float
        Smallest possible p of the randomisation test [1]: of the set with two methods; with more methods the largest
        one met between the baseline and another method in the orders looked at.
    share_can_reject : float
        Share of the orders looked at whose test can reach the level for every method against the baseline [1].
    can_reject : bool
        Whether that share is large enough; if False the test cannot reject and the user must be told before the draw.
    """

    limits: tuple[Limit, ...]
    rungs: tuple[int | None, ...]
    dropped: tuple[str, ...]
    orders: float
    exact: bool
    smallest_p: float
    share_can_reject: float
    can_reject: bool


@dataclass(frozen=True, slots=True)
class _Cost:
    orders: float
    exact: bool
    smallest_p: float
    share: float


def tighten(
    plan: OrderPlan,
    ladders: Sequence[Sequence[Limit]],
    rng: np.random.Generator,
    *,
    baseline: int = 0,
    level: float = 0.05,
    share: float = 0.9,
    fewest_orders: int = 8,
) -> Tightened:
    """Return the strictest limits under which the randomisation test can still reject.

    Answers: how balanced may the draw be made without making the test blind? The candidates are taken in order of
    importance; of each the strictest limit is kept under which the smallest possible p stays at or below the level,
    given those kept before. Where the blocks are too few even without limits, the strictest limit is kept that leaves
    ``fewest_orders`` orders, and ``can_reject`` is False.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block.
    ladders : sequence of sequence of Limit
        Candidates, most important first; the limits of each from strictest to loosest.
    rng : numpy.random.Generator
        Source of randomness, used where the orders are too many to list.
    baseline : int
        Code of the method the others are compared with.
    level : float
        Level of the test [1].
    share : float
        Share of the possible draws whose test must be able to reach the level (three or more methods) [1].
    fewest_orders : int
        Orders a draw must be able to give [1].

    Returns
    -------
    Tightened
        What was kept, what was dropped, and what the test can still do.

    Raises
    ------
    ValueError
        If the baseline is not in the plan or is its only method.

    Source: the smallest p is counting; ``share`` and ``fewest_orders`` are this project's choice, no source.
    """
    if baseline not in plan.methods or len(plan.methods) < 2:
        raise ValueError(f"the baseline {baseline} and another method must be in the plan; it holds {plan.methods}")
    kept: list[Limit] = []
    cost = _cost(plan, kept, rng, baseline, level)
    if cost is None:
        raise ValueError("the plan gives no order")
    needed = share if cost.share >= share else 0.0
    rungs: list[int | None] = []
    for ladder in ladders:
        rung, cost = _strictest(plan, kept, ladder, rng, baseline, level, needed, fewest_orders, cost)
        rungs.append(rung)
        kept += [ladder[rung]] if rung is not None else []
    dropped = tuple(ladder[-1].name for ladder, rung in zip(ladders, rungs, strict=True) if rung is None and ladder)
    return Tightened(
        tuple(kept), tuple(rungs), dropped, cost.orders, cost.exact, cost.smallest_p, cost.share, cost.share >= share
    )


def ladder_of_shares(values: Sequence[float], shares: Sequence[float]) -> tuple[float, ...]:
    """Return the bounds that keep about the given shares of the orders, strictest first, without repeats.

    Parameters
    ----------
    values : sequence of float
        Imbalance of each order (or of a sample of orders) [any unit].
    shares : sequence of float
        Shares to keep, each above 0 and at most 1 [1].

    Returns
    -------
    tuple of float
        For each share the smallest imbalance that at least this share of the orders does not exceed.

    Raises
    ------
    ValueError
        If there is no value or a share is out of range.

    Source: definition of a quantile; ties are kept whole, so the set stays closed under swapping.

    Examples
    --------
    >>> ladder_of_shares([0, 1, 1, 2], [0.1, 0.5, 0.75])
    (0.0, 1.0)
    """
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    if not len(ordered) or not all(0 < s <= 1 for s in shares):
        raise ValueError("shares must lie above 0 and at most at 1, and there must be values")
    places = [int(np.ceil(s * len(ordered) - 1e-9)) - 1 for s in sorted(shares)]
    bounds = [float(ordered[place]) for place in places]
    return (bounds[0], *(b for a, b in pairwise(bounds) if b > a)) if bounds else ()


def _strictest(
    plan: OrderPlan,
    kept: Sequence[Limit],
    ladder: Sequence[Limit],
    rng: np.random.Generator,
    baseline: int,
    level: float,
    needed: float,
    fewest_orders: int,
    before: _Cost,
) -> tuple[int | None, _Cost]:
    """Return the first rung that can be afforded and what the draw costs with it, or None and the cost before."""
    for rung, limit in enumerate(ladder):
        cost = _cost(plan, [*kept, limit], rng, baseline, level)
        if cost is not None and cost.share >= needed and cost.orders >= fewest_orders:
            return rung, cost
    return None, before


def _cost(
    plan: OrderPlan, limits: Sequence[Limit], rng: np.random.Generator, baseline: int, level: float
) -> _Cost | None:
    """Return what the limits leave, or None if no order was found that keeps them."""
    exact = plan.count() <= _LISTED
    if exact:
        orders = list_orders(plan, limits)
        number = float(len(orders))
    else:
        share = allowed(limits, sample_orders(plan, rng, _SAMPLE), plan.blocks).mean()
        number = float(share) * plan.count()
    if number == 0:
        return None
    wanted = 1 if len(plan.methods) == 2 else _LOOKED_AT
    looked = orders[rng.integers(len(orders), size=wanted)] if exact else _some(plan, limits, rng, wanted)
    worst = [_worst_smallest_p(plan, limits, order, baseline, rng) for order in looked]
    return _Cost(number, exact, max(worst), float(np.mean([p <= level for p in worst])))


def _some(plan: OrderPlan, limits: Sequence[Limit], rng: np.random.Generator, wanted: int) -> Orders:
    return sample_allowed(plan, limits, rng, wanted)[0]


def _worst_smallest_p(
    plan: OrderPlan, limits: Sequence[Limit], order: Orders, baseline: int, rng: np.random.Generator
) -> float:
    """Return the largest smallest-possible p between the baseline and another method, for one drawn order."""
    others = [m for m in plan.methods if m != baseline]
    return max(_smallest_p(plan, limits, order, baseline, m, rng, alone=len(others) == 1) for m in others)


def _smallest_p(
    plan: OrderPlan,
    limits: Sequence[Limit],
    order: Orders,
    first: int,
    second: int,
    rng: np.random.Generator,
    *,
    alone: bool,
) -> float:
    free = np.isin(order, (first, second))
    blocks = (order[free & (plan.block_of_slot == b)].tolist() for b in range(len(plan.blocks)))
    inner = OrderPlan(tuple(tuple(block) for block in blocks if block))
    if inner.count() <= (_LISTED if alone else _LISTED_PER_ORDER):
        return pair_set(plan, limits, order, first, second).smallest_p()
    full = np.tile(order, (_SAMPLE // 10, 1))
    full[:, free] = sample_orders(inner, rng, len(full))
    # The drawn order itself keeps the limits, so one more never makes the share zero.
    share = (1 + np.count_nonzero(allowed(limits, full, plan.blocks))) / (1 + len(full))
    mirrored = all(block.count(first) == block.count(second) for block in inner.blocks)
    return min(1.0, (2 if mirrored else 1) / (share * inner.count()))
