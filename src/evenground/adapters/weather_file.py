"""Daily weather as stations and services write it: any delimiter, number style and heading in, one row of days out.

Nothing is guessed: hours instead of days, an unknown unit or two different lines for one day are asked, all at once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import pyproj
from numpy.typing import NDArray

from evenground.adapters.number_style import NumberStyle
from evenground.adapters.reading import read_bytes
from evenground.adapters.tables import MOST_COLUMNS, Table, parse_table
from evenground.adapters.weather_blanks import blanks_between, tabbed
from evenground.adapters.weather_dates import date_columns, days_of, each_day_once
from evenground.adapters.weather_headings import ASKED, UNITS_OF, Heading, heading, unit_text, units_said
from evenground.basis.errors import InputError, Problem, problem
from evenground.season.daily import NAMES, Daily, empty

LARGEST_FILE_BYTES = 20_000_000
LEAD_LINES = 80
MISSING = frozenset({"", "-", "--", "---", "na", "n/a", "nan", "null", "none", "m", "/", "*", "x"})
TRACE = frozenset({"t", "tr", "trace", "s"})
MISSING_BELOW = -90.0  # -99, -999 and -9999 are written for "no value"; no field has these
LARGEST = 1e6
FAR_KM, TOO_FAR_KM = 50.0, 500.0  # FAO-56 p. 59 trusts a station's radiation within some 50 km; the other: judgement


@dataclass(frozen=True)
class WeatherFile:
    """A weather file as read.

    Attributes
    ----------
    weather : Daily
        From its first day to its last, gaps NaN.
    columns : mapping of str to str
        Value to the heading it was read from.
    place : tuple of float or None
        Latitude and longitude of the station where the file names them [deg].
    notes : tuple of str
        What the user should know.
    """

    weather: Daily
    columns: Mapping[str, str]
    place: tuple[float, float] | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Column:
    """One column of values: where it stands and how its numbers become the field's unit."""

    name: str
    factor: float
    offset: float


def read_weather_file(
    path: Path, *, number_style: NumberStyle | None = None, date_style: str | None = None
) -> WeatherFile:
    """Read a file of daily weather.

    Parameters
    ----------
    path : Path
        CSV or text table; lines before its header may say anything.
    number_style, date_style : NumberStyle, str or None
        How it is written, where the user has said so.

    Raises
    ------
    InputError
        With every problem found.
    """
    return parse_weather(
        read_bytes(path, path.name, LARGEST_FILE_BYTES), path.name, number_style=number_style, date_style=date_style
    )


def parse_weather(
    data: bytes, file: str, *, number_style: NumberStyle | None = None, date_style: str | None = None
) -> WeatherFile:
    """Read daily weather from bytes; see `read_weather_file`.

    Raises
    ------
    InputError
        With every problem found.
    """
    body, lead, found = _without_lead(data, file)
    head = lead.count("\n") + (2 if lead else 1)
    table = parse_table(body, file=file, number_style=number_style, date_style=date_style)
    if table.problems and not found and data.strip():
        raise InputError([_no_headings(file, data)])
    if table.problems:
        raise InputError(table.problems)
    said, table = _headings(table)
    dates = date_columns(said)
    if date_style is None and "date" in dates:
        again = parse_table(body, file=file, number_style=table.style, date_columns=[dates["date"]])
        if again.problems:
            raise InputError(again.problems)
        table = _like(table, again.date_style)
    columns, problems = _value_columns(table, said)
    days, faults = days_of(table, dates, said)
    problems += faults
    if problems:
        raise InputError(_at_heading(problems, head))
    values, notes = _values(table, columns)
    keep, faults = each_day_once(table, days, values, notes)
    problems = [*_fahrenheit(table, columns, said, values), *faults]
    if problems:
        raise InputError(_at_heading(problems, head))
    return WeatherFile(
        _in_a_row([days[i] for i in keep], {n: v[keep] for n, v in values.items()}),
        {n: c.name for n, c in columns.items()},
        _place(table, said, lead),
        (*table.notes, *notes, *_passed_over(table, said)),
    )


