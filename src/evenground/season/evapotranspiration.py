"""Reference evapotranspiration of short grass by the procedures of FAO-56: the parts of the formula, then the whole.

Source: Allen R.G., Pereira L.S., Raes D., Smith M. (1998) Crop evapotranspiration, FAO Irrigation and Drainage Paper
56, Rome; equation numbers below are its own. All functions take numbers or arrays of one shape.
"""

from __future__ import annotations

import numpy as np

from evenground.season.daily import Array

Values = Array | float
SOLAR_CONSTANT = 0.0820  # MJ m-2 min-1
STEFAN_BOLTZMANN = 4.903e-9  # MJ K-4 m-2 d-1
ALBEDO = 0.23
LATENT_HEAT = 0.408  # mm of water evaporated by 1 MJ m-2
WORLD_WIND_M_PER_S = 2.0  # p. 63: mean over 2000 stations
CLEAR_SKY_FLOOR = 0.3  # smallest Rs/Rso in Eq. 39; about what an overcast sky lets through (Angstrom a = 0.25)


def saturation_pressure(temperature_c: Values) -> Array:
    """Return the saturation vapour pressure [kPa], Eq. 11.

    Parameters
    ----------
    temperature_c : float or array
        Air temperature [deg C].
    """
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(0.6108 * np.exp(17.27 * t / (t + 237.3)))


def slope_of_saturation(temperature_c: Values) -> Array:
    """Return the slope of the saturation vapour pressure curve [kPa/deg C], Eq. 13.

    Parameters
    ----------
    temperature_c : float or array
        Air temperature [deg C].
    """
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(4098.0 * saturation_pressure(t) / (t + 237.3) ** 2)


def air_pressure(altitude_m: float) -> float:
    """Return the mean atmospheric pressure [kPa], Eq. 7.

    Parameters
    ----------
    altitude_m : float
        Height above the sea [m].
    """
    return float(101.3 * ((293.0 - 0.0065 * altitude_m) / 293.0) ** 5.26)


def psychrometric_constant(altitude_m: float) -> float:
    """Return the psychrometric constant [kPa/deg C], Eq. 8.

    Parameters
    ----------
    altitude_m : float
        Height above the sea [m].
    """
    return 0.665e-3 * air_pressure(altitude_m)


def wind_at_2_m(wind_m_per_s: Values, height_m: float) -> Array:
    """Return the wind speed 2 m above the ground [m/s], Eq. 47.

    Parameters
    ----------
    wind_m_per_s : float or array
        Wind as measured [m/s].
    height_m : float
        Height of the instrument [m].
    """
    factor = 1.0 if height_m == 2.0 else 4.87 / np.log(67.8 * height_m - 5.42)
    return np.asarray(np.asarray(wind_m_per_s, dtype=float) * factor)


def _sun(latitude_deg: float, day_of_year: Values) -> tuple[Array, Array, Array]:
    """Relative distance [1], declination [rad] and sunset hour angle [rad], Eq. 23 to 25.

    Where the sun does not set or does not rise the angle is pi or 0, so that any latitude has an answer.
    """
    angle = 2.0 * np.pi * np.asarray(day_of_year, dtype=float) / 365.0
    distance = 1.0 + 0.033 * np.cos(angle)
    declination = 0.409 * np.sin(angle - 1.39)
    cosine = -np.tan(np.radians(latitude_deg)) * np.tan(declination)
    return distance, declination, np.arccos(np.clip(cosine, -1.0, 1.0))


def extraterrestrial_radiation(latitude_deg: float, day_of_year: Values) -> Array:
    """Return the radiation on top of the atmosphere [MJ/m2 a day], Eq. 21.

    Parameters
    ----------
    latitude_deg : float
        Latitude, south negative [deg].
    day_of_year : int or array
        1 on 1 January [d].
    """
    distance, declination, sunset = _sun(latitude_deg, day_of_year)
    phi = np.radians(latitude_deg)
    total = sunset * np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.sin(sunset)
    # rounding leaves a tiny negative number in the polar night
    return np.asarray(np.maximum(24.0 * 60.0 / np.pi * SOLAR_CONSTANT * distance * total, 0.0))


def daylight_hours(latitude_deg: float, day_of_year: Values) -> Array:
    """Return the greatest possible sunshine [h], Eq. 34.

    Parameters
    ----------
    latitude_deg : float
        Latitude, south negative [deg].
    day_of_year : int or array
        1 on 1 January [d].
    """
    return np.asarray(24.0 / np.pi * _sun(latitude_deg, day_of_year)[2])


def clear_sky_radiation(extraterrestrial: Values, altitude_m: float) -> Array:
    """Return the radiation under a clear sky [MJ/m2 a day], Eq. 37.

    Parameters
    ----------
    extraterrestrial : float or array
        Radiation on top of the atmosphere [MJ/m2 a day].
    altitude_m : float
        Height above the sea [m].
    """
    return np.asarray((0.75 + 2e-5 * altitude_m) * np.asarray(extraterrestrial, dtype=float))


def radiation_from_sunshine(sunshine_h: Values, daylight: Values, extraterrestrial: Values) -> Array:
    """Return the solar radiation from hours of sunshine [MJ/m2 a day], Eq. 35 with a = 0.25 and b = 0.50.

    Parameters
    ----------
    sunshine_h : float or array
        Bright sunshine [h].
    daylight : float or array
        Greatest possible sunshine [h].
    extraterrestrial : float or array
        Radiation on top of the atmosphere [MJ/m2 a day].
    """
    day = np.asarray(daylight, dtype=float)
    share = np.divide(sunshine_h, day, out=np.zeros_like(day + np.asarray(sunshine_h)), where=day > 0)
    return np.asarray((0.25 + 0.50 * np.minimum(share, 1.0)) * extraterrestrial)


