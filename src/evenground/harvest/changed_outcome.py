"""A change of what counts after the draw: what was named before, whether somebody decided it, and when."""

from __future__ import annotations

import json

from evenground.basis.observations import Records, current
from evenground.basis.outcome_plan import OutcomeSection
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw

# What makes two outcomes different things; what was expected of them does not.
NAMED = ("product", "counted", "standard_moisture_percent", "laboratory", "lab_method")
ENERGY = ("energy_system", "energy_edition")


def named_before(plan: Plan, draw: Draw) -> OutcomeSection | None:
    """Return the outcome that was named when the strips were drawn; None where it is still the same.

    Parameters
    ----------
    plan : Plan
        As it stands now.
    draw : Draw
        Holds the plan as it stood.
    """
    if not draw.plan_text:
        return None
    before = OutcomeSection.model_validate(json.loads(draw.plan_text).get("outcome", {}))
    return None if _named(before) == _named(plan.outcome) else before


def _named(outcome: OutcomeSection) -> tuple[object, ...]:
    names = NAMED + (ENERGY if outcome.counted == "energy" else ())
    moist = outcome.product != "silage" and outcome.counted == "yield"
    return tuple(getattr(outcome, n) for n in names if moist or n != "standard_moisture_percent")


def outcome_changes(plan: Plan, draw: Draw, records: Records) -> tuple[str, ...]:
    """Say that the main outcome was changed, by whose decision, and what is wrong with it.

    Parameters
    ----------
    plan : Plan
        As it stands now.
    draw : Draw
        Holds the plan as it stood.
    records : Records
        Events and weighings, corrections included.

    Returns
    -------
    tuple of str
        Half sentences; empty where nothing changed.
    """
    before = named_before(plan, draw)
    if before is None:
        return ()
    said = f"the main outcome was changed after the draw, from {before.unit} to {plan.outcome.unit}"
    decisions = [
        e for e in current(records.events) if e.event == "product_changed" and e.product in (None, plan.outcome.product)
    ]
    if not decisions:
        return (f"{said}, and no decision is recorded (event product_changed, with its reason)",)
    first = min((w.time for w in current(records.weighings)), default=None)
    late = first is not None and min(e.time for e in decisions) >= first
    return (f"{said}, {'after weights were known' if late else 'before anything was weighed'}",)
