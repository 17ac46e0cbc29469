"""A planter's log as a table: whatever its columns are called, as long as they say what they are."""

from __future__ import annotations

import hashlib
import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from evenground.adapters.number_style import NumberStyle, iso_time
from evenground.adapters.tables import Table, numbers, read_table
from evenground.adapters.time_log import read_time_log
from evenground.adapters.time_log_files import is_time_log, time_log_files
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.method import Machine
from evenground.basis.observations import FASTEST_KM_PER_H
from evenground.basis.strip import Draw
from evenground.sowing.as_sown import PlanterLog, readings_in_strips, speed_over_places

KM_PER_H = 1 / 3.6
PER_HA = 1e-4
PER_ACRE = 1 / 4046.8564224
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
        "speedmiperh": 0.44704,
    },
    "rows_off": {"rowsoff": 1.0, "rowoff": 1.0},
    "rate": {
        f"{what}{per}{unit}": factor
        for what in ("seeds", "kernels", "seedrateseeds")
        for per in ("", "per")
        for unit, factor in (("m2", 1.0), ("ha", PER_HA), ("ac", PER_ACRE), ("acre", PER_ACRE))
    },
    "method": {"method": 1.0},
}
NOT_NEEDED = ("rows_off", "rate", "method")
# More than any planter sows: a counter that starts up, not a rate.
MOST_SEEDS_PER_M2 = 50.0
UNSAID = {"speed": "speed_km_per_h, speed_m_per_s or speed_mi_per_h"}
FASTEST_M_PER_S = FASTEST_KM_PER_H * KM_PER_H
# A log of many readings with one fault has it in every line: more are counted, not listed.
MOST_ALIKE = 10
# Speed by the log over speed by the places: mph read as km/h gives 0.62 or 1.61, m/s 3.6 or 0.28.
SPEED_FITS = (0.7, 1.4)


@dataclass(frozen=True)
class _Column:
    name: str
    factor: float


def read_planter_log(
    path: Path, method: str, machine: Machine, *, number_style: NumberStyle | None = None, date_style: str | None = None
) -> PlanterLog:
    """Read a planter's log: time, longitude, latitude, speed and, where there are any, rows off, seed rate and method.

    Headers may be written in any case and with any signs between the words, such as ``Speed (km/h)``. Where a column
    ``method`` names letters, readings of other methods count as lifted: one log of a planter that sowed two methods is
    read once for each.

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
    return _read(read_table(path, number_style=number_style, date_style=date_style), method, machine)


def read_trial_log(
    path: Path, method: str, machine: Machine, draw: Draw, season: int, *, number_style: NumberStyle | None = None
) -> PlanterLog:
    """Read a planter's log and make sure that it is of this trial.

    Parameters
    ----------
    path : Path
        A delimited text table with one row a reading, or a terminal's time log (`time_log.time_log_files`).
    method : str
        Letter of the method the planter sowed.
    machine : Machine
        The planter.
    draw : Draw
        The strips.
    season : int
        Year of harvest.
    number_style : NumberStyle or None
        How the file is written, where the user has said so.

    Raises
    ------
    InputError
        As `read_planter_log` or `read_time_log`, and if no reading lies in a strip, the year is not that of the season,
        or the logged speed does not fit the places.
    """
    if is_time_log(path):
        file, row, log = path.name, 1, read_time_log(path, method, machine)
    else:
        table = read_table(path, number_style=number_style)
        file, row, log = table.file, table.lines[0] if table.lines else 1, _read(table, method, machine)
    problems = [
        replace(one, file=file, row=row)
        for one in (*_other_field(log, draw), *_other_year(log, season), *_other_speed(log))
    ]
    if problems:
        raise InputError(problems)
    return log


def digest_of(path: Path) -> str:
    """Return the sha256 of a log's content as hex digits: the same log has the same one whatever its name."""
    if not is_time_log(path):
        return hashlib.sha256(path.read_bytes()).hexdigest()
    files = [content for name, content in time_log_files(path).items() if name != "TASKDATA.XML"]
    parts = [hashlib.sha256(content).hexdigest() for content in files]
    return hashlib.sha256("".join(parts).encode()).hexdigest()


def _read(table: Table, method: str, machine: Machine) -> PlanterLog:
    found, problems = _columns(table)
    if problems:
        raise InputError(problems)
    if len(table.rows) < 2:
        raise InputError([problem("a log needs two readings or more.", file=table.file, allowed="one row a reading")])
    seconds, start, problems = _seconds(table, found["time"].name)
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
    mine, faults = _mine(table, found.get("method"), method)
    problems += faults
    seeds, notes, faults = _rate(table, found.get("rate"))
    problems += faults
    if problems:
        raise InputError(_counted(problems))
    return PlanterLog(
        method,
        machine.rows,
        machine.working_width_m,
        np.array(seconds),
        values["lon"],
        values["lat"],
        values["speed"],
        np.where(mine, values["rows_off"], machine.rows),
        start,
        seeds,
        notes,
    )


