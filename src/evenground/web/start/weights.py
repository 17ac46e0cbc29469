"""The shortest way: strips, weights, dry matter on one page; stored as plan, draw as told, and records."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground import __version__
from evenground.adapters.border_file import BORDER_FILE
from evenground.basis.canonical import plan_hash
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.harvest.outcome import outcome_t_per_ha
from evenground.layout.said_draw import SaidStrip, said_draw
from evenground.web.start.kept_files import keep_file
from evenground.web.start.typed_strips import (
    ALL,
    FIELDS,
    MOST_ROWS,
    SIZES,
    TypedRow,
    areas_m2,
    filled,
    methods_of,
    said_strips,
    typed_rows,
)
from evenground.web.start.weights_plan import methods_asked, money_asked, tell_plan
from evenground.web.start.weights_records import Typed, groups_of, records_for, shown_before
from evenground.web.trials.models import Trial
from evenground.web.trials.store import DatabaseStore

FIRST_ROWS = 8
TONNES = "t"
TWO = ("baseline", "method")
TYPED_FILE = "typed-strips.csv"
# Fresh matter a hectare can carry, t/ha; outside of it weight and area do not belong together. Judgement.
FRESH_T_PER_HA = (0.5, 150.0)


def shown(trial: Trial, given: Mapping[str, str]) -> dict[str, Any]:
    """Return what the page shows besides the lines."""
    store = DatabaseStore(trial)
    plan = store.plan()
    asked = methods_asked(plan, given)
    draws = store.draws()
    told = {"drawn": "lot", "how": draws[-1].reason} if draws else {}
    return {
        "methods": [m for m in asked if m.needed or m.name],
        "further": [m for m in asked if not (m.needed or m.name)],
        "letters": [m.letter for m in asked],
        "others": [m for m in asked if not m.baseline and (m.needed or m.name)],
        "every": {n: given.get(f"{ALL}-{n}", "") for n in SIZES},
        "baseline": plan.baseline.letter,
        "money": money_asked(plan, given),
        "again": bool(draws) or trial.files.filter(path=BORDER_FILE).exists(),
        "given": given or {**told, "day": _day_before(store)},
        "dry_of_methods": [(m.letter, given.get(f"dry-{m.letter}", "")) for m in asked],
    }


def _day_before(store: DatabaseStore) -> str:
    loads = store.records().loads
    return loads[-1].time.date().isoformat() if loads else ""


def rows_shown(trial: Trial) -> list[TypedRow]:
    """Return the lines to begin with: as stored before, else empty ones with the methods in turn."""
    store = DatabaseStore(trial)
    draws = store.draws()
    if draws:
        return [TypedRow(i, v) for i, v in enumerate(shown_before(draws[-1], store.records()), start=1)]
    file = trial.files.filter(path=TYPED_FILE).first()
    if file is not None:
        lines = csv.DictReader(io.StringIO(bytes(file.content).decode()))
        return [TypedRow(i, {n: line.get(n) or "" for n in FIELDS}) for i, line in enumerate(lines, start=1)]
    letters = store.plan().letters
    count = len(letters)
    return [
        TypedRow(i + 1, {"block": str(i // count + 1), "method": letters[i % count]})
        for i in range(max(FIRST_ROWS, 3 * count))
    ]


def rows_typed(given: Mapping[str, str]) -> list[TypedRow]:
    """Return the lines as typed, with one more block of them where that was asked for."""
    rows = typed_rows(given)
    if "more" in given and rows:
        for _row in range(min(4, MOST_ROWS - len(rows))):
            rows.append(TypedRow(len(rows) + 1, {"block": "", "method": rows[-1].values["method"]}))
    return rows


def store_weights(*, trial: Trial, by: AbstractBaseUser, rows: list[TypedRow], said: Mapping[str, str]) -> None:
    """Store the strips with their weights, or correct what was stored before.

    Strips that were drawn by lot become a draw, with the farmer's words on how; others become a border table that is
    judged as never randomised.

    Raises
    ------
    InputError
        With every fault; nothing is stored then.
    """
    store, rows = DatabaseStore(trial, by), filled(rows)
    with transaction.atomic():
        plan, problems = tell_plan(store, said)
        if said.get("drawn") not in ("lot", "not"):
            words = _("say whether the methods were drawn by lot.")
            problems.append(problem(words, field=_("drawn by lot"), allowed=_("by lot, or not")))
        masses, dry = _masses(rows, said), _dry(plan, rows, said, problems)
        lot = said.get("drawn") == "lot"
        strips = _strips(plan, rows, problems) if lot else []
        areas = areas_m2(rows) if not lot else [s.area_m2 for s in strips]
        methods = methods_of(plan, rows) if not lot else [s.method for s in strips]
        day = _day(said, problems) if lot else None
        _raise(rows, problems)
        _weights_fit(rows, masses, areas, problems)
        _raise(rows, problems)
        if day is not None:
            groups = groups_of(methods, by_method=said.get("dry") == "method")
            _as_drawn(store, plan, strips, Typed(day, masses, dry, groups), said)
        else:
            _as_border(trial, rows, _outcomes(plan, methods, masses, dry, areas))


def _strips(plan: Plan, rows: list[TypedRow], problems: list[Problem]) -> list[SaidStrip]:
    try:
        return said_strips(plan, rows)
    except InputError as error:
        # Those of the lines are raised with the lines.
        problems += [p for p in error.problems if not any(p in r.problems for r in rows)]
        return []


def _raise(rows: list[TypedRow], problems: list[Problem]) -> None:
    """Raise what is wrong, all at once and each thing once."""
    every = [*problems, *(p for r in rows for p in r.problems)]
    if not rows:
        every.append(problem(_("no strip is filled in."), field=_("net weight")))
    if every:
        raise InputError(list(dict.fromkeys(every)))


def _masses(rows: list[TypedRow], said: Mapping[str, str]) -> list[float]:
    """Return the net mass of each line [kg]."""
    tonnes = said.get("unit") == TONNES
    return [(r.number_of("weight", "weight_t" if tonnes else "") or 0.0) * (1000.0 if tonnes else 1.0) for r in rows]


def _weights_fit(rows: list[TypedRow], masses: list[float], areas: list[float], problems: list[Problem]) -> None:
    """Keep a problem where a hectare would have carried less or more than any crop does."""
    low, high = FRESH_T_PER_HA
    for row, mass, area in zip(rows, masses, areas, strict=True):
        fresh = 10.0 * mass / area if area > 0.0 and mass > 0.0 else low
        if not low <= fresh <= high:
            words = _("weight and area do not belong together: that would be %(fresh).3g t fresh on a hectare.")
            problems.append(problem(words % {"fresh": fresh}, row=row.number, allowed=f"{low:g} to {high:g} t/ha"))


def _dry(plan: Plan, rows: list[TypedRow], said: Mapping[str, str], problems: list[Problem]) -> list[float]:
    """Return the dry matter of each line [%]: its own, or the one of its method."""
    if said.get("dry") != "method":
        return [r.number_of("dry_matter_percent") or 0.0 for r in rows]
    each: dict[str, float | None] = {}
    used = {r.values["method"].strip().upper() for r in rows}
    for letter in (x for x in plan.letters if x in used):
        row = TypedRow(0, {"dry_matter_percent": said.get(f"dry-{letter}", "")})
        each[letter] = row.number_of("dry_matter_percent")
        problems += [replace(p, field=f"{p.field}, {letter}") for p in row.problems]
    return [each.get(r.values["method"].strip().upper()) or 0.0 for r in rows]


def _day(said: Mapping[str, str], problems: list[Problem]) -> date | None:
    try:
        return date.fromisoformat(said.get("day", ""))
    except ValueError:
        words, given = _("when was it harvested?"), said.get("day", "")
        problems.append(problem(words, field=_("day of harvest"), given=given, allowed="2026-09-14"))
        return None


def _as_drawn(store: DatabaseStore, plan: Plan, strips: list[SaidStrip], typed: Typed, said: Mapping[str, str]) -> None:
    draws = store.draws()
    draw = said_draw(
        plan,
        strips,
        how=said.get("how", ""),
        told_at=timezone.now(),
        plan_hash=plan_hash(plan),
        version=__version__,
        number=len(draws) + 1,
    )
    if not draws or not _same_strips(draws[-1], draw):
        store.append_draw(draw)
    before = store.records()
    store.append_records(records_for(typed, before, 1 + len(before.loads) + len(before.weighings)))


def _same_strips(one: Draw, other: Draw) -> bool:
    """Say whether two draws tell of the same strips in the same words."""
    return one.strips == other.strips and one.reason == other.reason


def _outcomes(
    plan: Plan, methods: list[str], masses: list[float], dry: list[float], areas: list[float]
) -> list[tuple[str, float]]:
    """Return method and outcome of each line [t/ha]."""
    if len(set(methods)) != len(TWO):
        words = _("a comparison that was never drawn by lot is made between two methods; leave the others out.")
        given = ", ".join(sorted(set(methods)))
        raise InputError([problem(words, field=_("method"), given=given, allowed=_("two methods"))])
    every = zip(methods, masses, dry, areas, strict=True)
    return [(m, outcome_t_per_ha(kg / 1000.0, share / 100.0, area, plan.outcome)) for m, kg, share, area in every]


def _as_border(trial: Trial, rows: list[TypedRow], outcomes: list[tuple[str, float]]) -> None:
    """Keep the yields as the table of a comparison that was never randomised, and the lines as typed."""
    if trial.draws.exists():
        words = _("strips drawn by lot are on record; what was drawn cannot become undrawn.")
        raise InputError([problem(words, field=_("drawn by lot"))])
    table = _csv(("method", "value"), [(letter, f"{value:.4f}") for letter, value in outcomes])
    keep_file(trial, BORDER_FILE, table)
    keep_file(trial, TYPED_FILE, _csv(FIELDS, [tuple(map(r.text, FIELDS)) for r in rows]))


def _csv(head: tuple[str, ...], lines: list[tuple[str, ...]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([head, *lines])
    return out.getvalue().encode()
