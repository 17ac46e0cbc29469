"""Records added at the end of a file in the way the file is written; what stands in it stays byte for byte."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence

from evenground.adapters.plan_file import FileStyle
from evenground.adapters.record_table import RecordTable, read_records, sources
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.adapters.tables import Table
from evenground.basis.errors import InputError, problem
from evenground.basis.observations import RECORD_KINDS, Observation


def appended(kind: str, records: Sequence[Observation], old: bytes, before: RecordTable | None) -> bytes:
    """Return the content of a file with records added.

    Parameters
    ----------
    kind : str
        A key of ``RECORD_KINDS``.
    records : sequence of Observation
        What to add.
    old : bytes
        The file as it stands; nothing where there is none.
    before : RecordTable or None
        The same, read; None where there is none or it is empty.

    Raises
    ------
    InputError
        If the file has no column for something a record says, or its encoding no way to write it.
    """
    if before is None:
        return rows_text(records, canonical_columns(kind)).encode()
    table, encoding, line_end = before.table, _encoding(before.table, old), _line_end(before.table, old)
    text = rows_text(
        records, table.columns, delimiter=table.delimiter, style=table.style, line_end=line_end, header=False
    )
    gap = "" if old.endswith(("\n".encode(encoding), "\r".encode(encoding))) else line_end
    try:
        return old + (gap + text).encode(encoding)
    except UnicodeEncodeError as error:
        message = (
            f"a sign in this record cannot be written in the file's encoding ({table.encoding}); save it as UTF-8."
        )
        sign = error.object[error.start]
        raise InputError([problem(message, file=table.file, given=sign, allowed="UTF-8")]) from error


def _encoding(table: Table, data: bytes) -> str:
    """Name the encoding without a mark of its own at the start."""
    other_end = "utf-16-be" if data[:2] == b"\xfe\xff" else "utf-16-le"
    return {"utf-8-sig": "utf-8", "utf-16": other_end}.get(table.encoding, table.encoding)


def _line_end(table: Table, data: bytes) -> str:
    return "\r\n" if "\r\n".encode(_encoding(table, data)) in data else "\n"


def check_reading(kind: str, data: bytes, wanted: Sequence[Observation], said: FileStyle | None = None) -> None:
    """Make sure that what is about to be written reads back as what was meant.

    Raises
    ------
    InputError
        If it does not.
    """
    name, style = f"records/{kind}.csv", said or FileStyle()
    again = read_records(data, kind, file=name, number_style=style.number_style, date_style=style.date_style)
    if again.problems:
        raise InputError(again.problems)
    if list(again.records) != list(wanted):
        odd = next((w for w, r in zip(wanted, again.records, strict=False) if w != r), wanted[-1])
        message = "this record cannot be written to this file without change; look for unusual signs in its text."
        raise InputError([problem(message, file=name, field="id", given=odd.id, allowed="plain text")])


def with_more(kind: str, records: Sequence[Observation], old: bytes, styles: Mapping[str, FileStyle]) -> bytes:
    """Return a file that holds these records in this order, as far as possible by adding to what is there.

    Lines that are there stay byte for byte. Where a new record says something the file has no column for, columns are
    added at the right; where even that does not read back the same, the file is written anew in its plainest form.

    Parameters
    ----------
    kind : str
        A key of ``RECORD_KINDS``.
    records : sequence of Observation
        All records of the kind.
    old : bytes
        The file as it came; it may hold some of them.
    styles : mapping
        What the plan says about how files are written.
    """
    name = f"records/{kind}.csv"
    said = styles.get(name, FileStyle())
    read = read_records(old, kind, file=name, number_style=said.number_style, date_style=said.date_style)
    there = {r.id for r in read.records}
    new = [r for r in records if r.id not in there]
    if not read.problems and [r for r in records if r.id in there] == list(read.records):
        if not new:
            return old
        order = [*read.records, *new]
        for content in (old, _wider(kind, new, old, read)):
            try:
                table = read_records(
                    content, kind, file=name, number_style=read.table.style, date_style=read.table.date_style
                )
                data = appended(kind, new, content, table)
                check_reading(kind, data, order, said)
            except InputError:
                continue
            return data
    return rows_text(records, canonical_columns(kind)).encode()


def _wider(kind: str, new: Sequence[Observation], old: bytes, read: RecordTable) -> bytes:
    """Add empty columns at the right for what new records say and the file has no column for."""
    model, table = RECORD_KINDS[kind], read.table
    found = sources(model, table)[0]
    said = {n for r in new for n in r.model_dump(exclude_defaults=True)}
    absent = [n for n in model.model_fields if n in said and n not in found]
    encoding = _encoding(table, old)
    mark = {"utf-8-sig": b"\xef\xbb\xbf", "utf-16": old[:2]}.get(table.encoding, b"")
    out, header = [], True
    for line in _logical_lines(old[len(mark) :].decode(encoding), table.delimiter):
        body = line.rstrip("\r\n")
        cells = [table.delimiter + n for n in absent] if header else [table.delimiter] * len(absent)
        if not body.strip():
            out.append(line)
            continue
        # A line may end before its last column: cells that are not written are empty.
        short = 0 if header else max(0, len(table.columns) - len(next(csv.reader([body], delimiter=table.delimiter))))
        out.append(body + table.delimiter * short + "".join(cells) + line[len(body) :])
        header = False
    return mark + "".join(out).encode(encoding)


def _logical_lines(text: str, delimiter: str) -> list[str]:
    """Split a table at the ends of its rows, not at line breaks inside quoted cells."""
    lines = io.StringIO(text, newline="").readlines()
    reader = csv.reader(iter(lines), delimiter=delimiter)
    out, start = [], 0
    for _ in reader:
        out.append("".join(lines[start : reader.line_num]))
        start = reader.line_num
    return out + lines[start:]
