"""The plan of a trial of which only weights are known: names of the methods, what they cost, what a tonne is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from evenground.adapters.new_trial import template
from evenground.adapters.plan_file import add_to_plan, change_plan_text, take_from_plan
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.web.start.typed_strips import TypedRow
from evenground.web.trials.store import DatabaseStore

LETTERS = "ABCD"
FEWEST = 2
UNNAMED = ("method A", "method B")
"""What the first two methods are called in the plan until somebody names them; a page shows no name then."""
TWIN_PLANTER = 1
PLACEHOLDERS: Mapping[str, object] = {
    "trial.settings_told": False,
    "methods[0].name": UNNAMED[0],
    "methods[1].name": UNNAMED[1],
    "methods[1].machine": "planter",
    "methods[1].row_pattern.kind": "single",
    "methods[1].row_pattern.twin_gap_m": None,
    "methods[1].row_pattern.staggered": False,
    "money.machine_access": None,
}
"""What makes of the template a plan that says of its methods no more than that there are two."""


def weights_plan(season: int) -> str:
    """Return the text of the plan such a trial begins with."""
    return take_from_plan(change_plan_text(template(season), PLACEHOLDERS), "machines", TWIN_PLANTER)


@dataclass(frozen=True)
class MethodAsked:
    """One method as the page asks for it.

    Attributes
    ----------
    letter, name, cost : str
        Its letter, what was typed as its name, and what it costs more than the first.
    needed : bool
        Whether it has to be named.
    baseline : bool
        Whether it is what the farm does now.
    """

    letter: str
    name: str
    cost: str
    needed: bool
    baseline: bool


def methods_asked(plan: Plan, given: Mapping[str, str]) -> list[MethodAsked]:
    """Return the methods as typed, or as the plan has them."""
    known = {m.letter: m for m in plan.methods}
    out = []
    for i, letter in enumerate(sorted({*LETTERS, *known})):
        method = known.get(letter)
        name = "" if method is None or method.name in UNNAMED else method.name
        cost = "" if not name or method is None else f"{method.extra_cost_per_ha:g}"
        baseline = method is not None and method.baseline
        typed = given.get(f"name-{letter}", name), given.get(f"cost-{letter}", cost)
        out.append(MethodAsked(letter, *typed, i < FEWEST, baseline))
    return out


def money_asked(plan: Plan, given: Mapping[str, str]) -> dict[str, str]:
    """Return what a tonne is worth and how much ground it is about, as typed or as the plan has it."""
    money = plan.money
    known = {
        "short": f"{money.value_short_year_per_t:g}",
        "full": f"{money.value_full_year_per_t:g}",
        "ha": f"{money.area_ha:g}",
        "currency": money.currency,
    }
    return {name: given.get(name, text) for name, text in known.items()}


def tell_plan(store: DatabaseStore, given: Mapping[str, str]) -> tuple[Plan, list[Problem]]:
    """Put names, costs and worth into the plan; return it with what is missing or wrong.

    Parameters
    ----------
    store : DatabaseStore
        The trial; stored inside the caller's transaction.
    given : mapping
        What was typed.
    """
    plan = store.plan()
    asked, money = methods_asked(plan, given), money_asked(plan, given)
    drawn = given.get("drawn") == "lot"
    text, changes = store.plan_text(), dict[str, object]()
    problems = [
        problem(_("what is this method called?"), field=_("name of %(letter)s") % {"letter": m.letter})
        for m in asked
        if m.needed and not m.name.strip()
    ]
    for m in asked:
        if not m.name.strip():
            continue
        if m.letter not in plan.letters:
            text = add_to_plan(text, "methods", _like_first(plan, m.letter))
        index = sorted({*plan.letters, *(a.letter for a in asked if a.name.strip())}).index(m.letter)
        changes[f"methods[{index}].name"] = m.name.strip()[:60]
        if not m.baseline and (drawn or m.cost.strip()):
            cost, faults = _number(m.cost, "extra_cost_per_ha", m.letter)
            problems += faults
            changes[f"methods[{index}].extra_cost_per_ha"] = cost
    keys = {"short": "value_short_year_per_t", "full": "value_full_year_per_t", "ha": "area_ha"}
    for name, key in keys.items():
        value, faults = _number(money[name], "use_ha" if name == "ha" else "value_per_t")
        problems += faults
        changes[f"money.{key}"] = value
    changes["money.currency"] = money["currency"].strip()[:8] or plan.money.currency
    if problems:
        return plan, problems
    try:
        store.save_plan(change_plan_text(text, changes))
    except InputError as error:
        return plan, list(error.problems)
    return store.plan(), []


def _like_first(plan: Plan, letter: str) -> dict[str, object]:
    """Return a further method: nothing is known of it but its letter."""
    first = plan.methods[0]
    return {"letter": letter, "name": letter, "machine": first.machine, "seeds_per_m2": first.seeds_per_m2}


def _number(text: str, limits: str, letter: str = "") -> tuple[float, list[Problem]]:
    row = TypedRow(0, {limits: text})
    value = row.number_of(limits, limits)
    if not letter:
        return value or 0.0, row.problems
    named = [Problem(p.file, p.row, f"{p.field}, {letter}", p.given, p.allowed, p.message) for p in row.problems]
    return value or 0.0, named
