"""A drawn layout as numbers and words: what the command prints, a report can use and a screen can show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from itertools import groupby
from typing import Any

from evenground.basis.plan import Plan
from evenground.basis.strip import AppliedLimit, Draw, Strip
from evenground.basis.thousands import grouped
from evenground.layout.bouts import SPREADER
from evenground.layout.choice import Choice
from evenground.layout.detectable import Answerable, detectable_of
from evenground.layout.extras import Extras, more_lines
from evenground.layout.other_machines import changes_for, in_words
from evenground.layout.split_sight import factor_gains, factor_lines

_WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
CAUTIONS = (
    "Mark strips at the field edge with canes only: no metal and no wire in the crop.",
    "Mind power lines; before digging or driving stakes ask where cables and pipes lie. Local rules go first.",
)


def summary(
    plan: Plan, draw: Draw, alternatives: Sequence[Choice], answer: Answerable, extras: Extras | None = None
) -> dict[str, Any]:
    """Return the keys of ``layout --json``.

    Parameters
    ----------
    plan : Plan
        What was meant.
    draw : Draw
        The draw that counts.
    alternatives : sequence of Choice
        What other headings would give.
    answer : Answerable
        Whether the trial can answer its question.
    extras : Extras, optional
        What else is known of the layout.

    Returns
    -------
    dict
        Ready for JSON: no NaN, units in the key names.

    Source: definition.
    """
    strips = [
        strip.model_dump(include={"strip", "block", "method", "width_m", "length_m", "area_m2", "cut_area_m2"})
        | {"cut_width_m": strip.cut_width_m, "cut_length_m": strip.cut_length_m}
        for strip in draw.strips
    ]
    return {
        "fits": True,
        "heading_deg": draw.heading_deg,
        "blocks": _blocks(draw),
        "strips": strips,
        "allowed_orders": draw.allowed_orders,
        "allowed_orders_listed": draw.listed,
        "smallest_p": draw.smallest_p,
        "seed": draw.seed,
        "draw": draw.number,
        "reason": draw.reason,
        "limits": [limit.model_dump() for limit in draw.limits],
        "unit": plan.outcome.unit,
        "detectable_gain": asdict(detectable_of(plan, draw)),
        **_two_factors(plan, draw),
        "can_answer": answer.can_answer,
        "cannot_answer_reasons": list(answer.reasons),
        "would_help": list(answer.helps),
        "narrower_strips": [asdict(one) for one in changes_for(plan, draw.strips[0].width_m)],
        "alternatives": [asdict(alternative) for alternative in alternatives],
        **_more(extras),
    }


def _two_factors(plan: Plan, draw: Draw) -> dict[str, Any]:
    if draw.split is None:
        return {}
    plots: dict[int, list[int]] = {}
    for strip in draw.strips:
        plots.setdefault(strip.whole_plot or 0, []).append(strip.strip)
    return {
        "factors": draw.split.model_dump(),
        "whole_plots": [{"whole_plot": number, "strips": strips} for number, strips in plots.items()],
        "factor_gains": [asdict(one) for one in factor_gains(plan, draw)],
    }


def _more(extras: Extras | None) -> dict[str, Any]:
    if extras is None:
        return {}
    found = extras.outlook
    return {
        "chosen": None if extras.chosen is None else asdict(extras.chosen),
        "history": [asdict(one) for one in extras.history],
        "ways": [] if found is None else [asdict(way) for way in found.ways],
        "if_fewer_passes": [] if found is None else [asdict(one) for one in found.fewer],
        "standard_error_percent": None
        if found is None
        else {"free_draw": found.free_error_percent, "within_limits": found.drawn_error_percent},
        "notes": list(extras.notes),
        "from_earlier_yields": [asdict(one) for one in extras.estimated],
    }


def words(
    plan: Plan, draw: Draw, alternatives: Sequence[Choice], answer: Answerable, extras: Extras | None = None
) -> tuple[str, ...]:
    """Return a drawn layout in plain lines.

    Parameters
    ----------
    plan, draw, alternatives, answer, extras
        As `summary`.

    Returns
    -------
    tuple of str

    Source: definition.
    """
    lines = _first(plan, draw, answer, extras)
    lines += [*_where(draw), "", *_block_lines(draw.strips), "", _sees(plan, draw), *factor_lines(plan, draw)]
    lines += _how_drawn(draw)
    if extras is not None:
        lines += more_lines(plan, extras)
    if alternatives:
        lines += ["", "Other headings:", *(_alternative(plan, one) for one in alternatives)]
    return (*lines, "", *CAUTIONS)


def _first(plan: Plan, draw: Draw, answer: Answerable, extras: Extras | None) -> list[str]:
    """Return what must be said before anything else: that the field cannot answer, and what history speaks against."""
    lines = []
    if not answer.can_answer:
        lines += ["This field cannot answer the question as it is laid out:"]
        lines += [f"  - {reason}" for reason in answer.reasons]
        lines += ["What would help:", *(f"  - {help_}" for help_ in answer.helps), ""]
    against = [] if extras is None else [one for one in extras.history if one.against]
    for told, now in (("The field's history speaks", False), ("The spreader's bouts speak", True)):
        if texts := [f"  - {one.message}" for one in against if (one.kind == SPREADER) is now]:
            lines += [f"{told} against this layout:", *texts, ""]
    width_m = draw.strips[0].width_m
    if width_m > plan.layout.widest_strip_m:
        lines += [f"The machines share no strip up to {plan.layout.widest_strip_m:g} m wide (widest_strip_m)."]
        narrower = in_words(changes_for(plan, width_m))
        lines += [f"  Narrower: {narrower}" if narrower else "  No single change of rows would do.", ""]
    if plan.layout.samples_per_strip == 0:
        lines += ["One dry-matter figure a method is an error all its strips share; take a sample of each strip.", ""]
    return lines


def wind(heading_deg: float) -> str:
    """Return the nearest of eight compass directions.

    Parameters
    ----------
    heading_deg : float
        Clockwise from north [deg].

    Returns
    -------
    str

    Source: definition.

    Examples
    --------
    >>> wind(100.0), wind(359.0)
    ('east', 'north')
    """
    return _WINDS[round(heading_deg / 45.0) % 8]


def _blocks(draw: Draw) -> int:
    return len({strip.block for strip in draw.strips})


def _where(draw: Draw) -> list[str]:
    strips, first = draw.strips, draw.strips[0]
    low, high = (f"{pick(strip.length_m for strip in strips):.0f}" for pick in (min, max))
    long_ = high if low == high else f"{low} to {high}"
    hectares = sum(strip.area_m2 for strip in strips) / 1e4
    weighed = sum(strip.cut_area_m2 for strip in strips) / 1e4
    return [
        f"{len(strips)} strips in {_blocks(draw)} blocks, each {first.width_m:g} m wide and "
        f"{long_} m long: {hectares:.2f} ha.",
        f"Weighed cut: {first.cut_width_m:g} m wide in every strip, its whole length; {weighed:.2f} ha in all.",
        f"They run at {draw.heading_deg:.1f}° (clockwise from north, towards {wind(draw.heading_deg)}). "
        "Looking that way strip 1 is on the left.",
    ]


def _block_lines(strips: Sequence[Strip]) -> list[str]:
    lines = []
    for block, group in groupby(strips, key=lambda strip: strip.block):
        members = "   ".join(f"{s.strip:>3} {s.method} {s.length_m:6.1f} m {s.area_m2 / 1e4:.3f} ha" for s in group)
        lines.append(f"  Block {block:>2}: {members}")
    return lines


def _sees(plan: Plan, draw: Draw) -> str:
    gain = detectable_of(plan, draw)
    if gain.t_per_ha is None or gain.money_per_ha is None:
        return "With one block the trial cannot say what it can see."
    money = f"{gain.money_per_ha:.0f} {plan.money.currency}/ha"
    unit = "strips" if draw.split is None else f"whole plots (strips side by side with one {draw.split.whole})"
    return (
        f"The trial can see {gain.t_per_ha:.2f} {plan.outcome.unit} ({money}). "
        f"It would find such a difference four times in five, if {unit} sown alike differ by "
        f"{gain.strip_error_percent:.1f} % ({gain.source})."
    )


def _how_drawn(draw: Draw) -> list[str]:
    orders = grouped(draw.allowed_orders)
    some = f"{orders} allowed orders" if draw.listed else f"more orders than can be listed ({orders} without limits)"
    lines = [f"Drawn from {some}, seed {draw.seed}; smallest possible p {draw.smallest_p:.2g}."]
    if draw.split is None:
        return lines + _limit_lines(draw.limits)
    return [
        *lines,
        f"  whole plots ({draw.split.whole}; a place is a whole plot):",
        *(f"  {line}" for line in _limit_lines(draw.split.limits)),
        f'  strips within whole plots ({draw.split.within}; for "block" read whole plot):',
        *(f"  {line}" for line in _limit_lines(draw.limits)),
    ]


def _limit_lines(limits: Sequence[AppliedLimit]) -> list[str]:
    lines = [f"  {'kept' if x.applied else 'not kept'}: {x.name}: {x.reason}" for x in limits]
    if any(not x.applied and "reach" in x.reason for x in limits):
        lines.append("  Limits are kept in this order; where orders run short the later ones go first.")
    return lines


def _alternative(plan: Plan, one: Choice) -> str:
    sees = "one block only"
    if one.detectable_t_per_ha is not None and one.detectable_money_per_ha is not None:
        money = f"{one.detectable_money_per_ha:.0f} {plan.money.currency}/ha"
        sees = f"can see {one.detectable_t_per_ha:.2f} {plan.outcome.unit} ({money})"
    trailers = f"{one.trailers_per_strip} trailer{'' if one.trailers_per_strip == 1 else 's'}"
    return (
        f"  {one.heading_deg:5.1f}°: {one.blocks} blocks, strips {one.width_m:g} m wide, {one.shortest_m:.0f} to "
        f"{one.longest_m:.0f} m long, {one.area_share:.0%} of the field, {one.sowing_h:.1f} h to sow, up to "
        f"{one.tonnes_per_strip_t:.1f} t ({trailers}) a strip, {one.weighings} weighings, the chain waits "
        f"{one.extra_minutes:.0f} minutes ({one.extra_cost:.0f} {plan.money.currency}); {sees}: {one.why}"
    )
