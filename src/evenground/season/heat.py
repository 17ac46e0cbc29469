"""Heat: what a day's temperatures are worth to maize, in the usual ways of counting."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np

from evenground.season.daily import Array

Values = Array | float


def base_6(temperature_min_c: Values, temperature_max_c: Values) -> Array:
    """Return growing degree days with base 6 and ceiling 30 [deg C d]: (min(Tmax, 30) + Tmin) / 2 - 6, never below 0.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        The day's air temperature [deg C]; the minimum is not raised to the base.

    Source: the form in which the table of heat needs was published (continental base 6, seed trade in France).

    Examples
    --------
    >>> float(base_6(12.0, 34.0)), float(base_6(4.0, 20.0)), float(base_6(1.0, 9.0))
    (15.0, 6.0, 0.0)
    """
    low, high = np.asarray(temperature_min_c, dtype=float), np.asarray(temperature_max_c, dtype=float)
    return np.asarray(np.maximum((np.minimum(high, 30.0) + low) / 2.0 - 6.0, 0.0))


def base_8(temperature_min_c: Values, temperature_max_c: Values) -> Array:
    """Return growing degree days with base 8 and no ceiling [deg C d]: (Tmax + Tmin) / 2 - 8, never below 0.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        The day's air temperature [deg C].

    Source: common practice in central Europe, no source.

    Examples
    --------
    >>> float(base_8(4.0, 20.0)), float(base_8(15.0, 25.0))
    (4.0, 12.0)
    """
    low, high = np.asarray(temperature_min_c, dtype=float), np.asarray(temperature_max_c, dtype=float)
    return np.asarray(np.maximum((high + low) / 2.0 - 8.0, 0.0))


def base_10_30(temperature_min_c: Values, temperature_max_c: Values) -> Array:
    """Return growing degree days with base 10 and ceiling 30 [deg C d], the 86/50 F method.

    Both temperatures are held between 10 and 30 before they are averaged.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        The day's air temperature [deg C].

    Source: R.L. Nielsen, Purdue University, "Heat unit concepts related to corn development".

    Examples
    --------
    >>> round(float(base_10_30((46 - 32) / 1.8, (72 - 32) / 1.8)) * 1.8, 6)
    11.0
    """
    low, high = (np.clip(np.asarray(t, dtype=float), 10.0, 30.0) for t in (temperature_min_c, temperature_max_c))
    return np.asarray((low + high) / 2.0 - 10.0)


def crop_heat_units(temperature_min_c: Values, temperature_max_c: Values) -> Array:
    """Return Ontario crop heat units of the day [1].

    The mean of a night part 1.8 (Tmin - 4.4) and a day part 3.33 (Tmax - 10) - 0.084 (Tmax - 10)^2, neither below 0.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        The day's air temperature [deg C].

    Source: Ontario field crop news, "Using crop heat units" (2025), and the government of Canada's open data page on
    crop heat units, which state the same coefficients.

    Examples
    --------
    >>> round(float(crop_heat_units(14.4, 30.0)), 3)
    25.5
    """
    low, high = np.asarray(temperature_min_c, dtype=float), np.asarray(temperature_max_c, dtype=float)
    night = np.maximum(1.8 * (low - 4.4), 0.0)
    # Below the base the day part is 0; above the hottest useful day the parabola falls and may not go below 0.
    by_day = np.where(high > 10.0, np.maximum(3.33 * (high - 10.0) - 0.084 * (high - 10.0) ** 2, 0.0), 0.0)
    return np.asarray(np.where(np.isnan(low) | np.isnan(high), np.nan, (night + by_day) / 2.0))


WAYS: dict[str, Callable[[Values, Values], Array]] = {
    "base_6": base_6,
    "base_8": base_8,
    "base_10_30": base_10_30,
    "crop_heat_units": crop_heat_units,
}
WAY_WORDS = {
    "base_6": "base 6, ceiling 30",
    "base_8": "base 8",
    "base_10_30": "base 10, ceiling 30 (86/50 F)",
    "crop_heat_units": "crop heat units (Ontario)",
}


def first_reaching(heat: Array, first: date, need: float) -> date | None:
    """Return the day on which a running sum reaches a need; None if it does not, or if a day before is unknown.

    Parameters
    ----------
    heat : array
        Heat of each day from ``first`` on [deg C d].
    first : date
        First day.
    need : float
        Heat wanted [deg C d].

    Examples
    --------
    >>> import numpy as np
    >>> first_reaching(np.array([8.0, 8.0, 8.0]), date(2026, 5, 1), 16.0)
    datetime.date(2026, 5, 2)
    """
    reached = np.flatnonzero(np.cumsum(heat) >= need - 1e-9)
    return first + timedelta(days=int(reached[0])) if len(reached) else None
