"""Checks on seed and sowing beyond the settings: hybrid, dressing, who drove, depth as dug up, rows and joints."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable

from evenground.fairness.check import Check
from evenground.fairness.seen import Seen, State, against, finding, not_told, setting_check
from evenground.fairness.sizes import COMMON_PRACTICE, share_range
from evenground.fairness.strip_labels import Label, labelled, labels
from evenground.stand.depth import depths

# From where on a difference is named. Common practice, no source.
DEPTH_CM = 0.5
JOINT_SHARE = 0.01
WHEEL_SHARE = 0.05


def _on_the_label(item: str, why: str, label: Label) -> Callable[[Seen], Check]:
    """Make a check of something that stands on the label of a lot: written down by strip, else one lot is alike."""

    def look(seen: Seen) -> Check:
        action = f"Read the {item} off every label and write it down with the entry sown; it must be one and the same."
        written = labelled(seen, item, labels(seen, "sown", label), why, action)
        if written is not None:
            return written
        if (silent := not_told(seen, item, why)) is not None:
            return silent
        lots = {lot for s in seen.as_sown if seen.sown[s.strip] in seen.pair for lot in s.seed_lots}
        number = max(seen.plan.trial.seed_lots, len(lots))
        found = f"one lot, so one {item}" if number == 1 else f"{number} lots; the {item} is not written down for each"
        return finding(seen, item, "alike" if number == 1 else "unknown", why, found, action)

    return look


hybrid = _on_the_label("hybrid", "Another hybrid is another crop.", lambda e: e.hybrid)
dressing = _on_the_label(
    "dressing", "Another dressing keeps other birds, wireworms and fungi off the young crop.", lambda e: e.dressing
)


def driver(seen: Seen) -> Check:
    """Compare who drives each planter, by the agreements made before the draw."""
    why = "A driver new to a machine sets it worse than one who knows it."
    action = "Name the driver of each method in the agreements (people.agreements), and who set the machine."
    drivers = {
        letter: {
            a.who for a in seen.plan.people.agreements if a.role == "driver" and letter in (a.methods or (letter,))
        }
        for letter in seen.pair
    }
    new, old = (drivers[letter] for letter in seen.pair)
    if not (new and old):
        return finding(seen, "driver", "unknown", why, "no driver is named for both", action)
    found = "; ".join(f"{letter} {', '.join(sorted(drivers[letter]))}" for letter in seen.pair)
    asked = seen.settings_asked.get("machine", False)
    return finding(seen, "driver", "alike" if new == old else "differs", why, found, action, asked=asked and new != old)


def depth(seen: Seen) -> Check:
    """Compare sowing depths within blocks: as dug up where both were, else in the plan."""
    why = "Deeper seed comes up later and reaches water longer."
    by_strip = {d.strip: d.mean_cm for d in depths(seen.plan, seen.draw, seen.records)[0] if d.strip is not None}
    step = seen.within_blocks(by_strip)
    if step is None:
        return setting_check("depth", why, "cm", lambda m: m.depth_cm)(seen)
    state: State = "differs" if abs(step) > DEPTH_CM else "alike"
    found = against(seen, step, "cm", "deeper", "shallower") + " as dug up"
    action = "Dig in both on the sowing day and set again; later, note it beside the result."
    return finding(seen, "depth", state, why, found, action, asked=seen.settings_asked.get("depth", False))


def row_spacing(seen: Seen) -> Check:
    """Hold the row spacings of the plan against each other."""
    new, old = seen.method.row_pattern.row_spacing_m, seen.plan.baseline.row_pattern.row_spacing_m
    asked = seen.settings_asked.get("row pattern", False)
    why = "Rows closer together shade the ground sooner, whatever the pattern."
    if (silent := not_told(seen, "row spacing", why)) is not None:
        return silent
    found = f"{seen.pair[0]} {new:g}, {seen.pair[1]} {old:g} m in the plan"
    state: State = "differs" if new != old else "alike"
    action = "Compare on one row spacing, or ask about the spacing openly."
    return finding(seen, "row spacing", state, why, found, action, asked=asked)


def wheel_rows(seen: Seen) -> Check:
    """Compare which share of the rows of a pass runs in a wheel track."""
    why = "Rows in a wheel track come up and root otherwise than those beside them."
    action = "Count every row unit of one pass (evenground stand); name the rows behind wheels (machines.wheel_rows)."
    planters = {m.letter: seen.plan.machine(m.machine) for m in (seen.method, seen.plan.baseline)}
    shares = {letter: len(p.wheel_rows) / p.rows for letter, p in planters.items() if p.wheel_rows}
    if len(shares) < 2:
        return finding(seen, "wheel-track rows", "unknown", why, "not said for both machines", action)
    found = ", ".join(f"{letter} {100 * shares[letter]:.0f} %" for letter in seen.pair) + " of the rows"
    new, old = (shares[letter] for letter in seen.pair)
    state: State = "differs" if abs(new - old) > WHEEL_SHARE else "alike"
    return finding(seen, "wheel-track rows", state, why, found, action)


def joints(seen: Seen) -> Check:
    """Compare the joints between passes within blocks, measured after sowing or in the stubble."""
    why = "Joints wider than ordered give the weighed cut ground that nobody reckons with."
    action = "Measure the joints when the rows can be seen (records joints), or in the stubble (cut_areas)."
    came_off = {s.strip: s for s in seen.harvest.strips}
    drawn = {s.strip: s.cut_area_m2 for s in seen.draw.strips}
    factors = {s.strip: s.joints.area_factor for s in seen.as_sown if s.joints and s.joints.area_factor is not None}
    for strip, area in drawn.items():  # joints measured after sowing: only the harvest knows which of them were cut
        if strip not in factors and came_off[strip].area_source == "joints":
            factors[strip] = came_off[strip].cut_area_m2 / area
    inside = {s.strip: s.joints.mean_m for s in seen.as_sown if s.joints is not None}
    step = seen.within_blocks({s: math.log(f) for s, f in {**dict.fromkeys(inside, 1.0), **factors}.items()})
    if step is None:
        return finding(seen, "joints", "unknown", why, "not measured in both", action)
    means = {m: [v for s, v in inside.items() if seen.sown[s] == m] for m in seen.pair}
    told = [f"{m} {100 * statistics.fmean(means[m]):.0f} cm" for m in seen.pair if means[m]]
    found = f"{', '.join(told)} on average" if len(told) == 2 else "measured between strips"
    corrected = all(came_off[s].area_source in ("rows", "joints") for s in factors if came_off[s].outcome is not None)
    bias = None if corrected else share_range(math.expm1(step), seen.yield_t_per_ha)
    found += "; the weighed area takes it into account" if corrected else ""
    state: State = "differs" if abs(step) > JOINT_SHARE else "alike"
    source = COMMON_PRACTICE if corrected else "geometry of the weighed cut"
    return finding(seen, "joints", state, why, found, action, bias=bias, source=source)
