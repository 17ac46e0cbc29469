"""Plants of a photograph as spacing runs, one table a row, and corrections read back from a table."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Literal

from evenground.adapters.files import write_atomically
from evenground.adapters.reading import read_bytes
from evenground.adapters.tables import missing_columns, number_cell, parse_table
from evenground.basis.errors import InputError, Problem, problem
from evenground.stand.photo.corrections import Change
from evenground.stand.photo.found import Found

COLUMNS = ("line", "plant", "position_cm", "x", "y")
CHANGE_COLUMNS = ("action", "x", "y")


def write_runs(found: Found, folder: Path, stem: str) -> tuple[tuple[Path, ...], tuple[str, ...]]:
    """Write one spacing run a row; `evenground spacing` reads each.

    Parameters
    ----------
    found : Found
        Plants.
    folder : Path
        Where to.
    stem : str
        How the names begin.

    Returns
    -------
    tuple of (tuple of Path, tuple of str)
        Files, and what was left out: a line with one plant has no gap.
    """
    files, notes = [], []
    for row, lines in enumerate(found.rows.rows, 1):
        text, empty = run_text(found, row)
        left = [f"row {row}, line {n}: fewer than two plants, so no gap" for n in empty]
        notes += left
        if len(left) < len(lines):
            files.append(folder / f"{stem}-row-{row}.csv")
            write_atomically(files[-1], text.encode())
    return tuple(files), tuple(notes)


def run_text(found: Found, row: int) -> tuple[str, tuple[int, ...]]:
    """Return one row as the text of a spacing run, and the lines left out of it.

    Parameters
    ----------
    found : Found
        Plants.
    row : int
        Row, from 1.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    empty = []
    for line in range(1, len(found.rows.rows[row - 1]) + 1):
        own = [(n, p) for n, p in enumerate(found.plants, 1) if (p.row, p.line) == (row, line)]
        if len(own) < 2:
            empty.append(line)
            continue
        # A tape has no reading below its start; a twin line may begin a little before its row's other line.
        first = min(0.0, *(p.position_m for _, p in own))
        for n, p in own:
            position = f"{100.0 * (p.position_m - first):.1f}"
            writer.writerow([line, n, position, f"{p.x_px:.0f}", f"{p.y_px:.0f}"])
    return out.getvalue(), tuple(empty)


def read_changes(path: Path) -> tuple[Change, ...]:
    """Read corrections: a table with the columns action (add or remove), x and y, in pixels of the photograph.

    Parameters
    ----------
    path : Path
        A delimited text table.

    Raises
    ------
    InputError
        With every line that is none.
    """
    table = parse_table(read_bytes(path, path.name), file=path.name, number_columns=["x", "y"])
    problems: list[Problem] = [*table.problems, *missing_columns(table, CHANGE_COLUMNS)]
    if problems:
        raise InputError(problems)
    out = []
    for cells, at in zip(table.rows, table.lines, strict=True):
        x, wrong_x = number_cell(table, at, "x", cells["x"])
        y, wrong_y = number_cell(table, at, "y", cells["y"])
        action = _action(cells["action"])
        if action is None:
            text, given = "this is no correction.", cells["action"]
            problems.append(
                problem(text, file=table.file, row=at, field="action", given=given, allowed="add or remove")
            )
        problems += [*wrong_x, *wrong_y]
        if action is not None and x is not None and y is not None:
            out.append(Change(at, action, x, y))
    if problems:
        raise InputError(problems)
    return tuple(out)


def _action(text: str) -> Literal["add", "remove"] | None:
    word = text.strip().lower()
    return "add" if word == "add" else "remove" if word == "remove" else None
