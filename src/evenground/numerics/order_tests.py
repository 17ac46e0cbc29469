"""The randomisation test of a drawn order: exact wherever that can be, from a sample otherwise."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenground.numerics.order_limits import EqualOrdersLimit, Limit
from evenground.numerics.orders import MOST_ORDERS, OrderPlan
from evenground.numerics.reference_sets import (
    PairSet,
    drawn_set,
    listed_test,
    pair_set,
    sampled_pair_set,
    sampled_test,
)
from evenground.numerics.sign_flips import ExactTest, count_weights, counted_flip_test, sign_flip_test

How = Literal["halves", "list", "sample"]
# Pairs that halves can ever hold: 44 of any data, up to here for decimals with few distinct sums.
_MOST_PAIRS = 62


@dataclass(frozen=True, slots=True)
class OrderTest:
    """Answer of the randomisation test of two methods.

    Attributes
    ----------
    p_value : float
        Two-sided p [1].
    smallest_p : float
        Smallest p the reference set (or the number of draws) can give [1].
    extreme : int
        Orders at least as extreme as the drawn one.
    orders : int
        Orders in the set, each as often as it arises; with a sample the orders drawn.
    how : {"halves", "list", "sample"}
        Counted by halves that meet in the middle, counted one by one, or estimated from a sample.
    standard_error : float
        Sampling error of p [1]; 0 where it was counted.
    """

    p_value: float
    smallest_p: float
    extreme: int
    orders: int
    how: How
    standard_error: float

    @property
    def exact(self) -> bool:
        """Whether the whole reference set was counted."""
        return self.how != "sample"


def order_test(
    plan: OrderPlan,
    limits: Sequence[Limit],
    order: ArrayLike,
    values: ArrayLike,
    *,
    first: int,
    second: int,
    rng: np.random.Generator,
    broken: Collection[int] = (),
    draws: int = 100_000,
    most: int = MOST_ORDERS,
) -> OrderTest:
    """Return the randomisation test of one method against another over the orders the draw could have given.

    Answers: had the two methods been alike, how often would the draw alone have made a gain as large as the one seen?
    Other methods stay where they are; broken blocks leave the test and the set is projected on the others.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block as drawn.
    limits : sequence of Limit
        What the draw had to keep.
    order : array_like of int, shape (slots,)
        The drawn order.
    values : array_like, shape (slots,)
        Outcome of each strip [any unit]; may be nan in broken blocks and under other methods.
    first, second : int
        Codes of the two methods; the gain is second minus first.
    rng : numpy.random.Generator
        Source of randomness, used only if the set is too large to count.
    broken : collection of int
        Blocks (from 0) not sown and weighed as drawn.
    draws : int
        Size of a sample [1].
    most : int
        Orders that may be listed [1].

    Returns
    -------
    OrderTest
        p with how it was found and the smallest p possible.

    Raises
    ------
    ValueError
        If the order is not one the draw could have given, no block is left, or a value is missing.

    Source: Fisher, The Design of Experiments (1935), section 21; the set is what the draw allowed.

    Examples
    --------
    >>> plan = OrderPlan.complete(2, 3)
    >>> y = [5.0, 5.5, 5.25, 4.5, 5.0, 5.75]
    >>> test = order_test(plan, [], [0, 1, 1, 0, 0, 1], y, first=0, second=1, rng=np.random.default_rng(1))
    >>> test.p_value, test.orders, test.how
    (0.25, 8, 'halves')
    """
    y = np.asarray(values, dtype=np.float64)
    if y.shape != (plan.slots,):
        raise ValueError(f"{plan.slots} values needed, one a slot; got shape {y.shape}")
    drawn = drawn_set(plan, limits, order, first, second).without_blocks(broken)
    shortcut = _by_halves(plan, limits, drawn, y, broken)
    if shortcut is not None:
        return _counted(shortcut, "halves")
    if _inner_count(plan, first, second) <= most:
        reference = pair_set(plan, limits, order, first, second, most=most).without_blocks(broken)
        return _counted(listed_test(reference, y[reference.slots]), "list")
    sample = sampled_pair_set(plan, limits, order, first, second, rng=rng, draws=draws).without_blocks(broken)
    test = sampled_test(sample, y[sample.slots])
    return OrderTest(test.p_value, test.smallest_p, test.extreme, test.draws, "sample", test.standard_error)


def _counted(test: ExactTest, how: How) -> OrderTest:
    return OrderTest(test.p_value, test.smallest_p, test.extreme, test.total, how, 0.0)


def _inner_count(plan: OrderPlan, first: int, second: int) -> int:
    """Return in how many ways the two methods can be placed in the slots they hold."""
    two = (tuple(m for m in block if m in (first, second)) for block in plan.blocks)
    return OrderPlan(tuple(block for block in two if block)).count()


def _by_halves(
    plan: OrderPlan, limits: Sequence[Limit], drawn: PairSet, y: NDArray[np.float64], broken: Collection[int]
) -> ExactTest | None:
    """Return the test of free or equal-count pairs, or None where the set is another one."""
    left = len(drawn.slots) // 2
    if np.bincount(drawn.block_of_slot).max() > 2 or left > _MOST_PAIRS:
        return None
    signs = drawn.signs()[0]
    slot_differences = y[drawn.slots[1::2]] - y[drawn.slots[::2]]
    if not limits:
        try:
            return sign_flip_test(signs * slot_differences)
        except ValueError:  # too many distinct sums for the halves
            return None
    only = limits[0]
    all_pairs = all(len(block) == 2 and len(set(block)) == 2 for block in plan.blocks) and len(plan.methods) == 2
    if len(limits) > 1 or not isinstance(only, EqualOrdersLimit) or not all_pairs:
        return None
    pairs = len(plan.blocks)
    allowed_counts = [k for k in range(pairs + 1) if abs(2 * k - pairs) <= only.most_apart]
    return counted_flip_test(slot_differences, signs, count_weights(pairs, allowed_counts, broken=len(set(broken))))
