"""Side results: everything else that was measured strip by strip, each with its own interval and never the verdict."""

from __future__ import annotations

from evenground.basis.observations import Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.decide.feed_outcomes import Named, feed_outcomes, other_products, without_damage, without_estimates
from evenground.decide.strip_values import (
    as_strip_values,
    cut_plant_values,
    dry_matter_values,
    fresh_values,
    stand_values,
    yield_values,
)
from evenground.harvest.changed_outcome import named_before
from evenground.harvest.strips import Harvest, harvest
from evenground.stand.plants import stand


def side_outcomes(plan: Plan, draw: Draw, records: Records, came_off: Harvest) -> tuple[Named, ...]:
    """List every other outcome that can be compared, in the order in which it is shown.

    Parameters
    ----------
    plan : Plan
        What is counted.
    draw : Draw
        The strips, and the outcome named when they were drawn.
    records : Records
        What was seen.
    came_off : Harvest
        What came off each strip.

    Returns
    -------
    tuple of (str, str, StripValues)
        Name, unit and values by strip.
    """
    outcome = plan.outcome
    spared, weighed = without_damage(came_off), without_estimates(came_off)
    earlier = _as_named_before(plan, draw, records)
    grown = ("yield", outcome.yield_unit, yield_values(came_off))
    told = outcome.counted == "yield" or (earlier is not None and earlier[1] == outcome.yield_unit)
    found: list[Named | None] = [
        earlier,
        None if told else grown,
        *feed_outcomes(came_off),
        None if spared is None else (f"{WHAT[outcome.counted]} without the blocks with damage", _unit(plan), spared),
        None if weighed is None else (f"{WHAT[outcome.counted]} of the blocks that were weighed", _unit(plan), weighed),
        *other_products(came_off),
        ("fresh yield", "t/ha", fresh_values(came_off)),
        ("dry matter", "%", dry_matter_values(came_off)),
        ("plants counted", "plants/m2", stand_values(stand(plan, draw, records))),
        *cut_plant_values(came_off),
    ]
    return tuple(one for one in found if one is not None)


WHAT = {"yield": "yield", "starch": "starch yield", "energy": "energy yield"}


def _unit(plan: Plan) -> str:
    return f"{plan.outcome.amount}/ha"


def _as_named_before(plan: Plan, draw: Draw, records: Records) -> Named | None:
    """Return the outcome named before the harvest where another one counts now; None where it is the same."""
    before = named_before(plan, draw)
    if before is None:
        return None
    # under the plan as it was nothing had been changed: its own decision is not held against the strips
    events = tuple(e for e in current(records.events) if e.event != "product_changed" or e.product)
    seen = records.model_copy(update={"events": events})
    earlier = harvest(plan.model_copy(update={"outcome": before}), draw, seen)
    return f"{WHAT[before.counted]}, as named before the harvest", before.unit, as_strip_values(earlier)
