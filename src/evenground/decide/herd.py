"""What a difference in yield means for a herd: what cattle eat, what storage loses, days of feed, cost of the feed."""

from __future__ import annotations

import math
from bisect import bisect_right

from evenground.basis.herd_plan import CLAMP_LOSS_PERCENT, CLAMP_SOURCE, HerdSection

# Density in the clamp [kg dry matter/m3] and dry matter lost in 180 days [%]. Ruppel 1992, alfalfa in bunkers, as
# printed by a dairy columnist in lb/ft3 (10, 14, 15, 16, 18, 22): another crop, so a guide only.
LB_PER_FT3 = 16.018463
CLAMP_LOSS: tuple[tuple[float, float], ...] = tuple(
    (lb * LB_PER_FT3, loss) for lb, loss in ((10, 20.2), (14, 16.8), (15, 15.9), (16, 15.1), (18, 13.4), (22, 10.0))
)
# Finishing cattle on grass silage, mean of 1.6 to 1.8 % of live mass: Kavanagh, Teagasc.
FINISHING_INTAKE_PERCENT = 1.7


def dairy_intake_kg(body_mass_kg: float, milk_kg: float, fat_percent: float, week: float) -> float:
    """Say how much dry matter a dairy cow eats in a day [kg].

    Parameters
    ----------
    body_mass_kg : float
        Live mass [kg].
    milk_kg : float
        Milk a day [kg].
    fat_percent : float
        Fat in the milk [%].
    week : float
        Week of lactation [1].

    Raises
    ------
    ValueError
        If the live mass is not above zero, or milk, fat or week are below zero.

    Source: National Research Council 2001, (0.372 FCM + 0.0968 BW^0.75)(1 - exp(-0.192 (week + 3.67))) with FCM = 0.4
    milk + 15 fat yield; read in a secondary source.

    Examples
    --------
    >>> round(dairy_intake_kg(650, 30, 4.0, 10), 2)
    21.91
    """
    if not (body_mass_kg > 0.0 and milk_kg >= 0.0 and fat_percent >= 0.0 and week >= 0.0):
        raise ValueError("live mass must be above 0 kg, and milk, fat and week not below 0")
    corrected = 0.4 * milk_kg + 15.0 * milk_kg * fat_percent / 100.0
    return (0.372 * corrected + 0.0968 * math.pow(body_mass_kg, 0.75)) * (1.0 - math.exp(-0.192 * (week + 3.67)))


def finishing_intake_kg(body_mass_kg: float, percent: float = FINISHING_INTAKE_PERCENT) -> float:
    """Say how much dry matter finishing cattle eat in a day [kg].

    Parameters
    ----------
    body_mass_kg : float
        Live mass [kg].
    percent : float
        Dry matter a day, of the live mass [%].

    Raises
    ------
    ValueError
        If a number is not above zero.

    Source: Kavanagh, Teagasc: 1.6 to 1.8 % of live mass on grass silage.

    Examples
    --------
    >>> round(finishing_intake_kg(600.0), 1)
    10.2
    """
    if not (body_mass_kg > 0.0 and percent > 0.0):
        raise ValueError("live mass and share must be above 0")
    return body_mass_kg * percent / 100.0


def clamp_loss_percent(density_kg_per_m3: float) -> float:
    """Say how much dry matter a clamp loses in 180 days [%].

    Parameters
    ----------
    density_kg_per_m3 : float
        Dry matter in a cubic metre [kg/m3]; between the rows of the table it is read in proportion.

    Raises
    ------
    ValueError
        Outside the table, 160 to 352 kg/m3: nothing is known there.

    Source: Ruppel 1992, alfalfa silage in bunkers.

    Examples
    --------
    >>> round(clamp_loss_percent(240.3), 1)
    15.9
    """
    densities = [d for d, _ in CLAMP_LOSS]
    low, high = densities[0], densities[-1]
    if not low - 0.5 <= density_kg_per_m3 <= high + 0.5:
        raise ValueError(f"the table of losses holds for {low:.0f} to {high:.0f} kg/m3, not {density_kg_per_m3:g}")
    i = min(max(bisect_right(densities, density_kg_per_m3), 1), len(densities) - 1)
    (d0, l0), (d1, l1) = CLAMP_LOSS[i - 1], CLAMP_LOSS[i]
    return l0 + (l1 - l0) * (density_kg_per_m3 - d0) / (d1 - d0)


