"""Weather day by day as arrays: gaps are NaN, what was filled is marked, nothing is filled unsaid."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from evenground.basis.observations import WeatherDay, current

Array = NDArray[np.float64]
Marks = NDArray[np.bool_]

NAMES = (
    "rain_mm",
    "temperature_min_c",
    "temperature_max_c",
    "humidity_percent",
    "humidity_min_percent",
    "humidity_max_percent",
    "dew_point_c",
    "wind_m_per_s",
    "radiation_mj_per_m2",
    "sunshine_h",
)
TEMPERATURES = ("temperature_min_c", "temperature_max_c")
# Longer gaps in temperature are still bridged, but what depends on them is called doubtful. Common practice, no source.
LONGEST_GAP_DAYS = 3


@dataclass(frozen=True)
class Daily:
    """Weather of consecutive days.

    Attributes
    ----------
    first : date
        First day.
    values : mapping of str to array
        Name (one of ``NAMES``) to one value a day, NaN where there is none.
    filled : mapping of str to array
        Name to True on days whose value was bridged.
    checked : frozenset of date
        Days whose doubtful values somebody stands by.
    """

    first: date
    values: Mapping[str, Array]
    filled: Mapping[str, Marks] = field(default_factory=dict)
    checked: frozenset[date] = frozenset()

    def __len__(self) -> int:
        return len(self.values["rain_mm"])

    @property
    def last(self) -> date:
        """Last day."""
        return self.first + timedelta(days=len(self) - 1)

    @property
    def days(self) -> tuple[date, ...]:
        """Every day in order."""
        return tuple(self.first + timedelta(days=i) for i in range(len(self)))

    def __getitem__(self, name: str) -> Array:
        return self.values[name]

    def index(self, day: date) -> int:
        """Return the place of a day; it may lie outside."""
        return (day - self.first).days

    def part(self, first: date, last: date) -> Daily:
        """Return the days from ``first`` to ``last``; days without weather are all NaN.

        Parameters
        ----------
        first, last : date
            Both are part of it.

        Raises
        ------
        ValueError
            If ``last`` lies before ``first``.
        """
        n = (last - first).days + 1
        if n < 1:
            raise ValueError("the last day lies before the first.")
        start = self.index(first)
        inside = np.arange(start, start + n)
        known = (inside >= 0) & (inside < len(self))
        values, filled = {}, {}
        for name, old in self.values.items():
            values[name] = np.full(n, np.nan)
            values[name][known] = old[inside[known]]
        for name, marks in self.filled.items():
            filled[name] = np.zeros(n, dtype=bool)
            filled[name][known] = marks[inside[known]]
        return Daily(first, values, filled, self.checked)


def empty(first: date, days: int) -> Daily:
    """Return days without any weather.

    Parameters
    ----------
    first : date
        First day.
    days : int
        Number of days [d].
    """
    return Daily(first, {name: np.full(days, np.nan) for name in NAMES})


def daily_of(records: Iterable[WeatherDay]) -> Daily | None:
    """Put weather records in a row of days; None if there are none.

    Parameters
    ----------
    records : iterable of WeatherDay
        Corrections included.
    """
    found = sorted(current(records), key=lambda w: w.day)
    if not found:
        return None
    first = found[0].day
    out = empty(first, (found[-1].day - first).days + 1)
    for one in found:
        place = out.index(one.day)
        for name in NAMES:
            value = getattr(one, name)
            if value is not None:
                out.values[name][place] = value
    return Daily(first, out.values, {}, frozenset(w.day for w in found if w.checked))


def merged(own: Daily | None, other: Daily | None) -> Daily | None:
    """Lay two series together; where both know a value, the farm's own counts.

    Parameters
    ----------
    own, other : Daily or None
        For instance the rain gauge, and the station in the next village.
    """
    if own is None or other is None:
        return own or other
    first, last = min(own.first, other.first), max(own.last, other.last)
    mine, theirs = own.part(first, last), other.part(first, last)
    values = {n: np.where(np.isnan(mine[n]), theirs[n], mine[n]) for n in NAMES}
    return Daily(first, values, {}, own.checked | other.checked)


@dataclass(frozen=True)
class Years:
    """Weather of earlier years, kept beside a trial.

    Attributes
    ----------
    weather : Daily
        Its days.
    file : str
        Name of the file it stands in.
    sha256 : str
        Of that file, byte for byte (hex).
    """

    weather: Daily
    file: str
    sha256: str


def bridged(weather: Daily) -> Daily:
    """Bridge gaps in the temperatures by a straight line between the days around them, marked as such.

    Rain is never bridged, and nothing is added before the first or after the last known day.

    Parameters
    ----------
    weather : Daily
        With gaps.
    """
    values, filled = dict(weather.values), dict(weather.filled)
    for name in TEMPERATURES:
        old = weather[name]
        known = np.flatnonzero(~np.isnan(old))
        if len(known) < 2:
            continue
        inside = np.arange(known[0], known[-1] + 1)
        new = old.copy()
        new[inside] = np.interp(inside, known, old[known])
        filled[name] = np.isnan(old) & ~np.isnan(new)
        values[name] = new
    return Daily(weather.first, values, filled, weather.checked)


def gaps(missing: Marks) -> tuple[tuple[int, int], ...]:
    """List runs of missing days as (first place, length).

    Parameters
    ----------
    missing : array of bool
        True where a day has no value.

    Examples
    --------
    >>> import numpy as np
    >>> gaps(np.array([False, True, True, False, True]))
    ((1, 2), (4, 1))
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([False], missing, [False])).astype(np.int8)))
    return tuple((int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True))
