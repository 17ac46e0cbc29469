"""Delimited text tables: any delimiter, encoding and number style a farm's spreadsheet writes, one style per file."""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from evenground.adapters.number_style import (
    DATE_STYLES,
    PLAIN,
    STYLES,
    NumberStyle,
    beside_a_number,
    describe,
    find_date_style,
    find_style,
    parse_number,
    words,
)
from evenground.adapters.reading import read_bytes
from evenground.basis.errors import InputError, Problem, problem

DELIMITERS = {";": "semicolon", "\t": "tab", ",": "comma"}
MOST_COLUMNS = 2000
_STYLE_HELP = 'or say it: [files."{file}"] number_style = "{name}" in trial.toml, or --number-style "{name}"'


@dataclass(frozen=True, slots=True)
class Table:
    """A table as read: text cells, and how its numbers and dates are written.

    Attributes
    ----------
    file : str
        Name for messages.
    columns : tuple of str
        Header, in order.
    rows : tuple of dict
        Column to cell, white space at both ends removed; "" where the cell is empty.
    lines : tuple of int
        Line of each row in the file, the header being line 1.
    delimiter : str
        What separates the cells.
    style : NumberStyle
        How numbers are written.
    date_style : str
        How dates are written, one of ``DATE_STYLES``.
    encoding : str
        Encoding of the file.
    notes : tuple of str
        What the user should know about how the file was read.
    problems : tuple of Problem
        What is wrong with the file as a table; empty after `read_table`.
    """

    file: str
    columns: tuple[str, ...]
    rows: tuple[dict[str, str], ...]
    lines: tuple[int, ...]
    delimiter: str = ","
    style: NumberStyle = PLAIN
    date_style: str = DATE_STYLES[0]
    encoding: str = "utf-8"
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_table(
    path: Path,
    *,
    file: str = "",
    number_style: NumberStyle | None = None,
    date_style: str | None = None,
    number_columns: Sequence[str] | None = None,
    date_columns: Sequence[str] = (),
) -> Table:
    """Read a delimited table of at most 50 MB.

    Parameters
    ----------
    path : Path
        Where it is.
    file : str
        Its name in messages; the file name if not given.
    number_style : NumberStyle or None
        How it writes numbers, where the user has said so; found from the cells otherwise.
    date_style : str or None
        How it writes dates, where the user has said so.
    number_columns : sequence of str or None
        Columns that hold numbers; the other cells are asked only where these leave the style open. All columns if None.
    date_columns : sequence of str
        Columns that hold dates.

    Returns
    -------
    Table

    Raises
    ------
    InputError
        If it cannot be read as a table, or its number or date style is open; every problem is listed.
    """
    table = parse_table(
        read_bytes(path, file or path.name),
        file=file or path.name,
        number_style=number_style,
        date_style=date_style,
        number_columns=number_columns,
        date_columns=date_columns,
    )
    if table.problems:
        raise InputError(table.problems)
    return table


def parse_table(
    data: bytes,
    *,
    file: str,
    number_style: NumberStyle | None = None,
    date_style: str | None = None,
    number_columns: Sequence[str] | None = None,
    date_columns: Sequence[str] = (),
) -> Table:
    """Read a table from bytes; what is wrong with it stands in ``problems`` instead of being raised.

    See `read_table` for the parameters.
    """
    text, encoding, problems = _decode(data, file)
    delimiter = _find_delimiter(text)
    columns, rows, lines, faults = _split(text, delimiter, file)
    problems = problems or faults
    notes = (
        [f"{file}: read as Windows-1252, not as UTF-8; look at umlauts and accents."] if encoding == "cp1252" else []
    )
    style, style_faults = _settle_style(file, rows, number_style, number_columns)
    dates, date_faults = _settle_dates(file, rows, date_style, date_columns)
    return Table(
        file,
        columns,
        rows,
        lines,
        delimiter,
        style,
        dates,
        encoding,
        tuple(notes),
        (*problems, *style_faults, *date_faults),
    )


