"""Strips that were harvested as another product than the plan counts: decided on record, and never compared as one."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping
from dataclasses import replace

from evenground.basis.days import said_day
from evenground.basis.observations import Event, Records, current
from evenground.basis.outcome_plan import PRODUCT_NAMES
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.harvest.changed_outcome import named_before
from evenground.harvest.dry_matter import Figure
from evenground.harvest.happened import StripFate
from evenground.harvest.harvested import StripHarvest
from evenground.harvest.names import strip_names

STATE = "other_product"
# This far from the middle of all strips a dry matter is more likely another product, or a slip of the pen, than the
# same crop on the same day, in points: judgement, no source.
FAR_POINTS = 12.0
FEWEST_TO_JUDGE = 4


def product_events(strip: int, events: Iterable[Event]) -> list[Event]:
    """Return the decisions on what one strip was harvested as, the one that counts last.

    Parameters
    ----------
    strip : int
        Which strip.
    events : iterable of Event
        All events, corrections included.
    """
    named = (e for e in current(events) if e.event == "product_changed" and e.product and strip in e.strips)
    return sorted(named, key=lambda e: e.time)


def as_harvested(strip: int, seen: StripFate, plan: Plan, events: Iterable[Event]) -> StripFate:
    """Return what became of a strip, with the product it was harvested as.

    Parameters
    ----------
    strip : int
        Which strip.
    seen : StripFate
        What happened to it besides.
    plan : Plan
        Names the product that counts.
    events : iterable of Event
        All events, corrections included.
    """
    decided = product_events(strip, events)
    if not decided or seen.state is not None:
        return seen
    last, counts = decided[-1], plan.outcome.product
    product = last.product or counts
    if product == counts:
        return seen
    note = (
        f"harvested as {PRODUCT_NAMES[product]} and not as {PRODUCT_NAMES[counts]}, decided on {said_day(last.time)}: "
        f"{last.note}; two products are never compared as one"
    )
    return replace(seen, state=STATE, notes=(*seen.notes, note), product=product)


def undecided(plan: Plan, draw: Draw, records: Records) -> dict[int, str]:
    """Say why strips have no value because nobody said what they were harvested as, by strip.

    An entry without a product belongs to a change of the plan; where the plan was not changed and only some strips are
    named, it says that those were harvested otherwise, and not how.

    Parameters
    ----------
    plan : Plan
        As it stands now.
    draw : Draw
        Strips, and the plan as it stood.
    records : Records
        Events, corrections included.
    """
    if named_before(plan, draw) is not None:
        return {}
    open_ones = [e for e in current(records.events) if e.event == "product_changed" and not e.product]
    every = {s.strip for s in draw.strips}
    why = "its product was changed and nobody said to what; name the product in that entry (event product_changed)"
    return {
        n: why
        for e in open_ones
        if not every <= set(e.strips)
        for n in e.strips
        if not product_events(n, records.events)
    }


def sampled_together(happened: Mapping[int, StripFate], figures: Iterable[Figure]) -> dict[int, str]:
    """Say which strips share a dry-matter figure with a strip of another product, by strip.

    Parameters
    ----------
    happened : mapping
        Strip to what became of it.
    figures : iterable of Figure
        Dry matter, by the strips it serves.
    """
    why = "its dry-matter sample also stands for strips of another product, so it stands for neither"
    mixed = (f for f in figures if len({happened[n].product for n in f.serves if n in happened}) > 1)
    return {n: why for f in mixed for n in f.serves}


def asked_product(strips: tuple[StripHarvest, ...]) -> tuple[StripHarvest, ...]:
    """Ask of strips whose dry matter lies far from all others whether they are another product; nothing is left out.

    Parameters
    ----------
    strips : tuple of StripHarvest
        After harvest.
    """
    known = [s.dry_matter_fraction for s in strips if s.outcome is not None and s.dry_matter_fraction is not None]
    if len(known) < FEWEST_TO_JUDGE:
        return strips
    middle = statistics.median(known)
    return tuple(_asked(s, middle) for s in strips)


def _asked(strip: StripHarvest, middle: float) -> StripHarvest:
    dry = strip.dry_matter_fraction
    if strip.outcome is None or dry is None or abs(dry - middle) <= FAR_POINTS / 100.0:
        return strip
    text = (
        f"{100 * dry:.0f} % dry matter beside {100 * middle:.0f} % of the others; is a number mistyped, or was the "
        "strip harvested as another product? Then record product_changed with the product"
    )
    return replace(strip, notes=(*strip.notes, text))


def product_words(strips: Iterable[StripHarvest]) -> tuple[str, ...]:
    """Say which strips were harvested as another product, one half sentence for each product.

    Parameters
    ----------
    strips : iterable of StripHarvest
        After harvest.
    """
    by_product: dict[str, list[StripHarvest]] = {}
    for strip in strips:
        if strip.state == STATE:
            by_product.setdefault(strip.product, []).append(strip)
    return tuple(_words(product, found) for product, found in by_product.items())


def _words(product: str, found: list[StripHarvest]) -> str:
    methods = {s.method for s in found}
    which = strip_names([s.strip for s in found])
    one = f", all sown with {next(iter(methods))}," if len(methods) == 1 and len(found) > 1 else ""
    strips = f"strip {which} was" if len(found) == 1 else f"strips {which}{one} were"
    return f"{strips} harvested as {PRODUCT_NAMES[product]} and {'does' if len(found) == 1 else 'do'} not count"
