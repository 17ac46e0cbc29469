"""The order in which each planter drives its passes: one machine at a time, turns it can take, hours and hectares."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import acos, fsum, pi, sqrt

from evenground.basis.method import Method
from evenground.basis.pace import field_capacity_ha_per_h
from evenground.basis.plan import Plan
from evenground.basis.seed_lots import lots_of_blocks
from evenground.layout.guidance import GuidanceLine, sowing_lines
from evenground.layout.turned_field import TurnedField

_M2_PER_HA = 10_000.0

ORDER_REASONS = (
    "One machine at a time: a machine that waits in the field packs the soil of one method.",
    "All strips of a machine first, its headland rounds last: no wheel runs over sown headland rows.",
    "Turns on the headland only, never through a strip.",
)
ONE_PART_AFTER_ANOTHER = "The field lies in parts: one part is finished before the next is begun."
ONE_LOT_AFTER_ANOTHER = "All strips of one seed lot are sown before the next lot goes into the hopper."


@dataclass(frozen=True)
class Turn:
    """A turn from one pass to another on the headland.

    Attributes
    ----------
    apart_m : float
        Distance between the two passes [m].
    length_m : float
        Way driven [m].
    depth_m : float
        How far the middle of the machine goes beyond the strips' ends [m].
    tight : bool
        True where the passes are closer than two turning radii, so that the machine must swing out.
    """

    apart_m: float
    length_m: float
    depth_m: float
    tight: bool


@dataclass(frozen=True)
class WorkPass:
    """One pass in the order in which it is driven.

    Attributes
    ----------
    number : int
        Place in the order.
    line : GuidanceLine
        The pass.
    with_heading : bool
        True: from A to B; false: back.
    turn : Turn or None
        Turn before it; None before the first of each part of the field.
    """

    number: int
    line: GuidanceLine
    with_heading: bool
    turn: Turn | None


@dataclass(frozen=True)
class WorkOrder:
    """The work of one planter.

    Attributes
    ----------
    machine : str
        Its ``id``.
    methods : tuple of str
        Letters it sows.
    passes : tuple of WorkPass
        In order.
    skip : int
        Passes from one to the next but one [1]; 1 is side by side.
    area_m2 : float
        Ground of its strips [m2].
    pace_ha_per_h : float
        Ground it covers in an hour [ha/h].
    hours : float
        Time for its strips [h].
    turning_radius_m : float
        Turning radius the order is made for [m].
    headland_needed_m : float
        Depth its widest turn takes, machine included [m].
    notes : tuple of str
        Why this order, and what does not fit.
    """

    machine: str
    methods: tuple[str, ...]
    passes: tuple[WorkPass, ...]
    skip: int
    area_m2: float
    pace_ha_per_h: float
    hours: float
    turning_radius_m: float
    headland_needed_m: float
    notes: tuple[str, ...]

    @property
    def area_ha(self) -> float:
        """Ground of its strips [ha]."""
        return self.area_m2 / _M2_PER_HA

    @property
    def tight_turns(self) -> int:
        """Turns in which the machine must swing out [1]."""
        return sum(one.turn is not None and one.turn.tight for one in self.passes)


def turn_between(apart_m: float, radius_m: float) -> Turn:
    """Say how a machine turns from one pass into another that is driven the other way.

    Passes at least two radii apart: a quarter circle, straight, a quarter circle. Closer ones: swing out to one side,
    then a wide circle back; with d the distance and r the radius its way is r (pi + 4 acos((2r + d) / 4r)) and its
    depth r + sqrt((2r)^2 - (r + d/2)^2).

    Parameters
    ----------
    apart_m : float
        Distance between the passes [m], 0 or more.
    radius_m : float
        Turning radius [m].

    Raises
    ------
    ValueError
        If the distance is negative or the radius not above zero.

    Source: plane geometry of three touching circles; shortest path of bounded curvature between two opposite
    directions (Dubins 1957, Am. J. Math. 79:497-516).
    """
    if apart_m < 0.0 or radius_m <= 0.0:
        raise ValueError(f"a turn needs a distance of 0 or more and a radius above 0, not {apart_m} and {radius_m}")
    if apart_m >= 2.0 * radius_m:
        return Turn(apart_m, pi * radius_m + apart_m - 2.0 * radius_m, radius_m, tight=False)
    swing = acos((2.0 * radius_m + apart_m) / (4.0 * radius_m))
    depth = radius_m + sqrt((2.0 * radius_m) ** 2 - (radius_m + apart_m / 2.0) ** 2)
    return Turn(apart_m, radius_m * (pi + 4.0 * swing), depth, tight=True)


def skip_order(count: int, skip: int) -> tuple[int, ...]:
    """Return an order of passes in which neighbours in time are ``skip`` or ``skip - 1`` apart, group by group.

    Parameters
    ----------
    count : int
        Passes, numbered across the field from 0 [1].
    skip : int
        Passes from one to the next but one; 1 drives them side by side [1].

    Source: taking the two halves of each group of 2 x skip - 1 passes in turn; the last group takes what is left.

    Examples
    --------
    >>> skip_order(7, 4)
    (0, 4, 1, 5, 2, 6, 3)
    >>> skip_order(4, 1)
    (0, 1, 2, 3)
    """
    size = 2 * skip - 1
    order: list[int] = []
    for first in range(0, count, size):
        group = range(first, min(first + size, count))
        half = (len(group) + 1) // 2
        low, high = group[:half], group[half:]
        for k, one in enumerate(low):
            order.append(one)
            order += high[k : k + 1]
    return tuple(order)


def work_orders(plan: Plan, turned: TurnedField) -> tuple[WorkOrder, ...]:
    """Return the order of passes for each planter, baseline first.

    Answers: which pass after which, so that each turn is one the machine can take, and how long does it take? Every
    number of passes to skip is tried; the order with the fewest tight turns counts, and among these the one with the
    shortest way on the headland. With several seed lots all passes of one come before the next.

    Parameters
    ----------
    plan : Plan
        Methods, machines with their turning radius, speed and share of the time really sown.
    turned : TurnedField
        The strips.

    Source: see `turn_between`, `skip_order` and `field_capacity_ha_per_h`.
    """
    lines = sowing_lines(plan, turned)
    boxes_of = dict(enumerate(turned.parts()))
    lots = lots_of_blocks(plan, (box.strip.block for boxes in boxes_of.values() for box in boxes))
    lot_of = {block: place for place, blocks in enumerate(lots.values()) for block in blocks}
    part_of = {box.strip.strip: (lot_of[box.strip.block], part) for part, boxes in boxes_of.items() for box in boxes}
    machines = dict.fromkeys([plan.baseline.machine, *(method.machine for method in plan.methods)])
    found = []
    for machine in machines:
        parts: dict[tuple[int, int], list[GuidanceLine]] = {}
        for line in lines:
            if line.machine == machine:
                parts.setdefault(part_of[line.strip], []).append(line)
        found.append(_order(plan, machine, [parts[number] for number in sorted(parts)], _in_parts(part_of.values())))
    return tuple(found)


def _in_parts(parts: Collection[tuple[int, int]]) -> tuple[str, ...]:
    """Say why the order is broken: lots of seed, parts of the field."""
    lots, places = {lot for lot, _ in parts}, {place for _, place in parts}
    several = ((ONE_LOT_AFTER_ANOTHER, lots), (ONE_PART_AFTER_ANOTHER, places))
    return tuple(why for why, which in several if len(which) > 1)


def _order(plan: Plan, machine: str, parts: Sequence[Sequence[GuidanceLine]], why: Sequence[str]) -> WorkOrder:
    radius_m = plan.machine(machine).turning_radius_m
    methods = [m for m in plan.methods if m.machine == machine]
    lines = [line for part in parts for line in part]
    chosen = [_best(part, radius_m) for part in parts]
    skip = max((skip for skip, _ in chosen), default=1)
    driven = [one for _, passes in chosen for one in passes]
    passes = tuple(replace(one, number=number) for number, one in enumerate(driven, start=1))
    notes = (*ORDER_REASONS, *why)
    width = plan.machine(machine).working_width_m
    depth = max((p.turn.depth_m for p in passes if p.turn is not None), default=0.0) + width / 2.0
    hours = fsum(_hours(plan, m, lines) for m in methods)
    area = fsum(line.width_m * line.length_m for line in lines)
    return WorkOrder(
        machine=machine,
        methods=tuple(m.letter for m in methods),
        passes=passes,
        skip=skip,
        area_m2=area,
        pace_ha_per_h=area / _M2_PER_HA / hours if hours else _pace(plan, methods[0]),
        hours=hours,
        turning_radius_m=radius_m,
        headland_needed_m=depth,
        notes=(*notes, *_turn_notes(plan, passes, skip, radius_m, depth)),
    )


def _best(lines: Sequence[GuidanceLine], radius_m: float) -> tuple[int, tuple[WorkPass, ...]]:
    """Return passes to skip and the order for one part of the field."""
    across = sorted(lines, key=lambda line: line.across_m)
    count = len(across)
    tried = [(skip, _driven([across[i] for i in skip_order(count, skip)], radius_m)) for skip in _skips(count)]
    return min(tried, key=lambda one: (*_burden(one[1]), one[0]))


def _skips(count: int) -> range:
    return range(1, max(1, (count + 1) // 2) + 1)


def _driven(lines: Sequence[GuidanceLine], radius_m: float) -> tuple[WorkPass, ...]:
    """Return the passes numbered, directions in turn, with the turn before each."""
    out: list[WorkPass] = []
    for k, line in enumerate(lines):
        turn = turn_between(abs(line.across_m - lines[k - 1].across_m), radius_m) if k else None
        out.append(WorkPass(k + 1, line, k % 2 == 0, turn))
    return tuple(out)


def _burden(passes: Sequence[WorkPass]) -> tuple[int, float]:
    turns = [p.turn for p in passes if p.turn is not None]
    return sum(t.tight for t in turns), round(fsum(t.length_m for t in turns), 3)


def _pace(plan: Plan, method: Method) -> float:
    width = plan.machine(method.machine).working_width_m
    return field_capacity_ha_per_h(method.speed_km_per_h, width, plan.sowing.efficiency_fraction)


def _hours(plan: Plan, method: Method, lines: Sequence[GuidanceLine]) -> float:
    area = fsum(line.width_m * line.length_m for line in lines if line.method == method.letter)
    return area / _M2_PER_HA / _pace(plan, method)


def _turn_notes(plan: Plan, passes: Sequence[WorkPass], skip: int, radius_m: float, depth_m: float) -> tuple[str, ...]:
    turns = [p.turn for p in passes if p.turn is not None]
    tight = sum(turn.tight for turn in turns)
    how = "side by side" if skip == 1 else f"every turn skips passes, about {skip - 1} at a time"
    notes = [f"Driven {how}, for a turning radius of {radius_m:g} m (from the plan; ask the driver)."]
    if tight:
        notes.append(f"{tight} of {len(turns)} turns are closer than two turning radii: the machine swings out.")
    if depth_m > plan.layout.headland_m:
        notes.append(
            f"A turn takes {depth_m:.1f} m of headland with the machine's half width, the plan keeps "
            f"{plan.layout.headland_m:g} m: reverse once, or turn in two steps."
        )
    return tuple(notes)