def _decode(data: bytes, file: str) -> tuple[str, str, list[Problem]]:
    """Text, encoding and problems of the bytes of a file."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    else:
        encodings = ["utf-8-sig" if data.startswith(b"\xef\xbb\xbf") else "utf-8", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text, encoding, []
    wrong = problem("this is not a text table; export it as CSV.", file=file, allowed="text in UTF-8 or Windows-1252")
    return "", "utf-8", [wrong]


def _find_delimiter(text: str) -> str:
    """Find the delimiter: the one the header has most often outside quotes; with one column, one that is nowhere."""
    filled = re.search(r"\S", text)
    start = max(text.rfind(end, 0, filled.start()) for end in "\r\n") + 1 if filled else len(text)
    header = re.sub(r'"[^"]*"', "", re.split(r"[\r\n]", text[start:], maxsplit=1)[0])
    counts = {d: header.count(d) for d in DELIMITERS}
    if any(counts.values()):
        return max(counts, key=lambda d: counts[d])
    return next((d for d in DELIMITERS if d not in text), ",")


def _last_filled(cells: Sequence[str]) -> int:
    """Return the number of cells up to the last one that is filled."""
    return next((i for i in range(len(cells), 0, -1) if cells[i - 1]), 0)


def _split(
    text: str, delimiter: str, file: str
) -> tuple[tuple[str, ...], tuple[dict[str, str], ...], tuple[int, ...], list[Problem]]:
    """Header, rows, line numbers and problems of the text of a table."""
    records, problems = _records(text, delimiter, file)
    if not records:
        if not problems:
            problems = [problem("this file is empty.", file=file, allowed="a header line, then one line a row")]
        return (), (), (), problems
    header = records[0][1]
    # Spreadsheets leave delimiters behind the last column.
    header = header[: max(_last_filled(cells) for _, cells in records)]
    if len(header) > MOST_COLUMNS:
        text, allowed = "this table has more columns than any table of a farm.", f"at most {MOST_COLUMNS}"
        return (), (), (), [*problems, problem(text, file=file, row=records[0][0], given=len(header), allowed=allowed)]
    problems += _header_problems(header, file)
    rows, lines = [], []
    for line, cells in records[1:]:
        if any(cells[len(header) :]):
            problems.append(_too_wide(file, line, cells, len(header), delimiter))
        padded = cells + [""] * (len(header) - len(cells))
        rows.append(dict(zip(header, padded, strict=False)))
        lines.append(line)
    return tuple(header), tuple(rows), tuple(lines), problems


def _records(text: str, delimiter: str, file: str) -> tuple[list[tuple[int, list[str]]], list[Problem]]:
    """Line number and cells of every line that is not blank."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    out, start = [], 1
    try:
        for cells in reader:
            if any(c.strip() for c in cells):
                out.append((start, [c.strip() for c in cells]))
            start = reader.line_num + 1
    except csv.Error as error:
        message = f"a quoted cell that starts here does not end as it should ({error})."
        return out, [problem(message, file=file, row=start, allowed='quotes in pairs; a quote inside as ""')]
    return out, []


def _header_problems(header: Sequence[str], file: str) -> list[Problem]:
    twice = [name for name, n in Counter(header).items() if n > 1 and name]
    out = [
        problem("two columns have the same name.", file=file, row=1, field=name, given=name, allowed="each name once")
        for name in twice
    ]
    out += [
        problem(f"column {i} has no name.", file=file, row=1, field=f"column {i}", allowed="a name over every column")
        for i, name in enumerate(header, 1)
        if not name
    ]
    return out


def _too_wide(file: str, line: int, cells: Sequence[str], wide: int, delimiter: str) -> Problem:
    message = f"this line has {len(cells)} cells, the header has {wide}."
    if delimiter == ",":
        message += (
            " Is a comma used as the decimal sign too? Put such numbers in quotes or separate cells by semicolons."
        )
    return problem(message, file=file, row=line, given=delimiter.join(cells)[:200], allowed=f"{wide} cells")


def _settle_style(
    file: str, rows: Sequence[Mapping[str, str]], given: NumberStyle | None, names: Sequence[str] | None
) -> tuple[NumberStyle, list[Problem]]:
    """Take the number style said, or the one found; a problem where it is open."""
    if given is not None:
        return given, []
    every = [c for r in rows for c in r.values()]
    if names is None:
        found = find_style(every)
    else:
        found = find_style([r[n] for r in rows for n in names if n in r])
        if found.style is None:
            found = find_style(every) if find_style(every).style is not None else found
    if found.style is not None:
        return found.style, []
    (first, low), (second, high) = found.readings[:2]
    message = (
        f"is {found.example} to be read as {words(low)} or as {words(high)}? No other number in this file decides it;"
    )
    message += f" write one number so that it is clear, {_STYLE_HELP.format(file=file, name=first)}."
    where = [(i, n) for i, r in enumerate(rows) for n, c in r.items() if c == found.example]
    column = where[0][1] if where else ""
    return PLAIN, [Problem(file, None, column, found.example, f'number_style "{first}" or "{second}"', message)]


