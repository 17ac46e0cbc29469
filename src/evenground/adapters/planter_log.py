"""A planter's log as a table: whatever its columns are called, as long as they say what they are."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from evenground.adapters.number_style import NumberStyle, iso_time
from evenground.adapters.tables import Table, numbers, read_table
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.method import Machine
from evenground.sowing.as_sown import PlanterLog

KM_PER_H = 1 / 3.6
# What a column may be called (letters and digits only, lower case), and how many SI units one of its units is.
NAMES: Mapping[str, Mapping[str, float]] = {
    "time": {"time": 1.0, "timestamp": 1.0, "datetime": 1.0, "times": 1.0, "seconds": 1.0},
    "lon": {"lon": 1.0, "longitude": 1.0, "lng": 1.0, "londeg": 1.0},
    "lat": {"lat": 1.0, "latitude": 1.0, "latdeg": 1.0},
    "speed": {
        "speedkmperh": KM_PER_H,
        "speedkmh": KM_PER_H,
        "speedmpers": 1.0,
        "speedms": 1.0,
        "speedmph": 0.44704,
    },
    "rows_off": {"rowsoff": 1.0, "rowoff": 1.0},
}
UNSAID = {"speed": "speed_km_per_h, speed_m_per_s or speed_mph"}
FASTEST_M_PER_S = 40 * KM_PER_H


@dataclass(frozen=True)
class _Column:
    name: str
    factor: float


def read_planter_log(
    path: Path, method: str, machine: Machine, *, number_style: NumberStyle | None = None, date_style: str | None = None
) -> PlanterLog:
    """Read a planter's log: time, longitude, latitude, speed and, where there are any, rows off.

    Headers may be written in any case and with any signs between the words, such as ``Speed (km/h)``.

    Parameters
    ----------
    path : Path
        A delimited text table with one row a reading.
    method : str
        Letter of the method the planter sowed.
    machine : Machine
        The planter.
    number_style, date_style : NumberStyle, str or None
        How the file is written, where the user has said so.

    Raises
    ------
    InputError
        With every problem found: missing columns, a speed without unit, cells that are no number, places that are not
        on earth, speeds no planter drives, time that runs back.
    """
    table = read_table(path, number_style=number_style, date_style=date_style)
    found, problems = _columns(table)
    if problems:
        raise InputError(problems)
    if len(table.rows) < 2:
        raise InputError([problem("a log needs two readings or more.", file=table.file, allowed="one row a reading")])
    seconds, problems = _seconds(table, found["time"].name)
    limits = {
        "lon": (-180.0, 180.0),
        "lat": (-90.0, 90.0),
        "speed": (0.0, FASTEST_M_PER_S),
        "rows_off": (0.0, machine.rows),
    }
    values = {}
    for what, (low, high) in limits.items():
        values[what], faults = _values(table, found.get(what), low, high)
        problems += faults
    problems += _runs_back(table, found["time"].name, seconds)
    if problems:
        raise InputError(problems)
    return PlanterLog(
        method,
        machine.rows,
        machine.working_width_m,
        np.array(seconds),
        values["lon"],
        values["lat"],
        values["speed"],
        values["rows_off"],
    )


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name.lower())


def _columns(table: Table) -> tuple[dict[str, _Column], list[Problem]]:
    """Find the column for each thing; rows off may be missing."""
    found: dict[str, _Column] = {}
    problems = []
    for what, names in NAMES.items():
        here = [_Column(c, names[_plain(c)]) for c in table.columns if _plain(c) in names]
        if len(here) > 1:
            given = ", ".join(c.name for c in here)
            message = f"the {what.replace('_', ' ')} is given twice."
            problems.append(problem(message, file=table.file, row=1, field=what, given=given, allowed="one column"))
        elif here:
            found[what] = here[0]
        elif what != "rows_off":
            near = [c for c in table.columns if _plain(c) == what or _plain(c).startswith(what)]
            message = "the unit of this column is not said." if near else f"there is no column for the {what}."
            allowed = UNSAID.get(what, " or ".join(names))
            given = ", ".join(near or table.columns)
            problems.append(problem(message, file=table.file, row=1, field=what, given=given, allowed=allowed))
    return found, problems


def _seconds(table: Table, name: str) -> tuple[list[float], list[Problem]]:
    """Read the time as seconds from the first reading; dates with clock time, or plain seconds."""
    cells = [row[name] for row in table.rows]
    if all(re.fullmatch(r"\d+(?:[.,]\d+)?", c) for c in cells):
        values, faults = numbers(table, name)
        return [v or 0.0 for v in values], faults
    out, problems, first = [], [], None
    for cell, line in zip(cells, table.lines, strict=True):
        try:
            at = datetime.fromisoformat(iso_time(cell, table.date_style))
            first = first or at
            out.append((at - first).total_seconds())
        except (ValueError, TypeError):
            allowed = "a date with clock time such as 2026-04-28T09:30:05, or seconds"
            problems.append(
                problem("this is not a time.", file=table.file, row=line, field=name, given=cell, allowed=allowed)
            )
    return out, problems


def _values(table: Table, column: _Column | None, low: float, high: float) -> tuple[NDArray[np.float64], list[Problem]]:
    """Read one column in SI units, within limits; all zero where there is none."""
    if column is None:
        return np.zeros(len(table.rows)), []
    values, problems = numbers(table, column.name)
    for value, row, line in zip(values, table.rows, table.lines, strict=True):
        if value is not None and not low <= value * column.factor <= high:
            allowed = f"{low / column.factor:g} to {high / column.factor:g}"
            message, given = "this cannot be.", row[column.name]
            problems.append(
                problem(message, file=table.file, row=line, field=column.name, given=given, allowed=allowed)
            )
    return np.array([column.factor * (v or 0.0) for v in values]), problems


def _runs_back(table: Table, name: str, seconds: Sequence[float]) -> list[Problem]:
    if len(seconds) != len(table.rows):
        return []
    return [
        problem(
            "the time runs back here.",
            file=table.file,
            row=table.lines[i],
            field=name,
            given=table.rows[i][name],
            allowed=f"{table.rows[i - 1][name]} or later",
        )
        for i in range(1, len(seconds))
        if seconds[i] < seconds[i - 1]
    ]