def _at_heading(problems: Sequence[Problem], head: int) -> list[Problem]:
    """Name the line the headings stand in, where lines stand before them."""
    return [replace(p, row=head) if p.row == 1 else p for p in problems]


def _no_headings(file: str, data: bytes) -> Problem:
    """Say that no line looks like headings, rather than that no line fits the first one."""
    given = _decoded(data.split(b"\n", 1)[0]).strip()[:200]
    message = f"no line among the first {LEAD_LINES} names a day and a weather value."
    return problem(message, file=file, given=given, allowed="headings such as date, rain (mm), tmin (°C), tmax (°C)")


def _without_lead(data: bytes, file: str) -> tuple[bytes, str, bool]:
    """Blank the lines before the header, so that lines keep their numbers; return what they said and if any is one.

    Raises
    ------
    InputError
        If blanks stand between the columns and a line has another number of cells.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data, "", True
    lines = data.split(b"\n")
    for i, line in enumerate(lines[:LEAD_LINES]):
        text = _decoded(line)
        gap = blanks_between(text.strip().lstrip("#"))
        if gap is not None:
            after = [_decoded(x) for x in lines[i + 1 :] if x[:1] != b"#"]
            spaced, faults = tabbed(text.strip().lstrip("#"), after, gap, i + 1, file)
            if faults:
                raise InputError(faults)
            return "\n".join([*("" for _ in range(i)), *spaced]).encode(), _decoded(b"\n".join(lines[:i])), True
        cells = [c.strip().strip('"') for c in re.split(r"[;\t]" if re.search(r"[;\t]", text) else ",", text)]
        found = {heading(c).field for c in cells[:MOST_COLUMNS]}
        if found & {"date", "year"} and found & set(NAMES):
            lead = _decoded(b"\n".join(lines[:i]))
            first = re.sub(rb"^(\xef\xbb\xbf)?\s*#+\s*", b"", lines[i])
            return (
                b"\n".join([*(b"" for _ in range(i)), first, *(x for x in lines[i + 1 :] if x[:1] != b"#")]),
                lead,
                True,
            )
    return data, "", False


def _decoded(data: bytes) -> str:
    """Read bytes as the table reader does: UTF-8, else the older encoding of western spreadsheets."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _like(table: Table, date_style: str) -> Table:
    return Table(
        table.file, table.columns, table.rows, table.lines, table.delimiter, table.style, date_style, table.encoding,
        table.notes,
    )  # fmt: skip


def _headings(table: Table) -> tuple[dict[str, Heading], Table]:
    """Read the headings, and a row of units below them where there is one."""
    said = {c: heading(c) for c in table.columns}
    first = table.rows[0] if table.rows else {}
    if any(unit_text(first.get(c, ""))[0] in UNITS_OF.get(h.field, ()) for c, h in said.items()):
        for column, one in said.items():
            if one.field and not one.unit and table.rows[0][column]:
                said[column] = Heading(one.field, *unit_text(table.rows[0][column]))
        table = Table(
            table.file, table.columns, table.rows[1:], table.lines[1:], table.delimiter, table.style, table.date_style,
            table.encoding, table.notes,
        )  # fmt: skip
    return said, table


