"""What the pages of the plan show: parts with their fields, methods side by side, earlier versions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from evenground.basis.canonical import canonical_text, later_changes
from evenground.basis.plan import Plan
from evenground.basis.record import Record
from evenground.report.document import Column, Table
from evenground.report.wording import NONE
from evenground.sowing.settings import differences
from evenground.web.planning.parts import LISTS, NOT_SHOWN, SECTIONS, PlanPart
from evenground.web.planning.plan_fields import PlanField, fields_of
from evenground.web.planning.plan_words import LISTS as LIST_WORDS
from evenground.web.planning.plan_words import SECTIONS as SECTION_WORDS
from evenground.web.planning.plan_words import Words, choice_of, label_of, unit_of
from evenground.web.trial_view import Opened
from evenground.web.trials.models import PlanVersion
from evenground.web.trials.parsed import plan_of

ALWAYS = (
    "outcome.product",
    "outcome.expected_t_per_ha",
    "money.value_short_year_per_t",
    "money.value_full_year_per_t",
    "money.area_ha",
    "layout.headland_m",
    "layout.harvester",
    "layout.weighing",
    "layout.samples_per_strip",
)
"""Keys everybody is shown, even where they stand at their default."""
TITLES = ("letter", "name", "id", "lot", "zone", "who")
"""Keys an entry of a list is known by."""
ENTRANCE = "layout.entrance"


@dataclass(frozen=True)
class Group:
    """A section of the plan as fields under one heading."""

    path: str
    heading: Words
    fields: tuple[PlanField, ...]

    @property
    def main(self) -> tuple[PlanField, ...]:
        """What one is asked first: what has no default, what differs from it, and what is wrong."""
        return tuple(f for f in self.fields if _first(f))

    @property
    def aside(self) -> tuple[PlanField, ...]:
        """What stands at its default."""
        return tuple(f for f in self.fields if not _first(f))


def _first(one: PlanField) -> bool:
    return one.required or bool(one.problems) or not one.at_default or one.path in ALWAYS or not one.default


@dataclass(frozen=True)
class ListEntry:
    """One entry of a list, in a line."""

    path: str
    index: int
    title: str
    facts: tuple[tuple[Words, str], ...]


@dataclass(frozen=True)
class ListShown:
    """A list of the plan."""

    path: str
    heading: Words
    add: Words
    entries: tuple[ListEntry, ...]


def section_value(plan: Plan, path: str) -> Record | None:
    """Return a section of a plan, or what stands at a path in it; None where there is nothing."""
    here: object = plan
    for name in path.split("."):
        here = getattr(here, name, None)
    return here if isinstance(here, Record) else None


def references(plan: Plan) -> dict[str, tuple[str, ...]]:
    """Return what keys may say that name something else of the plan."""
    return {
        "methods[].machine": tuple(m.id for m in plan.machines if m.kind == "planter"),
        "layout.harvester": tuple(m.id for m in plan.machines if m.kind != "planter"),
        "money.machine_access[].method": plan.letters,
    }


def groups(plan: Plan, part: PlanPart) -> tuple[Group, ...]:
    """Return the fields of a part of the plan, section by section."""
    return tuple(g for path in part.sections for g in _groups(plan, path))


def _groups(plan: Plan, path: str) -> Iterator[Group]:
    fields = fields_of(SECTIONS[path], path, section_value(plan, path), plan.money.currency, references(plan))
    gate = tuple(f for f in fields if f.path.startswith(f"{ENTRANCE}."))
    yield Group(path, SECTION_WORDS[path], tuple(f for f in fields if f.path not in NOT_SHOWN and f not in gate))
    if gate:
        yield Group(ENTRANCE, SECTION_WORDS[ENTRANCE], gate)


def list_values(plan: Plan, path: str) -> tuple[Record, ...]:
    """Return the entries of a list of the plan."""
    here: object = plan
    for name in path.split("."):
        here = getattr(here, name)
    return tuple(here) if isinstance(here, tuple) else ()


def entry_fields(plan: Plan, path: str, index: int) -> tuple[PlanField, ...] | None:
    """Return the fields of an entry of a list, empty ones for the entry after the last; None where there is none."""
    entries = list_values(plan, path)
    if not 0 <= index <= len(entries):
        return None
    value = entries[index] if index < len(entries) else None
    return fields_of(LISTS[path], f"{path}[{index}]", value, plan.money.currency, references(plan))


def list_shown(plan: Plan, path: str) -> ListShown:
    """Return a list of the plan with its entries in short."""
    heading, add = LIST_WORDS[path]
    entries = tuple(_entry(plan, path, i, value) for i, value in enumerate(list_values(plan, path)))
    return ListShown(path, heading, add, entries)


def _entry(plan: Plan, path: str, index: int, value: Record) -> ListEntry:
    told = {n: v for n, v in value.model_dump(exclude_defaults=True).items() if isinstance(v, str | int | float)}
    title = " ".join(str(v) for n, v in told.items() if n in TITLES)
    if not title:
        title = " ".join(str(choice_of(v)) for v in told.values() if isinstance(v, str))
    facts = tuple(
        (label_of(f"{path}[].{n}"), _with_unit(v, unit_of(f"{path}[].{n}", plan.money.currency)))
        for n, v in told.items()
        if n not in TITLES and not isinstance(v, bool)
    )
    return ListEntry(path, index, title, facts)


def _with_unit(value: str | float, unit: Words) -> str:
    text = str(choice_of(value)) if isinstance(value, str) else f"{value:g}"
    return f"{text} {unit}".strip()


# Methods side by side ------------------------------------------------------------------------------------------------

ASKED_AS = {
    "machine": "machine",
    "seeds_per_m2": "seeds",
    "depth_cm": "depth",
    "speed_km_per_h": "speed",
    "starter_kg_per_ha": "starter",
}
"""Keys of a method to what the comparison of settings calls them; the row pattern is one thing there."""
PATTERN = "row pattern"
NOT_SOWING = ("extra_cost_per_ha", "strips_per_block", "depth_reason", "target_plants_per_m2")
"""Keys that may differ without touching how a method is sown."""


def methods_table(plan: Plan) -> Table:
    """Return the methods side by side; what differs says whether it is the question or has to be made alike.

    Parameters
    ----------
    plan : Plan
        The plan; what belongs to its question is decided by `evenground.sowing.settings.differences`.
    """
    asked = {d.setting: d.part_of_question for m in plan.methods if not m.baseline for d in differences(plan, m)}
    rows = []
    for label, name, values in _method_lines(plan):
        if set(values) != {NONE}:
            rows.append((label, *values, _alike(name, values, asked)))
    now = {m.letter: f" ({_('now')})" if m.baseline else "" for m in plan.methods}
    columns = tuple(Column(f"{m.letter} {m.name}{now[m.letter]}") for m in plan.methods)
    return Table(_("Methods side by side"), (Column(_("Setting")), *columns, Column(_("Alike?"))), tuple(rows))


def _alike(name: str, values: list[str], asked: dict[str, bool]) -> str:
    if len(set(values)) == 1:
        return ""
    if name in NOT_SOWING or name not in asked:
        return _("differs")
    return _("differs: the question") if asked[name] else _("differs: make it alike")


def _method_lines(plan: Plan) -> Iterator[tuple[str, str, list[str]]]:
    """Go through what methods say: label with unit, what it is called among the differences, value of each method."""
    every = [entry_fields(plan, "methods", i) or () for i in range(len(plan.methods))]
    for fields in zip(*every, strict=True):
        name = fields[0].path.split(".", 1)[1]
        if name not in ("letter", "name", "baseline"):
            called = PATTERN if name.startswith("row_pattern.") else ASKED_AS.get(name, name)
            unit = f", {fields[0].unit}" if fields[0].unit else ""
            yield f"{fields[0].label}{unit}", called, [_said(f) for f in fields]


def _said(one: PlanField) -> str:
    if one.how == "yes":
        return _("yes") if one.text else _("no")
    return str(dict(one.choices).get(one.text, one.text)) if one.text else NONE


# Versions -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class VersionShown:
    """One version of the plan."""

    number: int
    saved_at: datetime
    by: str
    changes: tuple[str, ...]
    after_draw: bool


def versions(opened: Opened) -> list[VersionShown]:
    """Return all versions of the plan, newest first, each with what it changed and whether that was after the draw."""
    draws = opened.stored.draws
    out, before = [], ""
    for row in opened.trial.plans.select_related("saved_by"):
        plan = plan_of(row.text).plan
        changes = later_changes(before, plan) if plan is not None and before else ()
        before = canonical_text(plan) if plan is not None else before
        late = bool(draws) and row.saved_at > draws[0].drawn_at
        out.append(VersionShown(row.number, row.saved_at, _by(row), changes, late))
    return out[::-1]


def _by(row: PlanVersion) -> str:
    return row.saved_by.get_username() if row.saved_by is not None else ""


def changed_after_draw(opened: Opened) -> tuple[str, ...]:
    """Return what of the plan was changed after the draw that counts."""
    draw = opened.stored.draw
    return later_changes(draw.plan_text, opened.stored.plan) if draw is not None else ()


def lists_of(plan: Plan, paths: Iterable[str]) -> tuple[ListShown, ...]:
    """Return some lists of the plan."""
    return tuple(list_shown(plan, path) for path in paths)
