"""Fills of a hopper or a tank: before which passes, and how much, so that it never runs empty inside a strip."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evenground.basis.method import Machine, Method
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.sowing.seed_lot import lot_of_strips, lot_weight_g, seed_kg

_HAIR = 1e-9
# Strip and ground [m2] of each pass, in the order of driving.
Driven = Sequence[tuple[int, float]]


@dataclass(frozen=True)
class Fill:
    """One fill.

    Attributes
    ----------
    before_pass, before_strip : int
        Place in the order of driving before which it is filled, from 1, and the strip of that pass.
    strips : tuple of int
        Strips it serves, in the order they are reached.
    kg, litres : float
        What goes in, all hoppers together [kg; l].
    inside : int
        Further fills needed inside that pass because it takes more than all hoppers hold [1]; 0 as a rule.
    lot : str
        Seed lot that goes in; empty where there is one lot only. The hopper is emptied before another lot.
    """

    before_pass: int
    before_strip: int
    strips: tuple[int, ...]
    kg: float
    litres: float
    inside: int = 0
    lot: str = ""


@dataclass(frozen=True)
class Hoppers:
    """What a machine can carry.

    Attributes
    ----------
    count : int
        Hoppers or tanks filled alike [1].
    each_l : float
        Volume of each [l].
    """

    count: int
    each_l: float

    @property
    def litres(self) -> float:
        """Volume of all [l]."""
        return self.count * self.each_l


def seed_hoppers(machine: Machine, method: Method) -> Hoppers | None:
    """Say how many seed hoppers a planter has and what they hold; None where the volume is not said.

    Parameters
    ----------
    machine : Machine
        The planter.
    method : Method
        Lines of its rows.
    """
    if machine.hopper_l is None:
        return None
    lines = machine.rows * method.row_pattern.lines_per_row
    return Hoppers({"central": 1, "per_row": machine.rows, "per_line": lines}[machine.hopper], machine.hopper_l)


def fills(
    needs_kg: Sequence[tuple[int, float]],
    hoppers: Hoppers,
    bulk_density_kg_per_l: float,
    lots: Mapping[int, str] | None = None,
) -> tuple[Fill, ...]:
    """Say before which passes to fill, and with how much.

    Answers: how often, and where, does the planter stop for filling, if it never runs empty inside a pass? Each fill
    serves as many of the next passes as the hoppers hold, and never two seed lots. Hoppers that serve alike rows empty
    alike.

    Parameters
    ----------
    needs_kg : sequence of (int, float)
        For each pass its strip and what it takes, reserve included, in the order of driving [kg].
    hoppers : Hoppers
        What the machine carries.
    bulk_density_kg_per_l : float
        What a litre weighs [kg/l].
    lots : mapping or None
        Strip to its seed lot, where there are several.

    Returns
    -------
    tuple of Fill

    Raises
    ------
    ValueError
        If a need or the density is not above 0.

    Source: arithmetic.

    Examples
    --------
    >>> [(f.before_strip, f.kg) for f in fills([(1, 40.0), (4, 40.0), (5, 40.0)], Hoppers(1, 120.0), 0.72)]
    [(1, 80.0), (5, 40.0)]
    """
    if not (bulk_density_kg_per_l > 0.0 and all(kg > 0.0 and math.isfinite(kg) for _, kg in needs_kg)):
        raise ValueError("every need and the bulk density must be above 0")
    most, lot_of = hoppers.litres * bulk_density_kg_per_l, lots or {}
    groups: list[list[tuple[int, int, float]]] = []
    for place, (strip, kg) in enumerate(needs_kg, start=1):
        alike = bool(groups) and lot_of.get(groups[-1][-1][1]) == lot_of.get(strip)
        if alike and math.fsum(k for *_, k in groups[-1]) + kg <= most + _HAIR:
            groups[-1].append((place, strip, kg))
        else:
            groups.append([(place, strip, kg)])
    return tuple(_fill(group, most, bulk_density_kg_per_l, lot_of.get(group[0][1], "")) for group in groups)


def _fill(group: Sequence[tuple[int, int, float]], most_kg: float, density: float, lot: str) -> Fill:
    total = math.fsum(kg for *_, kg in group)
    inside = max(0, math.ceil(total / most_kg - _HAIR) - 1)
    place, first, _ = group[0]
    return Fill(place, first, tuple(dict.fromkeys(strip for _, strip, _ in group)), total, total / density, inside, lot)


def seed_fills(plan: Plan, method: Method, driven: Driven, draw: Draw | None = None) -> tuple[Fill, ...]:
    """Say where to fill seed for a method's strips; empty where weight, volume or strips are not known.

    With several seed lots no fill serves two of them.

    Parameters
    ----------
    plan : Plan
        Machines and seed.
    method : Method
        Which one.
    driven : sequence of (int, float)
        Strip and ground of each of its passes in the order of driving [m2].
    draw : Draw or None
        Blocks, which say where which seed lot goes.
    """
    lots, hoppers = lot_of_strips(plan, draw) if draw else {}, seed_hoppers(plan.machine(method.machine), method)
    weights = {n: lot_weight_g(plan, lots.get(n, "")) for n, _ in driven}
    if hoppers is None or None in weights.values():
        return ()
    more = 1.0 + plan.seed.reserve_percent / 100.0
    needs = [(n, seed_kg(method.seeds_per_m2 * m2 * more, weights[n] or 0.0)) for n, m2 in driven]
    return fills(needs, hoppers, plan.seed.bulk_density_kg_per_l, lots)


def starter_fills(plan: Plan, method: Method, driven: Driven) -> tuple[Fill, ...]:
    """Say where to fill starter for a method's strips; empty where there is none or the tank is not known.

    Parameters
    ----------
    plan : Plan
        Machines and starter.
    method : Method
        Which one.
    driven : sequence of (int, float)
        Strip and ground of each of its passes in the order of driving [m2].
    """
    volume = plan.machine(method.machine).starter_tank_l
    if volume is None or method.starter_kg_per_ha <= 0.0:
        return ()
    more = 1.0 + plan.starter.reserve_percent / 100.0
    needs = [(n, method.starter_kg_per_ha * m2 / 10_000.0 * more) for n, m2 in driven]
    return fills(needs, Hoppers(1, volume), plan.starter.bulk_density_kg_per_l)


def strips_in_order(draw: Draw | None, method: Method) -> Driven:
    """Return strip number and ground of a method's strips in the order they lie in the field [m2].

    Parameters
    ----------
    draw : Draw or None
        Strips.
    method : Method
        Which one.
    """
    mine = [s for s in draw.strips if s.method == method.letter] if draw else []
    return [(s.strip, s.area_m2) for s in sorted(mine, key=lambda s: s.strip)]
