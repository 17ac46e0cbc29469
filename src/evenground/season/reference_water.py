"""Reference evapotranspiration of each day from what was measured; the rest is replaced as FAO-56 says, and marked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from evenground.season import evapotranspiration as et
from evenground.season.daily import Array, Daily

DEFAULT_ALTITUDE_M = 100.0


@dataclass(frozen=True)
class Place:
    """Where the weather is: what the formulas need of it.

    Attributes
    ----------
    latitude_deg : float
        Latitude, south negative [deg].
    altitude_m : float
        Height above the sea [m].
    coast : bool
        By the sea.
    wind_height_m : float
        Height at which the wind is measured [m].
    dew_point_below_min_c : float
        How far the dew point lies below the day's minimum where humidity is not measured [deg C].
    """

    latitude_deg: float
    altitude_m: float = DEFAULT_ALTITUDE_M
    coast: bool = False
    wind_height_m: float = 2.0
    dew_point_below_min_c: float = 0.0


@dataclass(frozen=True)
class ReferenceWater:
    """Reference evapotranspiration and what the crop coefficients need of the air.

    Attributes
    ----------
    et_mm : array
        Penman-Monteith [mm/d]; NaN on days without temperatures.
    hargreaves_mm : array
        From temperatures alone, as a second opinion [mm/d].
    wind_m_per_s : array
        Wind 2 m above the ground [m/s].
    humidity_min_percent : array
        Lowest relative humidity [%].
    replaced : mapping of str to int
        What was not measured ("humidity", "wind", "radiation") to the number of days it was replaced on [d].
    """

    et_mm: Array
    hargreaves_mm: Array
    wind_m_per_s: Array
    humidity_min_percent: Array
    replaced: Mapping[str, int]

    @property
    def sentence(self) -> str:
        """Say what was replaced; "" where everything was measured."""
        parts = [f"{name} on {n} {'day' if n == 1 else 'days'}" for name, n in self.replaced.items() if n]
        return f"Not measured and replaced as FAO-56 says: {', '.join(parts)}." if parts else ""


def days_of_year(weather: Daily) -> Array:
    """Return the day of the year of every day, 1 on 1 January [d]."""
    return np.array([d.timetuple().tm_yday for d in weather.days], dtype=float)


def reference_water(weather: Daily, place: Place) -> ReferenceWater:
    """Return the reference evapotranspiration of every day.

    Humidity comes from the dew point, else from its lowest and highest value, else from its mean, else the air is
    taken as saturated at the day's minimum (Eq. 48). Radiation comes from the sensor, else from sunshine (Eq. 35), else
    from the day's range of temperature (Eq. 50). Wind that was not measured is taken as 2 m/s (p. 63).

    Parameters
    ----------
    weather : Daily
        Temperatures bridged or not; doubtful values taken out.
    place : Place
        Where.

    Source: FAO-56, chapters 3 and 4.
    """
    low, high = weather["temperature_min_c"], weather["temperature_max_c"]
    there = ~np.isnan(low) & ~np.isnan(high)
    day = days_of_year(weather)
    top = et.extraterrestrial_radiation(place.latitude_deg, day)
    vapour, humid = _vapour_pressure(weather, place)
    sun, sunny = _radiation(weather, place, top, day)
    wind = et.wind_at_2_m(weather["wind_m_per_s"], place.wind_height_m)
    windy = ~np.isnan(wind)
    wind = np.where(windy, wind, et.WORLD_WIND_M_PER_S)
    clear = et.clear_sky_radiation(top, place.altitude_m)
    net = et.net_shortwave(sun) - et.net_longwave(low, high, vapour, sun, clear)
    total = et.penman_monteith(low, high, vapour, wind, net, place.altitude_m)
    driest = weather["humidity_min_percent"]
    estimate = np.clip(100.0 * vapour / et.saturation_pressure(high), 0.0, 100.0)
    replaced = {
        name: int(np.sum(there & ~known))
        for name, known in (("humidity", humid), ("wind", windy), ("radiation", sunny))
    }
    return ReferenceWater(
        total, et.hargreaves(low, high, top), wind, np.where(np.isnan(driest), estimate, driest), replaced
    )


def _vapour_pressure(weather: Daily, place: Place) -> tuple[Array, np.ndarray]:
    """Actual vapour pressure [kPa], and on which days it was measured."""
    low, high = weather["temperature_min_c"], weather["temperature_max_c"]
    saturated = (et.saturation_pressure(low) + et.saturation_pressure(high)) / 2.0
    ways = (
        et.saturation_pressure(weather["dew_point_c"]),
        et.vapour_pressure_of_range(low, high, weather["humidity_min_percent"], weather["humidity_max_percent"]),
        saturated * weather["humidity_percent"] / 100.0,  # Eq. 19
    )
    out = np.full(len(weather), np.nan)
    for way in ways:
        out = np.where(np.isnan(out), way, out)
    measured = ~np.isnan(out)
    out = np.where(measured, out, et.saturation_pressure(low - place.dew_point_below_min_c))
    return out, measured


def _radiation(weather: Daily, place: Place, top: Array, day: Array) -> tuple[Array, np.ndarray]:
    """Solar radiation [MJ/m2 a day], and on which days it was measured (or the sunshine was)."""
    from_sun = et.radiation_from_sunshine(weather["sunshine_h"], et.daylight_hours(place.latitude_deg, day), top)
    out = np.where(np.isnan(weather["radiation_mj_per_m2"]), from_sun, weather["radiation_mj_per_m2"])
    measured = ~np.isnan(out)
    low, high = weather["temperature_min_c"], weather["temperature_max_c"]
    estimate = et.radiation_from_temperature(low, high, top, place.altitude_m, place.coast)
    return np.where(measured, out, estimate), measured
