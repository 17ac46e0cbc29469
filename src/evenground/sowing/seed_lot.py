"""Seed in the bag: what it weighs, how much to buy, and which lot goes where."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from evenground.basis.method import Method
from evenground.basis.plan import Plan
from evenground.basis.seed_lots import lots_of_blocks
from evenground.basis.strip import Draw
from evenground.sowing.seed_spacing import M2_PER_HA

GRAMS_PER_KG, THOUSAND = 1000.0, 1000.0
# A need that lies above a whole number only by rounding errors is that whole number.
_HAIR = 1e-9


@dataclass(frozen=True)
class SeedNeed:
    """Seed for some ground, reserve included.

    Attributes
    ----------
    units : float
        Units [1].
    units_to_buy : int
        Whole units [1].
    kg : float or None
        Weight of what is sown and of the reserve [kg]; None without a thousand-kernel weight.
    kg_to_buy : float or None
        Weight of the whole units [kg].
    """

    units: float
    units_to_buy: int
    kg: float | None
    kg_to_buy: float | None


def seed_kg(kernels: float, thousand_kernel_weight_g: float) -> float:
    """Say what a number of kernels weighs [kg].

    Parameters
    ----------
    kernels : float
        Kernels [1].
    thousand_kernel_weight_g : float
        Weight of 1000 kernels [g].

    Raises
    ------
    ValueError
        If either is not above 0.

    Source: kg/ha = kernels/ha x TKW / 1 000 000, definition of the thousand-kernel weight.

    Examples
    --------
    >>> seed_kg(95_000, 300)
    28.5
    """
    for name, value in (("kernels", kernels), ("thousand_kernel_weight_g", thousand_kernel_weight_g)):
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above 0, not {value}")
    return kernels * thousand_kernel_weight_g / (THOUSAND * GRAMS_PER_KG)


def seed_need(plan: Plan, seeds_per_m2: float, area_m2: float, lot: str = "") -> SeedNeed:
    """Say how much seed some ground takes, with the plan's reserve.

    Parameters
    ----------
    plan : Plan
        Kernels in a unit, thousand-kernel weight, reserve.
    seeds_per_m2 : float
        Seeds set [1/m2].
    area_m2 : float
        Ground [m2].
    lot : str
        The lot it is sown from, for its thousand-kernel weight; empty where there is one only.

    Source: arithmetic.
    """
    kernels = seeds_per_m2 * area_m2 * (1.0 + plan.seed.reserve_percent / 100.0)
    units = kernels / plan.money.kernels_per_unit
    whole = math.ceil(units - _HAIR)
    weight = lot_weight_g(plan, lot)
    if weight is None:
        return SeedNeed(units, whole, None, None)
    return SeedNeed(units, whole, seed_kg(kernels, weight), seed_kg(whole * plan.money.kernels_per_unit, weight))


def lot_weight_g(plan: Plan, lot: str) -> float | None:
    """Look up the thousand-kernel weight of a lot: its own, or else that of all seed [g].

    Parameters
    ----------
    plan : Plan
        Lots.
    lot : str
        Name; empty or unknown for the weight of all seed.
    """
    own = {one.lot: one.thousand_kernel_weight_g for one in plan.seed.lots}.get(lot)
    return own if own is not None else plan.seed.thousand_kernel_weight_g


def seed_need_of_method(plan: Plan, draw: Draw | None, method: Method) -> SeedNeed | None:
    """Say how much seed the strips of a method take: whole units of every lot, for a bag holds one lot.

    Parameters
    ----------
    plan : Plan
        Lots, kernels in a unit, thousand-kernel weights, reserve.
    draw : Draw or None
        Strips and blocks.
    method : Method
        Which one.

    Returns
    -------
    SeedNeed or None
        None before the draw.

    Source: arithmetic.
    """
    mine = [s for s in draw.strips if s.method == method.letter] if draw else []
    if draw is None or not mine:
        return None
    lots = lot_of_strips(plan, draw)
    ground: dict[str, list[float]] = {}
    for strip in mine:
        ground.setdefault(lots.get(strip.strip, ""), []).append(strip.area_m2)
    needs = [seed_need(plan, method.seeds_per_m2, math.fsum(m2), lot) for lot, m2 in ground.items()]
    weighed = [(n.kg, n.kg_to_buy) for n in needs if n.kg is not None and n.kg_to_buy is not None]
    kg, to_buy = (
        (math.fsum(part) for part in zip(*weighed, strict=True)) if len(weighed) == len(needs) else (None, None)
    )
    return SeedNeed(math.fsum(n.units for n in needs), sum(n.units_to_buy for n in needs), kg, to_buy)


def seed_kg_per_ha(seeds_per_m2: float, thousand_kernel_weight_g: float | None) -> float | None:
    """Say what the seed of a hectare weighs [kg/ha]; None without a thousand-kernel weight.

    Parameters
    ----------
    seeds_per_m2 : float
        Seeds set [1/m2].
    thousand_kernel_weight_g : float or None
        Weight of 1000 kernels [g].

    Source: see ``seed_kg``.

    Examples
    --------
    >>> seed_kg_per_ha(10.0, 280.0)
    28.0
    """
    weight = thousand_kernel_weight_g
    return None if weight is None else seed_kg(seeds_per_m2 * M2_PER_HA, weight)


def lot_sentences(plan: Plan, draw: Draw | None) -> tuple[str, ...]:
    """Say which seed lot goes where: one lot everywhere, or every lot to every method, changed between blocks.

    Parameters
    ----------
    plan : Plan
        Lots; the plan has made sure that each goes to every method.
    draw : Draw or None
        Blocks; before the draw only the rule is said.

    Source: common practice, no source.
    """
    count, names = plan.trial.seed_lots, [lot.lot for lot in plan.seed.lots]
    if count == 1:
        return (f"All methods are sown from one seed lot{f' ({names[0]})' if names else ''}.",)
    said = [f"{count} seed lots, each for every method: change the lot between blocks, never inside one."]
    if draw is not None:
        shares = lots_of_blocks(plan, (s.block for s in draw.strips))
        said += [f"{name}: {_blocks(blocks)}." for name, blocks in shares.items() if blocks]
        left = [name for name, blocks in shares.items() if not blocks]
        if left:
            said.append(
                f"More lots than blocks: {', '.join(left)} would be in no block that all methods share. Leave it out."
            )
    weights = {lot.thousand_kernel_weight_g or plan.seed.thousand_kernel_weight_g for lot in plan.seed.lots}
    if len(weights) > 1:
        said.append("The lots differ in thousand-kernel weight: check the metering again after each change.")
    return tuple(said)


def lot_of_strips(plan: Plan, draw: Draw) -> dict[int, str]:
    """Say which lot is sown in which strip, so that the methods of one block have the same.

    Parameters
    ----------
    plan : Plan
        Lots.
    draw : Draw
        Blocks and strips.

    Returns
    -------
    dict
        Strip to name of the lot; empty where there is one lot only.

    Source: common practice, no source.
    """
    if plan.trial.seed_lots == 1:
        return {}
    of_block = {
        block: name for name, blocks in lots_of_blocks(plan, (s.block for s in draw.strips)).items() for block in blocks
    }
    return {s.strip: of_block[s.block] for s in sorted(draw.strips, key=lambda s: s.strip)}


def lots_of_method(plan: Plan, draw: Draw | None, letter: str) -> tuple[str, ...]:
    """Say which lot goes into which strips of one method; nothing where there is one lot, or no draw yet.

    Parameters
    ----------
    plan : Plan
        Lots.
    draw : Draw or None
        Blocks and strips.
    letter : str
        The method.

    Source: common practice, no source.
    """
    lots = lot_of_strips(plan, draw) if draw else {}
    mine = {s.strip for s in draw.strips if s.method == letter} if draw else set()
    by_lot: dict[str, list[str]] = {}
    for strip, lot in lots.items():
        if strip in mine:
            by_lot.setdefault(lot, []).append(str(strip))
    said = tuple(f"{lot}: strip{'s' * (len(strips) > 1)} {', '.join(strips)}." for lot, strips in by_lot.items())
    return (*said, "Empty the hopper into its own bag before the other lot goes in.") if len(said) > 1 else said


def _blocks(part: Sequence[int]) -> str:
    return f"block {part[0]}" if len(part) == 1 else f"blocks {part[0]} to {part[-1]}"
