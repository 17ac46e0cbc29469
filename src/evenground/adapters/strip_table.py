"""Any table of strips as values to compare: which column is what, and everything that is wrong with it at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from evenground.adapters.number_style import PLAIN, NumberStyle, find_style, words
from evenground.adapters.reading import read_bytes
from evenground.adapters.tables import Table, missing_columns, nearest, number_cell, parse_table
from evenground.basis.errors import InputError, Problem, problem
from evenground.compare.values import StripValues


@dataclass(frozen=True)
class Columns:
    """Names of the columns that matter.

    Attributes
    ----------
    outcome, method, block : str
        Value, method and block of each row.
    strip : str or None
        Strip of each row where rows are plots; None where each row is a strip.
    """

    outcome: str
    method: str
    block: str
    strip: str | None = None

    @property
    def names(self) -> list[str]:
        """All columns that must be there."""
        return [name for name in (self.outcome, self.method, self.block, self.strip) if name is not None]


def read_strip_table(
    path: Path, columns: Columns, baseline: str, *, number_style: NumberStyle | None = None
) -> tuple[StripValues, tuple[str, ...]]:
    """Read a table of strips or plots.

    Parameters
    ----------
    path : Path
        A delimited text table of at most 50 MB.
    columns : Columns
        Which column is what.
    baseline : str
        Baseline method; it must occur.
    number_style : NumberStyle or None
        How the file writes numbers, where the user has said so.

    Returns
    -------
    (StripValues, notes)
        Rows with an outcome, and what the user should know. A row with an empty outcome is a missing strip: it is
        left out and named, never filled in.

    Raises
    ------
    InputError
        With every problem found.
    """
    table, notes = open_strip_table(path, columns.outcome, columns.names, number_style)
    return values_of(table, columns, baseline, notes)


def open_strip_table(
    path: Path, outcome: str, names: Sequence[str], number_style: NumberStyle | None
) -> tuple[Table, list[str]]:
    """Read a table and see that its columns are there.

    Parameters
    ----------
    path : Path
        A delimited text table of at most 50 MB.
    outcome : str
        Column of numbers.
    names : sequence of str
        All columns that must be there.
    number_style : NumberStyle or None
        How the file writes numbers, where the user has said so.

    Returns
    -------
    (Table, notes)

    Raises
    ------
    InputError
        With every problem found.
    """
    table, notes = _read(path, outcome, number_style)
    problems = list(table.problems) or missing_columns(table, names)
    if problems:
        raise InputError(problems)
    if not table.rows:
        raise InputError([problem("this table has a header but no rows.", file=table.file, allowed="one row a strip")])
    return table, notes


def values_of(
    table: Table, columns: Columns, baseline: str, notes: list[str], also: Sequence[Problem] = ()
) -> tuple[StripValues, tuple[str, ...]]:
    """Take the values out of a table whose columns are there.

    Parameters
    ----------
    table : Table
        From `open_strip_table`.
    columns, baseline
        As `read_strip_table`.
    notes : list of str
        What is known already.
    also : sequence of Problem
        What is wrong with the table already; told together with the rest.

    Returns
    -------
    (StripValues, notes)

    Raises
    ------
    InputError
        With every problem found.
    """
    cells = [_outcome(table, line, row[columns.outcome], columns) for row, line in _rows(table)]
    problems = [*also, *(p for _, found in cells for p in found)]
    problems += [p for row, line in _rows(table) for p in _empty_names(table, line, row, columns)]
    kept = [i for i, (value, _) in enumerate(cells) if value is not None]
    # A cell that cannot be read is a problem of its own, not a missing strip.
    meant = [i for i, (value, found) in enumerate(cells) if value is not None or found]
    problems += _method_problems(table, meant, columns, baseline) + _strip_problems(table, columns)
    if problems:
        raise InputError(problems)
    values = StripValues(
        tuple(strip_name(table, i, columns) for i in kept),
        tuple(table.rows[i][columns.method] for i in kept),
        tuple(table.rows[i][columns.block] for i in kept),
        tuple(float(value) for value, _ in cells if value is not None),
    )
    notes += [str(p) for p in _blocks_without(table, kept, columns, baseline)]
    missing = [str(table.lines[i]) for i in range(len(cells)) if i not in set(kept)]
    if missing:
        notes.append(f"{table.file}: no {columns.outcome} in line {', '.join(missing)}; these strips stay missing.")
    return values, tuple(notes)


def _read(path: Path, outcome: str, style: NumberStyle | None) -> tuple[Table, list[str]]:
    """Parse the table; where commas separate the cells, a point can only be the decimal sign."""
    data = read_bytes(path, path.name)
    table = parse_table(data, file=path.name, number_style=style, number_columns=[outcome])
    notes = list(table.notes)
    if style is None and table.delimiter == "," and outcome in table.columns:
        found = find_style([row[outcome] for row in table.rows])
        if found.style is None and "," not in found.example:
            table = parse_table(data, file=path.name, number_style=PLAIN)
            reading = words(float(found.example))
            notes.append(f"{path.name}: commas separate the cells, so {found.example} is read as {reading}.")
    return replace(table, notes=()), notes


def _rows(table: Table) -> list[tuple[dict[str, str], int]]:
    return list(zip(table.rows, table.lines, strict=True))


def _outcome(table: Table, line: int, text: str, columns: Columns) -> tuple[float | None, list[Problem]]:
    """Read one outcome; NA and an empty cell mean missing."""
    if text.upper() in ("", "NA", "N/A", "-", "."):
        return None, []
    return number_cell(table, line, columns.outcome, text)


def _empty_names(table: Table, line: int, row: dict[str, str], columns: Columns) -> list[Problem]:
    return [
        problem("this cell is empty.", file=table.file, row=line, field=name, allowed="a name or number")
        for name in columns.names
        if name != columns.outcome and not row[name]
    ]


def strip_name(table: Table, i: int, columns: Columns) -> str:
    """Name the strip of a row: by its column, else by the number of the row."""
    return table.rows[i][columns.strip] if columns.strip else str(i + 1)


def _method_problems(table: Table, kept: Sequence[int], columns: Columns, baseline: str) -> list[Problem]:
    """Name a baseline that is not there, and methods with too few strips to compare."""
    strips = {(table.rows[i][columns.method], strip_name(table, i, columns)) for i in kept}
    count = Counter(method for method, _ in strips)
    methods = ", ".join(sorted({row[columns.method] for row in table.rows if row[columns.method]}))
    if baseline not in count:
        near = nearest(baseline, count)
        message = "no strip with a value has this method, so there is no baseline."
        message += f" Is it the one called {near}?" if near else ""
        return [problem(message, file=table.file, field=columns.method, given=baseline, allowed=f"one of {methods}")]
    out = []
    if len(count) < 2:
        message = "only the baseline has strips; there is nothing to compare it with."
        out.append(
            problem(message, file=table.file, field=columns.method, given=methods, allowed="two methods or more")
        )
    for method, n in count.items():
        if n < 2:
            line = next(table.lines[i] for i in kept if table.rows[i][columns.method] == method)
            message = f"method {method} has one strip with a value; one strip cannot be told from its ground."
            given = f"{method}, 1 strip"
            allowed = "at least 2 strips of each method"
            out.append(problem(message, file=table.file, row=line, field=columns.method, given=given, allowed=allowed))
    return out


def _blocks_without(table: Table, kept: Sequence[int], columns: Columns, baseline: str) -> list[Problem]:
    """Name blocks without the baseline: they can be compared in part only, which is no reason to refuse the table."""
    with_baseline = {table.rows[i][columns.block] for i in kept if table.rows[i][columns.method] == baseline}
    first: dict[str, int] = {}
    for i in kept:
        first.setdefault(table.rows[i][columns.block], table.lines[i])
    message = "this block has no strip of the baseline; it says nothing about the gain by itself."
    return [
        problem(
            message,
            file=table.file,
            row=line,
            field=columns.block,
            given=block,
            allowed=f"a strip of {baseline} in every block; go on where one was lost",
        )
        for block, line in first.items()
        if block not in with_baseline
    ]


def _strip_problems(table: Table, columns: Columns) -> list[Problem]:
    """Name plots whose strip is in two methods or two blocks."""
    if columns.strip is None:
        return []
    first: dict[str, tuple[str, str]] = {}
    out = []
    for row, line in _rows(table):
        here = (row[columns.method], row[columns.block])
        there = first.setdefault(row[columns.strip], here)
        if here != there:
            message = f"strip {row[columns.strip]} was in method {there[0]}, block {there[1]} before."
            given = f"method {here[0]}, block {here[1]}"
            allowed = "one method and one block a strip"
            out.append(problem(message, file=table.file, row=line, field=columns.strip, given=given, allowed=allowed))
    return out
