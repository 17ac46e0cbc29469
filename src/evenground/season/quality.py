"""Doubtful weather: each check is a small function that names days, values and reasons; nothing is dropped unsaid.

A doubtful value is left out of every sum until somebody has looked at it and set ``checked`` on that day.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from evenground.basis.days import said_day
from evenground.season.daily import Array, Daily, Marks
from evenground.season.evapotranspiration import daylight_hours, extraterrestrial_radiation
from evenground.season.reference_water import days_of_year

# Limits of what is believed without asking. Common practice, no source, unless said.
MOST_RAIN_MM = 150.0
MOST_SPREAD_C = 35.0
MOST_WIND_M_PER_S = 20.0
STUCK_DAYS = 5
STUCK_RAIN_DAYS = 3
# What each value is called in a sentence, and its unit.
SAID = {
    "rain_mm": ("rain", "mm"),
    "temperature_min_c": ("lowest temperature", "°C"),
    "temperature_max_c": ("highest temperature", "°C"),
    "humidity_percent": ("humidity", "%"),
    "humidity_min_percent": ("lowest humidity", "%"),
    "humidity_max_percent": ("highest humidity", "%"),
    "dew_point_c": ("dew point", "°C"),
    "wind_m_per_s": ("wind", "m/s"),
    "radiation_mj_per_m2": ("radiation", "MJ/m2"),
    "sunshine_h": ("sunshine", "h"),
}


@dataclass(frozen=True)
class Doubt:
    """One value nobody should build on yet.

    Attributes
    ----------
    day : date
        Which day.
    name : str
        Which value.
    value : float
        As given.
    reason : str
        Why it is doubted, in plain words.
    """

    day: date
    name: str
    value: float
    reason: str


@dataclass(frozen=True)
class DoubtRun:
    """The same doubt about one value on days in a row.

    Attributes
    ----------
    first, last : date
        From day to day.
    name : str
        Which value.
    low, high : float
        Lowest and highest as given.
    reason : str
        Why it is doubted, in plain words.
    """

    first: date
    last: date
    name: str
    low: float
    high: float
    reason: str

    @property
    def days(self) -> int:
        """How many days in a row [d]."""
        return (self.last - self.first).days + 1

    def __str__(self) -> str:
        words, unit = SAID[self.name]
        when = said_day(self.first)
        if self.days > 1:
            when += f" to {said_day(self.last)} ({self.days} days)"
        span = f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"
        return f"{when}: {words} {span} {unit}: {self.reason}"


Finding = tuple[str, Marks, str]
Check = Callable[[Daily, float | None], Iterator[Finding]]


def _crossed(weather: Daily, _: float | None) -> Iterator[Finding]:
    pairs = (
        ("temperature_min_c", "temperature_max_c"),
        ("humidity_min_percent", "humidity_max_percent"),
        ("dew_point_c", "temperature_max_c"),
    )
    for low, high in pairs:
        odd = weather[low] > weather[high]
        for name in (low, high) if low != "dew_point_c" else (low,):
            yield name, odd, f"the {SAID[low][0]} is above the {SAID[high][0]}"


def _too_much_rain(weather: Daily, _: float | None) -> Iterator[Finding]:
    reason = f"more than {MOST_RAIN_MM:g} mm in a day"
    yield "rain_mm", weather["rain_mm"] > MOST_RAIN_MM, reason
    yield "rain_mm", weather["rain_mm"] < 0.0, "rain cannot be negative"


def _wide_days(weather: Daily, _: float | None) -> Iterator[Finding]:
    low, high = weather["temperature_min_c"], weather["temperature_max_c"]
    odd = high - low > MOST_SPREAD_C
    for name in ("temperature_min_c", "temperature_max_c"):
        yield name, odd, f"more than {MOST_SPREAD_C:g} degrees between night and day"
    yield "temperature_min_c", (low < -45.0) | (low > 40.0), "no field temperature of a growing season"
    yield "temperature_max_c", (high < -35.0) | (high > 50.0), "no field temperature of a growing season"


def _stuck(weather: Daily, _: float | None) -> Iterator[Finding]:
    for name in ("temperature_min_c", "temperature_max_c", "wind_m_per_s", "humidity_percent", "radiation_mj_per_m2"):
        if name == "humidity_percent":
            odd = runs(weather[name], STUCK_DAYS) & (weather[name] < 100.0)  # a week of fog is not a fault
        else:
            odd = runs(weather[name], STUCK_DAYS)
        yield name, odd, f"the same value {STUCK_DAYS} days and longer: is the sensor stuck?"
    rain = weather["rain_mm"]
    yield "rain_mm", runs(rain, STUCK_RAIN_DAYS) & (rain > 1.0), f"the same rain {STUCK_RAIN_DAYS} days and longer"


def _air(weather: Daily, _: float | None) -> Iterator[Finding]:
    reason = f"a daily mean above {MOST_WIND_M_PER_S:g} m/s: is it in km/h?"
    yield "wind_m_per_s", weather["wind_m_per_s"] > MOST_WIND_M_PER_S, reason
    yield "wind_m_per_s", weather["wind_m_per_s"] < 0.0, "wind cannot be negative"
    for name in ("humidity_percent", "humidity_min_percent", "humidity_max_percent"):
        yield name, (weather[name] <= 0.0) | (weather[name] > 100.0), "humidity lies above 0 and at most at 100 %"


def _sun(weather: Daily, latitude_deg: float | None) -> Iterator[Finding]:
    radiation, sunshine = weather["radiation_mj_per_m2"], weather["sunshine_h"]
    yield "radiation_mj_per_m2", radiation < 0.0, "radiation cannot be negative"
    yield "sunshine_h", sunshine < 0.0, "sunshine cannot be negative"
    if latitude_deg is None:
        return
    day = days_of_year(weather)
    # FAO-56 Eq. 21: no more can reach the ground than arrives on top of the air.
    top = extraterrestrial_radiation(latitude_deg, day)
    yield "radiation_mj_per_m2", radiation > top + 0.1, "more than the sun sends at this place and day: another place?"
    longest = daylight_hours(latitude_deg, day)
    yield "sunshine_h", sunshine > longest + 0.5, "longer than the day at this place: another place, or minutes?"


CHECKS: tuple[Check, ...] = (_crossed, _too_much_rain, _wide_days, _stuck, _air, _sun)


def runs(values: Array, length: int) -> Marks:
    """Mark values that are the same on at least ``length`` days in a row.

    Parameters
    ----------
    values : array
        One a day; NaN ends a run.
    length : int
        Days [d].

    Examples
    --------
    >>> import numpy as np
    >>> runs(np.array([1.0, 2.0, 2.0, 2.0, 3.0]), 3).tolist()
    [False, True, True, True, False]
    """
    out = np.zeros(len(values), dtype=bool)
    if not len(values):
        return out
    starts = np.flatnonzero(np.concatenate(([True], np.diff(values) != 0.0)))
    for a, b in zip(starts, [*starts[1:], len(values)], strict=True):
        if b - a >= length and not np.isnan(values[a]):
            out[a:b] = True
    return out


def doubts(weather: Daily, latitude_deg: float | None = None) -> tuple[Doubt, ...]:
    """List every doubtful value with its reason, days somebody has checked left out.

    Parameters
    ----------
    weather : Daily
        As given.
    latitude_deg : float or None
        Latitude of the field [deg]; without it the sun is not held against the place.
    """
    days = weather.days
    out: dict[tuple[date, str], Doubt] = {}
    for check in CHECKS:
        for name, odd, reason in check(weather, latitude_deg):
            for i in np.flatnonzero(odd):
                if days[i] not in weather.checked:
                    out.setdefault((days[i], name), Doubt(days[i], name, float(weather[name][i]), reason))
    return tuple(sorted(out.values(), key=lambda d: (d.day, d.name)))


def in_runs(doubted: Iterable[Doubt]) -> tuple[DoubtRun, ...]:
    r"""Put doubts of days in a row together, so that a stuck sensor is one line and hides no other doubt.

    Each doubt about a value has its first run before any has its second; otherwise by day.

    Parameters
    ----------
    doubted : iterable of Doubt
        See `doubts`.

    Examples
    --------
    >>> [str(r) for r in in_runs(Doubt(date(2026, 5, n), "humidity_percent", 60.0, "odd") for n in (1, 2, 3))]
    ['1\xa0May\xa02026 to 3\xa0May\xa02026 (3 days): humidity 60 %: odd']
    """
    out: list[DoubtRun] = []
    for one in sorted(doubted, key=lambda d: (d.name, d.reason, d.day)):
        before = out[-1] if out else None
        if before and (before.name, before.reason, before.last + timedelta(days=1)) == (one.name, one.reason, one.day):
            low, high = min(before.low, one.value), max(before.high, one.value)
            out[-1] = DoubtRun(before.first, one.day, one.name, low, high, one.reason)
        else:
            out.append(DoubtRun(one.day, one.day, one.name, one.value, one.value, one.reason))
    nth: Counter[tuple[str, str]] = Counter()
    ranked = []
    for run in sorted(out, key=lambda r: (r.first, r.name)):
        ranked.append((nth[run.name, run.reason], run.first, run.name, run))
        nth[run.name, run.reason] += 1
    return tuple(run for *_, run in sorted(ranked, key=lambda r: r[:3]))


def without(weather: Daily, doubted: Iterable[Doubt]) -> Daily:
    """Return the weather with doubtful values taken out.

    Parameters
    ----------
    weather : Daily
        As given.
    doubted : iterable of Doubt
        See `doubts`.
    """
    values = {name: old.copy() for name, old in weather.values.items()}
    for one in doubted:
        values[one.name][weather.index(one.day)] = np.nan
    return Daily(weather.first, values, weather.filled, weather.checked)
