"""Which day each line of a weather file is about: found from its columns, hours refused, one line a day kept."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from evenground.adapters.number_style import iso_time
from evenground.adapters.tables import Table
from evenground.adapters.weather_headings import Heading
from evenground.basis.errors import Problem, problem

LONGEST_YEARS = 130
MOST_NAMED = 10


def date_columns(said: Mapping[str, Heading]) -> dict[str, str]:
    """Which columns hold the day: date, or year with month and day, or year with day of year."""
    by_field: dict[str, list[str]] = defaultdict(list)
    for column, one in said.items():
        by_field[one.field].append(column)
    if by_field["year"] and by_field["day_of_year"]:
        return {"year": by_field["year"][0], "day_of_year": by_field["day_of_year"][0]}
    if by_field["year"] and by_field["month"] and by_field["date"]:
        return {"year": by_field["year"][0], "month": by_field["month"][0], "day": by_field["date"][0]}
    return {"date": by_field["date"][0]} if by_field["date"] else {}


def days_of(table: Table, dates: Mapping[str, str], said: Mapping[str, Heading]) -> tuple[list[date], list[Problem]]:
    """Read the day of every row; hours are refused as a whole."""
    if not dates:
        allowed = "a column date, or year, month and day, or year and day of year"
        return [], [problem("no column says which day it is.", file=table.file, row=1, allowed=allowed)]
    out, problems = [], []
    seen: dict[date, set[str]] = defaultdict(set)
    hours = [c for c, h in said.items() if h.field == "hour"]
    for row, line in zip(table.rows, table.lines, strict=True):
        given = " ".join(row[c] for c in dates.values())
        day, clock = _day(row, dates, table.date_style)
        if day is None:
            allowed = "a date such as 2026-05-23, 23.05.2026, 20260523 or 23 May 2026"
            problems.append(problem("this is not a day.", file=table.file, row=line, given=given, allowed=allowed))
            continue
        seen[day].add(clock or "".join(row[c] for c in hours))
        out.append(day)
    if sum(len(clocks) > 1 for clocks in seen.values()) > max(len(seen) // 10, 0):
        most = max(len(c) for c in seen.values())
        message = f"up to {most} lines a day: these are hours, not days. Ask the service for daily values."
        return [], [problem(message, file=table.file, given=f"{most} lines a day", allowed="one line a day")]
    if out and not problems and (max(out) - min(out)).days > 366 * LONGEST_YEARS:
        message = "the first and last day lie too far apart; look for a mistyped year."
        given, allowed = f"{min(out)} to {max(out)}", f"at most {LONGEST_YEARS} years"
        problems.append(problem(message, file=table.file, given=given, allowed=allowed))
    if not table.rows:
        problems.append(problem("there is no day in this file.", file=table.file, allowed="one line a day"))
    return out, _first_of(problems)


def _first_of(problems: list[Problem]) -> list[Problem]:
    """Name the first lines only where thousands are alike."""
    return problems[:MOST_NAMED]


# Months by the beginnings of their names in English, German and French, without accents.
_MONTHS = (
    ("jan", 1), ("feb", 2), ("fev", 2), ("mar", 3), ("mae", 3), ("mrz", 3), ("apr", 4), ("avr", 4),
    ("mai", 5), ("may", 5), ("juin", 6), ("jun", 6), ("juil", 7), ("jul", 7), ("aug", 8), ("aou", 8), ("sep", 9),
    ("oct", 10), ("okt", 10), ("nov", 11), ("dec", 12), ("dez", 12),
)  # fmt: skip
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[.\s-]+([^\W\d]+)\.?,?[\s-]+(\d{4})")
_MONTH_DAY = re.compile(r"([^\W\d]+)\.?[\s-]+(\d{1,2})(?:st|nd|rd|th)?,?[\s-]+(\d{4})")
_SHORT_YEAR = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d\d)")  # day.month.year: dots are written in no other order
_COMPACT = re.compile(r"(\d{4})(\d\d)(\d\d)(?:T?(\d{2,6}))?")


def _day(row: Mapping[str, str], dates: Mapping[str, str], style: str) -> tuple[date | None, str]:
    """Day and clock time of a row; None where it is no day."""
    try:
        if "day_of_year" in dates:
            n = int(row[dates["day_of_year"]])
            if not 1 <= n <= 366:
                return None, ""
            return date(int(row[dates["year"]]), 1, 1) + timedelta(days=n - 1), ""
        if "year" in dates:
            return date(int(row[dates["year"]]), int(row[dates["month"]]), int(row[dates["day"]])), ""
        return _written_day(row[dates["date"]], style)
    except (ValueError, OverflowError):
        return None, ""


def _written_day(text: str, style: str) -> tuple[date, str]:
    """Read a day, and a clock time behind it, from one cell.

    Raises
    ------
    ValueError
        If it is no day.
    """
    if found := _COMPACT.fullmatch(text):
        return date(int(found[1]), int(found[2]), int(found[3])), found[4] or ""
    if found := _SHORT_YEAR.fullmatch(text):
        return date(2000 + int(found[3]), int(found[2]), int(found[1])), ""
    if named := _named_month(text):
        return named, ""
    moment = datetime.fromisoformat(iso_time(text, style))
    return moment.date(), "" if len(text) <= len("2026-05-23") else moment.time().isoformat()


def _named_month(text: str) -> date | None:
    """Read a day whose month is named; None where it is not.

    Raises
    ------
    ValueError
        If there is no such day.
    """
    if found := _DAY_MONTH.fullmatch(text.strip()):
        day, name, year = found[1], found[2], found[3]
    elif found := _MONTH_DAY.fullmatch(text.strip()):
        name, day, year = found[1], found[2], found[3]
    else:
        return None
    lowered = name.lower().replace("ä", "ae")
    plain = "".join(c for c in unicodedata.normalize("NFD", lowered) if not unicodedata.combining(c))
    month = next((n for start, n in _MONTHS if plain.startswith(start)), None)
    return date(int(year), month, int(day)) if month is not None else None


def each_day_once(
    table: Table, days: Sequence[date], values: Mapping[str, NDArray[np.float64]], notes: list[str]
) -> tuple[list[int], list[Problem]]:
    """Keep one row a day: the same line twice is said, two different ones are asked."""
    first: dict[date, int] = {}
    twice, problems = [], []
    for i, day in enumerate(days):
        j = first.setdefault(day, i)
        if i == j:
            continue
        if all(v[i] == v[j] or (np.isnan(v[i]) and np.isnan(v[j])) for v in values.values()):
            twice.append(day)
            continue
        message = f"this day stands in line {table.lines[j]} too, with other values; which one counts?"
        problems.append(problem(message, file=table.file, row=table.lines[i], given=day, allowed="each day once"))
    if twice:
        some = ", ".join(d.isoformat() for d in twice[:3])
        many = "1 day stands" if len(twice) == 1 else f"{len(twice)} days stand"
        notes.append(f"{table.file}: {many} there twice with the same values ({some}); taken once.")
    return list(first.values()), _first_of(problems)
