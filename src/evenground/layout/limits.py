"""Limits on the order of methods: from names in the plan to the limits of a draw, and back from a stored draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from evenground.basis.layout_plan import LimitName
from evenground.basis.strip import AppliedLimit
from evenground.layout.exposure import EXPOSED, NO_EXPOSURE, Exposure, Weights
from evenground.numerics.order_limits import EqualOrdersLimit, Limit, LinearLimit, MahalanobisLimit, allowed
from evenground.numerics.orders import OrderPlan, Orders, list_orders, sample_orders
from evenground.numerics.tightening import Tightened, ladder_of_shares, tighten

# Shares of all orders that the strictest, next, ... bound on a trend keeps: two methods, and more. Judgement.
_SHARES_OF_TWO = (0.1, 0.2, 0.35, 0.5, 0.75)
_SHARES_OF_MORE = (0.35, 0.5, 0.75)
# What is known of this very field is worth balancing even where only the worst orders can be left out. Judgement.
_LEAST_USEFUL = 0.85
# A limit that fewer orders than this keep is not used: orders are drawn until one keeps all limits.
_FEWEST_KEPT = 0.05
# A set whose smallest p lies just below 5 % rejects only for its one most extreme order: with 9 blocks the power of the
# randomisation test falls from 0.78 to 0.61. Where the blocks allow it, limits stop at a smallest p of 1 %, which costs
# 6 points at the most (own simulation, docs/truth.md, table 11).
_LEVEL, _LEVEL_WITH_RESERVE = 0.05, 0.01
# Orders listed to find those bounds; more are judged by a sample of 20,000.
_LISTED = 2**16
_SAMPLE = 20_000
# The limits follow from the plan alone: where orders are sampled to find them, always by this seed, never the draw's.
_SEED_OF_LIMITS = 1
_WORDS = {
    "linear_trend": "a straight rise across the strips favours no method by more than {bound:g} strip places.",
    "quadratic_trend": "a hollow or ridge across the strips favours no method by more than {bound:g} (squared places).",
    "edge": "no method holds more than its share of the strips beside open ground, give or take {bound:.2g}.",
    "tramline": "no method holds more than its share of the tramlines, give or take {bound:.2g}.",
    "covariates": "the methods lie on like ground by soil, yields or bouts (Mahalanobis distance up to {bound:.2g}).",
}


@dataclass(frozen=True, slots=True)
class FixedLimits:
    """The limits of a draw, fixed before it.

    Attributes
    ----------
    limits : tuple of Limit
        What every order must keep.
    applied : tuple of AppliedLimit
        All limits asked for, applied or dropped, in words.
    cost : Tightened
        What they leave: number of orders, smallest p, whether the test can reject.
    """

    limits: tuple[Limit, ...]
    applied: tuple[AppliedLimit, ...]
    cost: Tightened


@lru_cache(maxsize=64)
def fix_limits(
    order_plan: OrderPlan, names: tuple[LimitName, ...], baseline: int, exposure: Exposure = NO_EXPOSURE
) -> FixedLimits:
    """Return the strictest limits under which the randomisation test can still reach its level with some reserve.

    Answers: how well balanced may the order be made without making the test blind? Depends on the blocks, the methods,
    the names and what the strips are exposed to, never on the seed of the draw.

    Parameters
    ----------
    order_plan : OrderPlan
        Methods of each block.
    names : tuple of str
        Limits asked for, most important first.
    baseline : int
        Code of the baseline.
    exposure : Exposure
        What the strips are exposed to; limits on what no strip differs in are passed over.

    Returns
    -------
    FixedLimits

    Source: `evenground.numerics.tightening`; the shares of orders that bounds keep are judgement.
    """
    rng = np.random.default_rng(_SEED_OF_LIMITS)
    wanted = [name for name in dict.fromkeys(names) if name not in EXPOSED or exposure.differs(name)]
    ladders = [_ladder(order_plan, name, exposure.of(name), rng) for name in wanted]
    cost = tighten(order_plan, ladders, rng, baseline=baseline, share=1.0, level=_reach(order_plan))
    if not cost.can_reject and len(order_plan.methods) > 2:
        # With more methods a limit can leave a single placing of two of them, and then nothing to test at all.
        ladders = [() for _ in wanted]
        cost = tighten(order_plan, ladders, rng, baseline=baseline, share=1.0)
    applied = tuple(
        _dropped(name, ladder, blind=not cost.can_reject)
        if rung is None
        else _applied(name, ladder[rung], order_plan, exposure.of(name))
        for name, ladder, rung in zip(wanted, ladders, cost.rungs, strict=True)
    )
    return FixedLimits(cost.limits, applied, cost)


def _reach(order_plan: OrderPlan) -> float:
    """Return the smallest p that limits must leave within reach [1]."""
    free = 2.0 / 2.0 ** len(order_plan.blocks)
    return _LEVEL_WITH_RESERVE if free <= _LEVEL_WITH_RESERVE else _LEVEL


def limits_again(applied: Sequence[AppliedLimit], slots: int) -> tuple[Limit, ...]:
    """Return the limits of a stored draw.

    Parameters
    ----------
    applied : sequence of AppliedLimit
        As stored.
    slots : int
        Number of strips [1].

    Returns
    -------
    tuple of Limit
        Those that were applied, in their order.

    Raises
    ------
    ValueError
        If a name is unknown or a bound is missing.

    Source: definition.
    """
    return tuple(_limit(one.name, one.bound, slots, one.weights) for one in applied if one.applied)


def _limit(name: str, bound: float | None, slots: int, weights: Weights) -> Limit:
    if bound is None:
        raise ValueError(f"the applied limit {name} has no bound")
    if name == "equal_orders":
        return EqualOrdersLimit(round(bound), name)
    if name == "covariates":
        return MahalanobisLimit(name, weights, bound)
    return _linear(name, bound, slots, weights)


def _linear(name: str, bound: float, slots: int, weights: Weights) -> LinearLimit:
    if weights:
        return LinearLimit(name, tuple(one[0] for one in weights), bound)
    place: NDArray[np.float64] = np.arange(slots, dtype=np.float64) - (slots - 1) / 2
    ends = np.zeros(slots)
    ends[[0, -1]] = 1.0
    known: dict[str, NDArray[np.float64]] = {"linear_trend": place, "quadratic_trend": place**2, "edge": ends}
    if name not in known:
        raise ValueError(f"there is no limit {name}; there are equal_orders, {', '.join(known)}, tramline, covariates")
    return LinearLimit(name, tuple(known[name].tolist()), bound)


def _imbalance(name: str, orders: Orders, order_plan: OrderPlan, weights: Weights) -> NDArray[np.float64]:
    """Return for each order the value its bound is set on."""
    if name != "covariates":
        return _linear(name, 0.0, order_plan.slots, weights).imbalance(orders)
    limit = MahalanobisLimit(name, weights, 1.0)
    pairs = combinations(order_plan.methods, 2)
    worst: NDArray[np.float64] = np.max([limit.distance(orders, order_plan.blocks, a, b) for a, b in pairs], axis=0)
    return worst


def _ladder(order_plan: OrderPlan, name: LimitName, weights: Weights, rng: np.random.Generator) -> tuple[Limit, ...]:
    """Return a limit from strict to loose; bounds that exclude nothing, or nearly everything, are left out."""
    listed = order_plan.count() <= _LISTED
    orders = list_orders(order_plan) if listed else sample_orders(order_plan, rng, _SAMPLE)
    if name == "equal_orders":
        least = len(order_plan.blocks) % 2
        bounds: tuple[float, ...] = tuple(range(least, len(order_plan.blocks), 2))
    else:
        # Whole and half places; rounding noise must not split ties.
        values = np.round(_imbalance(name, orders, order_plan, weights), 6)
        shares = _SHARES_OF_TWO if len(order_plan.methods) == 2 else _SHARES_OF_MORE
        shares = (*shares, _LEAST_USEFUL) if name in EXPOSED else shares
        bounds = tuple(b for b in ladder_of_shares(values.tolist(), shares) if b < values.max())
    limits = (_limit(name, bound, order_plan.slots, weights) for bound in bounds)
    return tuple(limit for limit in limits if allowed([limit], orders, order_plan.blocks).mean() >= _FEWEST_KEPT)


def _applied(name: str, limit: Limit, order_plan: OrderPlan, weights: Weights) -> AppliedLimit:
    if isinstance(limit, LinearLimit | MahalanobisLimit):
        reason = _WORDS[name].format(bound=limit.bound)
        return AppliedLimit(name=name, bound=limit.bound, applied=True, reason=reason, weights=weights)
    if isinstance(limit, EqualOrdersLimit):
        return AppliedLimit(name=name, bound=limit.most_apart, applied=True, reason=_pairs_words(limit, order_plan))
    raise TypeError(f"a draw cannot store the limit {limit.name}")


def _pairs_words(limit: EqualOrdersLimit, order_plan: OrderPlan) -> str:
    blocks = len(order_plan.blocks)
    fewer = (blocks - limit.most_apart) // 2
    if limit.most_apart == 0:
        return f"of any two methods each stands before the other in {fewer} blocks."
    return f"of any two methods each stands before the other in at least {fewer} of {blocks} blocks."


def _dropped(name: str, ladder: Sequence[Limit], *, blind: bool) -> AppliedLimit:
    if blind:
        reason = "dropped: with so few blocks the randomisation test cannot reach 5 % in any case."
    elif ladder:
        reason = "dropped: with it the randomisation test would lose its reach, or too few orders would be left."
    else:
        reason = "dropped: it would exclude no order here, or nearly all."
    return AppliedLimit(name=name, applied=False, reason=reason)
