"""Invented weather for tests: smooth years without any chance, so that figures can be worked out by hand."""

from datetime import date, timedelta

import numpy as np

from evenground.season.daily import empty


def weather(first, days, *, low=10.0, high=22.0, rain=2.0, **others):
    """Days that are all alike, but for a ripple of 0.1 that no sensor check takes for a stuck sensor."""
    out = empty(first, days)
    ripple = 0.1 * (np.arange(days) % 2)
    given = {"temperature_min_c": low, "temperature_max_c": high, **others}
    for name, value in given.items():
        out.values[name][:] = value + ripple
    out.values["rain_mm"][:] = np.where(np.arange(days) % 2 == 0, rain, 0.0)
    return out


def years(first, last, *, season=None, **changes):
    """Whole years, each a little warmer than the one before."""
    parts = []
    for n, year in enumerate(range(first, last + 1)):
        days = (date(year + 1, 1, 1) - date(year, 1, 1)).days
        parts.append(weather(date(year, 1, 1), days, **{"low": 8.0 + 0.4 * n, "high": 20.0 + 0.4 * n, **changes}))
    out = empty(parts[0].first, sum(len(p) for p in parts))
    for name in out.values:
        out.values[name][:] = np.concatenate([p[name] for p in parts])
    return out


def day(n, start=date(2025, 4, 28)):
    return start + timedelta(days=n)
