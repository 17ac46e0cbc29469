"""Exact randomisation tests for blocks by halves that meet in the middle.

The sums over all patterns of one half of the blocks are listed and sorted, those of the other half are looked up in
them: 2**20 sums on each side instead of 2**40 patterns. Same idea as the subset-sum method of Horowitz and Sahni,
Journal of the ACM 21 (1974) 277-292 (from memory); the test itself is Fisher, The Design of Experiments (1935),
section 21.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb, prod
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenground.numerics.integer_scale import ExactValues, exact_values

# int64 where the data are decimals, float64 otherwise.
Sums = NDArray[Any]
# Sums held for one half; 2**22 of them are 32 MB and reach 44 pairs.
MOST_SUMS = 2**22


@dataclass(frozen=True, slots=True)
class ExactTest:
    """Answer of a randomisation test that counted the whole reference set.

    Attributes
    ----------
    extreme : int
        Orders whose absolute statistic is at least the observed one, ties included.
    total : int
        Orders in the reference set, each as often as it arises.
    p_value : float
        ``extreme / total``, two-sided [1].
    smallest_p : float
        Smallest p this set can give to data without ties [1].
    in_integers : bool
        True when the data were decimals and the count used whole numbers only.
    """

    extreme: int
    total: int
    p_value: float
    smallest_p: float
    in_integers: bool


def sign_flip_test(differences: ArrayLike) -> ExactTest:
    """Return the exact two-sided p of the mean difference over all 2**n orders within pairs.

    Answers: had the two methods been alike, in what share of the orders the draw could have given would the pairs
    differ on average by as much as they did? Statistic ``abs(sum(s * d))`` over every sign pattern s.

    Parameters
    ----------
    differences : array_like, shape (n,)
        Second method minus first in each pair [any unit], 1 <= n <= 44; to 62 for decimals with few distinct sums.

    Returns
    -------
    ExactTest
        Count, number of orders, p and the smallest possible p, 2 / 2**n.

    Raises
    ------
    ValueError
        If there is no pair, a value is not finite, or the halves would not fit in memory.

    Source: Fisher, The Design of Experiments (1935), section 21.

    Examples
    --------
    >>> eighths = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]
    >>> test = sign_flip_test(eighths)
    >>> test.extreme, test.total
    (1726, 32768)
    """
    exact = exact_values(_pairs(differences))
    d, total = exact.values, 2 ** len(exact.values)
    by_value = total > MOST_SUMS**2 and _few_values(exact)
    if not by_value:
        _check_halves(total)
    threshold = abs(_number(d.sum())) - exact.tie_tolerance()
    if threshold <= 0:
        return _answer(total, total, 2 / total, exact)
    if by_value:
        return _answer(_count_by_value(d, threshold), total, 2 / total, exact)
    half = len(d) // 2
    # Patterns come in mirror pairs, so one tail is enough.
    extreme = 2 * _count_above(_signed_sums(d[:half]), _signed_sums(d[half:]), threshold)
    return _answer(extreme, total, 2 / total, exact)


def counted_flip_test(slot_differences: ArrayLike, signs: ArrayLike, count_weights: Sequence[int]) -> ExactTest:
    """Return the exact two-sided p when an order's weight depends only on how many pairs are sown AB.

    Answers the question of `sign_flip_test` for draws that kept the numbers of AB and BA pairs equal (or given), also
    after some pairs were lost.

    Parameters
    ----------
    slot_differences : array_like, shape (n,)
        Later slot minus earlier slot in each pair [any unit].
    signs : array_like of +1 and -1, shape (n,)
        +1 where the second method stood in the later slot (AB), as drawn.
    count_weights : sequence of int, length n + 1
        How often the set holds each order with 0, 1, ... n pairs AB; see `count_weights`.

    Returns
    -------
    ExactTest
        Count, number of orders, p and the smallest possible p.

    Raises
    ------
    ValueError
        If lengths do not agree, a sign is not +1 or -1, a weight is negative, or the drawn order is not in the set.

    Source: statistic as `sign_flip_test`; the set is what the draw allowed.

    Examples
    --------
    >>> test = counted_flip_test([2.0, 3.0, -4.0, -5.0], [1, 1, -1, -1], count_weights(4, [2]))
    >>> test.extreme, test.total, round(test.smallest_p, 3)
    (2, 6, 0.333)
    """
    exact, s = exact_values(_pairs(slot_differences)), np.asarray(signs)
    n = len(exact.values)
    _check_counted(n, s, count_weights)
    total = sum(w * comb(n, c) for c, w in enumerate(count_weights))
    smallest = min(w + count_weights[n - c] for c, w in enumerate(count_weights) if w) / total
    threshold = abs(_number((s * exact.values).sum())) - exact.tie_tolerance()
    if threshold <= 0:
        return _answer(total, total, smallest, exact)
    return _answer(_count_grouped(exact.values, threshold, count_weights), total, smallest, exact)


def count_weights(pairs: int, plus_counts: Sequence[int], *, broken: int = 0) -> tuple[int, ...]:
    """Return how often each number of AB pairs arises among the pairs that stayed whole.

    Parameters
    ----------
    pairs : int
        Pairs drawn [1].
    plus_counts : sequence of int
        Numbers of AB pairs that the draw allowed, for example ``[n // 2]``, or ``[2, 3]`` for five pairs.
    broken : int
        Pairs not sown and weighed as drawn [1].

    Returns
    -------
    tuple of int, length pairs - broken + 1
        Weight of an order of the whole pairs with 0, 1, ... of them AB: the drawn orders that look like it there.

    Raises
    ------
    ValueError
        If a number is outside what the pairs allow.

    Source: counting; an order with c of the whole pairs AB has ``comb(broken, k - c)`` completions with k AB in all.

    Examples
    --------
    >>> count_weights(8, [4], broken=1)
    (0, 0, 0, 1, 1, 0, 0, 0)
    """
    if not 0 <= broken < pairs or not plus_counts or not all(0 <= k <= pairs for k in plus_counts):
        raise ValueError(f"cannot drop {broken} of {pairs} pairs with {list(plus_counts)} of them AB")
    allowed = sorted(set(plus_counts))
    return tuple(sum(comb(broken, k - c) for k in allowed if k >= c) for c in range(pairs - broken + 1))


def option_test(options: Sequence[ArrayLike], observed: Sequence[int]) -> ExactTest:
    """Return the exact two-sided p when each block could have given one of a short list of values.

    Answers the question of `sign_flip_test` for blocks that hold several strips of a method: each way of dealing the
    methods to a block's slots is one option, with the gain it would have given (`block_options`).

    Parameters
    ----------
    options : sequence of array_like
        For each block the equally likely contributions to the statistic [one unit for all].
    observed : sequence of int
        For each block the place of the drawn option in its list.

    Returns
    -------
    ExactTest
        Count, number of orders, p and the smallest possible p (2 / total for mirrored lists, else 1 / total).

    Raises
    ------
    ValueError
        If lengths do not agree, a list is empty, or the halves would not fit in memory.

    Source: as `sign_flip_test`.
    """
    lists = [_pairs(block) for block in options]
    if len(lists) != len(observed) or not lists:
        raise ValueError(f"{len(lists)} blocks of options but {len(observed)} drawn options")
    exact = exact_values(np.concatenate(lists))
    cuts = np.cumsum([len(block) for block in lists])[:-1]
    blocks = np.split(exact.values, cuts)
    total = prod(len(block) for block in blocks)
    _check_halves(total)
    statistic = sum(_number(block[i]) for block, i in zip(blocks, observed, strict=True))
    slack = exact.tie_tolerance()
    mirrored = all(np.abs(np.sort(b) + np.sort(b)[::-1]).max() <= slack for b in blocks)
    threshold = abs(statistic) - slack
    smallest = min(1.0, (2 if mirrored else 1) / total)
    if threshold <= 0:
        return _answer(total, total, smallest, exact)
    one, other = _balanced_halves(blocks)
    return _answer(_count_both(one, other, threshold), total, smallest, exact)


def block_options(values: ArrayLike, later_method: Sequence[int]) -> tuple[NDArray[np.float64], int]:
    """Return a block's gain under every way of dealing two methods to its slots, and which of them was drawn.

    Parameters
    ----------
    values : array_like, shape (m,)
        Outcome of each strip of the block [any unit].
    later_method : sequence of int
        Slots (from 0) that hold the second method, as drawn.

    Returns
    -------
    options : ndarray, shape (comb(m, k),)
        Mean of second method minus mean of first for every choice of k slots [unit of values].
    observed : int
        Place of the drawn choice in ``options``.

    Raises
    ------
    ValueError
        If one of the methods has no slot or a slot does not exist.

    Source: definition of the gain in a block.

    Examples
    --------
    >>> block_options([5.0, 7.0, 6.0], [1])
    (array([-1.5,  1.5,  0. ]), 1)
    """
    y = _pairs(values)
    chosen = tuple(sorted(set(later_method)))
    if not 0 < len(chosen) < len(y) or chosen[0] < 0 or chosen[-1] >= len(y):
        raise ValueError(f"slots {list(later_method)} do not leave both methods in a block of {len(y)} strips")
    ways = list(combinations(range(len(y)), len(chosen)))
    second = y[np.array(ways)].sum(axis=1)
    gains = second / len(chosen) - (y.sum() - second) / (len(y) - len(chosen))
    return gains, ways.index(chosen)


def _pairs(values: ArrayLike) -> NDArray[np.float64]:
    array = np.asarray(values, dtype=np.float64)
    if array.ndim != 1 or array.size == 0:
        raise ValueError(f"expected a list of at least one number, got shape {array.shape}")
    return array


def _number(value: np.generic) -> int | float:
    """Return a numpy number as int or float, so that thresholds of whole numbers stay whole."""
    number: int | float = value.item()
    return number


def _check_halves(total: int) -> None:
    if total > MOST_SUMS**2:
        raise ValueError(f"{total} orders are too many to count; allowed: {MOST_SUMS**2}; draw a sample instead")


def _check_counted(n: int, signs: NDArray[Any], weights: Sequence[int]) -> None:
    _check_halves(2**n)
    if signs.shape != (n,) or not np.isin(signs, (-1, 1)).all():
        raise ValueError(f"signs must be {n} times +1 or -1")
    if len(weights) != n + 1 or min(weights) < 0:
        raise ValueError(f"count_weights must be {n + 1} whole numbers of at least 0, got {list(weights)}")
    plus = int(np.count_nonzero(signs == 1))
    if weights[plus] == 0:
        raise ValueError(f"the drawn order has {plus} pairs AB, which the set does not hold")


def _answer(extreme: int, total: int, smallest: float, exact: ExactValues) -> ExactTest:
    return ExactTest(extreme, total, extreme / total, min(1.0, smallest), exact.digits is not None)


def _few_values(exact: ExactValues) -> bool:
    """Return whether more pairs than the halves can hold may be counted sum by sum."""
    return exact.digits is not None and len(exact.values) <= 62 and int(np.abs(exact.values).sum()) < MOST_SUMS


def _count_by_value(values: Sums, threshold: int | float) -> int:
    """Return how many patterns of whole numbers reach +-threshold, from the number of patterns of each sum."""
    reach = int(np.abs(values).sum())
    patterns = np.zeros(2 * reach + 1, dtype=np.int64)
    patterns[reach] = 1
    for value in np.abs(values).tolist():
        # No sum so far lies within ``value`` of the ends, so nothing is rolled over them.
        patterns = np.roll(patterns, value) + np.roll(patterns, -value)
    return int(patterns[np.abs(np.arange(-reach, reach + 1)) >= threshold].sum())


def _signed_sums(values: Sums) -> Sums:
    """Return all sums of +-values, sorted."""
    sums = np.zeros(1, dtype=values.dtype)
    for value in values:
        sums = np.concatenate((sums - value, sums + value))
    sums.sort()
    return sums


def _option_sums(blocks: Sequence[Sums]) -> Sums:
    """Return all sums of one value from each block, sorted."""
    sums = np.zeros(1, dtype=blocks[0].dtype if blocks else np.float64)
    for block in blocks:
        sums = np.add.outer(sums, block).ravel()
    sums.sort()
    return sums


def _balanced_halves(blocks: Sequence[Sums]) -> tuple[Sums, Sums]:
    """Split the blocks so that both sides list about equally many sums, largest blocks dealt first."""
    sides: tuple[list[Sums], list[Sums]] = ([], [])
    sizes = [1, 1]
    for block in sorted(blocks, key=len, reverse=True):
        side = int(sizes[1] < sizes[0])
        sides[side].append(block)
        sizes[side] *= len(block)
    if max(sizes) > 4 * MOST_SUMS:
        raise ValueError(f"one half would hold {max(sizes)} sums; allowed: {4 * MOST_SUMS}; draw a sample instead")
    empty = np.zeros(1, dtype=blocks[0].dtype)
    return _option_sums(sides[0]), _option_sums(sides[1]) if sides[1] else empty


def _sums_by_count(values: Sums) -> list[Sums]:
    """Return the sums of +-values, sorted, apart for each number of plus signs."""
    groups: list[Sums] = [np.zeros(1, dtype=values.dtype)]
    for value in values:
        minus, plus = [g - value for g in groups], [g + value for g in groups]
        inner = [np.concatenate((a, b)) for a, b in zip(minus[1:], plus[:-1], strict=True)]
        groups = [minus[0], *inner, plus[-1]]
    for group in groups:
        group.sort()
    return groups


def _count_grouped(values: Sums, threshold: int | float, weights: Sequence[int]) -> int:
    half = len(values) // 2
    ones, others = _sums_by_count(values[:half]), _sums_by_count(values[half:])
    found = 0
    for i, one in enumerate(ones):
        for j, other in enumerate(others):
            if weights[i + j]:
                found += weights[i + j] * _count_both(one, other, threshold)
    return found


def _count_above(one: Sums, other: Sums, threshold: int | float) -> int:
    """Return how many pairs of sums reach the threshold; both sorted, so that the look-ups walk through memory once."""
    few, many = (one, other) if len(one) < len(other) else (other, one)
    below = np.searchsorted(many, threshold - few, side="left")
    return int(len(one) * len(other) - below.sum())


def _count_both(one: Sums, other: Sums, threshold: int | float) -> int:
    """Return how many pairs of sums lie at or outside +-threshold."""
    few, many = (one, other) if len(one) < len(other) else (other, one)
    return _count_above(one, other, threshold) + int(np.searchsorted(many, -threshold - few, side="right").sum())
