"""The draw: which strip gets which method, and the set of orders it could have been."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from evenground.basis.layout_plan import LimitName
from evenground.basis.plan import Plan
from evenground.basis.strip import AppliedLimit, Draw
from evenground.layout.exposure import NO_EXPOSURE, Exposure
from evenground.layout.limits import fix_limits, limits_again
from evenground.numerics.order_counts import count_allowed
from evenground.numerics.order_limits import Limit
from evenground.numerics.orders import MOST_ORDERS, OrderPlan, Orders, draw_order, list_orders
from evenground.numerics.reference_sets import PairSet, pair_set

# More placings of two methods than this are not listed just to say how small p can be.
_MOST_PAIRS = 2**18


@dataclass(frozen=True, slots=True)
class DrawnMethods:
    """What came out of a draw, before it is tied to strips in the field.

    Attributes
    ----------
    letters : tuple of str
        Method of each strip, in the order of the strips.
    limits : tuple of AppliedLimit
        All limits asked for, applied or dropped.
    allowed_orders : int
        Orders that could have come out [1]; without limits where they were too many to list.
    listed : bool
        Whether they were listed.
    smallest_p : float
        Smallest p of the randomisation test, the largest over the methods [1].
    can_reject : bool
        Whether the test can reach 5 % for every method.
    """

    letters: tuple[str, ...]
    limits: tuple[AppliedLimit, ...]
    allowed_orders: int
    listed: bool
    smallest_p: float
    can_reject: bool


@dataclass(frozen=True, slots=True)
class AllowedSet:
    """The orders a stored draw could have given.

    Attributes
    ----------
    letters : tuple of str
        Methods; their places are the codes used in orders.
    order_plan : OrderPlan
        Methods of each block.
    limits : tuple of Limit
        What every order keeps.
    order : ndarray of uint8, shape (strips,)
        Codes as drawn, in the order of the strips.
    strips : tuple of int
        Number of the strip in each place.
    blocks : tuple of int
        Number of each block, in the order of the strips.
    """

    letters: tuple[str, ...]
    order_plan: OrderPlan
    limits: tuple[Limit, ...]
    order: Orders
    strips: tuple[int, ...]
    blocks: tuple[int, ...]

    def listed(self) -> Orders:
        """Return every order, shape (orders, strips).

        Raises
        ------
        ValueError
            If they are too many to list.
        """
        return list_orders(self.order_plan, self.limits)


def draw_methods(plan: Plan, blocks: int, rng: np.random.Generator, exposure: Exposure = NO_EXPOSURE) -> DrawnMethods:
    """Draw the methods of all strips at random within the plan's limits.

    Every allowed order is equally likely. The limits are fixed first, from the plan, the number of blocks and what the
    strips are exposed to.

    Parameters
    ----------
    plan : Plan
        Methods and limits.
    blocks : int
        Complete blocks [1].
    rng : numpy.random.Generator
        Source of randomness.
    exposure : Exposure
        What the strips are exposed to.

    Returns
    -------
    DrawnMethods

    Raises
    ------
    ValueError
        If there is no block.

    Source: Fisher, The Design of Experiments (1935): what was drawn is what the test may assume.
    """
    letters = tuple(sorted(plan.letters))
    block = tuple(code for code, letter in enumerate(letters) for _ in range(plan.strips_in_block(letter)))
    drawn = draw_codes((block,) * blocks, plan.layout.limits, letters.index(plan.baseline.letter), rng, exposure)
    return DrawnMethods(
        letters=tuple(letters[code] for code in drawn.order),
        limits=drawn.limits,
        allowed_orders=drawn.allowed_orders,
        listed=drawn.listed,
        smallest_p=drawn.smallest_p,
        can_reject=drawn.can_reject,
    )


@dataclass(frozen=True, slots=True)
class DrawnCodes:
    """One order as drawn; attributes as `DrawnMethods`, with codes in place of letters.

    Attributes
    ----------
    order : tuple of int
        Code in each place.
    limits, allowed_orders, listed, smallest_p, can_reject
        As `DrawnMethods`.
    """

    order: tuple[int, ...]
    limits: tuple[AppliedLimit, ...]
    allowed_orders: int
    listed: bool
    smallest_p: float
    can_reject: bool


def draw_codes(
    blocks: tuple[tuple[int, ...], ...],
    names: tuple[LimitName, ...],
    baseline: int,
    rng: np.random.Generator,
    exposure: Exposure = NO_EXPOSURE,
) -> DrawnCodes:
    """Draw one order of codes at random within limits that are fixed first.

    Parameters
    ----------
    blocks : tuple of tuple of int
        Codes each block holds.
    names : tuple of str
        Limits asked for, most important first.
    baseline : int
        Code of the baseline.
    rng : numpy.random.Generator
        Source of randomness.
    exposure : Exposure
        What the places are exposed to.

    Returns
    -------
    DrawnCodes

    Raises
    ------
    ValueError
        If there is no block.

    Source: Fisher, The Design of Experiments (1935).
    """
    order_plan = OrderPlan(blocks)
    fixed = fix_limits(order_plan, names, baseline, exposure)
    drawn = draw_order(order_plan, fixed.limits, rng)
    listed = order_plan.count() <= MOST_ORDERS
    return DrawnCodes(
        order=tuple(int(code) for code in drawn.order),
        limits=fixed.applied,
        allowed_orders=count_orders(order_plan, fixed.limits) if listed and fixed.limits else order_plan.count(),
        listed=listed,
        smallest_p=_smallest_p(order_plan, fixed.limits, drawn.order, baseline, fixed.cost.smallest_p),
        can_reject=fixed.cost.can_reject,
    )


@lru_cache(maxsize=16)
def count_orders(order_plan: OrderPlan, limits: tuple[Limit, ...]) -> int:
    """Return how many orders keep the limits [1]; those without limits must be few enough to list."""
    return count_allowed(order_plan, limits)


def allowed_set(draw: Draw) -> AllowedSet:
    """Return the set of orders a stored draw could have given: the reference set of the randomisation test.

    Parameters
    ----------
    draw : Draw
        As stored. Its drawn methods count, whatever was sown later.

    Returns
    -------
    AllowedSet
        Depends on the blocks, methods and limits of the draw only.

    Raises
    ------
    ValueError
        If the strips of a block are not neighbours in number, or the draw is one of two factors (see
        `evenground.layout.split_draw`).

    Source: definition.
    """
    if draw.split is not None:
        raise ValueError("a draw of two factors has two sets of orders: of whole plots, and within them")
    strips = sorted(draw.strips, key=lambda strip: strip.strip)
    letters = tuple(sorted({strip.method for strip in strips}))
    blocks = tuple(dict.fromkeys(strip.block for strip in strips))
    codes = [[letters.index(s.method) for s in strips if s.block == block] for block in blocks]
    if [s.block for s in strips] != [b for b, block in zip(blocks, codes, strict=True) for _ in block]:
        raise ValueError("the strips of a block must have neighbouring numbers")
    order_plan = OrderPlan(tuple(tuple(sorted(block)) for block in codes))
    order = np.array([code for block in codes for code in block], dtype=np.uint8)
    limits = limits_again(draw.limits, len(strips))
    return AllowedSet(letters, order_plan, limits, order, tuple(s.strip for s in strips), blocks)


def pair_patterns_of(draw: Draw, method: str, baseline: str, usable_blocks: Collection[int] | None = None) -> PairSet:
    """Return the ways the draw could have placed a method and the baseline, for the randomisation test.

    Answers: over which orders is the gain of this method tested? Orders that leave the other methods where they are,
    projected on the blocks that were sown and weighed as drawn, each as often as it arises.

    Parameters
    ----------
    draw : Draw
        As stored.
    method, baseline : str
        Letters; the gain is method minus baseline.
    usable_blocks : collection of int, optional
        Numbers of the blocks that count; all by default.

    Returns
    -------
    PairSet
        Rows of contrast weights; the drawn row is among them. ``slots`` are places in ``allowed_set(draw).strips``.

    Raises
    ------
    ValueError
        If a letter was not drawn, no usable block holds both, or the orders are too many to list.

    Source: `evenground.numerics.reference_sets`.
    """
    whole = allowed_set(draw)
    for letter in (method, baseline):
        if letter not in whole.letters:
            raise ValueError(f"method {letter} is not in the draw; it holds {', '.join(whole.letters)}")
    first, second = whole.letters.index(baseline), whole.letters.index(method)
    full = pair_set(whole.order_plan, whole.limits, whole.order, first, second)
    if usable_blocks is None:
        return full
    return full.without_blocks([i for i, block in enumerate(whole.blocks) if block not in usable_blocks])


def _smallest_p(
    order_plan: OrderPlan, limits: tuple[Limit, ...], order: NDArray[np.uint8], baseline: int, of_the_set: float
) -> float:
    """Return the smallest p for the drawn order, of many blocks that of the set.

    With three methods and more it depends on where the others stand.
    """
    others = [code for code in order_plan.methods if code != baseline]
    if 2 ** len(order_plan.blocks) > _MOST_PAIRS:
        return of_the_set
    return max(pair_set(order_plan, limits, order, baseline, other).smallest_p() for other in others)
