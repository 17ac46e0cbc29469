"""What weather the crop got between sowing and harvest, from the daily records. It explains; it decides nothing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from evenground.basis.days import said_day
from evenground.basis.observations import Records, current
from evenground.season.daily import Array, Daily, daily_of
from evenground.season.quality import doubts, without

# A day with less than this breaks no dry spell. Common practice, no source.
WETTING_RAIN_MM = 5.0
# No crop of maize stands longer. Common practice, no source.
LONGEST_SEASON_DAYS = 250
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
        Days in between, and days without a rain record or with a doubtful one [d].
    rain_mm : float
        Rain recorded, doubtful values left out [mm].
    longest_dry_days : int
        Longest run of recorded days with less than 5 mm each [d]; a day without a record, or with a doubtful one, ends
        the run.
    hot_days : int or None
        Days with a maximum of 30 deg C and more [d]; None without temperatures.
    days_doubtful : int
        How many of the missing days have a rain record that is doubtful [d].
    harvested : bool
        False while the crop stands: then ``last`` is the last day with rain recorded.
    """

    first: date
    last: date
    days: int
    days_missing: int
    rain_mm: float
    longest_dry_days: int
    hot_days: int | None
    days_doubtful: int = 0
    harvested: bool = True

    @property
    def sentence(self) -> str:
        """One plain sentence for the report."""
        end = "harvest" if self.harvested else said_day(self.last)
        text = f"Rain from sowing to {end} {self.rain_mm:.0f} mm"
        if self.days_missing:
            text += f" (without {self.days_missing} of {self.days} days {self._why_missing})"
        text += f"; longest spell without {WETTING_RAIN_MM:g} mm in a day: {_days(self.longest_dry_days)}"
        if self.hot_days is not None:
            text += f"; {_days(self.hot_days)} of {HOT_DAY_C:g} degrees and more"
        return text + "."

    @property
    def _why_missing(self) -> str:
        if not self.days_doubtful:
            return "that have no record"
        if self.days_doubtful == self.days_missing:
            return "whose record is doubtful"
        return f"that have no record or, {self.days_doubtful} of them, a doubtful one"


def _days(n: int) -> str:
    return "1 day" if n == 1 else f"{n} days"


def season_weather(
    records: Records, latitude_deg: float | None = None, given: Daily | None = None
) -> SeasonWeather | None:
    """Sum up the weather between sowing and harvest; doubtful values count as not recorded.

    Sowing is the first ``sown`` event. Harvest is the last ``harvested`` event, or the last load; while neither is
    recorded, the last day with rain. Where sowing is not recorded, or no rain is, nothing is said.

    Parameters
    ----------
    records : Records
        Weather, events and loads, corrections included.
    latitude_deg : float or None
        Of the field [deg]; the sun of a station is held against it.
    given : Daily or None
        The weather, where a station's file is laid together with the records.
    """
    every = daily_of(records.weather) if given is None else given
    if every is None:
        return None
    sound = without(every, doubts(every, latitude_deg))
    span = growing_span(records) or _so_far(records, sound)
    if span is None:
        return None
    part = sound.part(*span)
    rain = [None if np.isnan(mm) else float(mm) for mm in part["rain_mm"]]
    known = [mm for mm in rain if mm is not None]
    if not known:
        return None
    recorded = int(np.count_nonzero(~np.isnan(every.part(*span)["rain_mm"])))
    return SeasonWeather(
        first=span[0],
        last=span[1],
        days=len(rain),
        days_missing=len(rain) - len(known),
        rain_mm=math.fsum(known),
        longest_dry_days=longest_dry_spell(rain),
        hot_days=_hot_days(part["temperature_max_c"]),
        days_doubtful=recorded - len(known),
        harvested=growing_span(records) is not None,
    )


def _so_far(records: Records, weather: Daily) -> tuple[date, date] | None:
    """Return sowing and the last day with rain recorded in its season, for a crop that still stands."""
    sown = [e.time.date() for e in current(records.events) if e.event == "sown"]
    if not sown or _cut_days(records):
        return None
    first = min(sown)
    part = weather.part(first, first + timedelta(days=LONGEST_SEASON_DAYS))
    known = np.flatnonzero(~np.isnan(part["rain_mm"]))
    return (first, first + timedelta(days=int(known[-1]))) if len(known) else None


def _cut_days(records: Records) -> list[date]:
    events = [e.time.date() for e in current(records.events) if e.event == "harvested"]
    return events or [w.time.date() for w in current(records.loads)]


def growing_span(records: Records) -> tuple[date, date] | None:
    """Say from which day to which day the crop stood in the field; None where sowing or harvest is not recorded."""
    sown = [e.time.date() for e in current(records.events) if e.event == "sown"]
    cut = _cut_days(records)
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


def _hot_days(highest_c: Array) -> int | None:
    known = highest_c[~np.isnan(highest_c)]
    return int(np.count_nonzero(known >= HOT_DAY_C)) if len(known) else None
