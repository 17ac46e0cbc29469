"""The shortest way: strips, weights, dry matter on one page; stored as plan, draw as told, and records."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground import __version__
from evenground.adapters.border_file import BORDER_FILE
from evenground.basis.canonical import plan_hash
from evenground.basis.errors import InputError, problem
from evenground.basis.observations import Load, Observation, Sample, Weighing
from evenground.basis.plan import Plan
from evenground.harvest.outcome import outcome_t_per_ha
from evenground.layout.said_draw import SaidStrip, said_draw
from evenground.web.start.typed_strips import (
    MOST_ROWS,
    TypedRow,
    areas_m2,
    methods_of,
    said_strips,
    typed_rows,
)
from evenground.web.trials.models import Trial, TrialFile
from evenground.web.trials.store import DatabaseStore

FIRST_ROWS = 8
TONNES, KILOGRAMS = "t", "kg"
TWO = ("baseline", "method")
NOT_TOLD = "time not told; typed in afterwards"


def shown(trial: Trial) -> dict[str, Any]:
    """Return what the page shows besides the lines."""
    plan = DatabaseStore(trial).plan()
    today = timezone.localdate().isoformat()
    return {"methods": plan.methods, "letters": plan.letters, "most": MOST_ROWS, "today": today}


def rows_empty(trial: Trial) -> list[TypedRow]:
    """Return empty lines, two methods in turn, to begin with."""
    letters = DatabaseStore(trial).plan().letters
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
    """Store the strips with their weights.

    Strips that were drawn by lot become a draw, with the farmer's words on how; others become a border table that is
    judged as never randomised.

    Raises
    ------
    InputError
        With every fault; nothing is stored then.
    """
    store = DatabaseStore(trial, by)
    changes = {f"methods[{i}].name": n for i in range(6) if (n := said.get(f"name-{i}", "").strip()[:60])}
    with transaction.atomic():
        if changes:
            store.change_plan(changes)
        plan = store.plan()
        rows = [r for r in rows if not r.empty]
        masses, dry = _masses(rows, said), _dry(plan, rows, said)
        if said.get("drawn") == "lot":
            strips = said_strips(plan, rows)
            _raise(rows)
            _as_drawn(store, plan, strips, masses, dry, said)
        else:
            _as_border(trial, plan, rows, masses, dry, said)


def _raise(rows: list[TypedRow]) -> None:
    """Raise what is wrong with the lines, all at once."""
    problems = [p for r in rows for p in r.problems]
    if not rows:
        problems.append(problem(_("no strip is filled in."), field="weight"))
    if problems:
        raise InputError(problems)


def _masses(rows: list[TypedRow], said: Mapping[str, str]) -> list[float]:
    """Return the net mass of each line [kg]."""
    factor = 1000.0 if said.get("unit") == TONNES else 1.0
    return [(r.number_of("weight") or 0.0) * factor for r in rows]


def _dry(plan: Plan, rows: list[TypedRow], said: Mapping[str, str]) -> list[float]:
    """Return the dry matter of each line [%]: its own, or the one of its method."""
    if said.get("dry") != "method":
        return [r.number_of("dry_matter_percent") or 0.0 for r in rows]
    each = {}
    used = {r.values["method"].strip().upper() for r in rows}
    for letter in (x for x in plan.letters if x in used):
        row = TypedRow(0, {"dry_matter_percent": said.get(f"dry-{letter}", "")})
        each[letter] = row.number_of("dry_matter_percent")
        if row.problems:
            raise InputError([replace(p, row=None, field=f"dry_matter_percent, {letter}") for p in row.problems])
    return [each.get(r.values["method"].strip().upper()) or 0.0 for r in rows]


def _as_drawn(
    store: DatabaseStore,
    plan: Plan,
    strips: list[SaidStrip],
    masses: list[float],
    dry: list[float],
    said: Mapping[str, str],
) -> None:
    number = len(store.draws()) + 1
    draw = said_draw(
        plan,
        strips,
        how=said.get("how", ""),
        told_at=timezone.now(),
        plan_hash=plan_hash(plan),
        version=__version__,
        number=number,
    )
    store.append_draw(draw)
    day = _day(said)
    records: list[Observation] = []
    for i, mass in enumerate(masses, start=1):
        at = datetime.combine(day, time(8)) + timedelta(minutes=10 * i)
        key = f"typed-{number}-{i:02d}"
        records += [
            Load(id=f"{key}-load", time=at, strips=(i,), trailer=f"strip {i}", order=i, note=NOT_TOLD),
            Weighing(
                id=f"{key}-slip", time=at, load=f"{key}-load", trailer=f"strip {i}", slip_net_kg=mass, note=NOT_TOLD
            ),
        ]
    groups: dict[tuple[str, float] | int, list[int]] = {}
    for i, strip in enumerate(strips, start=1):
        shared = said.get("dry") == "method"
        groups.setdefault((strip.method, dry[i - 1]) if shared else i, []).append(i)
    at = datetime.combine(day, time(18))
    records += [
        Sample(
            id=f"typed-{number}-sample-{n}",
            time=at,
            strips=tuple(g),
            dry_matter_percent=dry[g[0] - 1],
            note=NOT_TOLD,
        )
        for n, g in enumerate(groups.values(), start=1)
    ]
    store.append_records(records)


def _day(said: Mapping[str, str]) -> date:
    try:
        return date.fromisoformat(said.get("day", ""))
    except ValueError as error:
        words = _("when was it harvested?")
        raise InputError([problem(words, field="day", given=said.get("day", ""), allowed="2026-09-14")]) from error


def _as_border(
    trial: Trial, plan: Plan, rows: list[TypedRow], masses: list[float], dry: list[float], said: Mapping[str, str]
) -> None:
    """Keep the yields as the table of a comparison that was never randomised."""
    areas, methods = areas_m2(rows), methods_of(plan, rows)
    _raise(rows)
    if said.get("drawn") != "not":
        words = _("say whether the methods were drawn by lot.")
        raise InputError([problem(words, field="drawn", allowed=_("by lot, or not"))])
    if len(set(methods)) != len(TWO):
        words = _("a comparison that was never drawn by lot is made between two methods; leave the others out.")
        given = ", ".join(sorted(set(methods)))
        raise InputError([problem(words, field="method", given=given, allowed=_("two methods"))])
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["method", "value"])
    for letter, mass, percent, area in zip(methods, masses, dry, areas, strict=True):
        value = outcome_t_per_ha(mass / 1000.0, percent / 100.0, area, plan.outcome)
        writer.writerow([letter, f"{value:.4f}"])
    content = out.getvalue().encode()
    TrialFile.objects.update_or_create(trial=trial, path=BORDER_FILE, defaults={"content": content})
