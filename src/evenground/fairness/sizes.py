"""How much an unfair difference could be worth: the few sizes that published trials give. Ranges, never one figure."""

from __future__ import annotations

from itertools import pairwise

COMMON_PRACTICE = "common practice, no source"

# Grain yield at 30 000 plants per acre, percent of the best, when sown every ten days from 10 April to 9 June.
# Nafziger (1994), J. Prod. Agric. 7:59-62, as tabulated by Purdue Extension; later dates extrapolated there. United
# States Corn Belt: elsewhere the dates shift, so only the steepest steps up and down are used, whatever the date.
YIELD_BY_SOWING_DATE_PERCENT = (94.0, 99.0, 100.0, 97.0, 91.0, 81.0, 68.0)
SOWING_DATE_SOURCE = (
    "steepest steps of a table of grain yield by sowing date, United States Corn Belt "
    "(Nafziger 1994, J. Prod. Agric. 7:59-62)"
)

# Grain yield sown 30 April, percent of the best, at 20, 24, 28, 30, 32 and 36 thousand plants per acre: same table.
PLANTS_PER_M2 = tuple(1000 * p / 4046.8564 for p in (20, 24, 28, 30, 32, 36))
YIELD_BY_DENSITY_PERCENT = (92.0, 97.0, 100.0, 100.0, 100.0, 97.0)
GRAIN_DENSITY_SOURCE = "steepest steps of a grain yield by density table, United States Corn Belt (Nafziger 1994)"

# Silage: none in Virginia 2014 and in New Mexico with little water; 2 short tons of dry matter per acre between 22 000
# and 40 000 seeds per acre in Virginia 2015 (Hay & Forage Grower; New Mexico State University A416). That the tons are
# short tons is read from the country of the source.
SILAGE_T_PER_HA_PER_PLANT = (0.0, 2 * 0.90718474 / 18_000 * 10_000)
SILAGE_DENSITY_SOURCE = (
    "silage density trials in Virginia 2014 and 2015 and New Mexico: from nothing to 1.0 t per plant/m2"
)

# Silage, percent of the dry-matter yield for each centimetre cut higher. Summary of eleven studies, 6.8 to 19.3 inches
# (31.75 cm): 8.1 to 7.5 t/ac; Wisconsin, 6 to 18 inches (30.48 cm): -15 %.
CUTTING_PERCENT_PER_CM = (-15.0 / 30.48, 100.0 * (7.5 / 8.1 - 1.0) / 31.75)
CUTTING_HEIGHT_SOURCE = (
    "Penn State Extension (2023), Considerations in managing cutting height, eleven studies: -7.4 % for 12.5 inches; "
    "Lauer, Wisconsin Field Crops 28.47-20 (1998): -15 % for 12 inches"
)
# Dry matter for each millimetre of water that was short [t/ha]. A rain that was not needed gives nothing.
WATER_T_PER_HA_PER_MM = {"silage": (0.0, 0.04), "grain": (0.0, 0.025)}
WATER_SOURCE = "common practice, no source: up to 0.04 t dry matter or 0.025 t grain for each millimetre"


def sowing_delay_range(days_later: float, yield_t_per_ha: float) -> tuple[float, float]:
    """Say how much sowing later (or, with a minus, earlier) can move a yield [t/ha].

    Parameters
    ----------
    days_later : float
        Days later than the other [d].
    yield_t_per_ha : float
        Yield level [t/ha].

    Returns
    -------
    (float, float)
        Low and high: the steepest published step down and up per day, times the days.

    Examples
    --------
    >>> [round(x, 3) for x in sowing_delay_range(1.0, 10.0)]
    [-0.13, 0.05]
    """
    table = YIELD_BY_SOWING_DATE_PERCENT
    steps = [(b - a) / 10.0 / 100.0 for a, b in pairwise(table)]
    return _ordered(min(steps) * yield_t_per_ha * days_later, max(steps) * yield_t_per_ha * days_later)


def density_range(plants_more_per_m2: float, yield_t_per_ha: float, product: str) -> tuple[float, float]:
    """Say how much more (or, with a minus, fewer) plants can move a yield [t/ha].

    Parameters
    ----------
    plants_more_per_m2 : float
        Plants more than the other [1/m2].
    yield_t_per_ha : float
        Yield level [t/ha].
    product : {"silage", "grain"}
        What is harvested.

    Returns
    -------
    (float, float)
        Low and high.
    """
    if product == "silage":
        low, high = SILAGE_T_PER_HA_PER_PLANT
        return _ordered(low * plants_more_per_m2, high * plants_more_per_m2)
    points = list(zip(PLANTS_PER_M2, YIELD_BY_DENSITY_PERCENT, strict=True))
    slopes = [(y2 - y1) / (x2 - x1) / 100.0 for (x1, y1), (x2, y2) in pairwise(points)]
    scale = yield_t_per_ha * plants_more_per_m2
    return _ordered(min(slopes) * scale, max(slopes) * scale)


def cutting_height_range(higher_cm: float, yield_t_per_ha: float) -> tuple[float, float]:
    """Say how much cutting silage higher (or, with a minus, lower) can move its yield [t/ha].

    Parameters
    ----------
    higher_cm : float
        Higher than the other [cm].
    yield_t_per_ha : float
        Yield level [t/ha].

    Returns
    -------
    (float, float)
        Low and high.

    Source: as `CUTTING_HEIGHT_SOURCE`.

    Examples
    --------
    >>> [round(x, 2) for x in cutting_height_range(10.0, 15.0)]
    [-0.74, -0.35]
    """
    low, high = (p / 100.0 * higher_cm * yield_t_per_ha for p in CUTTING_PERCENT_PER_CM)
    return _ordered(low, high)


def water_range(more_mm: float, product: str) -> tuple[float, float]:
    """Say how much more (or, with a minus, less) water can move a yield [t/ha].

    Parameters
    ----------
    more_mm : float
        More than the other [mm].
    product : str
        What is harvested; anything but silage counts as grain.

    Returns
    -------
    (float, float)
        Low and high.

    Source: as `WATER_SOURCE`.

    Examples
    --------
    >>> water_range(20.0, "silage")
    (0.0, 0.8)
    """
    low, high = WATER_T_PER_HA_PER_MM["silage" if product == "silage" else "grain"]
    return _ordered(low * more_mm, high * more_mm)


def share_range(share: float, yield_t_per_ha: float) -> tuple[float, float]:
    """Say how much a share of ground or crop that is not reckoned with can move a yield [t/ha]: up to all of it.

    Parameters
    ----------
    share : float
        Share by which the yield is too high, negative for too low [1].
    yield_t_per_ha : float
        Yield level [t/ha].

    Source: proportion.

    Examples
    --------
    >>> share_range(-0.01, 15.0)
    (-0.15, 0.0)
    """
    return _ordered(0.0, share * yield_t_per_ha)


def _ordered(a: float, b: float) -> tuple[float, float]:
    return (a, b) if a <= b else (b, a)
