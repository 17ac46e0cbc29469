"""Orders of methods in the slots of blocks: how many there are, a list of them, draws from them.

An order is a row of small whole numbers, one method code a slot, blocks one after another. Every order keeps the
numbers of each method in each block; which of them a draw may give is decided by the limits of `order_limits`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import factorial, prod

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenground.numerics.order_limits import Limit, allowed

Orders = NDArray[np.uint8]
# Orders listed before a sample is drawn instead: some 4 million rows, 64 MB for 16 slots.
MOST_ORDERS = 2**22
# Orders handled at a time; keeps the work inside a few tens of megabytes.
_CHUNK = 2**16


@dataclass(frozen=True, slots=True)
class OrderPlan:
    """Which methods each block holds, before their places are drawn.

    Attributes
    ----------
    blocks : tuple of tuple of int
        For each block the method codes (0, 1, ...) of its slots in any order, repeated as often as they occur.
    """

    blocks: tuple[tuple[int, ...], ...]

    def __post_init__(self) -> None:
        if not self.blocks or not all(self.blocks):
            raise ValueError("every block needs at least one slot, and there must be a block")
        if not all(0 <= code <= 255 for block in self.blocks for code in block):
            raise ValueError("method codes must be whole numbers from 0 to 255")

    @classmethod
    def complete(cls, methods: int, blocks: int) -> OrderPlan:
        """Return the plan of blocks that hold each method once."""
        return cls((tuple(range(methods)),) * blocks)

    @classmethod
    def one_block(cls, numbers: Sequence[int]) -> OrderPlan:
        """Return the plan without blocks: method m stands in ``numbers[m]`` slots anywhere."""
        return cls((tuple(m for m, number in enumerate(numbers) for _ in range(number)),))

    @property
    def slots(self) -> int:
        """Number of slots [1]."""
        return sum(map(len, self.blocks))

    @property
    def methods(self) -> tuple[int, ...]:
        """Codes that occur, ascending."""
        return tuple(sorted({code for block in self.blocks for code in block}))

    @property
    def block_of_slot(self) -> NDArray[np.intp]:
        """Block (from 0) of each slot."""
        return np.repeat(np.arange(len(self.blocks)), [len(block) for block in self.blocks])

    def count(self) -> int:
        """Return the number of orders without limits [1]."""
        return prod(_arrangements(block) for block in self.blocks)

    def holds(self, order: ArrayLike) -> bool:
        """Return whether an order has the right methods in every block."""
        row = np.asarray(order)
        if row.shape != (self.slots,):
            return False
        parts = np.split(row, np.cumsum([len(block) for block in self.blocks])[:-1])
        return all(sorted(part.tolist()) == sorted(block) for part, block in zip(parts, self.blocks, strict=True))


@dataclass(frozen=True, slots=True)
class DrawnOrder:
    """One order drawn at random from the allowed ones.

    Attributes
    ----------
    order : ndarray of uint8, shape (slots,)
        Method code of each slot.
    tries : int
        Orders drawn until this one kept all limits [1].
    """

    order: Orders
    tries: int


def list_orders(plan: OrderPlan, limits: Sequence[Limit] = (), *, most: int = MOST_ORDERS) -> Orders:
    """Return every order of the plan that keeps the limits.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block.
    limits : sequence of Limit
        What an order must keep.
    most : int
        Orders that may be looked at [1].

    Returns
    -------
    ndarray of uint8, shape (allowed orders, slots)
        One order a row, in lexicographic order of the blocks' arrangements.

    Raises
    ------
    ValueError
        If the plan has more than ``most`` orders.

    Source: enumeration.

    Examples
    --------
    >>> list_orders(OrderPlan.complete(2, 2))
    array([[0, 1, 0, 1],
           [0, 1, 1, 0],
           [1, 0, 0, 1],
           [1, 0, 1, 0]], dtype=uint8)
    """
    if plan.count() > most:
        raise ValueError(f"{plan.count()} orders are too many to list; allowed: {most}; draw a sample instead")
    kept = [chunk[allowed(limits, chunk, plan.blocks)] for chunk in _chunks(plan)]
    return np.concatenate(kept)


def sample_orders(plan: OrderPlan, rng: np.random.Generator, size: int) -> Orders:
    """Return orders drawn independently and uniformly, without limits.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block.
    rng : numpy.random.Generator
        Source of randomness.
    size : int
        Orders wanted [1].

    Returns
    -------
    ndarray of uint8, shape (size, slots)

    Source: random permutation within blocks (Fisher 1935).
    """
    parts = [np.tile(np.array(block, dtype=np.uint8), (size, 1)) for block in plan.blocks]
    return np.concatenate([rng.permuted(part, axis=1) for part in parts], axis=1)


def sample_allowed(
    plan: OrderPlan, limits: Sequence[Limit], rng: np.random.Generator, size: int, *, most_tries: int = 1_000_000
) -> tuple[Orders, int]:
    """Return orders drawn independently and uniformly from those that keep the limits.

    Answers: what could the draw have given? By rejection, so every allowed order is equally likely.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block.
    limits : sequence of Limit
        What an order must keep.
    rng : numpy.random.Generator
        Source of randomness.
    size : int
        Orders wanted [1].
    most_tries : int
        Orders drawn before giving up [1].

    Returns
    -------
    orders : ndarray of uint8, shape (size, slots)
    tries : int
        Orders drawn up to and including the last one kept.

    Raises
    ------
    ValueError
        If fewer than ``size`` orders kept the limits in ``most_tries``.

    Source: rejection sampling.
    """
    kept, found, tries = [], 0, 0
    while found < size and tries < most_tries:
        batch = min(_CHUNK, most_tries - tries, max(64, 4 * (size - found)))
        orders = sample_orders(plan, rng, batch)
        places = np.flatnonzero(allowed(limits, orders, plan.blocks))[: size - found]
        kept.append(orders[places])
        found += len(places)
        tries += int(places[-1]) + 1 if found == size and len(places) else batch
    if found < size:
        raise ValueError(f"only {found} of {tries} orders drawn kept the limits, {size} wanted; loosen the limits")
    return np.concatenate(kept) if kept else np.empty((0, plan.slots), np.uint8), tries


def draw_order(
    plan: OrderPlan, limits: Sequence[Limit], rng: np.random.Generator, *, most_tries: int = 1_000_000
) -> DrawnOrder:
    """Return one order drawn uniformly from those that keep the limits.

    Parameters
    ----------
    plan : OrderPlan
        Methods of each block.
    limits : sequence of Limit
        What the order must keep.
    rng : numpy.random.Generator
        Source of randomness.
    most_tries : int
        Orders drawn before giving up [1].

    Returns
    -------
    DrawnOrder
        The order and how many tries it took.

    Raises
    ------
    ValueError
        If no order kept the limits in ``most_tries``.

    Source: rejection sampling.
    """
    orders, tries = sample_allowed(plan, limits, rng, 1, most_tries=most_tries)
    return DrawnOrder(orders[0], tries)


def _arrangements(block: Sequence[int]) -> int:
    return factorial(len(block)) // prod(factorial(n) for n in Counter(block).values())


@lru_cache(maxsize=256)
def _block_orders(numbers: tuple[tuple[int, int], ...]) -> Orders:
    """Return the distinct arrangements of codes that occur (code, times), lexicographic."""
    if not numbers:
        return np.empty((1, 0), dtype=np.uint8)
    parts = []
    for code, _ in numbers:
        rest = tuple((c, n - (c == code)) for c, n in numbers if n - (c == code))
        tail = _block_orders(rest)
        parts.append(np.column_stack((np.full(len(tail), code, dtype=np.uint8), tail)))
    return np.concatenate(parts)


def _chunks(plan: OrderPlan) -> Iterator[Orders]:
    """Yield all orders, some ten thousand rows at a time."""
    tables = [_block_orders(tuple(sorted(Counter(block).items()))) for block in plan.blocks]
    total = plan.count()
    for start in range(0, total, _CHUNK):
        place = np.arange(start, min(start + _CHUNK, total))
        parts = []
        for table in reversed(tables):
            place, here = np.divmod(place, len(table))
            parts.append(table[here])
        yield np.concatenate(parts[::-1], axis=1)
