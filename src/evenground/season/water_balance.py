"""Water in the root zone day by day: what came, what the crop took, what ran through, and when it was short.

Source: FAO-56 (Allen et al. 1998), chapters 7 and 8; equation numbers below are its own. Water is taken to arrive early
in the day, as in its Examples 35 and 38: what the soil cannot hold drains before that day's evapotranspiration. Ground
that the roots have not reached yet is kept as a second store, so that no water appears or is lost when they grow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenground.basis.season_tables import SoilStore, maize
from evenground.season.crop_coefficient import (
    CropCurve,
    air_allowance,
    basal_coefficient,
    cover,
    largest_coefficient,
)
from evenground.season.daily import Array
from evenground.season.reference_water import ReferenceWater

LEAST_DEPLETION, MOST_DEPLETION = 0.1, 0.8  # limits of p, shown in FAO-56 Fig. 41; their values from memory
LEAST_EXPOSED = 0.01  # FAO-56 Eq. 75 keeps a trace of bare ground


def stress_coefficient(depletion_mm: float, total_mm: float, ready_mm: float) -> float:
    """Return the water stress coefficient [1], Eq. 84: 1 without stress, 0 at the wilting point.

    Parameters
    ----------
    depletion_mm : float
        Water missing in the root zone at the start of the day [mm].
    total_mm, ready_mm : float
        Total and readily available water [mm].

    Examples
    --------
    >>> round(stress_coefficient(67.0, 160.0, 64.0), 2)
    0.97
    """
    if depletion_mm <= ready_mm:
        return 1.0
    return max((total_mm - depletion_mm) / (total_mm - ready_mm), 0.0) if total_mm > ready_mm else 0.0


def depletion_fraction(crop_et_mm: float) -> float:
    """Return the share of the available water that maize takes up without stress [1], note to Table 22.

    Parameters
    ----------
    crop_et_mm : float
        What the crop would use without stress [mm/d].

    Examples
    --------
    >>> [round(depletion_fraction(x), 2) for x in (3.0, 5.0, 7.0)]
    [0.63, 0.55, 0.47]
    """
    return min(max(maize()["depletion"] + 0.04 * (5.0 - crop_et_mm), LEAST_DEPLETION), MOST_DEPLETION)


def evaporation_coefficient(
    depletion_mm: float, ready_mm: float, total_mm: float, basal: float, largest: float, exposed: float
) -> float:
    """Return the soil evaporation coefficient [1], Eq. 71 and 74.

    Parameters
    ----------
    depletion_mm : float
        Water evaporated from the surface layer so far [mm].
    ready_mm, total_mm : float
        Readily and totally evaporable water [mm].
    basal, largest : float
        Basal and largest coefficient [1].
    exposed : float
        Share of the ground that is both wet and bare [1].
    """
    free = 1.0 if depletion_mm <= ready_mm else max((total_mm - depletion_mm) / (total_mm - ready_mm), 0.0)
    return max(min(free * (largest - basal), exposed * largest), 0.0)


def surface_after_water(depletion_mm: float, water_mm: float) -> float:
    """Return the depletion of the surface layer after water on its wetted part [mm], Eq. 77 without evaporation.

    Parameters
    ----------
    depletion_mm : float
        Before [mm].
    water_mm : float
        Rain and irrigation per wetted ground [mm].
    """
    return max(depletion_mm - water_mm, 0.0)


def surface_after_evaporation(depletion_mm: float, evaporation_mm: float, exposed: float, total_mm: float) -> float:
    """Return the depletion of the surface layer at the end of the day [mm], Eq. 77.

    Parameters
    ----------
    depletion_mm : float
        After the day's water [mm].
    evaporation_mm : float
        Evaporation over the whole ground [mm].
    exposed : float
        Share of the ground it came from [1].
    total_mm : float
        Totally evaporable water [mm].
    """
    return min(depletion_mm + evaporation_mm / max(exposed, LEAST_EXPOSED), total_mm)


def root_zone_after_water(depletion_mm: float, water_mm: float) -> tuple[float, float]:
    """Return depletion and drainage of the root zone after the day's water [mm], Eq. 85 and 88, water first.

    Parameters
    ----------
    depletion_mm : float
        Before [mm].
    water_mm : float
        Rain and irrigation [mm].

    Examples
    --------
    >>> root_zone_after_water(23.0, 40.0)
    (0.0, 17.0)
    """
    left = depletion_mm - water_mm
    return (left, 0.0) if left >= 0.0 else (0.0, -left)


@dataclass(frozen=True)
class WaterBalance:
    """The water of one soil under one crop, one value a day from sowing on.

    Attributes
    ----------
    rain_mm, irrigation_mm : array
        Water that came [mm]; a day without rain record counts as 0.
    et_mm, unstressed_et_mm : array
        What crop and soil used, and would have used with enough water in the same days [mm].
    short_mm : array
        Transpiration missing to that of an unstressed crop [mm].
    drainage_mm : array
        Water lost below the greatest depth of the roots [mm].
    stress : array
        Stress coefficient Ks [1].
    available_mm, available_fraction : array
        Water left in the rooted ground at the end of the day [mm], and as a share of usable field capacity [1].
    storage_change_mm : float
        Water in the whole profile at the end minus that at the start [mm].
    """

    rain_mm: Array
    irrigation_mm: Array
    et_mm: Array
    unstressed_et_mm: Array
    short_mm: Array
    drainage_mm: Array
    stress: Array
    available_mm: Array
    available_fraction: Array
    storage_change_mm: float

    @property
    def balance_error_mm(self) -> float:
        """What came minus what went and what was stored [mm]; 0 but for rounding."""
        came = float(np.sum(self.rain_mm) + np.sum(self.irrigation_mm))
        return came - float(np.sum(self.et_mm) + np.sum(self.drainage_mm)) - self.storage_change_mm


@dataclass(slots=True)
class _Profile:
    """Water missing in the surface layer, the root zone and the ground below it [mm]."""

    surface: float
    roots: float
    below: float


def water_balance(
    air: ReferenceWater, rain_mm: Array, irrigation_mm: Array, crop: CropCurve, soil: SoilStore
) -> WaterBalance:
    """Follow the water of one soil under one crop.

    Parameters
    ----------
    air : ReferenceWater
        Of every day from sowing on; no NaN.
    rain_mm, irrigation_mm : array
        Of the same days [mm]; NaN rain counts as 0.
    crop : CropCurve
        Of the same days.
    soil : SoilStore
        What the soil holds.

    Raises
    ------
    ValueError
        If the evapotranspiration of a day is missing, or the lengths differ.
    """
    n = len(air.et_mm)
    if np.isnan(air.et_mm).any():
        raise ValueError("the reference evapotranspiration of a day is missing.")
    if not len(rain_mm) == len(irrigation_mm) == len(crop.basal) == n:
        raise ValueError("rain, irrigation, crop and air must have the same days.")
    rain = np.nan_to_num(rain_mm, nan=0.0)
    allowance = air_allowance(air.wind_m_per_s, air.humidity_min_percent, crop.height_m)
    basal = basal_coefficient(crop.basal, allowance)
    largest = largest_coefficient(basal, allowance)
    exposed = np.maximum(1.0 - cover(basal, largest, crop.height_m), LEAST_EXPOSED)
    dry = soil.available * (1.0 - soil.start_fraction)
    start = _Profile(
        min(dry * maize()["evaporation_depth"], soil.totally_evaporable_mm),
        dry * float(crop.root_depth_m[0]),
        dry * (soil.root_depth_m - float(crop.root_depth_m[0])),
    )
    state = _Profile(start.surface, start.roots, start.below)
    out = np.zeros((n, 6))
    for i in range(n):
        if i:
            _grow(state, float(crop.root_depth_m[i - 1]), float(crop.root_depth_m[i]), soil.root_depth_m)
        total = soil.available * float(crop.root_depth_m[i])
        day = (float(air.et_mm[i]), float(basal[i]), float(largest[i]), float(exposed[i]))
        out[i] = _one_day(state, float(rain[i] + irrigation_mm[i]), day, total, soil)
    et, could, short, drained, stress, available = out.T
    change = (start.roots + start.below) - (state.roots + state.below)
    return WaterBalance(
        rain,
        np.asarray(irrigation_mm, dtype=float),
        et,
        could,
        short,
        drained,
        stress,
        available,
        available / (soil.available * crop.root_depth_m),
        change,
    )


def _grow(state: _Profile, before_m: float, now_m: float, deepest_m: float) -> None:
    """Let roots reach new ground, which brings its own share of what is missing below."""
    left = deepest_m - before_m
    share = (now_m - before_m) / left if left > 1e-12 else 0.0
    moved = state.below * min(max(share, 0.0), 1.0)
    state.below -= moved
    state.roots += moved


def _one_day(
    state: _Profile, water: float, air: tuple[float, float, float, float], total: float, soil: SoilStore
) -> tuple[float, float, float, float, float, float]:
    """Let one day pass: used, could have used, short, drained [mm], stress [1], available at its end [mm]."""
    et0, basal, largest, exposed = air
    state.surface = surface_after_water(state.surface, water)
    state.roots, through = root_zone_after_water(state.roots, water)
    kept = min(through, state.below)
    state.below -= kept
    ke = evaporation_coefficient(
        state.surface, soil.readily_evaporable_mm, soil.totally_evaporable_mm, basal, largest, exposed
    )
    could = (basal + ke) * et0
    stress = stress_coefficient(state.roots, total, depletion_fraction(could) * total)
    left = max(total - state.roots, 0.0)
    taken_up = min(stress * basal * et0, left)
    # The surface layer is the top of the root zone: it cannot give what the root zone no longer holds (Eq. 86).
    evaporated = min(ke * et0, left - taken_up)
    state.surface = surface_after_evaporation(state.surface, evaporated, exposed, soil.totally_evaporable_mm)
    state.roots += taken_up + evaporated
    return taken_up + evaporated, could, basal * et0 - taken_up, through - kept, stress, total - state.roots