def _value_columns(table: Table, said: Mapping[str, Heading]) -> tuple[dict[str, _Column], list[Problem]]:
    """Find the column and the unit of each value."""
    out: dict[str, _Column] = {}
    problems = []
    for column, one in said.items():
        if one.field not in NAMES:
            continue
        if one.field in out:
            message = f"this says the same as column {out[one.field].name}; leave one of them out."
            problems.append(problem(message, file=table.file, row=1, field=column, allowed="one column for each value"))
            continue
        units = UNITS_OF[one.field]
        scale = units.get(one.unit) if one.unit else None if one.field in ASKED else (1.0, 0.0)
        if scale is None:
            message = "which unit is this in?" if not one.unit else "this unit is not known here."
            allowed = "in brackets behind the name, one of " + units_said(one.field)
            problems.append(
                problem(message, file=table.file, row=1, field=column, given=one.unit or column, allowed=allowed)
            )
            scale = (1.0, 0.0)
        tenth = 0.1 if one.tenths else 1.0
        out[one.field] = _Column(column, scale[0] * tenth, scale[1])
    if not out:
        message = "no column of this file is known as rain or temperature."
        allowed = "headings such as date, rain (mm), tmin (°C), tmax (°C)"
        given = ", ".join(table.columns)[:200]
        problems.append(problem(message, file=table.file, row=1, given=given, allowed=allowed))
    return out, problems + _rain_in_question(table, said)


def _rain_in_question(table: Table, said: Mapping[str, Heading]) -> list[Problem]:
    """Ask for the unit of rain beside temperatures in Fahrenheit: it may be inches."""
    fahrenheit = any(UNITS_OF.get(h.field, {}).get(h.unit, (1.0, 0.0))[1] == -160 / 9 for h in said.values())
    bare = [c for c, h in said.items() if h.field == "rain_mm" and not h.unit]
    message = "temperatures are in Fahrenheit here; is this rain in inches or in millimetres?"
    return [
        problem(message, file=table.file, row=1, field=c, given=c, allowed=f"{c} (in) or {c} (mm)")
        for c in bare
        if fahrenheit
    ]


def _values(table: Table, columns: Mapping[str, _Column]) -> tuple[dict[str, NDArray[np.float64]], list[str]]:
    """Read all numbers; what is no number is missing and said."""
    out: dict[str, NDArray[np.float64]] = {}
    notes = []
    for name, column in columns.items():
        odd: list[tuple[int, str]] = []
        numbers = [
            _number(row[column.name], table.style, name, line, odd)
            for row, line in zip(table.rows, table.lines, strict=True)
        ]
        read = np.array(numbers, dtype=float)
        read[read <= MISSING_BELOW] = np.nan
        read[np.abs(read) > LARGEST] = np.nan  # no unit makes weather of it
        out[name] = read * column.factor + column.offset
        if odd:
            first = ", ".join(f"line {line}: {text}" for line, text in odd[:3])
            notes.append(f"{table.file}: {column.name}: {len(odd)} cells are no number and count as missing ({first}).")
    return out, notes


def _number(text: str, style: NumberStyle, name: str, line: int, odd: list[tuple[int, str]]) -> float:
    lowered = text.lower()
    if lowered in MISSING:
        return float("nan")
    if style.fits(text):
        plain = text.replace("−", "-")
        if style.thousands:
            plain = re.sub(r"[ \u00a0\u202f'’]" if style.thousands in " '" else re.escape(style.thousands), "", plain)
        return float(plain.replace(style.decimal, "."))
    if name == "rain_mm" and lowered in TRACE:
        return 0.0
    odd.append((line, text))
    return float("nan")


def _fahrenheit(
    table: Table, columns: Mapping[str, _Column], said: Mapping[str, Heading], values: Mapping[str, NDArray[np.float64]]
) -> list[Problem]:
    """Ask about temperatures without a unit that cannot be degrees Celsius."""
    out = []
    for name in ("temperature_max_c", "temperature_min_c"):
        if name not in columns or said[columns[name].name].unit or np.isnan(values[name]).all():
            continue
        typical, column = float(np.nanpercentile(values[name], 90)), columns[name].name
        if typical > 45.0:
            unit = "K" if typical > 200.0 else "°F"
            message = f"these cannot be degrees Celsius; if they are {unit} or tenths, put it behind the name."
            given = f"{typical:g} and more on one day in ten"
            allowed = f"{column} ({unit}) or {column} (0.1 °C)"
            out.append(problem(message, file=table.file, row=1, field=column, given=given, allowed=allowed))
    return out


