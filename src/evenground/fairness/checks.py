"""Was it comparable? A table of small checks; each looks at one thing that should be alike for two methods."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping

from evenground.basis.field import Field
from evenground.basis.observations import Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.fairness.as_sown_checks import depth, dressing, driver, hybrid, joints, row_spacing, wheel_rows
from evenground.fairness.check import Check
from evenground.fairness.ground_checks import previous_crop, slurry, soil_zones, tillage, traces, tramlines
from evenground.fairness.harvest_checks import cutting_height, damage, irrigation, weighing_order
from evenground.fairness.seen import Seen, State, against, finding, not_told, setting_check
from evenground.fairness.sizes import (
    COMMON_PRACTICE,
    GRAIN_DENSITY_SOURCE,
    SILAGE_DENSITY_SOURCE,
    SOWING_DATE_SOURCE,
    density_range,
    sowing_delay_range,
)
from evenground.fairness.sowing_checks import seed_lots, speed
from evenground.harvest.strips import Harvest

# From where on a difference is named. Common practice, no source; each is said beside the finding.
DAYS = 0.5
DRY_MATTER_POINTS = 2.0
STAND_SHARE = 0.05
# Seeds the planters counted themselves; their sensors miscount by about so much. Common practice, no source.
SEED_SHARE = 0.03
AREA_SHARE = 0.05
NOTHING = "none"
WRITE_DOWN = "Write down strip by strip what was done; where nothing was, one entry for all strips with none in what."
WHOLE_BLOCKS = "Do it in whole blocks; if it is done, look at the result without the blocks that differ."


def fairness(
    plan: Plan, draw: Draw, records: Records, harvest: Harvest, field: Field | None = None
) -> tuple[Check, ...]:
    """Look at everything that should be alike, for each method against the baseline.

    Parameters
    ----------
    plan, draw, records : Plan, Draw, Records
        The trial.
    harvest : Harvest
        What came off each strip.
    field : Field or None
        Soil zones and what earlier years left in the ground; without it what is drawn there stays unknown.

    Returns
    -------
    tuple of Check
        All checks of the first method, then of the next. What was not recorded is unknown, never alike.
    """
    others = [m for m in plan.methods if not m.baseline]
    return tuple(look(Seen(plan, draw, records, harvest, m, field)) for m in others for look in CHECKS)


def total_bias(checks: Iterable[Check], method: str | None = None) -> tuple[float, float]:
    """Add up how far all known differences together could have moved the gain [t/ha].

    Parameters
    ----------
    checks : iterable of Check
        Found by `fairness`.
    method : str or None
        One method; None for the widest range over all methods.

    Returns
    -------
    (float, float)
        Sum of the low ends and sum of the high ends of those that differ and have a size; differences that the trial
        asks about do not count.
    """
    every = [c for c in checks if c.state == "differs" and c.bias_t_per_ha and not c.part_of_question]
    letters = {c.method for c in every} if method is None else {method}
    low = [math.fsum(c.bias_t_per_ha[0] for c in every if c.method == m and c.bias_t_per_ha) for m in letters]
    high = [math.fsum(c.bias_t_per_ha[1] for c in every if c.method == m and c.bias_t_per_ha) for m in letters]
    return min(low, default=0.0), max(high, default=0.0)


def _density(seen: Seen, plants_more: float) -> tuple[tuple[float, float], str]:
    product = seen.plan.outcome.product
    source = SILAGE_DENSITY_SOURCE if product == "silage" else GRAIN_DENSITY_SOURCE
    return density_range(plants_more, seen.yield_t_per_ha, product), source


def _counted(seen: Seen) -> float | None:
    """Return counted plants, method minus baseline [1/m2]; None without counts of both."""
    method, baseline = (seen.stands[letter].plants_per_m2 for letter in seen.pair)
    return None if method is None or baseline is None else method - baseline


def seed_rate(seen: Seen) -> Check:
    """Compare seed rates: as both planters counted within blocks, else those of the plan."""
    why = "More or fewer plants change the yield whatever the row pattern."
    if (silent := not_told(seen, "seed rate", why)) is not None:
        return silent
    new, old = seen.method.seeds_per_m2, seen.plan.baseline.seeds_per_m2
    found, differs = f"{seen.pair[0]} {new:g}, {seen.pair[1]} {old:g} seeds/m2 in the plan", new != old
    step = seen.within_blocks({s.strip: s.seeds_per_m2 for s in seen.as_sown if s.seeds_per_m2 is not None})
    if step is not None:
        found = against(seen, step, "seeds/m2", "more", "fewer") + " by the planters' own counts"
        differs = abs(step) > SEED_SHARE * old
        new = old + step if differs else old
    asked = seen.settings_asked.get("seeds", False)
    bias, source = _density(
        seen, new * seen.method.expected_emergence_fraction - old * seen.plan.baseline.expected_emergence_fraction
    )
    return finding(
        seen,
        "seed rate",
        "differs" if differs else "alike",
        why,
        found,
        "Set both to the same seeds/m2, or ask about the seed rate openly.",
        # counted plants are the better measure; both together would count one thing twice
        bias=None if asked or _counted(seen) is not None else bias,
        source=COMMON_PRACTICE if asked or _counted(seen) is not None else source,
        asked=asked,
    )


def plants_counted(seen: Seen) -> Check:
    """Hold counted plants against each other, with the scatter of the strips in mind."""
    why = "The stand is what really grew; a machine set wrongly shows here."
    action = "If the machine was set wrongly this is a bias; if the seed came up otherwise it belongs to the method."
    step = _counted(seen)
    if step is None:
        return finding(
            seen, "plants counted", "unknown", why, "not counted in both", "Count every row unit of one pass."
        )
    new, old = (seen.stands[letter] for letter in seen.pair)
    error = math.hypot(new.standard_error or 0.0, old.standard_error or 0.0)
    limit = max(STAND_SHARE * (old.plants_per_m2 or 0.0), 2.0 * error)
    bias, source = _density(seen, step)
    asked = seen.settings_asked.get("seeds", False)
    found = f"{seen.pair[0]} {new.plants_per_m2:.1f}, {seen.pair[1]} {old.plants_per_m2:.1f} plants/m2 counted"
    state: State = "differs" if abs(step) > limit else "alike"
    return finding(
        seen, "plants counted", state, why, found, action, bias=None if asked else bias, source=source, asked=asked
    )


def sowing_day(seen: Seen) -> Check:
    """Compare sowing days within blocks."""
    why = "A later sown crop grows in another season."
    days = {s: float(d) for s, d in _days(seen, "sown").items()}
    return _day_check(
        seen,
        "sowing day",
        seen.within_blocks(days),
        why,
        "Sow all strips of a block on one day.",
        sized=lambda later: sowing_delay_range(later, seen.yield_t_per_ha),
        source=SOWING_DATE_SOURCE,
    )


def harvest_day(seen: Seen) -> Check:
    """Compare harvest days within blocks."""
    other = {s.strip for s in seen.harvest.strips if s.product}  # harvested on their own day, and never compared
    found = {**_load_days(seen), **_days(seen, "harvested")}
    days = {strip: day for strip, day in found.items() if strip not in other}
    why = "Rain or ripening between two harvest days changes weight and dry matter."
    return _day_check(seen, "harvest day", seen.within_blocks(days), why, "Finish whole blocks on one day.")


def _day_check(
    seen: Seen,
    item: str,
    later: float | None,
    why: str,
    action: str,
    *,
    sized: Callable[[float], tuple[float, float]] | None = None,
    source: str = COMMON_PRACTICE,
) -> Check:
    if later is None:
        return finding(
            seen, item, "unknown", why, "the day is not recorded for both", "Write down the day of each strip."
        )
    if abs(later) < DAYS:
        return finding(seen, item, "alike", why, "the same days within blocks", action)
    found = against(seen, later, "days", "later", "earlier")
    return finding(seen, item, "differs", why, found, action, bias=sized(later) if sized else None, source=source)


def _days(seen: Seen, what: str) -> dict[int, float]:
    """Day number of an event by strip; the latest word counts."""
    events = sorted((e for e in current(seen.records.events) if e.event == what), key=lambda e: e.time)
    return {s: float(e.time.date().toordinal()) for e in events for s in e.strips}


def _load_days(seen: Seen) -> dict[int, float]:
    return {s: float(r.time.date().toordinal()) for r in current(seen.records.loads) for s in r.strips}


def dry_matter(seen: Seen) -> Check:
    """Compare dry matter at harvest, from strips with a figure of their own."""
    why = "If one method is riper the comparison is between stages of growth as well."
    own = {
        s.strip: 100.0 * s.dry_matter_fraction
        for s in seen.harvest.strips
        if s.dry_matter_fraction is not None and not s.shares_sample_with and not s.product
    }
    step = seen.within_blocks(own)
    if step is None:
        found = "no block has a sample of its own for both"
        return finding(seen, "dry matter at harvest", "unknown", why, found, "Take a sample from every strip.")
    state: State = "differs" if abs(step) > DRY_MATTER_POINTS else "alike"
    found = against(seen, step, "points", "drier", "wetter")
    action = "Harvest when both are ripe, or compare earliness openly."
    return finding(seen, "dry matter at harvest", state, why, found, action)


def strips_lost(seen: Seen) -> Check:
    """Count the strips that give no value, by method as drawn."""
    lost = {
        letter: sum(s.outcome is None for s in seen.harvest.strips if s.drawn_method == letter) for letter in seen.pair
    }
    found = ", ".join(f"{letter} {n}" for letter, n in lost.items()) + " strips without a value"
    state: State = "alike" if len(set(lost.values())) == 1 else "differs"
    why = "If strips are lost because of the method, what is left flatters it."
    return finding(seen, "strips lost", state, why, found, "Say why each strip was lost.")


def weighed_area(seen: Seen) -> Check:
    """Compare the ground that was weighed, and how it was measured."""
    why = "A cut measured more generously for one method changes its yield by the same share."
    area = {s.strip: math.log(s.cut_area_m2) for s in seen.harvest.strips if s.outcome is not None}
    step = seen.within_blocks(area)
    if step is None:
        return finding(seen, "weighed cut", "unknown", why, "no block was weighed for both", "Measure each cut.")
    ways = {
        letter: {s.area_source for s in seen.harvest.strips if s.method == letter and s.outcome is not None}
        for letter in seen.pair
    }
    unlike = ways[seen.pair[0]] != ways[seen.pair[1]]
    share = 100.0 * math.expm1(step)
    state: State = "differs" if unlike or abs(step) > AREA_SHARE else "alike"
    found = against(seen, share, "%", "larger", "smaller")
    found += ", measured for one and taken from the drawing for the other" if unlike else ""
    return finding(seen, "weighed cut", state, why, found, "Measure length and width of every cut alike.")


def edge_strips(seen: Seen) -> Check:
    """Look at which method stands at the two edges of the strips."""
    numbers = sorted(seen.sown)
    at_edge = [seen.sown[numbers[0]], seen.sown[numbers[-1]]]
    counts = {letter: at_edge.count(letter) for letter in seen.pair}
    found = " and ".join(f"{letter} on {n}" for letter, n in counts.items()) + " of the two outermost strips"
    state: State = "alike" if len(set(counts.values())) == 1 else "differs"
    why = "Outermost strips have more light, more wheels or more shade than the others."
    return finding(seen, "edge strips", state, why, found, "Look at the result without the outermost blocks.")


def _passes(item: str, what: str, why: str) -> Callable[[Seen], Check]:
    """Make a check that counts passes of one kind by strip, within blocks, and what they were made with."""

    def look(seen: Seen) -> Check:
        written = [e for e in current(seen.records.events) if e.event == what]
        made = [e for e in written if e.what.casefold() != NOTHING]
        if not made:
            told = {s for e in written for s in e.strips}.issuperset(seen.sown) and bool(written)
            found = "written down as not done" if told else "none recorded"
            return finding(seen, item, "alike" if told else "unknown", why, found, WRITE_DOWN)
        passes = {s: float(sum(s in e.strips for e in made)) for s in seen.sown}
        unlike, found = _unlike_passes(seen, passes)
        tools = {
            m: {e.what.casefold() for e in made if e.what and m in map(seen.sown.get, e.strips)} for m in seen.pair
        }
        if all(tools.values()) and len(set(map(frozenset, tools.values()))) > 1:
            found += "; " + ", ".join(f"{m} {' and '.join(sorted(tools[m]))}" for m in seen.pair)
            unlike = True
        return finding(seen, item, "differs" if unlike else "alike", why, found, WHOLE_BLOCKS)

    return look


def _unlike_passes(seen: Seen, passes: Mapping[int, float]) -> tuple[bool, str]:
    """Say whether both methods had as many strips with a pass, and as many passes within blocks."""
    hit = {m: sum(passes[s] > 0 for s, sown in seen.sown.items() if sown == m) for m in seen.pair}
    found = ", ".join(f"{m} {n}" for m, n in hit.items()) + " strips"
    step = seen.within_blocks(passes) or 0.0
    if abs(step) > 1e-9:
        found += "; " + against(seen, step, "passes", "more", "fewer")
    return len(set(hit.values())) > 1 or abs(step) > 1e-9, found


CHECKS: tuple[Callable[[Seen], Check], ...] = (
    # seed and sowing
    seed_rate,
    seed_lots,
    hybrid,
    dressing,
    plants_counted,
    sowing_day,
    setting_check("starter", "Starter feeds the young crop and can burn it.", "kg/ha", lambda m: m.starter_kg_per_ha),
    depth,
    speed,
    driver,
    row_spacing,
    joints,
    wheel_rows,
    # ground
    tillage,
    previous_crop,
    slurry,
    traces,
    soil_zones,
    tramlines,
    edge_strips,
    # season
    irrigation,
    _passes("hoeing", "hoed", "A hoe that fits one row spacing leaves weeds or takes plants in another."),
    _passes("spraying", "sprayed", "A pass of the sprayer in some strips only helps or hurts those."),
    _passes("treatments", "treated", "Whatever is done in some strips only helps or hurts those."),
    damage,
    # harvest
    harvest_day,
    dry_matter,
    cutting_height,
    weighing_order,
    weighed_area,
    strips_lost,
)


def without_size(checks: Iterable[Check]) -> tuple[Check, ...]:
    """Return what differs, is not the question, and has no size: it is listed, but in no sum.

    Parameters
    ----------
    checks : iterable of Check
        Found by `fairness`.
    """
    return tuple(c for c in checks if c.state == "differs" and c.bias_t_per_ha is None and not c.part_of_question)