def _settle_dates(
    file: str, rows: Sequence[Mapping[str, str]], given: str | None, names: Sequence[str]
) -> tuple[str, list[Problem]]:
    """Take the date style said, or the one found; a problem where it is open."""
    if given is not None:
        return given, []
    found = find_date_style([r[n] for r in rows for n in names if r.get(n)])
    if found.style is not None:
        return found.style, []
    message = (
        f"is {found.example} day/month or month/day? No other date in this file decides it; write dates as 2026-05-23,"
    )
    message += f' or say it: [files."{file}"] date_style = "DD/MM/YYYY" in trial.toml.'
    allowed = 'date_style "DD/MM/YYYY" or "MM/DD/YYYY"'
    return DATE_STYLES[0], [problem(message, file=file, field=names[0], given=found.example, allowed=allowed)]


# What a table holds ----------------------------------------------------------------------------------------------


def missing_columns(table: Table, names: Iterable[str]) -> list[Problem]:
    """List the columns that are not there, each with the nearest name that is."""
    out = []
    for name in names:
        if name in table.columns:
            continue
        near = nearest(name, table.columns)
        message = "this column is missing." + (f" Is it the one called {near}?" if near else "")
        there = "the columns " + ", ".join(table.columns)
        out.append(problem(message, file=table.file, row=1, field=name, given=there, allowed=f"a column {name}"))
    return out


def nearest(name: str, names: Iterable[str]) -> str:
    """Return the name most like this one, or "" if none is much like it.

    Examples
    --------
    >>> nearest("gros_kg", ["gross_kg", "tare_kg"])
    'gross_kg'
    """
    by_lower = {n.lower(): n for n in names}
    close = difflib.get_close_matches(name.lower(), by_lower, n=1, cutoff=0.7)
    return by_lower[close[0]] if close else ""


def column(table: Table, name: str) -> tuple[str, ...]:
    """Return the cells of one column.

    Raises
    ------
    InputError
        If it is not there.
    """
    if missing := missing_columns(table, [name]):
        raise InputError(missing)
    return tuple(r[name] for r in table.rows)


def numbers(table: Table, name: str, *, empty_allowed: bool = False) -> tuple[tuple[float | None, ...], list[Problem]]:
    """Read the numbers of one column.

    Parameters
    ----------
    table : Table
        Where.
    name : str
        Column; it must be there (see `missing_columns`).
    empty_allowed : bool
        Whether an empty cell means "not measured" (None) or is a problem.

    Returns
    -------
    values : tuple of float or None
        One per row; None where the cell is empty or wrong.
    problems : list of Problem
        One for every cell that is no finite number.
    """
    values: list[float | None] = []
    problems: list[Problem] = []
    for row, line in zip(table.rows, table.lines, strict=True):
        value, wrong = number_cell(table, line, name, row[name], empty_allowed=empty_allowed)
        values.append(value)
        problems += wrong
    return tuple(values), problems


def number_cell(
    table: Table, line: int, name: str, text: str, *, empty_allowed: bool = False
) -> tuple[float | None, list[Problem]]:
    """Read one cell as a number; the problem says what may stand there in this file's own style."""
    allowed = f"a number written like {table.style.name}"
    if not text:
        wrong = problem("this cell is empty.", file=table.file, row=line, field=name, allowed=allowed)
        return None, [] if empty_allowed else [wrong]
    try:
        return parse_number(text, table.style), []
    except ValueError as error:
        message = beside_a_number(text) or str(error)
        if any(s.fits(text) for s in STYLES.values()):
            message = f"this is not written in the number style of the rest of the file ({table.style.name})."
        return None, [problem(message, file=table.file, row=line, field=name, given=text, allowed=allowed)]


def style_words(table: Table, names: Iterable[str] | None = None) -> str:
    """Say how the numbers of a table were read, with an example from it; "" where no number has a sign in it.

    Parameters
    ----------
    table : Table
        The table.
    names : iterable of str or None
        Columns to take the example from; all if None.
    """
    wanted = list(table.columns if names is None else names)
    cells = (r[n] for r in table.rows for n in wanted if n in r)
    example = next((c for c in cells if table.style.fits(c) and not c.lstrip("+-−").isdigit()), "")
    if not example:
        return ""
    sign = {".": "point", ",": "comma"}[table.style.decimal]
    return f"{table.file}: {describe(table.style, example)} (decimal {sign})"
