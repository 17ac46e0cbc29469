"""What weather the crop got between sowing and harvest, from the daily records. It explains; it decides nothing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from evenground.basis.observations import Records, WeatherDay, current

# A day with less than this breaks no dry spell. Common practice, no source.
WETTING_RAIN_MM = 5.0
# A day this hot is counted as hot. Common practice, no source.
HOT_DAY_C = 30.0


@dataclass(frozen=True)
class SeasonWeather:
    """Weather from sowing to harvest.

    Attributes
    ----------
    first, last : date
        First and last day counted.
    days, days_missing : int
        Days in between, and days without a rain record [d].
    rain_mm : float
        Rain recorded [mm].
    longest_dry_days : int
        Longest run of recorded days with less than 5 mm each [d]; a day without a record ends the run.
    hot_days : int or None
        Days with a maximum of 30 deg C and more [d]; None without temperatures.
    """

    first: date
    last: date
    days: int
    days_missing: int
    rain_mm: float
    longest_dry_days: int
    hot_days: int | None

    @property
    def sentence(self) -> str:
        """One plain sentence for the report."""
        text = f"Rain from sowing to harvest {self.rain_mm:.0f} mm"
        if self.days_missing:
            text += f" (without {self.days_missing} of {self.days} days that have no record)"
        text += f"; longest spell without {WETTING_RAIN_MM:g} mm in a day: {_days(self.longest_dry_days)}"
        if self.hot_days is not None:
            text += f"; {_days(self.hot_days)} of {HOT_DAY_C:g} degrees and more"
        return text + "."


def _days(n: int) -> str:
    return "1 day" if n == 1 else f"{n} days"


def season_weather(records: Records) -> SeasonWeather | None:
    """Sum up the weather between sowing and harvest.

    Sowing is the first ``sown`` event. Harvest is the last ``harvested`` event, or the last load. Where either is not
    recorded, or no weather is, nothing is said.

    Parameters
    ----------
    records : Records
        Weather, events and loads, corrections included.
    """
    span = growing_span(records)
    weather = current(records.weather)
    if span is None or not weather:
        return None
    first, last = span
    days = [first + timedelta(days=i) for i in range((last - first).days + 1)]
    by_day = {w.day: w for w in weather}
    rain = [by_day[d].rain_mm if d in by_day else None for d in days]
    known = [r for r in rain if r is not None]
    if not known:
        return None
    missing = len(days) - len(known)
    hot = _hot_days([by_day[d] for d in days if d in by_day])
    return SeasonWeather(first, last, len(days), missing, math.fsum(known), longest_dry_spell(rain), hot)


def growing_span(records: Records) -> tuple[date, date] | None:
    """Say from which day to which day the crop stood in the field; None where sowing or harvest is not recorded."""
    events = current(records.events)
    sown = [e.time.date() for e in events if e.event == "sown"]
    cut = [e.time.date() for e in events if e.event == "harvested"] or [w.time.date() for w in current(records.loads)]
    if not sown or not cut or max(cut) < min(sown):
        return None
    return min(sown), max(cut)


def longest_dry_spell(rain_mm: Sequence[float | None]) -> int:
    """Count the longest run of days in a row with less than 5 mm each [d].

    Parameters
    ----------
    rain_mm : sequence of float or None
        Rain day by day [mm]; None where there is no record, which ends a run because it may have rained.

    Examples
    --------
    >>> longest_dry_spell([0.0, 4.9, 6.0, 0.0, None, 0.0])
    2
    """
    longest = run = 0
    for rain in rain_mm:
        run = run + 1 if rain is not None and rain < WETTING_RAIN_MM else 0
        longest = max(longest, run)
    return longest


def _hot_days(days: Sequence[WeatherDay]) -> int | None:
    known = [d.temperature_max_c for d in days if d.temperature_max_c is not None]
    return sum(t >= HOT_DAY_C for t in known) if known else None
