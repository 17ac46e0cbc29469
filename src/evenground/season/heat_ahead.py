"""The heat that may still come: what earlier years had after the same date, else the last weeks carried on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from evenground.season.daily import TEMPERATURES, Array, Daily, bridged
from evenground.season.heat import WAYS

HORIZON_DAYS = 200
# Without earlier years the last two weeks' heat is carried on, 20 % less to 20 % more. Common practice, no source.
CARRIED_DAYS, CARRIED_SPREAD = 14, 0.2
FEWEST_YEARS = 5
MOST_GAPS = 10  # a year with more missing days in the stretch is not used; common practice, no source


@dataclass(frozen=True)
class HeatAhead:
    """Ways the season may go on.

    Attributes
    ----------
    first : date
        The day after the last one known.
    values : mapping of str to array
        Way of counting to heat by scenario and day [deg C d].
    source : str
        Where it comes from, in plain words.
    """

    first: date
    values: Mapping[str, Array]
    source: str


def earlier_years(weather: Daily | None, season: int) -> tuple[int, ...]:
    """List the years before the season that the weather reaches into.

    Parameters
    ----------
    weather : Daily or None
        As long as there is.
    season : int
        Year of harvest.
    """
    return tuple(range(weather.first.year, min(weather.last.year + 1, season))) if weather is not None else ()


def same_days(day: date, year: int) -> date:
    """Return the same calendar day in another year; 29 February becomes 28 February.

    Parameters
    ----------
    day : date
        A day.
    year : int
        The other year.
    """
    try:
        return day.replace(year=year)
    except ValueError:
        return date(year, 2, 28)


def heat_ahead(so_far: Daily, long: Daily | None, season: int) -> HeatAhead | None:
    """Return how the season may go on after its last known day; None where nothing is known to go by.

    Parameters
    ----------
    so_far : Daily
        This season, gaps bridged, ending with its last known day.
    long : Daily or None
        Weather of earlier years.
    season : int
        Year of harvest.
    """
    first = so_far.last + timedelta(days=1)
    used = {year: found for year in earlier_years(long, season) if (found := _stretch(long, first, season, year))}
    if len(used) >= FEWEST_YEARS:
        values = {way: np.array([found[way] for found in used.values()]) for way in WAYS}
        years = sorted(used)
        return HeatAhead(first, values, f"weather of {len(years)} earlier years, {years[0]} to {years[-1]}")
    carried = {}
    for way, counted in WAYS.items():
        recent = counted(so_far["temperature_min_c"][-CARRIED_DAYS:], so_far["temperature_max_c"][-CARRIED_DAYS:])
        if np.isnan(recent).all():
            return None
        mean = float(np.nanmean(recent))
        carried[way] = np.outer(mean * np.array([1 - CARRIED_SPREAD, 1.0, 1 + CARRIED_SPREAD]), np.ones(HORIZON_DAYS))
    percent = f"{100 * CARRIED_SPREAD:.0f} %"
    few = f"the last {CARRIED_DAYS} days carried on, {percent} less to {percent} more"
    return HeatAhead(first, carried, f"{few}; give weather of at least {FEWEST_YEARS} earlier years for a better one")


def _stretch(long: Daily | None, first: date, season: int, year: int) -> dict[str, Array] | None:
    """Heat of the days after the same date in one earlier year; None where too many of them are missing."""
    if long is None:
        return None
    start = same_days(first, first.year - season + year)
    part = long.part(start, start + timedelta(days=HORIZON_DAYS - 1))
    missing = sum(int(np.isnan(part[name]).sum()) for name in TEMPERATURES)
    if missing > 2 * MOST_GAPS:
        return None
    whole = bridged(part)
    heat = {way: counted(whole["temperature_min_c"], whole["temperature_max_c"]) for way, counted in WAYS.items()}
    return {way: np.nan_to_num(found, nan=0.0) for way, found in heat.items()}
