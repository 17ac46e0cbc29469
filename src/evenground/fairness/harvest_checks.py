"""Checks on water, damage and harvest: irrigation, lost crop, cutting height, order of weighing."""

from __future__ import annotations

import math
from datetime import datetime

from evenground.basis.observations import Damage, current
from evenground.fairness.check import Check
from evenground.fairness.seen import Seen, State, against, finding
from evenground.fairness.sizes import (
    COMMON_PRACTICE,
    CUTTING_HEIGHT_SOURCE,
    WATER_SOURCE,
    cutting_height_range,
    share_range,
    water_range,
)
from evenground.harvest.care import cutting_heights_cm
from evenground.harvest.damaged_ground import located

# From where on a difference is named. Common practice, no source.
WATER_MM = 2.0
HEIGHT_CM = 2.0


def irrigation(seen: Seen) -> Check:
    """Compare the water given to the strips of both methods within blocks."""
    why = "On dry land water decides; a lane over some strips decides for them."
    action = "Water whole blocks alike, and write down the millimetres of every strip."
    events = [e for e in current(seen.records.events) if e.event == "irrigated" and e.water_mm is not None]
    if not events:
        return finding(seen, "irrigation", "unknown", why, "none recorded", action)
    given = dict.fromkeys(seen.sown, 0.0)
    for event in events:
        for strip in (s for s in event.strips if s in given):
            given[strip] += event.water_mm or 0.0
    step = seen.within_blocks(given)
    if step is None:
        return finding(seen, "irrigation", "unknown", why, "no block has both methods", action)
    found = against(seen, step, "mm", "more water", "less water")
    state: State = "differs" if abs(step) > WATER_MM else "alike"
    bias = water_range(step, seen.plan.outcome.product)
    return finding(seen, "irrigation", state, why, found, action, bias=bias, source=WATER_SOURCE)


def damage(seen: Seen) -> Check:
    """Compare damage: how many strips of each method, and how much of the weighed cut where patches were measured."""
    why = "Damage that keeps to one method by chance is no effect of the method."
    action = "Walk round it when weighing, or leave the same length out of the whole block."
    records = located(seen.draw, seen.records.damage)
    named = {s for e in current(seen.records.events) if e.event == "damage" for s in e.strips}
    sized = {s for r in records for s in r.strips}
    if not (named | sized):
        found = "none recorded"
        return finding(seen, "damage", "unknown", why, found, "Write down strip by strip what was seen, also nothing.")
    hit = {m: sum(s in named | sized for s, sown in seen.sown.items() if sown == m) for m in seen.pair}
    found = ", ".join(f"{m} {n}" for m, n in hit.items()) + " strips"
    lost = {m: _lost_share(seen, records, m) for m in seen.pair}
    complete = not named - sized and all(r.length_m is not None or r.area_m2 is not None for r in records)
    step = lost[seen.pair[1]] - lost[seen.pair[0]]
    if complete:
        found += "; lost of the weighed cut " + ", ".join(f"{m} {100 * share:.1f} %" for m, share in lost.items())
    if any(r.by_method != "no" for r in records):
        found += "; some of it may come from the method, which then is no bias"
    unlike = len(set(hit.values())) > 1 or (complete and abs(step) > 1e-9)
    state: State = "differs" if unlike else "alike"
    bias = share_range(step, seen.yield_t_per_ha) if complete else None
    source = "share of the weighed cut that was lost" if complete else COMMON_PRACTICE
    return finding(seen, "damage", state, why, found, action, bias=bias, source=source)


def _lost_share(seen: Seen, records: tuple[Damage, ...], letter: str) -> float:
    """Share of a method's weighed cuts that was lost [1]."""
    cuts = {s.strip: s for s in seen.draw.strips if seen.sown[s.strip] == letter}
    lost = 0.0
    for one in records:
        for cut in (cuts[s] for s in one.strips if s in cuts):
            area = one.area_m2 if one.area_m2 is not None else (one.length_m or 0.0) * cut.cut_width_m
            lost += min(area, cut.cut_area_m2) * one.degree_percent / 100.0
    ground = math.fsum(c.cut_area_m2 for c in cuts.values())
    return lost / ground if ground > 0.0 else 0.0


def cutting_height(seen: Seen) -> Check:
    """Compare cutting heights within blocks, measured in the stubble."""
    why = "Every centimetre left standing is yield left standing, and what is cut is drier."
    action = "Measure the stubble of every strip; one cutting height for all."
    step = seen.within_blocks(cutting_heights_cm(seen.records.stubble))
    if step is None:
        return finding(seen, "cutting height", "unknown", why, "not measured in both", action)
    found = against(seen, step, "cm", "higher", "lower")
    state: State = "differs" if abs(step) > HEIGHT_CM else "alike"
    outcome = seen.plan.outcome
    if outcome.product != "silage" or outcome.counted == "starch":  # what is left standing holds no starch
        return finding(seen, "cutting height", state, why, found, action)
    bias = cutting_height_range(step, seen.yield_t_per_ha)
    return finding(seen, "cutting height", state, why, found, action, bias=bias, source=CUTTING_HEIGHT_SOURCE)


def weighing_order(seen: Seen) -> Check:
    """Count in how many blocks each method was weighed first; more unequal than a fair order gives differs."""
    why = "In the course of a day the crop dries, the tare drifts and the drivers tire."
    action = "Change the order from block to block next time."
    first = _first_loads(seen)
    counts = dict.fromkeys(seen.pair, 0)
    for block in {s.block for s in seen.draw.strips}:
        here = [s.strip for s in seen.draw.strips if s.block == block and s.strip in first]
        times = {m: [first[s] for s in here if seen.sown[s] == m] for m in seen.pair}
        new, old = (min(times[m], default=None) for m in seen.pair)
        if new is not None and old is not None and new != old:
            counts[seen.pair[0] if new < old else seen.pair[1]] += 1
    ahead, behind = (counts[m] for m in seen.pair)
    if not ahead + behind:
        return finding(seen, "order of weighing", "unknown", why, "the times of the loads do not tell", action)
    found = f"{seen.pair[0]} came first in {ahead} and {seen.pair[1]} in {behind} blocks"
    # twice the spread of that difference when each block's order is a toss-up
    state: State = "differs" if abs(ahead - behind) >= 2.0 * math.sqrt(ahead + behind) else "alike"
    return finding(seen, "order of weighing", state, why, found, action)


def _first_loads(seen: Seen) -> dict[int, datetime]:
    """Time of each strip's first load."""
    out: dict[int, datetime] = {}
    for load in current(seen.records.loads):
        for strip in load.strips:
            # clocks with and without a time zone are compared by what they showed
            shown = load.time.replace(tzinfo=None)
            out[strip] = min(shown, out.get(strip, shown))
    return out