def intake_of(herd: HerdSection) -> tuple[float, str] | None:
    """Say how much dry matter of this feed one animal eats a day, and where that comes from [kg].

    Parameters
    ----------
    herd : HerdSection
        Own figure, or animals it is reckoned for.

    Returns
    -------
    tuple of (float, str) or None
        None where the plan says nothing about it.
    """
    if herd.animals == "own_figure":
        return None if herd.intake_kg is None else (herd.intake_kg, herd.intake_source or "own figure")
    mass, share = herd.body_mass_kg or 0.0, herd.feed_share_fraction or 0.0
    if herd.animals == "dairy":
        whole = dairy_intake_kg(mass, herd.milk_kg or 0.0, herd.fat_percent or 0.0, herd.lactation_week or 0.0)
        return share * whole, "intake of dairy cows, National Research Council 2001 form"
    return share * finishing_intake_kg(mass), "finishing cattle on grass silage, 1.7 % of live mass (Kavanagh, Teagasc)"


def storage_loss_of(herd: HerdSection, product: str = "silage") -> tuple[float, str]:
    """Say how much dry matter is lost in store, and where that comes from [%].

    Parameters
    ----------
    herd : HerdSection
        Loss as entered, or density of the clamp.
    product : str
        What is harvested: the loss of a clamp, as the plan has it before anybody entered one, is not that of dry grain.
    """
    if herd.clamp_density_kg_per_m3 is not None:
        source = "alfalfa in bunkers by density (Ruppel 1992); another crop, a guide only"
        return clamp_loss_percent(herd.clamp_density_kg_per_m3), source
    untouched = (herd.storage_loss_percent, herd.storage_loss_source) == (CLAMP_LOSS_PERCENT, CLAMP_SOURCE)
    if product == "grain" and untouched:
        return 0.0, "no loss of stored grain was entered"
    return herd.storage_loss_percent, herd.storage_loss_source


def feed_days(dry_matter_t: float, heads: float, intake_kg: float, loss_percent: float = 0.0) -> float:
    """Say for how many days dry matter feeds a herd [1].

    Parameters
    ----------
    dry_matter_t : float
        Dry matter brought in [t]; a loss is negative.
    heads : float
        Animals [1].
    intake_kg : float
        Dry matter of this feed one animal eats a day [kg].
    loss_percent : float
        What storage loses [%].

    Raises
    ------
    ValueError
        If heads or intake are not above zero, or the loss is not from 0 to below 100 %.

    Source: arithmetic.

    Examples
    --------
    >>> feed_days(10.0, 50, 10.0, 10.0)
    18.0
    """
    if not (heads > 0.0 and intake_kg > 0.0):
        raise ValueError("heads and intake must be above 0")
    if not 0.0 <= loss_percent < 100.0:
        raise ValueError(f"a storage loss lies between 0 and 100 %, not {loss_percent}")
    return 1000.0 * dry_matter_t * (1.0 - loss_percent / 100.0) / (heads * intake_kg)


def cost_per_t(cost_per_ha: float, yield_t_per_ha: float) -> float:
    """Say what a tonne of dry matter costs [money/t].

    Parameters
    ----------
    cost_per_ha : float
        All costs of a hectare [money/ha].
    yield_t_per_ha : float
        Dry matter of a hectare [t/ha].

    Raises
    ------
    ValueError
        If nothing grew.

    Source: arithmetic.
    """
    if not yield_t_per_ha > 0.0:
        raise ValueError(f"the yield must be above 0 t/ha, not {yield_t_per_ha}")
    return cost_per_ha / yield_t_per_ha


def cost_per_10_mj(cost_per_ha: float, yield_t_per_ha: float, energy_mj_per_kg: float) -> float:
    """Say what ten megajoules cost [money].

    Parameters
    ----------
    cost_per_ha : float
        All costs of a hectare [money/ha].
    yield_t_per_ha : float
        Dry matter of a hectare [t/ha].
    energy_mj_per_kg : float
        Energy in the dry matter, in one energy system [MJ/kg].

    Raises
    ------
    ValueError
        If nothing grew or there is no energy in it.

    Source: arithmetic.

    Examples
    --------
    >>> round(cost_per_10_mj(1950.0, 15.0, 6.5), 3)
    0.2
    """
    if not energy_mj_per_kg > 0.0:
        raise ValueError(f"energy must be above 0 MJ/kg, not {energy_mj_per_kg}")
    return cost_per_t(cost_per_ha, yield_t_per_ha) / (1000.0 * energy_mj_per_kg) * 10.0
