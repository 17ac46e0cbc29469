"""Parts left out of the cut: by a rule set before weights were seen, in the whole block, never what the method did."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from evenground.basis.observations import Damage, Event, Weighing, current
from evenground.basis.strip import Draw
from evenground.harvest.names import strip_names


def refused(
    draw: Draw, events: Iterable[Event], weighings: Iterable[Weighing], damage: Iterable[Damage]
) -> dict[int, str]:
    """Say which strips may not be compared because a part of them was left out against the rule.

    Parameters
    ----------
    draw : Draw
        The strips and their blocks.
    events, weighings, damage : iterable
        All records, corrections included.

    Returns
    -------
    dict
        Strip to the reason; empty where every part was left out by the rule.
    """
    block_of = {s.strip: s.block for s in draw.strips}
    members: dict[int, list[int]] = {}
    for strip, block in block_of.items():
        members.setdefault(block, []).append(strip)
    first = min((w.time for w in current(weighings)), default=None)
    lengths: dict[int, float] = {}
    out: dict[int, str] = {}
    for event in (e for e in current(events) if e.event == "left_out"):
        for strip in event.strips:
            lengths[strip] = lengths.get(strip, 0.0) + (event.length_m or 0.0)
            if reason := _too_late(event.time, first) or _by_method(members[block_of[strip]], damage):
                out[strip] = reason
    for strip in lengths:
        others = members[block_of[strip]]
        if len({round(lengths.get(s, 0.0), 6) for s in others}) > 1:
            for s in others:
                out.setdefault(s, f"a part was left out, but not the same length in strips {strip_names(others)}")
    return out


def _too_late(when: datetime, first: datetime | None) -> str:
    if first is None or when < first:
        return ""
    return "a part was left out after weights were known; that has to be decided before"


def _by_method(strips: Iterable[int], damage: Iterable[Damage]) -> str:
    there = set(strips)
    for one in current(damage):
        if one.by_method != "no" and there & set(one.strips):
            cause = one.cause.replace("_", " ")
            return f"a part was left out in a block with damage ({cause}) that the method may have caused"
    return ""
