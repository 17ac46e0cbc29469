"""The dual crop coefficient: what the crop can transpire, and what evaporates from the soil between the plants.

Source: FAO-56 (Allen et al. 1998), chapters 6 and 7; equation numbers below are its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from evenground.basis.season_tables import maize
from evenground.season.daily import Array

# Below this cover a ratio of covers means nothing. Judgement.
LEAST_COVER = 0.02


@dataclass(frozen=True)
class CropCurve:
    """The crop from day to day since sowing, as the balance takes it.

    Attributes
    ----------
    basal : array
        Basal crop coefficient of the table, before the air is allowed for [1].
    height_m : array
        Height of the crop [m].
    root_depth_m : array
        Depth of the roots [m].
    """

    basal: Array
    height_m: Array
    root_depth_m: Array


def crop_curve(
    days: int, stage_days: tuple[int, int, int, int], root_depth_m: float, *, dry_harvest: bool
) -> CropCurve:
    """Return the crop from sowing on: flat, rising to full cover, flat, falling to harvest (Fig. 37).

    Height and roots grow with the basal coefficient and do not shrink again.

    Parameters
    ----------
    days : int
        Days since sowing [d].
    stage_days : tuple of int
        Length of the initial, development, mid and late stage [d].
    root_depth_m : float
        Greatest depth of the roots [m].
    dry_harvest : bool
        Grain is left to dry (0.15 at the end) or the crop is cut moist (0.50).
    """
    table = maize()
    end = table["basal_end_dry" if dry_harvest else "basal_end_moist"]
    corners = np.cumsum((0, *stage_days))
    levels = (table["basal_initial"], table["basal_initial"], table["basal_mid"], table["basal_mid"], end)
    basal = np.interp(np.arange(days), corners, levels)
    grown = np.maximum.accumulate((basal - table["basal_initial"]) / (table["basal_mid"] - table["basal_initial"]))
    start = min(table["root_depth_start"], root_depth_m)
    return CropCurve(
        basal, np.maximum(table["height"] * grown, 0.05), start + (root_depth_m - start) * np.clip(grown, 0, 1)
    )


def air_allowance(wind_m_per_s: Array | float, humidity_min_percent: Array | float, height_m: Array | float) -> Array:
    """Return what wind and dry air add to a crop coefficient [1], the second term of Eq. 70 and 72.

    Parameters
    ----------
    wind_m_per_s : float or array
        Wind 2 m above the ground, held between 1 and 6 [m/s].
    humidity_min_percent : float or array
        Lowest relative humidity, held between 20 and 80 [%].
    height_m : float or array
        Height of the crop [m].
    """
    wind, humid = np.clip(wind_m_per_s, 1.0, 6.0), np.clip(humidity_min_percent, 20.0, 80.0)
    tall = (np.asarray(height_m, dtype=float) / 3.0) ** 0.3
    return np.asarray((0.04 * (wind - 2.0) - 0.004 * (humid - 45.0)) * tall)


def basal_coefficient(basal: Array, allowance: Array) -> Array:
    """Return the basal coefficient under this air [1], Eq. 70: the allowance goes to coefficients above 0.45.

    Parameters
    ----------
    basal : array
        Of the table [1].
    allowance : array
        See `air_allowance` [1].
    """
    return np.where(basal > 0.45, basal + allowance, basal)


def largest_coefficient(basal: Array | float, allowance: Array | float) -> Array:
    """Return the largest crop coefficient the air's energy allows after wetting [1], Eq. 72.

    Parameters
    ----------
    basal : float or array
        Basal coefficient [1].
    allowance : float or array
        See `air_allowance` [1].
    """
    return np.asarray(np.maximum(1.2 + np.asarray(allowance), np.asarray(basal) + 0.05))


def cover(basal: Array | float, largest: Array | float, height_m: Array | float) -> Array:
    """Return the share of the ground that the crop covers [1], Eq. 76, held between 0 and 0.99.

    Parameters
    ----------
    basal, largest : float or array
        Basal and largest coefficient [1].
    height_m : float or array
        Height of the crop [m].
    """
    bare = maize()["basal_initial"]
    share = np.clip((np.asarray(basal) - bare) / (np.asarray(largest) - bare), 0.0, 1.0)
    return np.asarray(np.minimum(share ** (1.0 + 0.5 * np.asarray(height_m)), 0.99))


def with_measured_cover(crop: CropCurve, measured: Mapping[int, float], full_day: int) -> CropCurve:
    """Bend a crop curve so that it passes through the ground cover seen in the field.

    The measured cover over that of the curve is a ratio; it is carried on a straight line from one measurement to the
    next, back to sowing, and to 1 at full cover. The basal coefficient follows from cover by Eq. 76 turned round, in
    the standard air of the tables.

    Parameters
    ----------
    crop : CropCurve
        As the tables have it.
    measured : mapping of int to float
        Days since sowing to cover [1]; days on which the curve has next to none, or after full cover, are passed over.
    full_day : int
        Day since sowing on which the curve reaches full cover [d].

    Raises
    ------
    ValueError
        If a cover is not between 0 and 1.
    """
    if not all(0.0 <= fraction <= 1.0 for fraction in measured.values()):
        raise ValueError("a cover lies between 0 and 1.")
    table, standard = maize(), 1.2
    of_curve = cover(crop.basal, standard, crop.height_m)
    used = [d for d in sorted(measured) if d < min(full_day, len(of_curve)) and of_curve[d] > LEAST_COVER]
    if not used:
        return crop
    points, ratios = [*used, full_day], [*(measured[d] / of_curve[d] for d in used), 1.0]
    days = np.arange(len(of_curve))
    seen = np.clip(of_curve * np.interp(days, points, ratios), 0.0, 0.99)
    bent = table["basal_initial"] + (standard - table["basal_initial"]) * seen ** (1.0 / (1.0 + 0.5 * crop.height_m))
    return replace(crop, basal=np.where(days < full_day, np.minimum(bent, table["basal_mid"]), crop.basal))
