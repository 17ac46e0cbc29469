"""Weather of a file as records of a trial: days not known yet are new, days known in part get a correction."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time

import numpy as np

from evenground.basis.observations import WeatherDay, current
from evenground.season.daily import NAMES, Daily
from evenground.season.quality import Doubt

# What a record may hold at most; beyond it the value is left out and the note says so.
_MOST = {"rain_mm": 400.0, "wind_m_per_s": 60.0, "radiation_mj_per_m2": 45.0, "sunshine_h": 24.0}


def weather_records(
    weather: Daily, span: tuple[date, date], stored: Sequence[WeatherDay], doubted: Iterable[Doubt], source: str
) -> list[WeatherDay]:
    """Return the records that bring a trial's weather up to a file.

    The trial's own values stay; a day the file adds something to gets a correction that names the record it replaces.
    Values that no record can hold are left out and named in the note. Called twice, it returns nothing the second time.

    Parameters
    ----------
    weather : Daily
        As read from the file.
    span : tuple of date
        First and last day wanted: those of the season.
    stored : sequence of WeatherDay
        What the trial has, corrections included.
    doubted : iterable of Doubt
        Doubtful values of the file, named in the notes.
    source : str
        Name of the file, for the notes.
    """
    own = {w.day: w for w in current(stored)}
    ids = {w.id for w in stored}
    reasons: dict[date, list[str]] = {}
    for one in doubted:
        reasons.setdefault(one.day, []).append(f"{one.name} {one.value:g}: {one.reason}")
    out = []
    first, last = max(weather.first, span[0]), min(weather.last, span[1])
    if last < first:
        return []
    part = weather.part(first, last)
    for i, day in enumerate(part.days):
        given = {n: float(part[n][i]) for n in NAMES if not np.isnan(part[n][i]) and _holds(n, float(part[n][i]))}
        if given.get("temperature_min_c", -99.0) > given.get("temperature_max_c", 99.0):
            del given["temperature_min_c"], given["temperature_max_c"]
        before = own.get(day)
        known = {n: v for n in NAMES if before is not None and (v := getattr(before, n)) is not None}
        if not given or given.keys() <= known.keys():
            continue
        new = {**given, **known}
        if new.get("temperature_min_c", -99.0) > new.get("temperature_max_c", 99.0):
            continue  # gauge and station contradict each other; the trial's own record stays as it is
        out.append(
            WeatherDay(
                id=_fresh(day, ids),
                time=datetime.combine(day, time(23, 59)),
                day=day,
                replaces=before.id if before is not None else None,
                note="; ".join([f"from {source}", *reasons.get(day, [])])[:600],
                **new,
            )
        )
    return out


def _holds(name: str, value: float) -> bool:
    low, high = {
        "temperature_min_c": (-50.0, 45.0),
        "temperature_max_c": (-40.0, 55.0),
        "dew_point_c": (-60.0, 35.0),
    }.get(name, (0.0, _MOST.get(name, 100.0)))
    return low <= value <= high


def _fresh(day: date, ids: set[str]) -> str:
    """Return an id of this day that is not used yet, and note it as used."""
    n = 1
    while (name := f"weather-{day.isoformat()}" + (f"-{n}" if n > 1 else "")) in ids:
        n += 1
    ids.add(name)
    return name
