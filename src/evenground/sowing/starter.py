"""Starter fertiliser: what must come out at the set speed, and how near the seed it may lie.

The published limits disagree; all that speak about a place are shown and the lowest is taken. None of them is a legal
limit: local fertiliser rules go first, and the starter counts in the farm's fertiliser plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from evenground.basis.plan import Plan
from evenground.basis.units import UNITS, YD_M, convert
from evenground.sowing.calibration import kg_per_min

Placement = Literal["with the seed", "2.5 cm beside and below", "5 cm beside and below"]

INCH_M = float(YD_M / 36)
LB_PER_AC = float(convert(Fraction(1), UNITS["lb_per_ac"], UNITS["kg_per_ha"]))
# A band set to 2.5 or 5 cm is meant where the sources say 1 or 2 inches.
_MEANT_CM = 0.1
# Turns of the wheel in a calibration run: enough to weigh; common practice, no source.
TURNS = 20

KANSAS = "Kansas State University Extension (Ruiz Diaz), starter placement, table 1; no urea or UAN"
ONTARIO = "Ontario ministry of agriculture (Reid 1999)"
FURROW = "farm press advice (Davidson 2015); urea and dry sand raise the risk"
PENN = "Penn State crop educators"
AMERICAN_ONLY = "Limits for starter near the seed are North American; no European table was found."
EUROPE = (
    "A French technical institute advises 130 kg/ha of an 18-46 fertiliser (23 kg/ha N), at most 170 (31 kg/ha N) "
    "where pests press, 4 to 5 cm beside and below the seed: advice, not a limit."
)
"""Arvalis, as quoted by La France agricole, "Mais : localiser l'engrais pour assurer une bonne levee"; read."""


@dataclass(frozen=True)
class StarterLimit:
    """What one source says may lie near the seed.

    Attributes
    ----------
    placement : str
        The place it speaks about.
    salts_kg_per_ha : float
        N + K2O at most [kg/ha].
    source : str
        Who says so, for what.
    """

    placement: str
    salts_kg_per_ha: float
    source: str


# N + K2O with the seed by spacing of the bands [inches]: medium to fine soil, sandy soil [lb/acre].
_BY_SPACING = ((20.0, 12.0, 8.0), (30.0, 8.0, 6.0), (40.0, 6.0, 4.0))


@dataclass(frozen=True)
class StarterSettings:
    """Starter of one method.

    Attributes
    ----------
    kg_per_ha, kg_per_min, kg_per_min_per_hose : float
        Set rate [kg/ha], what must come out at the set speed, all and each hose [kg/min].
    hoses : int
        Bands of starter side by side [1].
    calibration_100_m_kg, hose_100_m_kg : float
        The same over 100 m of driving [kg].
    calibration_20_turns_kg : float or None
        The same over 20 turns of the wheel, all hoses [kg]; None where its circumference is not said.
    salts_kg_per_ha : float or None
        N + K2O [kg/ha]; None where the product is not said.
    placement : str
        Which published placement is nearest, never farther from the seed than the band; empty if not said.
    limits : tuple of StarterLimit
        Every published limit for it, lowest first.
    lowest_kg_per_ha : float or None
        The lowest of them [kg/ha].
    sentence : str
        What follows.
    kg_for_strips : float or None
        For all its strips, reserve included [kg]; None before the draw.
    """

    kg_per_ha: float
    kg_per_min: float
    kg_per_min_per_hose: float
    hoses: int
    calibration_100_m_kg: float
    hose_100_m_kg: float
    calibration_20_turns_kg: float | None
    salts_kg_per_ha: float | None
    placement: str
    limits: tuple[StarterLimit, ...]
    lowest_kg_per_ha: float | None
    sentence: str
    kg_for_strips: float | None


def placement_of(beside_cm: float | None, below_cm: float | None) -> Placement | None:
    """Say which published placement a band is held against: the farthest one it fully reaches; None if not said.

    Parameters
    ----------
    beside_cm, below_cm : float or None
        Distance of the band from the seed [cm].

    Source: judgement: a band that reaches a distance on one side only is held against the nearer placement.

    Examples
    --------
    >>> placement_of(5.0, 5.0), placement_of(5.0, 3.0), placement_of(5.0, 0.0)
    ('5 cm beside and below', '2.5 cm beside and below', 'with the seed')
    """
    if beside_cm is None or below_cm is None:
        return None
    nearest_in = (min(beside_cm, below_cm) + _MEANT_CM) / 2.54
    if nearest_in >= 2.0:
        return "5 cm beside and below"
    return "2.5 cm beside and below" if nearest_in >= 1.0 else "with the seed"


def published_limits(
    placement: Placement, band_spacing_m: float, *, sandy: bool, urea: bool = False
) -> tuple[StarterLimit, ...]:
    """List what published sources allow at a placement, lowest first [kg/ha N + K2O].

    Parameters
    ----------
    placement : str
        Place of the band.
    band_spacing_m : float
        Distance between the bands [m]; between two spacings of a table the wider one, which allows less, is taken.
    sandy : bool
        Sandy soil, which bears less.
    urea : bool
        Whether part of the nitrogen is urea; none of it may lie with the seed.

    Returns
    -------
    tuple of StarterLimit

    Raises
    ------
    ValueError
        If the spacing is not above 0.

    Source: Ruiz Diaz, Kansas State University Extension; Reid, OMAFRA (The Rural Voice, May 1999); Davidson, DTN
    (2 March 2015); Penn State crop educators.
    """
    if not (math.isfinite(band_spacing_m) and band_spacing_m > 0.0):
        raise ValueError(f"band_spacing_m must be above 0, not {band_spacing_m}")
    if placement == "5 cm beside and below":
        found = [StarterLimit(placement, 80.0 * LB_PER_AC, ONTARIO)]
    elif placement == "2.5 cm beside and below":
        found = [StarterLimit(placement, (10.0 if sandy else 20.0) * LB_PER_AC, FURROW)]
    else:
        found = [
            StarterLimit(placement, 0.0 if urea else _kansas(band_spacing_m, sandy=sandy) * LB_PER_AC, KANSAS),
            StarterLimit(
                placement, 80.0 / 12.0 * LB_PER_AC, ONTARIO + ": a twelfth of what 5 cm beside and below bears"
            ),
            StarterLimit(placement, 10.0 * LB_PER_AC, FURROW),
            StarterLimit(placement, 10.0 * LB_PER_AC, PENN),
        ]
    return tuple(sorted(found, key=lambda limit: limit.salts_kg_per_ha))


def _kansas(band_spacing_m: float, *, sandy: bool) -> float:
    """Limit with the seed for a distance between bands [lb/acre]."""
    inches = band_spacing_m / INCH_M
    for spacing, fine, sand in _BY_SPACING:
        if inches <= spacing + 0.01:
            return sand if sandy else fine
    widest, fine, sand = _BY_SPACING[-1]
    return (sand if sandy else fine) * widest / inches


def starter_settings(plan: Plan, letter: str, area_m2: float | None) -> StarterSettings | None:
    """Say what to set and what to buy of starter for a method, and whether it lies far enough; None where it gets none.

    Parameters
    ----------
    plan : Plan
        Methods, machines, starter and soil.
    letter : str
        Which method.
    area_m2 : float or None
        Ground of its strips [m2]; None before the draw.

    Returns
    -------
    StarterSettings or None

    Raises
    ------
    StopIteration
        If there is no such method.
    """
    method = next(m for m in plan.methods if m.letter == letter)
    rate = method.starter_kg_per_ha
    if rate <= 0.0:
        return None
    machine = plan.machine(method.machine)
    hoses = machine.starter_hoses or machine.rows
    circumference = machine.wheel_circumference_m
    minute = kg_per_min(rate, method.speed_km_per_h, machine.working_width_m)
    hundred = rate * machine.working_width_m * 100.0 / 10_000.0
    placement = placement_of(machine.starter_beside_cm, machine.starter_below_cm)
    sandy = plan.sowing.soil in (None, "sandy")
    spacing = machine.working_width_m / hoses
    limits = published_limits(placement, spacing, sandy=sandy, urea=plan.starter.urea) if placement else ()
    salts = salts_kg_per_ha(plan, rate)
    more = 1.0 + plan.starter.reserve_percent / 100.0
    return StarterSettings(
        kg_per_ha=rate,
        kg_per_min=minute,
        kg_per_min_per_hose=minute / hoses,
        hoses=hoses,
        calibration_100_m_kg=hundred,
        hose_100_m_kg=hundred / hoses,
        calibration_20_turns_kg=None if circumference is None else hundred * TURNS * circumference / 100.0,
        salts_kg_per_ha=salts,
        placement=placement or "",
        limits=limits,
        lowest_kg_per_ha=limits[0].salts_kg_per_ha if limits else None,
        sentence=_judged(plan, salts, placement, limits),
        kg_for_strips=None if area_m2 is None else rate * area_m2 / 10_000.0 * more,
    )


def salts_kg_per_ha(plan: Plan, starter_kg_per_ha: float) -> float | None:
    """Say how much N + K2O a rate of the plan's starter brings [kg/ha]; None where the product is not said.

    Parameters
    ----------
    plan : Plan
        What the product holds.
    starter_kg_per_ha : float
        Rate of the product [kg/ha].
    """
    shares = (plan.starter.nitrogen_percent, plan.starter.potash_percent)
    if None in shares:
        return None
    return starter_kg_per_ha * sum(share or 0.0 for share in shares) / 100.0


def _judged(plan: Plan, salts: float | None, placement: Placement | None, limits: tuple[StarterLimit, ...]) -> str:
    """Say in words whether the band lies far enough for what it holds."""
    rules = "Local fertiliser rules go first."
    if salts is None:
        return f"N and K2O of the starter are not said, so its salt cannot be judged. {rules}"
    if placement is None:
        return f"Where the band lies is not said ({salts:.1f} kg/ha N + K2O): with the seed it may burn it. {rules}"
    lowest, highest = limits[0], limits[-1]
    soil = {None: " (soil not said: taken as sandy)", "sandy": " on sand"}.get(plan.sowing.soil, "")
    span = f"limit {lowest.salts_kg_per_ha:.1f} kg/ha"
    if highest.salts_kg_per_ha > lowest.salts_kg_per_ha:
        span = f"limits {lowest.salts_kg_per_ha:.1f} to {highest.salts_kg_per_ha:.1f} kg/ha; the lowest counts"
    said = f"N + K2O {salts:.1f} kg/ha, {placement}{soil}; published {span}."
    if salts > lowest.salts_kg_per_ha:
        return f"TOO NEAR THE SEED: {said} Less starter or more distance. {rules}"
    return f"{said} {rules}"
