"""Weather of earlier years as a file of the trial folder, so that report and app can say how unusual a season was."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import numpy as np

from evenground.adapters.reading import LARGEST_FILE_BYTES, read_bytes
from evenground.adapters.weather_file import parse_weather
from evenground.season.daily import NAMES, Daily, Years, merged

YEARS_FILE = "weather_years.csv"
MOST_YEARS = 40
# A value is written with these digits: stations give one, and three behind a point may be read as thousands.
DIGITS = 2


def years_of(data: bytes) -> Years:
    """Read weather of earlier years.

    Parameters
    ----------
    data : bytes
        The file.

    Raises
    ------
    InputError
        With every problem found.
    """
    return Years(parse_weather(data, YEARS_FILE).weather, YEARS_FILE, hashlib.sha256(data).hexdigest())


def read_years(folder: Path) -> Years | None:
    """Read weather of earlier years from a trial folder; None where there is none.

    Parameters
    ----------
    folder : Path
        The trial folder.

    Raises
    ------
    InputError
        With every problem found.
    """
    path = folder / YEARS_FILE
    return years_of(read_bytes(path, YEARS_FILE, LARGEST_FILE_BYTES)) if path.is_file() else None


def years_text(weather: Daily, before: date, kept: Daily | None = None) -> str:
    """Return the days before a season as the text of the file; "" where there are none.

    Parameters
    ----------
    weather : Daily
        As read from a station's file.
    before : date
        First day of the trial's season; at most forty years before it are kept.
    kept : Daily or None
        What is kept already; its values stay.
    """
    first = date(before.year - MOST_YEARS, 1, 1)
    every = merged(kept, weather)
    if every is None or every.first >= before:
        return ""
    part = every.part(max(every.first, first), min(every.last, date.fromordinal(before.toordinal() - 1)))
    used = [name for name in NAMES if not np.isnan(part[name]).all()]
    lines = [",".join(["date", *used])]
    for i, day in enumerate(part.days):
        values = [float(part[name][i]) for name in used]
        if not all(np.isnan(values)):
            cells = ["" if np.isnan(v) else f"{round(v, DIGITS):g}" for v in values]
            lines.append(",".join([day.isoformat(), *cells]))
    return "\n".join(lines) + "\n" if len(lines) > 1 else ""