def radiation_from_temperature(
    temperature_min_c: Values, temperature_max_c: Values, extraterrestrial: Values, altitude_m: float, coast: bool
) -> Array:
    """Return the solar radiation estimated from the day's range of temperature [MJ/m2 a day], Eq. 50.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        Air temperature [deg C].
    extraterrestrial : float or array
        Radiation on top of the atmosphere [MJ/m2 a day].
    altitude_m : float
        Height above the sea [m].
    coast : bool
        By the sea (factor 0.19) or inland (0.16).
    """
    spread = np.maximum(np.asarray(temperature_max_c, dtype=float) - temperature_min_c, 0.0)
    estimate = (0.19 if coast else 0.16) * np.sqrt(spread) * extraterrestrial
    return np.asarray(np.minimum(estimate, clear_sky_radiation(extraterrestrial, altitude_m)))


def net_shortwave(radiation_mj_per_m2: Values) -> Array:
    """Return the net solar radiation [MJ/m2 a day], Eq. 38 with the albedo of grass.

    Parameters
    ----------
    radiation_mj_per_m2 : float or array
        Solar radiation [MJ/m2 a day].
    """
    return np.asarray((1.0 - ALBEDO) * np.asarray(radiation_mj_per_m2, dtype=float))


def net_longwave(
    temperature_min_c: Values,
    temperature_max_c: Values,
    vapour_pressure: Values,
    radiation_mj_per_m2: Values,
    clear_sky: Values,
) -> Array:
    """Return the net outgoing long-wave radiation [MJ/m2 a day], Eq. 39.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        Air temperature [deg C].
    vapour_pressure : float or array
        Actual vapour pressure [kPa].
    radiation_mj_per_m2, clear_sky : float or array
        Solar radiation, and under a clear sky [MJ/m2 a day]; their ratio is held between 0.3 and 1, so that the polar
        night and a doubtful reading have an answer too.
    """
    clear = np.asarray(clear_sky, dtype=float)
    rs = np.asarray(radiation_mj_per_m2, dtype=float)
    ratio = np.divide(rs, clear, out=np.ones_like(rs + clear), where=clear > 0)
    emitted = STEFAN_BOLTZMANN * (
        ((np.asarray(temperature_max_c) + 273.16) ** 4 + (np.asarray(temperature_min_c) + 273.16) ** 4) / 2.0
    )
    humidity = 0.34 - 0.14 * np.sqrt(vapour_pressure)
    return np.asarray(emitted * humidity * (1.35 * np.clip(ratio, CLEAR_SKY_FLOOR, 1.0) - 0.35))


def vapour_pressure_of_range(
    temperature_min_c: Values, temperature_max_c: Values, humidity_min_percent: Values, humidity_max_percent: Values
) -> Array:
    """Return the actual vapour pressure from the day's lowest and highest humidity [kPa], Eq. 17.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        Air temperature [deg C].
    humidity_min_percent, humidity_max_percent : float or array
        Relative humidity [%].
    """
    night = saturation_pressure(temperature_min_c) * np.asarray(humidity_max_percent) / 100.0
    noon = saturation_pressure(temperature_max_c) * np.asarray(humidity_min_percent) / 100.0
    return np.asarray((night + noon) / 2.0)


def penman_monteith(
    temperature_min_c: Values,
    temperature_max_c: Values,
    vapour_pressure: Values,
    wind_m_per_s: Values,
    net_radiation: Values,
    altitude_m: float,
    *,
    soil_heat: Values = 0.0,
) -> Array:
    """Return the reference evapotranspiration [mm/d], Eq. 6, never below 0.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        Air temperature [deg C].
    vapour_pressure : float or array
        Actual vapour pressure [kPa].
    wind_m_per_s : float or array
        Wind speed 2 m above the ground [m/s].
    net_radiation, soil_heat : float or array
        Net radiation and soil heat flux [MJ/m2 a day]; a day's heat flux is taken as 0 (Eq. 42).
    altitude_m : float
        Height above the sea [m].
    """
    low, high = np.asarray(temperature_min_c, dtype=float), np.asarray(temperature_max_c, dtype=float)
    mean = (low + high) / 2.0
    wind = np.asarray(wind_m_per_s, dtype=float)
    slope, gamma = slope_of_saturation(mean), psychrometric_constant(altitude_m)
    deficit = (saturation_pressure(low) + saturation_pressure(high)) / 2.0 - vapour_pressure
    radiation_part = LATENT_HEAT * slope * (np.asarray(net_radiation) - soil_heat)
    air_part = gamma * 900.0 / (mean + 273.0) * wind * np.maximum(deficit, 0.0)
    return np.asarray(np.maximum((radiation_part + air_part) / (slope + gamma * (1.0 + 0.34 * wind)), 0.0))


def hargreaves(temperature_min_c: Values, temperature_max_c: Values, extraterrestrial: Values) -> Array:
    """Return the reference evapotranspiration from temperatures alone [mm/d], Eq. 52, never below 0.

    Parameters
    ----------
    temperature_min_c, temperature_max_c : float or array
        Air temperature [deg C].
    extraterrestrial : float or array
        Radiation on top of the atmosphere [MJ/m2 a day].
    """
    low, high = np.asarray(temperature_min_c, dtype=float), np.asarray(temperature_max_c, dtype=float)
    spread = np.sqrt(np.maximum(high - low, 0.0))
    water = LATENT_HEAT * np.asarray(extraterrestrial, dtype=float)
    return np.asarray(np.maximum(0.0023 * ((low + high) / 2.0 + 17.8) * spread * water, 0.0))
