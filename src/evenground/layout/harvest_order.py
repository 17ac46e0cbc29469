"""The order in which the strips come off: an order a harvester and its trailer can drive, fair to the methods."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from evenground.basis.plan import Plan
from evenground.layout.cross_section import bite_mm, grid_mm
from evenground.layout.turned_field import StripBox, TurnedField

_M2_PER_HA = 10_000.0
# Standing crop narrower than this is no row. [m]
_NO_ROW_M = 0.05
Work = Literal["headland", "opening", "guard rows", "weighed cut"]

HARVEST_CAUTIONS = (
    "Nobody on foot near harvester, trailer or rolling tractor without contact to the driver; children stay away.",
    "Samples are taken from the tipped heap when the vehicle has left, never on the load.",
    "Look up before tipping: power lines. Width, load, lights and hours on the road: local rules go first.",
    "First walk the edges: every marker that was set is ticked off as taken out. No metal, no wire in the crop.",
)
HARVEST_RULES = (
    "Headlands and opening cuts come first and are not weighed: tip them before the next weighed strip.",
    "The trailer runs on ground that is cut already, or behind; no weighed strip is opened by driving into it.",
    "A block once begun is finished before any break, refuelling or change of driver.",
    "Strips come off in the order in which they lie, so the order does not follow the methods: the draw made it.",
)


@dataclass(frozen=True)
class HarvestStep:
    """One piece of work.

    Attributes
    ----------
    number : int
        Place in the order.
    work : {"headland", "opening", "guard rows", "weighed cut"}
        What is cut.
    weighed : bool
        Whether it is weighed.
    strip, block : int or None
        Numbers; None for ground outside the strips. Guard rows carry the strip that is cut next, or the last one.
    method : str
        Letter of a weighed cut; empty otherwise.
    passes : int
        Passes of the harvester [1].
    with_heading : bool or None
        Whether the first of them goes along the heading; None for headlands.
    trailer : str
        Where the trailer runs.
    area_m2 : float or None
        Ground [m2], of weighed cuts.
    fresh_t : float or None
        Expected fresh mass [t], of weighed cuts.
    break_allowed : bool
        Whether a break may follow.
    reason : str
        Why here.
    """

    number: int
    work: Work
    weighed: bool
    strip: int | None
    block: int | None
    method: str
    passes: int
    with_heading: bool | None
    trailer: str
    area_m2: float | None
    fresh_t: float | None
    break_allowed: bool
    reason: str


@dataclass(frozen=True)
class HarvestOrder:
    """The whole harvest.

    Attributes
    ----------
    machine : str
        ``id`` of the harvester; empty where none is named.
    steps : tuple of HarvestStep
        In order.
    mean_places : tuple of (str, float)
        Mean place of each method among the weighed strips, from 1 [1]: the closer together, the fairer to whatever
        changes over the day.
    notes : tuple of str
        Rules and what to watch.
    """

    machine: str
    steps: tuple[HarvestStep, ...]
    mean_places: tuple[tuple[str, float], ...]
    notes: tuple[str, ...]


def harvest_order(plan: Plan, turned: TurnedField) -> HarvestOrder:
    """Return an order in which the strips can be cut and weighed.

    Answers: what comes off first, where does the trailer run, and when may one stop? The harvester works through the
    field from one side: ground outside the first strip and each strip's guard rows come off before its weighed cut, so
    that the trailer always finds cut ground on that side. Of the two sides the one is taken that brings the methods'
    mean places closer to each other; the fixed edge's side where both do alike.

    Parameters
    ----------
    plan : Plan
        Harvester, expected yield and dry matter.
    turned : TurnedField
        The strips.

    Source: common practice of weighing strips, no source; the draw balances the order.
    """
    boxes = list(turned.boxes)
    if plan.layout.fixed_edge_side == "right":
        boxes.reverse()
    boxes = min((_in_blocks(boxes), _in_blocks(boxes[::-1])), key=lambda one: round(_spread(one), 9))
    rightwards = len(boxes) < 2 or boxes[0].left_m <= boxes[-1].left_m
    steps = [_headland_step(plan)]
    for k, box in enumerate(boxes):
        before = boxes[k - 1] if k and _beside(boxes[k - 1], box) else None
        last_of_block = k + 1 == len(boxes) or boxes[k + 1].strip.block != box.strip.block
        steps += _strip_steps(plan, before, box, rightwards=rightwards, last=last_of_block, number=len(steps))
    notes = (*HARVEST_RULES, _balance_words(_mean_places(boxes)))
    return HarvestOrder(plan.layout.harvester or "", tuple(steps), _mean_places(boxes), notes)


def _in_blocks(boxes: Sequence[StripBox]) -> list[StripBox]:
    """Keep the strips of a block together, blocks in the order in which the first of their strips comes."""
    blocks = list(dict.fromkeys(box.strip.block for box in boxes))
    return [box for block in blocks for box in boxes if box.strip.block == block]


def _mean_places(boxes: Sequence[StripBox]) -> tuple[tuple[str, float], ...]:
    letters = sorted({box.strip.method for box in boxes})
    places = {x: [k for k, box in enumerate(boxes, start=1) if box.strip.method == x] for x in letters}
    return tuple((x, sum(found) / len(found)) for x, found in places.items())


def _spread(boxes: Sequence[StripBox]) -> float:
    means = [mean for _, mean in _mean_places(boxes)]
    return max(means) - min(means)


def _balance_words(means: Sequence[tuple[str, float]]) -> str:
    said = ", ".join(f"{letter} {mean:.1f}" for letter, mean in means)
    return f"Mean place among the weighed strips: {said}. The closer together, the less the time of day can favour one."


def _headland_step(plan: Plan) -> HarvestStep:
    reason = "opens the field for trailer and turns; edges are never weighed"
    if plan.layout.headland_m == 0.0:
        reason = "the plan keeps no headland: open the field outside the strips"
    return HarvestStep(1, "headland", False, None, None, "", 0, None, "behind", None, None, True, reason)


def _strip_steps(
    plan: Plan, before: StripBox | None, box: StripBox, *, rightwards: bool, last: bool, number: int
) -> list[HarvestStep]:
    """Return the opening cut beside a strip, where anything stands there, and the strip's weighed cut."""
    strip = box.strip
    steps = _steps_to(plan, before, box, rightwards=rightwards, number=number)
    side = "left" if rightwards else "right"
    trailer = f"beside, on the cut ground to the {side} (seen along the heading)"
    if _kind(plan) == "combine":
        trailer = "at the field edge; empty the tank after every strip"
    steps.append(
        HarvestStep(
            number=number + len(steps) + 1,
            work="weighed cut",
            weighed=True,
            strip=strip.strip,
            block=strip.block,
            method=strip.method,
            passes=_passes(plan, strip.cut_width_m),
            with_heading=True,
            trailer=trailer,
            area_m2=strip.cut_area_m2,
            fresh_t=_fresh_t(plan, strip.cut_area_m2),
            break_allowed=last,
            reason="last strip of its block" if last else "the block is finished before any break",
        )
    )
    return steps