def _rate(table: Table, column: _Column | None) -> tuple[NDArray[np.float64] | None, tuple[str, ...], list[Problem]]:
    """Read the seeds dropped [1/m2], NaN where nothing or no rate is said; tell of what is left out."""
    if column is None:
        unsaid = [c for c in table.columns if _plain(c).startswith(("rate", "seedrate", "seeds", "kernels"))]
        told = f"{', '.join(unsaid)}: not read, its unit is not said; seeds/m2, seeds/ha and seeds/ac are known."
        return None, (told,) if unsaid else (), []
    values, problems = numbers(table, column.name, empty_allowed=True)
    seeds = np.array([math.nan if v is None else column.factor * v for v in values])
    strange = (seeds < 0.0) | (seeds > MOST_SEEDS_PER_M2)
    told = f"{column.name}: {strange.sum()} readings below 0 or above {MOST_SEEDS_PER_M2:g} seeds/m2 are left out."
    return np.where(strange, math.nan, seeds), (told,) if strange.any() else (), problems


def _mine(table: Table, column: _Column | None, method: str) -> tuple[NDArray[np.bool_], list[Problem]]:
    """Say which readings are of the method asked for: all, where no column says."""
    if column is None:
        return np.ones(len(table.rows), dtype=np.bool_), []
    letters = [row[column.name] for row in table.rows]
    if method not in letters:
        message, given = "no reading is of the method asked for.", ", ".join(sorted(set(letters)))
        fault = problem(message, file=table.file, row=1, field=column.name, given=given, allowed=method)
        return np.zeros(len(letters), dtype=np.bool_), [fault]
    return np.array([letter == method for letter in letters]), []


def _counted(problems: Iterable[Problem]) -> list[Problem]:
    """List the first problems of a kind and count the others."""
    out, alike = [], Counter[tuple[str, str]]()
    for one in problems:
        alike[one.field, one.message] += 1
        if alike[one.field, one.message] <= MOST_ALIKE:
            out.append(one)
    for i, one in enumerate(out):
        more = alike.pop((one.field, one.message), 0) - MOST_ALIKE
        if more > 0:
            message = f"{one.message} {more + MOST_ALIKE} lines are like this; the first {MOST_ALIKE} are listed."
            out[i] = replace(one, message=message)
    return out


def _other_field(log: PlanterLog, draw: Draw) -> list[Problem]:
    if readings_in_strips(log, draw):
        return []
    lon, lat = zip(*(corner for s in draw.strips for corner in s.outline), strict=True)
    message = "no reading lies in a strip of this trial; is this the log of another field?"
    if readings_in_strips(log, draw, swapped=True):
        message = "longitude and latitude seem to be swapped."
    given = f"{log.lon.min():.5f} to {log.lon.max():.5f}, {log.lat.min():.5f} to {log.lat.max():.5f}"
    allowed = f"readings within {min(lon):.5f} to {max(lon):.5f}, {min(lat):.5f} to {max(lat):.5f}"
    return [problem(message, field="lon, lat", given=given, allowed=allowed)]


def _other_year(log: PlanterLog, season: int) -> list[Problem]:
    if log.start is None or season - 1 <= log.start.year <= season:
        return []
    message = f"this was not driven in the season of the trial, harvested in {season}."
    allowed = f"a date from {season - 1} to {season}"
    return [problem(message, field="time", given=log.start.date(), allowed=allowed)]


def _other_speed(log: PlanterLog) -> list[Problem]:
    ratio = speed_over_places(log)
    low, high = SPEED_FITS
    if ratio is None or low <= ratio <= high:
        return []
    message = "the speed does not fit the way between the readings; is its unit right?"
    given = f"{ratio:.2g} times the speed by time and place"
    allowed = f"{low:g} to {high:g} times"
    return [problem(message, field="speed", given=given, allowed=allowed)]


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name.lower())


def _columns(table: Table) -> tuple[dict[str, _Column], list[Problem]]:
    """Find the column for each thing; rows off, seed rate and method may be missing."""
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
        elif what not in NOT_NEEDED:
            near = [c for c in table.columns if _plain(c) == what or _plain(c).startswith(what)]
            message = "the unit of this column is not said." if near else f"there is no column for the {what}."
            allowed = UNSAID.get(what, " or ".join(names))
            given = ", ".join(near or table.columns)
            problems.append(problem(message, file=table.file, row=1, field=what, given=given, allowed=allowed))
    return found, problems


def _seconds(table: Table, name: str) -> tuple[list[float], datetime | None, list[Problem]]:
    """Read the time as seconds from the first reading; dates with clock time, or plain seconds."""
    cells = [row[name] for row in table.rows]
    if all(re.fullmatch(r"\d+(?:[.,]\d+)?", c) for c in cells):
        values, faults = numbers(table, name)
        return [v or 0.0 for v in values], None, faults
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
    return out, first, problems


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
