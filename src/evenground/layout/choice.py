"""One layout among several: what it would see, and what it takes to sow and weigh it."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from evenground.basis.pace import field_capacity_ha_per_h
from evenground.basis.plan import Plan
from evenground.layout.detectable import gain_of
from evenground.layout.headings import Direction


@dataclass(frozen=True, slots=True)
class Choice:
    """What one heading and width of strip give and take.

    Attributes
    ----------
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    width_m : float
        Width of the strips [m].
    blocks : int
        Blocks [1].
    shortest_m, longest_m : float
        Shortest and longest strip [m].
    metres_m : float
        Length of all strips together [m].
    strips_area_m2 : float
        Area of all strips [m2].
    area_share : float
        The same as a share of the field [1].
    standard_error_percent : float or None
        Predicted standard error of the gain, averaged over free draws [%].
    detectable_t_per_ha, detectable_money_per_ha : float or None
        Gain the trial could see [t/ha], and its worth [money/ha]; None with one block.
    sowing_h : float
        Time to sow the strips, all planters together [h].
    tonnes_per_strip_t : float
        Fresh mass from the longest weighed cut [t].
    trailers_per_strip : int
        Trailers it fills [1].
    weighings : int
        Loads to weigh [1].
    extra_minutes : float
        How long the harvest chain waits for them [min].
    extra_cost : float
        What that costs [money].
    why : str
        How it compares with the layout that was chosen, in words.
    """

    heading_deg: float
    width_m: float
    blocks: int
    shortest_m: float
    longest_m: float
    metres_m: float
    strips_area_m2: float
    area_share: float
    standard_error_percent: float | None
    detectable_t_per_ha: float | None
    detectable_money_per_ha: float | None
    sowing_h: float
    tonnes_per_strip_t: float
    trailers_per_strip: int
    weighings: int
    extra_minutes: float
    extra_cost: float
    why: str


def choice_of(plan: Plan, direction: Direction, field_m2: float, beside: Choice | None = None) -> Choice:
    """Return what a layout gives and takes.

    Parameters
    ----------
    plan : Plan
        Machines, expected yield, effort, money.
    direction : Direction
        Strips at one heading; at least one block.
    field_m2 : float
        Area of the field [m2].
    beside : Choice, optional
        The layout that was chosen, to compare with.

    Returns
    -------
    Choice

    Source: hectares an hour by `evenground.basis.pace`; trailers, waits and costs as in the plan.
    """
    slot, blocks = direction.raster.slot, direction.blocks
    gain = gain_of(plan, direction.laid.variance, blocks)
    lengths = [place.length_m for place in direction.places]
    fresh = [slot.cut_width_m * length * fresh_t_per_ha(plan) / 1e4 for length in lengths]
    loads = [max(1, ceil(tonnes / plan.effort.trailer_t - 1e-9)) for tonnes in fresh]
    minutes = sum(loads) * plan.effort.minutes_per_weighing
    return Choice(
        heading_deg=direction.heading_deg,
        width_m=slot.width_m,
        blocks=blocks,
        shortest_m=min(lengths),
        longest_m=max(lengths),
        metres_m=sum(lengths),
        strips_area_m2=sum(lengths) * slot.width_m,
        area_share=sum(lengths) * slot.width_m / field_m2,
        standard_error_percent=gain.standard_error_percent,
        detectable_t_per_ha=gain.t_per_ha,
        detectable_money_per_ha=gain.money_per_ha,
        sowing_h=_hours(plan, sum(lengths) * slot.width_m / 1e4),
        tonnes_per_strip_t=max(fresh),
        trailers_per_strip=max(loads),
        weighings=sum(loads),
        extra_minutes=minutes,
        extra_cost=minutes / 60.0 * plan.effort.chain_cost_per_h,
        why=_why(gain.t_per_ha, blocks, slot.width_m, beside),
    )


def fresh_t_per_ha(plan: Plan) -> float:
    """Return the fresh mass expected to be carried off [t/ha].

    Source: silage counts as dry matter; the others at their standard moisture are carried at the moisture expected.
    """
    dry = plan.outcome.expected_t_per_ha
    if plan.outcome.product != "silage":
        dry *= 1.0 - plan.outcome.standard_moisture_percent / 100.0
    return dry / (plan.outcome.expected_dry_matter_percent / 100.0)


def _hours(plan: Plan, hectares: float) -> float:
    strip = hectares / sum(plan.strips_in_block(m.letter) for m in plan.methods)
    hours = 0.0
    for m in plan.methods:
        width_m = plan.machine(m.machine).working_width_m
        rate = field_capacity_ha_per_h(m.speed_km_per_h, width_m, plan.sowing.efficiency_fraction)
        hours += plan.strips_in_block(m.letter) * strip / rate
    return hours


def _why(sees: float | None, blocks: int, width_m: float, beside: Choice | None) -> str:
    if beside is None:
        return "sees the smallest gain within a hundredth; of such equals across old bands, along a side, narrow."
    parts = []
    if sees is not None and beside.detectable_t_per_ha is not None:
        more = sees / beside.detectable_t_per_ha - 1.0
        size = f"{abs(more):.0%} {'larger' if more > 0 else 'smaller'}"
        same = abs(more) < 0.005
        parts.append("sees as small a gain as the first" if same else f"a gain must be {size} to be seen")
    if blocks != beside.blocks:
        parts.append(f"{abs(blocks - beside.blocks)} block(s) {'fewer' if blocks < beside.blocks else 'more'}")
    if width_m != beside.width_m:
        parts.append(f"strips {width_m:g} m wide")
    return ", ".join(parts or ["a single block"]) + "."