def _steps_to(
    plan: Plan, before: StripBox | None, box: StripBox, *, rightwards: bool, number: int
) -> list[HarvestStep]:
    """Return what is cut between ground that is bare already and a weighed cut; nothing where no row stands there."""
    standing, guard = _standing_m(before, box, rightwards=rightwards), _standing_m(None, box, rightwards=rightwards)
    if standing <= _NO_ROW_M:
        return []
    work: Work = "guard rows" if before is not None else "opening"
    passes, trailer = _passes(plan, standing), "on the cut ground beside, or behind"
    reason = f"{standing:.1f} m stand between cut ground and the weighed cut of strip {box.strip.strip}"
    if before is not None and _gap_m(before, box) > _bite_m(plan, box) + _NO_ROW_M:
        # Wide ground between two blocks is not taken off on the way: a lane beside the strip is enough for the trailer.
        lane_m = guard + _bite_m(plan, box)
        work, passes, trailer = "opening", _passes(plan, lane_m), "behind, while crop stands on both sides"
        reason = f"cut ground is {standing:.1f} m away: open a lane beside strip {box.strip.strip} for the trailer"
    return [
        HarvestStep(
            number + 1, work, False, box.strip.strip, box.strip.block, "", passes, False, trailer, None, None,
            work == "opening", reason,
        )
    ]  # fmt: skip


def _gap_m(one: StripBox, other: StripBox) -> float:
    """Return the width of ground between two slots [m]; 0 where they touch."""
    return max(0.0, other.left_m - one.right_m, one.left_m - other.right_m)


def _beside(one: StripBox, other: StripBox) -> bool:
    """Whether two strips share a stretch along the heading; in another part of the field one opens anew."""
    return one.cut_low_m < other.cut_high_m and other.cut_low_m < one.cut_high_m


def _standing_m(before: StripBox | None, box: StripBox, *, rightwards: bool) -> float:
    """Return the width of standing crop between ground that is cut already and a weighed cut [m]."""
    if before is None:  # ground outside the first strip falls with the headland
        return box.cut_left_m - box.left_m if rightwards else box.right_m - box.cut_right_m
    return box.cut_left_m - before.cut_right_m if rightwards else before.cut_left_m - box.cut_right_m


def _kind(plan: Plan) -> str:
    return "" if plan.layout.harvester is None else plan.machine(plan.layout.harvester).kind


def _passes(plan: Plan, width_m: float) -> int:
    """Return the passes that take a width off; the last one may run half empty over cut ground."""
    if plan.layout.harvester is None:
        return 1
    bite_m = bite_mm(plan.machine(plan.layout.harvester), grid_mm(plan)) / 1e3
    return max(1, -int(-(width_m - 1e-6) // bite_m))


def _bite_m(plan: Plan, box: StripBox) -> float:
    """Return the width of one pass [m]; without a harvester in the plan the weighed cut is taken for one."""
    if plan.layout.harvester is None:
        return box.strip.cut_width_m
    return bite_mm(plan.machine(plan.layout.harvester), grid_mm(plan)) / 1e3


def _fresh_t(plan: Plan, area_m2: float) -> float:
    """Return the mass to expect on the trailer [t]."""
    tonnes = plan.outcome.expected_t_per_ha * area_m2 / _M2_PER_HA
    return tonnes / (plan.outcome.expected_dry_matter_percent / 100.0) if plan.outcome.product == "silage" else tonnes
