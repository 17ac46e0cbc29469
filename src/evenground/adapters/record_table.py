"""Records read from CSV: any order of columns, delimiter, number style and unit in; the same values out."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from types import NoneType
from typing import get_args, get_origin

from pydantic import ValidationError

from evenground.adapters.number_style import NumberStyle, exact_number, iso_time
from evenground.adapters.record_writing import as_meant
from evenground.adapters.tables import Table, missing_columns, nearest, number_cell, parse_table
from evenground.basis.errors import Problem, problem
from evenground.basis.observations import RECORD_KINDS, Observation
from evenground.basis.record import problems_of
from evenground.basis.units import Unit, ambiguous_ton, convert, other_names, split_name

_ISO = re.compile(r"\d{4}-\d\d-\d\d(?:[T ].*)?")
_DRY_MATTER = "dry_matter_percent"
_WORD = re.compile(r"[^\W\d_]{2}")
_SENTENCE = re.compile(r"[^\W\d_]{2}.*\s|\s.*[^\W\d_]{2}")


@dataclass(frozen=True)
class RecordTable:
    """One file of records as read.

    Attributes
    ----------
    table : Table
        Its cells.
    records : tuple of Observation
        The rows that are sound, in order.
    lines : tuple of int
        Line of each of them.
    problems : tuple of Problem
        What is wrong.
    notes : tuple of str
        What the user should know.
    """

    table: Table
    records: tuple[Observation, ...]
    lines: tuple[int, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


@functools.cache
def field_types(model: type[Observation], name: str) -> frozenset[type]:
    """List the plain types a field may have, such as {float, NoneType}."""

    def walk(annotation: object) -> set[type]:
        if isinstance(annotation, type) and get_origin(annotation) is None:
            return {annotation}
        if get_origin(annotation) is tuple:
            return {tuple}
        return {t for part in get_args(annotation) for t in walk(part)}

    return frozenset(walk(model.model_fields[name].annotation))


@functools.cache
def number_fields(model: type[Observation]) -> tuple[str, ...]:
    """Name the fields of a kind that hold one number."""
    return tuple(
        n for n in model.model_fields if field_types(model, n) - {NoneType} in (frozenset({float}), frozenset({int}))
    )


@functools.cache
def date_fields(model: type[Observation]) -> tuple[str, ...]:
    """Name the fields of a kind that hold a date or a time."""
    return tuple(n for n in model.model_fields if field_types(model, n) & {date, datetime})


def sources(model: type[Observation], table: Table) -> tuple[dict[str, tuple[str, Unit | None]], list[Problem]]:
    """Find the column for each field: under its own name or with another unit.

    Returns
    -------
    found : dict
        Field to its column and that column's unit (None where no conversion is needed).
    problems : list of Problem
        Columns missing, given twice in two units, or in a ton nobody can tell.
    """
    found: dict[str, tuple[str, Unit | None]] = {}
    problems: list[Problem] = []
    missing = []
    for name, field in model.model_fields.items():
        others = {n: u for n, u in other_names(name).items() if n in table.columns}
        here = ([(name, None)] if name in table.columns else []) + list(others.items())
        if len(here) > 1:
            names = ", ".join(n for n, _ in here)
            message = "the same thing is given in two units."
            problems.append(problem(message, file=table.file, row=1, field=name, given=names, allowed="one of them"))
        if here:
            found[name] = here[0]
        elif field.is_required():
            missing.append(name)
    vague = [c for c in table.columns if ambiguous_ton(c)]
    for name in vague:
        message = "which ton is meant? Name the column with t (1000 kg), short_ton (2000 lb) or long_ton (2240 lb)."
        stem = re.sub(r"_tons?\b.*", "", name)
        allowed = f"{stem}_t, {stem}_short_ton or {stem}_long_ton"
        problems.append(problem(message, file=table.file, row=1, field=name, given=name, allowed=allowed))
    vague_stems = {re.sub(r"_tons?$", "", v) for v in vague}
    missing = [n for n in missing if split_name(n)[0] not in vague_stems]
    return found, problems + missing_columns(table, missing)


def read_records(
    data: bytes,
    kind: str,
    *,
    file: str,
    number_style: NumberStyle | None = None,
    date_style: str | None = None,
) -> RecordTable:
    """Read one file of records.

    Parameters
    ----------
    data : bytes
        Its content.
    kind : str
        A key of ``RECORD_KINDS``.
    file : str
        Its name in messages.
    number_style, date_style : NumberStyle, str or None
        How it is written, where the user has said so.
    """
    model = RECORD_KINDS[kind]
    names = [n for f in number_fields(model) for n in (f, *other_names(f))]
    table = parse_table(
        data,
        file=file,
        number_style=number_style,
        date_style=date_style,
        number_columns=names,
        date_columns=date_fields(model),
    )
    if table.problems:
        return RecordTable(table, (), (), table.problems, table.notes)
    found, problems = sources(model, table)
    if problems:
        return RecordTable(table, (), (), tuple(problems), table.notes)
    records, lines = [], []
    for row, line in zip(table.rows, table.lines, strict=True):
        record, faults = _read_row(model, table, found, row, line)
        problems += faults
        if record is not None:
            records.append(record)
            lines.append(line)
    problems = _ask_dry_matter(problems, found)
    return RecordTable(
        table, tuple(records), tuple(lines), tuple(problems), (*table.notes, *_near_misses(model, table, found))
    )


def _read_row(
    model: type[Observation],
    table: Table,
    found: Mapping[str, tuple[str, Unit | None]],
    row: Mapping[str, str],
    line: int,
) -> tuple[Observation | None, list[Problem]]:
    """Read one line: the record, or what is wrong with it."""
    remark = _remark(row)
    if remark:
        text = "this line holds words and no record; put a footnote into note of the records it means, or take it out."
        return None, [problem(text, file=table.file, row=line, given=remark, allowed="a record, or no line")]
    values: dict[str, object] = {}
    problems: list[Problem] = []
    for name, (column, unit) in found.items():
        text = row[column]
        if not text:
            continue
        if name in number_fields(model):
            value, faults = _number(model, table, line, name, column, unit, text)
            problems += faults
            values[name] = value
        elif name in date_fields(model):
            values[name] = iso_time(text, table.date_style)
            if not _ISO.fullmatch(str(values[name])):
                values[name] = "not a date: " + text
        else:
            values[name] = as_meant(text)
    wrong = {p.field for p in problems}
    try:
        record = model.model_validate(values)
    except ValidationError as error:
        said = problems_of(error, file=table.file, row=line, model=model)
        return None, problems + [q for p in said for q in [_as_written(p, found, row)] if q.field not in wrong]
    return (None, problems) if problems else (record, [])


def _remark(row: Mapping[str, str]) -> str:
    """Return the words of a line that holds nothing else, such as a footnote of a laboratory's sheet; "" otherwise.

    That is one cell of words beside the id, or words from the id on where commas have cut them into cells.
    """
    told = {column: text.strip() for column, text in row.items() if text.strip()}
    words = [text for column, text in told.items() if column != "id"]
    if _SENTENCE.search(told.get("id", "")):
        words = list(told.values())
    lone = len(words) == 1 and _SENTENCE.search(words[0])
    cut = len(words) > 1 and _SENTENCE.search(told.get("id", "")) and all(_WORD.search(text) for text in words)
    return ", ".join(words)[:80] if lone or cut else ""


def _number(
    model: type[Observation], table: Table, line: int, name: str, column: str, unit: Unit | None, text: str
) -> tuple[float | int | None, list[Problem]]:
    _, faults = number_cell(table, line, column, text)
    if faults:
        return None, faults
    exact = exact_number(text, table.style)
    own = split_name(name)[1]
    if unit is not None and own is not None:
        exact = convert(exact, unit, own)
    whole = int in field_types(model, name) and exact.denominator == 1
    return (int(exact) if whole else float(exact)), []


def _as_written(fault: Problem, found: Mapping[str, tuple[str, Unit | None]], row: Mapping[str, str]) -> Problem:
    """Put the column and the cell as the user wrote them into a problem."""
    name = re.split(r"[.\[]", fault.field)[0]
    if name not in found:
        return fault
    column, unit = found[name]
    allowed = f"{fault.allowed} (as {name})" if unit is not None and fault.allowed else fault.allowed
    return replace(fault, field=column, given=row[column] or fault.given, allowed=allowed)


def _ask_dry_matter(problems: list[Problem], found: Mapping[str, tuple[str, Unit | None]]) -> list[Problem]:
    """Ask, once a file, whether dry matter out of range is percent, a fraction or per mille."""
    if found.get(_DRY_MATTER, ("", None))[0] != _DRY_MATTER:
        return problems
    questions = {
        "percent or per mille? {0} may mean {1:g} %; then name the column dry_matter_g_per_kg.": (100.0, 1000.0, 0.1),
        "fraction or percent? {0} may mean {1:g} %; then name the column dry_matter_fraction.": (0.0, 1.0, 100.0),
    }
    out = list(problems)
    for question, (low, high, times) in questions.items():
        hits = [
            (p, v) for p in out if p.field == _DRY_MATTER and (v := _loose(p.given)) is not None and low < v <= high
        ]
        if not hits:
            continue
        first, value = hits[0]
        message = "is this " + question.format(first.given, value * times)
        if len(hits) > 1:
            message += f" {len(hits)} lines are like this: {', '.join(str(p.row) for p, _ in hits[:20])}."
        out[out.index(first)] = replace(first, message=message, allowed="8 to 99 percent")
        gone = [p for p, _ in hits[1:]]
        out = [p for p in out if not any(p is g for g in gone)]
    return out


def _loose(text: str) -> float | None:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None


def _near_misses(model: type[Observation], table: Table, found: Mapping[str, tuple[str, Unit | None]]) -> list[str]:
    """Note extra columns whose name is nearly that of a field which is not there."""
    used = {c for c, _ in found.values()}
    absent = [n for n in model.model_fields if n not in found]
    return [
        f"{table.file}: column {c} is kept but not read; is {near} meant?"
        for c in table.columns
        if c not in used and (near := nearest(c, absent))
    ]
