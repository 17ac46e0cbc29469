"""Which row unit is blocked or worn? Plants by row unit, each against the other units of the same planter."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from evenground.basis.observations import Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.numerics.count_intervals import rate_ratio_interval
from evenground.stand.plants import plants_per_m2, sown_methods

UnitState = Literal["alike", "fewer", "more", "blocked", "not counted", "cannot tell"]
Found = tuple[float | None, tuple[float, float | None] | None, UnitState]
ODD = ("fewer", "more", "blocked")
# Of two units nobody can say which one is odd.
FEWEST_SOUND = 3


@dataclass(frozen=True)
class RowUnit:
    """One row unit of the planter of one method.

    Attributes
    ----------
    method : str
        The method it sowed.
    row_unit : int
        Its number, counted from the left.
    length_m : float
        Row counted behind it, all strips together [m].
    plants : int
        Plants on it [1].
    plants_per_m2 : float or None
        The same by area [1/m2].
    ratio : float or None
        Plants per metre against the mean of the other units, odd ones left out [1].
    interval : tuple of (float, float or None) or None
        Of the ratio, for all units at once [1]; the upper end is None where it has none.
    state : str
        ``alike``, ``fewer``, ``more``, ``blocked`` (no plant where there should be), ``not counted``, ``cannot tell``
        (no other unit to compare with).
    """

    method: str
    row_unit: int
    length_m: float
    plants: int
    plants_per_m2: float | None
    ratio: float | None
    interval: tuple[float, float | None] | None
    state: UnitState

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``row_units`` of ``stand --json``."""
        return dict(self.__dict__)


def row_units(plan: Plan, draw: Draw, records: Records, level: float = 0.9) -> tuple[RowUnit, ...]:
    """Compare the row units of every method's planter; a method without any count by row unit is left out.

    Only counts of one row that name their row unit can be used; counts while the crop was emerging are left out.

    Parameters
    ----------
    plan : Plan
        Methods, planters and row spacing.
    draw : Draw
        The strips.
    records : Records
        Stand counts and events, corrections included.
    level : float
        Chance that all intervals of one planter hold together [1].

    Source: ratio of two Poisson rates, Przyborowski & Wilenski (1940), each at 1 - (1 - level) / units (Bonferroni).
    Plants of a precision planter scatter less than Poisson, so the intervals are on the wide side: a unit called odd is
    odd. Odd units are left out of what the others are held against, the oddest first.
    """
    sown = sown_methods(draw, records)
    counted: dict[str, dict[int, tuple[int, float]]] = {}
    for c in current(records.stand_counts):
        if c.row_unit is None or c.rows != 1 or c.stage == "emerging":
            continue
        methods = {sown[s] for s in c.strips if s in sown}
        if len(methods) == 1:
            units = counted.setdefault(methods.pop(), {})
            plants, length = units.get(c.row_unit, (0, 0.0))
            units[c.row_unit] = (plants + c.plants, length + c.length_m)
    rows = {m.id: m.rows for m in plan.machines}
    return tuple(
        unit
        for m in plan.methods
        if m.letter in counted
        for unit in _planter(
            m.letter, counted[m.letter], range(1, rows[m.machine] + 1), m.row_pattern.row_spacing_m, level
        )
    )


def _planter(
    method: str, counted: Mapping[int, tuple[int, float]], numbers: Iterable[int], spacing_m: float, level: float
) -> list[RowUnit]:
    own_level = 1.0 - (1.0 - level) / max(len(counted), 1)
    sound = _sound(counted, own_level)
    out = []
    for number in sorted({*numbers, *counted}):
        if number not in counted:
            out.append(RowUnit(method, number, 0.0, 0, None, None, None, "not counted"))
            continue
        mine, here = counted[number]
        density = plants_per_m2(mine, here, 1, spacing_m)
        ratio, interval, state = _beside(number, counted, sound, own_level)
        out.append(RowUnit(method, number, here, mine, density, ratio, interval, state))
    return out


def _sound(counted: Mapping[int, tuple[int, float]], level: float) -> set[int]:
    """Return the units the others are held against: the oddest is taken out, then the next, while three remain.

    Otherwise one blocked unit would make all its neighbours look too good.
    """
    sound = set(counted)
    while len(sound) >= FEWEST_SOUND:
        found = {n: _beside(n, counted, sound, level) for n in sound}
        odd = {n: ratio for n, (ratio, _, state) in found.items() if state in ODD and ratio is not None}
        if not odd:
            break
        sound.remove(max(odd, key=lambda n: math.inf if odd[n] == 0.0 else abs(math.log(odd[n]))))
    return sound


def _beside(number: int, counted: Mapping[int, tuple[int, float]], sound: set[int], level: float) -> Found:
    """Compare one unit with the sound ones besides itself."""
    others = [counted[n] for n in sound if n != number]
    return _against(*counted[number], sum(p for p, _ in others), math.fsum(x for _, x in others), level)


def _against(mine: int, here_m: float, others: int, there_m: float, level: float) -> Found:
    """Compare one unit with the others together."""
    if there_m <= 0.0 or others == 0:
        return None, None, "cannot tell"
    low, high = rate_ratio_interval(mine, here_m, others, there_m, level)
    ratio = (mine / here_m) / (others / there_m)
    odd: UnitState = "alike"
    if high < 1.0:
        odd = "blocked" if mine == 0 else "fewer"
    elif low > 1.0:
        odd = "more"
    return ratio, (low, high if math.isfinite(high) else None), odd
