"""The orders a draw could have given, as contrasts of two methods, and the randomisation test over them.

With more than two methods only the orders that leave the other methods where they are belong to the set of two methods:
to shuffle all labels would test a different question.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import gcd, lcm, sqrt
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenground.numerics.integer_scale import exact_values
from evenground.numerics.order_limits import Limit, allowed
from evenground.numerics.orders import MOST_ORDERS, OrderPlan, Orders, list_orders, sample_orders
from evenground.numerics.sign_flips import ExactTest

_CHUNK = 2**16


@dataclass(frozen=True, slots=True)
class PairSet:
    """Reference set of two methods: one row a way the draw could have placed them.

    Attributes
    ----------
    rows : ndarray of int16, shape (orders, slots in use)
        Contrast weights: above 0 where the second method would stand, below 0 for the first. One strip each in every
        block: +1 and -1. The statistic is ``abs(row @ values)``, a multiple of the gain of the fixed-block analysis of
        the two methods alone. An order that arises several times has as many rows.
    observed : ndarray of int16, shape (slots in use,)
        The row that was drawn.
    slots : ndarray of int, shape (slots in use,)
        Which slots of the whole order these are.
    block_of_slot : ndarray of int, shape (slots in use,)
        Block of each of them.
    """

    rows: NDArray[np.int16]
    observed: NDArray[np.int16]
    slots: NDArray[np.intp]
    block_of_slot: NDArray[np.intp]

    def without_blocks(self, broken: Collection[int]) -> PairSet:
        """Return the set projected on the other blocks, each order counted as often as it arises.

        Answers: which orders are left after a mishap? A block not sown and weighed as drawn leaves the test only.
        """
        keep = ~np.isin(self.block_of_slot, list(broken))
        if not keep.any():
            raise ValueError("no block with both methods is left")
        return PairSet(self.rows[:, keep], self.observed[keep], self.slots[keep], self.block_of_slot[keep])

    def signs(self) -> NDArray[np.int8]:
        """Return the rows as one sign a block: +1 where the second method stands in the later slot (AB)."""
        starts = np.flatnonzero(np.diff(self.block_of_slot, prepend=-1))
        if len(self.slots) != 2 * len(starts) or not (np.diff(starts) == 2).all():
            raise ValueError("signs need one strip of each of the two methods in every block")
        return np.sign(self.rows[:, starts + 1]).astype(np.int8)

    def smallest_p(self) -> float:
        """Return the smallest p this set can give to data without ties [1]."""
        keys, first, counts = np.unique(_keys(self.rows), return_index=True, return_counts=True)
        distinct = self.rows[first]
        mirror = _keys(-distinct)
        place = np.minimum(np.searchsorted(keys, mirror), len(keys) - 1)
        other = np.where(keys[place] == mirror, counts[place], 0)
        return min(1.0, float((counts + other).min()) / len(self.rows))


@dataclass(frozen=True, slots=True)
class SampledTest:
    """Answer of a randomisation test over a sample of the reference set.

    Attributes
    ----------
    extreme : int
        Sampled orders whose absolute statistic is at least the observed one.
    draws : int
        Orders sampled.
    p_value : float
        ``(1 + extreme) / (1 + draws)`` [1].
    standard_error : float
        Sampling error of the p-value, ``sqrt(p (1 - p) / (1 + draws))`` [1].
    smallest_p : float
        Smallest p that so many draws can give [1].
    """

    extreme: int
    draws: int
    p_value: float
    standard_error: float
    smallest_p: float


def pair_set(
    plan: OrderPlan, limits: Sequence[Limit], order: ArrayLike, first: int, second: int, *, most: int = MOST_ORDERS
) -> PairSet:
    """Return all allowed orders that differ from a drawn one only in the places of two methods.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block.
    limits : sequence of Limit
        What the draw had to keep.
    order : array_like of int, shape (slots,)
        The drawn order.
    first, second : int
        Codes of the two methods; the gain is second minus first.
    most : int
        Orders that may be looked at [1].

    Returns
    -------
    PairSet
        Contrast rows over the slots of blocks that hold both methods.

    Raises
    ------
    ValueError
        If the order is not one of the plan or breaks a limit, no block holds both methods, or there are too many.

    Source: Fisher, The Design of Experiments (1935); the set is what the draw allowed.

    Examples
    --------
    >>> drawn = pair_set(OrderPlan.complete(2, 6), [], [0, 1] * 6, 0, 1)
    >>> len(drawn.rows), drawn.smallest_p()
    (64, 0.03125)
    """
    row = _checked(plan, limits, order)
    free = np.isin(row, (first, second))
    inner = list_orders(_inner_plan(plan, row, free), most=most)
    kept = np.concatenate([part[_kept(plan, limits, row, free, part)] for part in _parts(inner)])
    return _as_pair_set(plan, row, free, kept, first, second)


def drawn_set(plan: OrderPlan, limits: Sequence[Limit], order: ArrayLike, first: int, second: int) -> PairSet:
    """Return the set that holds the drawn order alone: its contrast row and the slots in use.

    Parameters
    ----------
    plan, limits, order, first, second
        As `pair_set`.

    Returns
    -------
    PairSet
        One row.

    Raises
    ------
    ValueError
        As `pair_set`.

    Source: definition of the contrast.
    """
    row = _checked(plan, limits, order)
    free = np.isin(row, (first, second))
    return _as_pair_set(plan, row, free, row[np.newaxis, free], first, second)


def sampled_pair_set(
    plan: OrderPlan,
    limits: Sequence[Limit],
    order: ArrayLike,
    first: int,
    second: int,
    *,
    rng: np.random.Generator,
    draws: int,
    most_tries: int = 2_000_000,
) -> PairSet:
    """Return a uniform sample from the set of `pair_set`, for sets too large to list.

    Parameters
    ----------
    plan, limits, order, first, second
        As `pair_set`.
    rng : numpy.random.Generator
        Source of randomness.
    draws : int
        Orders wanted [1].
    most_tries : int
        Orders drawn before giving up [1].

    Returns
    -------
    PairSet
        ``draws`` rows drawn with replacement; for `sampled_test`.

    Raises
    ------
    ValueError
        As `pair_set`, or if too few orders kept the limits.

    Source: rejection sampling.
    """
    if draws < 1:
        raise ValueError(f"at least one draw is needed, got {draws}")
    row = _checked(plan, limits, order)
    free = np.isin(row, (first, second))
    inner_plan = _inner_plan(plan, row, free)
    kept, found, tries = [], 0, 0
    while found < draws and tries < most_tries:
        part = sample_orders(inner_plan, rng, min(_CHUNK, most_tries - tries, max(256, 4 * (draws - found))))
        tries += len(part)
        kept.append(part[_kept(plan, limits, row, free, part)][: draws - found])
        found += len(kept[-1])
    if found < draws:
        raise ValueError(f"only {found} of {tries} orders drawn kept the limits, {draws} wanted; loosen the limits")
    return _as_pair_set(plan, row, free, np.concatenate(kept), first, second)


def listed_test(reference: PairSet, values: ArrayLike) -> ExactTest:
    """Return the exact two-sided p over a listed reference set.

    Answers: in what share of the orders the draw could have given would the gain be as large as the one seen?

    Parameters
    ----------
    reference : PairSet
        Listed set, projected on whole blocks where something went wrong.
    values : array_like, shape (slots in use,)
        Outcome of the strip in each slot of ``reference.slots`` [any unit].

    Returns
    -------
    ExactTest
        Count, number of orders, p and the smallest possible p. Decimal values are counted in whole numbers.

    Raises
    ------
    ValueError
        If lengths do not agree, a value is missing, or the drawn row is not in the set.

    Source: Fisher, The Design of Experiments (1935).
    """
    if not (reference.rows == reference.observed).all(axis=1).any():
        raise ValueError("the drawn order is not in the reference set")
    extreme, in_integers = _count_extreme(reference, values)
    total = len(reference.rows)
    return ExactTest(extreme, total, extreme / total, reference.smallest_p(), in_integers)


def sampled_test(sample: PairSet, values: ArrayLike) -> SampledTest:
    """Return the two-sided p from a sample of the reference set.

    Parameters
    ----------
    sample : PairSet
        From `sampled_pair_set`, projected on whole blocks where something went wrong.
    values : array_like, shape (slots in use,)
        Outcome of the strip in each slot of ``sample.slots`` [any unit].

    Returns
    -------
    SampledTest
        p with its sampling error.

    Raises
    ------
    ValueError
        If lengths do not agree or a value is missing.

    Source: Phipson & Smyth, Statistical Applications in Genetics and Molecular Biology 9 (2010) 39 (from memory): the
    drawn order counts as one of the draws, so that p is never zero and never too small on average.
    """
    extreme, _ = _count_extreme(sample, values)
    draws = len(sample.rows)
    p = (1 + extreme) / (1 + draws)
    return SampledTest(extreme, draws, p, sqrt(p * (1 - p) / (1 + draws)), 1 / (1 + draws))


def _checked(plan: OrderPlan, limits: Sequence[Limit], order: ArrayLike) -> Orders:
    if not plan.holds(order):
        raise ValueError("the order does not hold the plan's methods in every block")
    row = np.asarray(order).astype(np.uint8)
    for limit in limits:
        if not limit.allows(row[np.newaxis], plan.blocks)[0]:
            raise ValueError(f"the drawn order breaks a limit of its own draw: {limit.name}")
    return row


def _inner_plan(plan: OrderPlan, row: Orders, free: NDArray[np.bool_]) -> OrderPlan:
    """Return the plan of the two methods alone, blocks without them left out."""
    blocks = (row[free & (plan.block_of_slot == b)].tolist() for b in range(len(plan.blocks)))
    return OrderPlan(tuple(tuple(block) for block in blocks if block))


def _parts(inner: Orders) -> list[Orders]:
    return [inner[start : start + _CHUNK] for start in range(0, len(inner), _CHUNK)]


def _kept(
    plan: OrderPlan, limits: Sequence[Limit], row: Orders, free: NDArray[np.bool_], inner: Orders
) -> NDArray[np.bool_]:
    """Return which placings of the two methods keep the limits with all other methods where they were."""
    if not limits:
        return np.ones(len(inner), dtype=np.bool_)
    full = np.tile(row, (len(inner), 1))
    full[:, free] = inner
    return allowed(limits, full, plan.blocks)


def _as_pair_set(
    plan: OrderPlan, row: Orders, free: NDArray[np.bool_], inner: Orders, first: int, second: int
) -> PairSet:
    """Turn placings of two methods into contrast rows."""
    block = plan.block_of_slot[free]
    weight_first, weight_second = _slot_weights(plan, first, second)
    both = weight_second[block] > 0
    slots = np.flatnonzero(free)[both]
    block, inner = block[both], inner[:, both]
    if not len(slots):
        raise ValueError(f"no block holds both method {first} and method {second}")
    rows = np.where(inner == second, weight_second[block], -weight_first[block])
    observed = np.where(row[slots] == second, weight_second[block], -weight_first[block])
    return PairSet(rows, observed, slots, block)


def _slot_weights(plan: OrderPlan, first: int, second: int) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
    """Return per block the whole-number weight of a strip of each method in the fixed-block gain.

    The analysis weighs a block's difference of means by ``a b / (a + b)`` for a and b strips, so a strip of the second
    method weighs ``a / (a + b)`` and one of the first ``b / (a + b)``.
    """
    numbers = [(block.count(first), block.count(second)) for block in plan.blocks]
    scale = lcm(*(a + b for a, b in numbers if a and b), 1)
    ones = [b * scale // (a + b) if a and b else 0 for a, b in numbers]
    others = [a * scale // (a + b) if a and b else 0 for a, b in numbers]
    shared = gcd(*ones, *others) or 1
    return np.array(ones, dtype=np.int16) // shared, np.array(others, dtype=np.int16) // shared


def _keys(rows: NDArray[np.int16]) -> NDArray[Any]:
    """Return one comparable key a row: where the second method stands tells the whole row."""
    bits = np.packbits(rows > 0, axis=1)
    width = 8 * -(-bits.shape[1] // 8)
    padded = np.zeros((len(bits), width), dtype=np.uint8)
    padded[:, : bits.shape[1]] = bits
    if width == 8:
        return padded.view(np.uint64).ravel()
    return padded.view(np.dtype((np.bytes_, width))).ravel()


def _count_extreme(reference: PairSet, values: ArrayLike) -> tuple[int, bool]:
    y = np.asarray(values, dtype=np.float64)
    if y.shape != reference.observed.shape:
        raise ValueError(f"{len(reference.observed)} values needed, one for each slot in use; got shape {y.shape}")
    exact = exact_values(y)
    # Whole numbers below 2**31 times weights below 2**15: their sums are exact in float64 too, and the product is fast.
    weights = exact.values.astype(np.float64)
    scale = np.abs(reference.observed).max()
    threshold = abs(float(reference.observed @ weights)) - float(scale) * exact.tie_tolerance()
    found = 0
    for start in range(0, len(reference.rows), _CHUNK):
        statistic = np.abs(reference.rows[start : start + _CHUNK].astype(np.float64) @ weights)
        found += int(np.count_nonzero(statistic >= threshold))
    return found, exact.digits is not None
