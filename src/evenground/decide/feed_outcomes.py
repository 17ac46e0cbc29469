"""Side results: starch and energy a hectare, and the outcome without blocks that were damaged or not weighed."""

from __future__ import annotations

from collections.abc import Callable, Set
from dataclasses import replace

from evenground.basis.outcome_plan import PRODUCT_NAMES
from evenground.compare.values import StripValues
from evenground.decide.strip_values import as_strip_values, over_rows, rows_of, shared_errors, values_of
from evenground.harvest.counted import PER_T_DRY
from evenground.harvest.feed_values import FeedValue
from evenground.harvest.harvested import StripHarvest
from evenground.harvest.outcome import M2_PER_HA
from evenground.harvest.strips import Harvest

# quantity: name of the yield and its unit
YIELDS = {"starch_percent": ("starch yield", "t starch/ha"), "energy_mj_per_kg": ("energy yield", "GJ/ha")}
Named = tuple[str, str, StripValues]


def dry_matter_t_per_ha(strip: StripHarvest) -> float | None:
    """Return the dry matter a strip gave, whatever the outcome is counted in [t/ha].

    Parameters
    ----------
    strip : StripHarvest
        After harvest; None without a mass, without a dry matter, or where it does not count.
    """
    if strip.yield_t_per_ha is None or strip.fresh_t is None or strip.dry_matter_fraction is None:
        return None
    return strip.fresh_t * strip.dry_matter_fraction / (strip.cut_area_m2 / M2_PER_HA)


def feed_outcomes(harvest: Harvest) -> tuple[Named, ...]:
    """Return laboratory values, and starch and energy a hectare, each source by itself.

    Parameters
    ----------
    harvest : Harvest
        What came off, with what the laboratory found.

    Returns
    -------
    tuple of (str, str, StripValues)
        Name, unit and values of every side result; the energy system and its edition are part of the name.
    """
    return tuple(one for value in harvest.feed for one in _both(value, harvest))


def energy_values(harvest: Harvest) -> tuple[tuple[str, StripValues], ...]:
    """Return the energy of a hectare, each laboratory and energy system by itself [GJ/ha].

    Parameters
    ----------
    harvest : Harvest
        What came off, with what the laboratory found.

    Returns
    -------
    tuple of (str, StripValues)
        Source and values.
    """
    energies = (v for v in harvest.feed if v.quantity == "energy_mj_per_kg")
    return tuple((v.source, _of(harvest, v, lambda s: dry_matter_t_per_ha(s) or 0.0, a_hectare=True)) for v in energies)


def _both(value: FeedValue, harvest: Harvest) -> tuple[Named, ...]:
    per_kg = _of(harvest, value, lambda _: 1.0)
    if value.quantity not in YIELDS:
        return ((value.name, value.unit, per_kg),)
    if value is harvest.counted.value:
        return ((value.name, value.unit, per_kg),)  # its yield is the main outcome
    (name, unit), factor = YIELDS[value.quantity], PER_T_DRY[value.quantity]
    grown = _of(harvest, value, lambda s: factor * (dry_matter_t_per_ha(s) or 0.0), a_hectare=True)
    return ((value.name, value.unit, per_kg), (f"{name} ({value.source})", unit, grown))


def _of(
    harvest: Harvest, value: FeedValue, times: Callable[[StripHarvest], float], *, a_hectare: bool = False
) -> StripValues:
    """Return value times something for every strip, with the error of values that several strips share.

    What is grown a hectare has those of mass, ground and dry matter too.
    """
    strips = {s.strip: s for s in harvest.strips if s.yield_t_per_ha is not None and s.strip in value.by_strip}
    rows = rows_of(harvest, lambda s: value.by_strip[s.strip] * times(s) if s.strip in strips else None)
    there = {s.strip for unit, _ in rows for s in unit}
    shared = tuple(
        over_rows(
            rows,
            {n: sd * times(strips[n]) for n in group if n in there},
            f"one value of {value.name}",
            one_figure=True,
        )
        for group, sd in zip(value.shared, value.shared_sds, strict=True)
    )
    if a_hectare:
        grown = {n: value.by_strip[n] * times(s) for n, s in strips.items()}
        figures, added = shared_errors(harvest, rows, grown)
        shared = (*shared, *figures, *added)
    return values_of(rows, shared)


def other_products(harvest: Harvest) -> tuple[Named, ...]:
    """Return the dry matter of strips harvested as another product, each product by itself.

    Parameters
    ----------
    harvest : Harvest
        What came off.
    """
    products = dict.fromkeys(s.product for s in harvest.strips if s.product)
    return tuple(_other(harvest, product) for product in products)


def _other(harvest: Harvest, product: str) -> Named:
    name = f"dry matter of strips harvested as {PRODUCT_NAMES[product]}"
    return name, "t dry matter/ha", values_of(rows_of(harvest, lambda s: _dry_of(s, product)))


def _dry_of(strip: StripHarvest, product: str) -> float | None:
    if strip.product != product or strip.fresh_t is None or strip.dry_matter_fraction is None:
        return None
    return strip.fresh_t * strip.dry_matter_fraction / (strip.cut_area_m2 / M2_PER_HA)


def without_damage(harvest: Harvest) -> StripValues | None:
    """Return the main outcome without blocks with damage that the method cannot have caused; None where none had any.

    Damage that the method may have caused is part of what it does and stays.

    Parameters
    ----------
    harvest : Harvest
        What came off.
    """
    return _without_blocks(harvest, {s.block for s in harvest.strips if s.strip in harvest.damaged})


def without_estimates(harvest: Harvest) -> StripValues | None:
    """Return the main outcome of blocks whose strips were all weighed; None where every strip was, or none.

    Parameters
    ----------
    harvest : Harvest
        What came off.
    """
    return _without_blocks(harvest, {s.block for s in harvest.strips if s.estimated_sd_fraction > 0.0})


def _without_blocks(harvest: Harvest, blocks: Set[int]) -> StripValues | None:
    if not blocks or blocks == {s.block for s in harvest.strips}:
        return None
    kept = tuple(s if s.block not in blocks else replace(s, outcome=None) for s in harvest.strips)
    return as_strip_values(replace(harvest, strips=kept))
