"""The rows of a trial as a backup says them: which columns, what may stand in them, and back into rows."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from evenground.adapters.geojson import read_field
from evenground.adapters.strips_file import read_strips
from evenground.basis.observations import RECORD_KINDS
from evenground.web.trials.held import content_hash
from evenground.web.trials.models import (
    DrawVersion,
    FieldVersion,
    HeldEntry,
    PlanVersion,
    StoredRecord,
    Trial,
    TrialFile,
)
from evenground.web.trials.parsed import plan_of, record_of


@dataclass(frozen=True)
class Table:
    """What of a trial is kept in one table.

    Attributes
    ----------
    name : str
        How a trial calls its rows.
    model : type
        The table.
    columns : tuple of str
        Plain columns.
    times : tuple of str
        Columns that hold a time; ``None`` may stand in them.
    stamp : str or None
        The column that is set when a row is stored.
    person : str or None
        The column with who stored it.
    check : callable or None
        Says what is wrong with a row's text; "" if nothing.
    """

    name: str
    model: type[models.Model]
    columns: tuple[str, ...]
    times: tuple[str, ...] = ()
    stamp: str | None = None
    person: str | None = None
    check: Callable[[Mapping[str, Any]], str] | None = None


def _plan_faults(said: Mapping[str, Any]) -> str:
    return "; ".join(p.message for p in plan_of(said["text"]).problems[:3])


def _field_faults(said: Mapping[str, Any]) -> str:
    return "; ".join(p.message for p in read_field(said["text"].encode()).problems[:3])


def _draw_faults(said: Mapping[str, Any]) -> str:
    return "; ".join(p.message for p in read_strips(said["text"].encode())[1][:3])


def _record_faults(said: Mapping[str, Any]) -> str:
    if said["kind"] not in RECORD_KINDS:
        return _("there is no such kind of record.")
    try:
        record = record_of(said["kind"], said["text"])
    except ValueError:  # also what pydantic finds
        return _("this record cannot be read.")
    return "" if record.id == said["record_id"] else _("this record has another id than its row.")


def _held_faults(said: Mapping[str, Any]) -> str:
    json.loads(said["text"])
    return "" if isinstance(said["problems"], list) else _("this line cannot be read.")


TABLES = (
    Table(
        "plans", PlanVersion, ("number", "text", "plan_hash"), stamp="saved_at", person="saved_by", check=_plan_faults
    ),
    Table("fields", FieldVersion, ("number", "text"), stamp="saved_at", person="saved_by", check=_field_faults),
    Table("draws", DrawVersion, ("number", "text"), ("drawn_at",), person="saved_by", check=_draw_faults),
    Table(
        "records",
        StoredRecord,
        ("kind", "record_id", "replaces", "text", "device"),
        ("seen_at",),
        stamp="received_at",
        person="received_from",
        check=_record_faults,
    ),
    Table(
        "held",
        HeldEntry,
        ("kind", "record_id", "text", "problems", "device"),
        ("settled_at",),
        stamp="received_at",
        person="received_from",
        check=_held_faults,
    ),
    Table("files", TrialFile, ("path",)),
)


def said_of(row: models.Model, table: Table) -> dict[str, object]:
    """Return what a row says."""
    said = {name: getattr(row, name) for name in table.columns}
    for name in (*table.times, *((table.stamp,) if table.stamp else ())):
        value = getattr(row, name)
        said[name] = value.isoformat() if value is not None else None
    if table.person:
        person = getattr(row, table.person)
        said[table.person] = person.get_username() if person is not None else None
    return said


def fits(said: Mapping[str, Any], table: Table) -> str:
    """Say what is wrong with a row of a backup; "" if nothing.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError
        If it is no row at all.
    """
    for name in table.columns:
        column = table.model._meta.get_field(name)
        value = said[name]
        if isinstance(column, models.CharField) and (len(value) > (column.max_length or 0) or "\x00" in value):
            return _("{name} is too long or has odd signs.").format(name=name)
        if isinstance(column, models.TextField) and (not isinstance(value, str) or "\x00" in value):
            return _("{name} is no text.").format(name=name)
        if isinstance(column, models.IntegerField) and not 0 < int(value) < 1_000_000:
            return _("{name} is no number of a version.").format(name=name)
    for name in (*table.times, *((table.stamp,) if table.stamp else ())):
        value = said[name]
        if value is None and name != table.stamp:
            continue
        time = datetime.fromisoformat(value)
        if time.tzinfo is None or not 1900 < time.year < 2200:
            return _("{name} is no time.").format(name=name)
    return table.check(said) if table.check is not None else ""


def row_of(said: Mapping[str, Any], table: Table, trial: Trial, people: Mapping[str, Any]) -> models.Model:
    """Return a row, not stored yet; a person is found again by name, where there is one."""
    values: dict[str, Any] = {name: said[name] for name in table.columns}
    for name in (*table.times, *((table.stamp,) if table.stamp else ())):
        values[name] = datetime.fromisoformat(said[name]) if said[name] is not None else None
    if table.person:
        values[table.person] = people.get(str(said.get(table.person)))
    if table.model is HeldEntry:
        values["content_hash"] = content_hash(said["text"])
    return table.model(trial=trial, **values)