def _in_a_row(days: Sequence[date], values: Mapping[str, NDArray[np.float64]]) -> Daily:
    first = min(days)
    out = empty(first, (max(days) - first).days + 1)
    places = np.array([(d - first).days for d in days])
    for name, found in values.items():
        out.values[name][places] = found
    return out


def _place(table: Table, said: Mapping[str, Heading], lead: str) -> tuple[float, float] | None:
    """Latitude and longitude from columns, else from the lines before the header; one station only.

    Raises
    ------
    InputError
        If the file holds more than one station.
    """
    by_field = {h.field: c for c, h in said.items()}
    stations = {row[by_field["station"]] for row in table.rows} if "station" in by_field else set()
    if len(stations) > 1:
        given, message = ", ".join(sorted(stations)[:5]), "this file holds several stations."
        raise InputError(
            [problem(message, file=table.file, field=by_field["station"], given=given, allowed="one station a file")]
        )
    found = []
    for name in ("latitude", "longitude"):
        text = table.rows[0][by_field[name]] if name in by_field and table.rows else ""
        if not text:
            word = "lat|breite" if name == "latitude" else "lon|l[äa]e?nge"
            match = re.search(rf"(?:{word})\w*[\"\s]*[:=;,\t ]\s*\"?(-?\d{{1,3}}(?:[.,]\d+)?)", lead, re.IGNORECASE)
            text = match[1] if match else ""
        try:
            found.append(float(text.replace(",", ".")))
        except ValueError:
            return None
    return (found[0], found[1]) if abs(found[0]) <= 90.0 and abs(found[1]) <= 180.0 else None


def _passed_over(table: Table, said: Mapping[str, Heading]) -> list[str]:
    """Name what was not read: columns nobody knows, and a mean temperature that cannot stand for the two ends."""
    unknown = [c for c, h in said.items() if not h.field]
    notes = [f"{table.file}: not read: {', '.join(unknown)}."] if unknown else []
    fields = {h.field for h in said.values()}
    if "mean" in fields and not {"temperature_min_c", "temperature_max_c"} <= fields:
        notes.append(f"{table.file}: a mean temperature alone says nothing about heat; lowest and highest are needed.")
    return notes


def misplaced(read: WeatherFile, file: str, season: int, field: tuple[float, float] | None) -> tuple[str, ...]:
    """Hold a weather file against the season and the field; say what is odd and refuse what cannot be right.

    Parameters
    ----------
    read : WeatherFile
        What was read.
    file : str
        Its name.
    season : int
        Year of harvest.
    field : tuple of float or None
        Latitude and longitude of the field [deg].

    Raises
    ------
    InputError
        If no day lies in the season, or the station lies in another part of the world.
    """
    weather, problems, notes = read.weather, [], []
    if not weather.first.year <= season <= weather.last.year:
        given = f"{weather.first} to {weather.last}"
        message = "no day of this file lies in the season of the trial."
        problems.append(problem(message, file=file, given=given, allowed=f"days of {season}"))
    if read.place is not None and field is not None:
        (lat, lon), (field_lat, field_lon) = read.place, field
        km = pyproj.Geod(ellps="WGS84").inv(lon, lat, field_lon, field_lat)[2] / 1000.0
        if km > TOO_FAR_KM:
            message = "this weather is from another place."
            given, allowed = f"{km:.0f} km from the field", f"at most {TOO_FAR_KM:g} km"
            problems.append(problem(message, file=file, given=given, allowed=allowed))
        elif km > FAR_KM:
            notes.append(
                f"{file}: the station lies {km:.0f} km from the field; rain there says little about rain here."
            )
    if problems:
        raise InputError(problems)
    return tuple(notes)
