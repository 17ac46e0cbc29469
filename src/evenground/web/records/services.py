"""What changes records: rows typed or pasted become records; entries held from phones are mended or left out."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from evenground.adapters.number_style import STYLES, NumberStyle
from evenground.adapters.record_table import RecordTable, date_fields, number_fields, read_records
from evenground.adapters.tables import Table, parse_table, style_words
from evenground.basis.consistency import record_problems
from evenground.basis.errors import InputError, Problem
from evenground.basis.observations import RECORD_KINDS, Observation, records_of
from evenground.basis.store import Stored
from evenground.basis.units import other_names
from evenground.web.forms_from_records import Row, new_id, read_rows
from evenground.web.trials.models import HeldEntry
from evenground.web.trials.store import DatabaseStore

ID_DIGITS = 16


@dataclass(frozen=True)
class Preview:
    """A pasted or uploaded table as it was read, before anything is stored.

    Attributes
    ----------
    table : Table
        Its cells.
    records : tuple of Observation
        Sound rows.
    problems : tuple of Problem
        What is wrong; with any, nothing of it may be stored.
    notes : tuple of str
        How the numbers were read, and what else to know.
    new : int
        Rows that are not stored yet [1].
    """

    table: Table
    records: tuple[Observation, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    new: int


def store_rows(*, store: DatabaseStore, rows: Sequence[Row]) -> int | None:
    """Store typed rows, all or none.

    Parameters
    ----------
    store : DatabaseStore
        Where to.
    rows : sequence of Row
        Of one kind; what is wrong is written into each.

    Returns
    -------
    int or None
        Number of records that were new [1]; None if anything is wrong.
    """
    records = read_rows(rows)
    if any(row.problems for row in rows):
        return None
    try:
        return store.append_records(records)
    except InputError as error:
        _hand_out(error.problems, rows)
        return None


def _hand_out(problems: Sequence[Problem], rows: Sequence[Row]) -> None:
    """Put what the store found wrong into the rows it can be about, else into the first."""
    for one in problems:
        own = [row for row in rows if one.given and one.given in row.values.get(one.field.split(".")[0], "")]
        (own or list(rows))[0].problems.append(one)


def read_upload(
    *, stored: Stored, kind: str, data: bytes, file: str, number_style: str = "", date_style: str = ""
) -> Preview:
    """Read a table of records and say how it was understood; nothing is stored.

    A table without ids gets them from its content and the line, so that the same table stored twice is stored once.

    Parameters
    ----------
    stored : Stored
        The trial, which the rows must not contradict.
    kind : str
        A key of ``RECORD_KINDS``.
    data : bytes
        The table.
    file : str
        Its name in messages.
    number_style, date_style : str
        How it is written, where the person has said so; "" finds it out.
    """
    style = STYLES.get(number_style)
    read = read_records(_with_ids(data, kind, file, style, date_style or None), kind, file=file,
                        number_style=style, date_style=date_style or None)  # fmt: skip
    problems, new = [*read.problems], 0
    if not problems:
        known = {r.id: r for r in getattr(stored.records, kind)}
        fresh = [r for r in read.records if r.id not in known]
        new = len(fresh)
        problems += _contradictions(stored, kind, read, fresh)
    notes = [text for text in (style_words(read.table, _number_columns(kind)), *read.notes) if text]
    return Preview(read.table, read.records, tuple(problems), tuple(notes), new)


def _number_columns(kind: str) -> list[str]:
    return [n for f in number_fields(RECORD_KINDS[kind]) for n in (f, *other_names(f))]


def _contradictions(stored: Stored, kind: str, read: RecordTable, fresh: Sequence[Observation]) -> list[Problem]:
    """List what the new rows contradict, each with its line."""
    mine = [*getattr(stored.records, kind), *fresh]
    every: dict[str, Sequence[Observation]] = {k: getattr(stored.records, k) for k in RECORD_KINDS}
    lines = {id(r): line for r, line in zip(read.records, read.lines, strict=True)}
    places = {(kind, i): (read.table.file, lines.get(id(r))) for i, r in enumerate(mine)}
    kept: dict[str, Sequence[Observation]] = {**every, kind: mine}
    return record_problems(stored.plan, stored.draw, records_of(kept), places)


def _with_ids(data: bytes, kind: str, file: str, style: NumberStyle | None, date_style: str | None) -> bytes:
    """Give every row of a table without the column ``id`` an id made from the content and its line."""
    table = parse_table(data, file=file, number_style=style, date_style=date_style,
                        number_columns=_number_columns(kind), date_columns=date_fields(RECORD_KINDS[kind]))  # fmt: skip
    if table.problems or "id" in table.columns or not table.columns:
        return data
    digest = hashlib.sha256(data).hexdigest()[:ID_DIGITS]
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=table.delimiter)
    writer.writerow(["id", *table.columns])
    at = 1
    for line, row in zip(table.lines, table.rows, strict=True):
        while at + 1 < line:  # lines keep their numbers
            out.write("\n")
            at += 1
        writer.writerow([f"t-{digest}-{line}", *(row[c] for c in table.columns)])
        at += 1
    return out.getvalue().encode()


def store_upload(*, store: DatabaseStore, preview: Preview) -> int:
    """Store what a preview showed.

    Raises
    ------
    InputError
        If anything is wrong with it; nothing is stored then.
    """
    if preview.problems:
        raise InputError(preview.problems)
    return store.append_records(preview.records)


def held_values(held: HeldEntry) -> dict[str, str]:
    """Return what a held entry says as text for a form; what cannot be made out is left empty."""
    try:
        said = json.loads(held.text)
    except ValueError:
        said = {}
    if not isinstance(said, Mapping):
        return {}
    return {str(k): _as_text(v) for k, v in said.items() if v is not None}


def _as_text(value: object) -> str:
    if isinstance(value, list):
        return "+".join(str(v) for v in value)
    return ("true" if value else "") if isinstance(value, bool) else str(value)


def mend_held(*, store: DatabaseStore, held: HeldEntry, row: Row) -> bool:
    """Store a held entry as it was mended.

    It keeps the id the phone gave it, so that it is not stored twice; where a record with that id is stored already and
    says something else, it gets an id of its own.
    """
    taken = held.trial.records.filter(kind=held.kind, record_id=held.record_id).exists()
    row.values["id"] = new_id() if taken or not held.record_id else held.record_id
    with transaction.atomic():
        if store_rows(store=store, rows=[row]) is None:
            return False
        held.settled_at = timezone.now()
        held.save(update_fields=["settled_at"])
    return True


def leave_out_held(*, held: HeldEntry, reason: str, by: AbstractBaseUser | None) -> None:
    """Leave a held entry out of the trial; what came stays on record with the reason and who gave it."""
    said = {"message": reason, "field": "left_out", "by": by.get_username() if by is not None else ""}
    held.problems = [*held.problems, said]
    held.settled_at = timezone.now()
    held.save(update_fields=["problems", "settled_at"])
