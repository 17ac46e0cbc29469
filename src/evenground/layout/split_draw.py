"""The draw of two factors: whole plots within blocks first, then what is changed from the cab within each whole plot.

A whole plot is a group of strips side by side that one machine sows with one row pattern; between its strips the driver
changes the rate at the headland, with the machine lifted. Strips side by side, and not lengths of one strip, because a
rate needs some metres to settle, a terminal may fail, and a harvester weighs whole strips: no mark in the crop, no load
split in mid-field.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import comb

import numpy as np
from numpy.typing import NDArray

from evenground.basis.factors import FactorGrid
from evenground.basis.plan import Plan
from evenground.basis.strip import AppliedLimit, Draw, SplitDraw, Strip
from evenground.layout.draw import AllowedSet, DrawnCodes, DrawnMethods, count_orders, draw_codes
from evenground.layout.exposure import NO_EXPOSURE, Exposure, Weights
from evenground.layout.limits import limits_again
from evenground.numerics.orders import OrderPlan

# Of free draws the joint limit keeps at least this share. Judgement.
_KEPT_TOGETHER = 0.9
_LEVEL = 0.05
# What the joint limit leaves of the orders of whole plots at the least, as found for 6 to 10 blocks.
_LEAST_LEFT = 0.8
_MOST_TRIES = 1000


@dataclass(frozen=True, slots=True)
class DrawnSplit:
    """What came out of a draw of two factors.

    Attributes
    ----------
    methods : DrawnMethods
        Method of each strip; its limits are those on strips within whole plots, its number of orders is that of both
        draws together, its smallest p the larger of the two.
    split : SplitDraw
        How whole plots were drawn.
    """

    methods: DrawnMethods
    split: SplitDraw


def draw_split(
    plan: Plan, grid: FactorGrid, blocks: int, rng: np.random.Generator, exposure: Exposure = NO_EXPOSURE
) -> DrawnSplit:
    """Draw the methods of all strips of a trial of two factors.

    Both draws keep the plan's limits, each as far as its own randomisation test can afford: the first over whole
    plots, the second over strips within them. Of two patterns and two rates the orders of rates must not go with the
    patterns (`together_bound`). Every pair of orders that keeps all this is equally likely.

    Parameters
    ----------
    plan : Plan
        Limits.
    grid : FactorGrid
        Methods as a table of two factors.
    blocks : int
        Complete blocks [1].
    rng : numpy.random.Generator
        Source of randomness.
    exposure : Exposure
        What the strips are exposed to.

    Returns
    -------
    DrawnSplit

    Raises
    ------
    ValueError
        If there is no block.

    Source: Yates, J. R. Stat. Soc. Suppl. 2 (1935) 181-247: whole plots at random in blocks, parts at random in them.
    """
    upper, lower = len(grid.whole_levels), grid.per_plot
    limits = plan.layout.limits
    joint = together_bound(blocks) if (upper, lower) == (2, 2) and "equal_orders" in limits else None
    for _ in range(_MOST_TRIES):
        whole = draw_codes((tuple(range(upper)),) * blocks, limits, 0, rng, of_plots(exposure, lower))
        within = draw_codes((tuple(range(lower)),) * (blocks * upper), limits, 0, rng, exposure)
        signs, turns = _signs(whole.order), _signs(within.order[::lower])
        if joint is not None and _too_few(whole):
            joint = None
        if joint is None or abs(int(signs @ turns)) <= 2 * joint:
            break
    else:
        raise ValueError("no pair of orders keeps the limit on both factors together")
    letters = tuple(grid.letters[whole.order[i // lower]][code] for i, code in enumerate(within.order))
    drawn = DrawnSplit(
        DrawnMethods(
            letters=letters,
            limits=within.limits,
            allowed_orders=whole.allowed_orders * within.allowed_orders,
            listed=whole.listed and within.listed,
            smallest_p=max(whole.smallest_p, within.smallest_p),
            can_reject=whole.can_reject and within.can_reject,
        ),
        SplitDraw(
            whole=grid.whole,
            within=grid.within,
            whole_levels=grid.whole_levels,
            within_levels=grid.within_levels,
            letters=grid.letters,
            limits=whole.limits,
            whole_orders=whole.allowed_orders,
            within_orders=within.allowed_orders,
            whole_listed=whole.listed,
            within_listed=within.listed,
            whole_smallest_p=whole.smallest_p,
            within_smallest_p=within.smallest_p,
        ),
    )
    return drawn if joint is None else _with_joint_limit(drawn, whole, within, joint)


def together_bound(blocks: int) -> int:
    """Return how many whole plots' orders of rates may go with the row pattern beyond an even share [1].

    Answers: rates stand in the sequence low, high or high, low in each whole plot. If all whole plots of one pattern
    had the one sequence and all of the other the other, a steady rise across every whole plot would look as if the
    rate counted differently in the two patterns. The smallest bound that nine in ten free draws keep.

    Parameters
    ----------
    blocks : int
        Blocks of two whole plots of two strips [1].

    Source: binomial distribution; nine in ten is judgement, so that the randomisation tests keep their reach.

    Examples
    --------
    >>> together_bound(6), together_bound(10)
    (3, 4)
    """
    plots = 2 * blocks
    share, bound = comb(plots, blocks) / 2**plots, 0
    while share < _KEPT_TOGETHER:
        bound += 1
        share += 2 * comb(plots, blocks + bound) / 2**plots
    return bound


def _too_few(whole: DrawnCodes) -> bool:
    """Whether the joint limit could take the reach of the test of whole plots away; the same whatever was drawn."""
    reaches = 2.0 / whole.allowed_orders <= _LEVEL
    return reaches and 2.0 / (_LEAST_LEFT * whole.allowed_orders) > _LEVEL


def _signs(codes: Sequence[int]) -> NDArray[np.int64]:
    return np.where(np.asarray(codes) == 1, 1, -1).astype(np.int64)


def _with_joint_limit(drawn: DrawnSplit, whole: DrawnCodes, within: DrawnCodes, bound: int) -> DrawnSplit:
    """Store the limit on both factors together with either draw, as seen from it, and count what is left of each.

    Both orders were drawn anew until the limit was kept, so that every pair of orders that keeps it is equally likely;
    with one of them given, the other is uniform on what the limit leaves of its own set.
    """
    turns, signs = _signs(within.order[::2]), _signs(whole.order)
    of_strips = tuple((float(sign * at),) for sign in signs for at in (-0.5, 0.5))
    of_whole = tuple((float(turn),) for turn in turns)
    reason = (
        f"the order of levels of the {drawn.split.within} goes with the {drawn.split.whole} in no more than {bound:g} "
        "whole plots beyond an even share, so that a rise across them does not pass for one depending on the other."
    )
    limit = AppliedLimit(name="both_together", bound=float(bound), applied=True, reason=reason)
    added = tuple(limit.model_copy(update={"weights": weights}) for weights in (of_whole, of_strips))
    upper_limits, lower_limits = (*drawn.split.limits, added[0]), (*drawn.methods.limits, added[1])
    upper = _left((0, 1), whole, upper_limits)
    lower = _left((0, 1), within, lower_limits)
    split = drawn.split.model_copy(
        update={
            "limits": upper_limits,
            "whole_orders": upper[0],
            "within_orders": lower[0],
            "whole_smallest_p": upper[1],
            "within_smallest_p": lower[1],
        }
    )
    methods = replace(
        drawn.methods,
        limits=lower_limits,
        smallest_p=max(upper[1], lower[1]),
        can_reject=drawn.methods.can_reject and max(upper[1], lower[1]) <= _LEVEL,
    )
    return DrawnSplit(methods, split)


def _left(block: tuple[int, ...], drawn: DrawnCodes, limits: Sequence[AppliedLimit]) -> tuple[int, float]:
    """Return how many orders the limits leave and the smallest p over them; as before where they were not listed."""
    if not drawn.listed:
        return drawn.allowed_orders, drawn.smallest_p
    plan = OrderPlan((block,) * (len(drawn.order) // len(block)))
    left = count_orders(plan, limits_again(limits, len(drawn.order)))
    # Both levels stand once in every block and the set is closed under swapping them.
    return left, 2.0 / left


def of_plots(exposure: Exposure, per_plot: int) -> Exposure:
    """Return what whole plots are exposed to: open sides and tramlines added up, covariates averaged.

    Parameters
    ----------
    exposure : Exposure
        Of the strips, those of a whole plot one after another.
    per_plot : int
        Strips of a whole plot [1].

    Returns
    -------
    Exposure

    Source: definition.
    """
    return Exposure(
        _by_plot(exposure.edge, per_plot),
        _by_plot(exposure.tramline, per_plot),
        _by_plot(exposure.covariates, per_plot, mean=True),
        exposure.names,
        exposure.notes,
    )


def _by_plot(weights: Weights, per_plot: int, *, mean: bool = False) -> Weights:
    if not weights:
        return ()
    table = np.array(weights).reshape(-1, per_plot, len(weights[0])).sum(1) / (per_plot if mean else 1)
    return tuple(tuple(row) for row in np.round(table, 12).tolist())


def whole_set(draw: Draw) -> AllowedSet:
    """Return the orders of whole plots a stored draw of two factors could have given.

    Parameters
    ----------
    draw : Draw
        As stored, with two factors.

    Returns
    -------
    AllowedSet
        Places are whole plots: ``letters`` are the whole levels in words, ``strips`` the numbers of whole plots.

    Raises
    ------
    ValueError
        If the draw has one factor, or its strips do not lie in whole plots of whole blocks.

    Source: definition.
    """
    split, plots = _split(draw), _plots(draw)
    codes = [split.levels_of(strips[0].method)[0] for strips in plots]
    blocks = tuple(dict.fromkeys(strips[0].block for strips in plots))
    of_block = [tuple(c for c, s in zip(codes, plots, strict=True) if s[0].block == b) for b in blocks]
    return AllowedSet(
        split.whole_levels,
        OrderPlan(tuple(tuple(sorted(codes)) for codes in of_block)),
        limits_again(split.limits, len(plots)),
        np.array(codes, dtype=np.uint8),
        tuple(_number(strips) for strips in plots),
        blocks,
    )


def within_set(draw: Draw) -> AllowedSet:
    """Return the orders of strips within whole plots a stored draw of two factors could have given.

    Parameters
    ----------
    draw : Draw
        As stored, with two factors.

    Returns
    -------
    AllowedSet
        Its blocks are whole plots; ``letters`` are the levels within in words.

    Raises
    ------
    ValueError
        As `whole_set`.

    Source: definition.
    """
    split, plots = _split(draw), _plots(draw)
    codes = [tuple(split.levels_of(strip.method)[1] for strip in strips) for strips in plots]
    strips = [strip for plot in plots for strip in plot]
    return AllowedSet(
        split.within_levels,
        OrderPlan(tuple(tuple(sorted(plot)) for plot in codes)),
        limits_again(draw.limits, len(strips)),
        np.array([code for plot in codes for code in plot], dtype=np.uint8),
        tuple(strip.strip for strip in strips),
        tuple(_number(plot) for plot in plots),
    )


def _split(draw: Draw) -> SplitDraw:
    if draw.split is None:
        raise ValueError("this draw has one factor; see `evenground.layout.draw.allowed_set`")
    return draw.split


def _plots(draw: Draw) -> list[tuple[Strip, ...]]:
    """Return the strips of each whole plot, in the order of the field."""
    split, plots = _split(draw), dict[int, list[Strip]]()
    strips = sorted(draw.strips, key=lambda strip: strip.strip)
    for strip in strips:
        if strip.whole_plot is None:
            raise ValueError(f"strip {strip.strip} belongs to no whole plot")
        plots.setdefault(strip.whole_plot, []).append(strip)
    for number, members in plots.items():
        if not _sound(split, members):
            raise ValueError(f"whole plot {number} does not hold every level of the {split.within} side by side once")
    if [s.strip for members in plots.values() for s in members] != [s.strip for s in strips]:
        raise ValueError("the strips of a whole plot must have neighbouring numbers")
    return [tuple(members) for members in plots.values()]


def _sound(split: SplitDraw, strips: Sequence[Strip]) -> bool:
    try:
        levels = [split.levels_of(strip.method) for strip in strips]
    except KeyError:
        return False
    alike = len({upper for upper, _ in levels}) == 1 and len({strip.block for strip in strips}) == 1
    return alike and sorted(lower for _, lower in levels) == list(range(len(split.within_levels)))


def _number(strips: Sequence[Strip]) -> int:
    number = strips[0].whole_plot
    assert number is not None
    return number
