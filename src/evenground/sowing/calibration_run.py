"""What a calibration run says: what came out against what should, and by what the setting is to be multiplied."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any, Literal

from evenground.sowing.calibration import correction_factor, kg_per_ha_from_turns, rate_per_ha
from evenground.sowing.settings import MethodSettings

Over = Literal["minutes", "metres", "turns"]
M2_PER_HA = 10_000.0
# A run that comes this close is not corrected: the next one scatters as much. Judgement.
NEAR_ENOUGH = 0.02


@dataclass(frozen=True)
class CalibrationRun:
    """One calibration run of one method.

    Attributes
    ----------
    method : str
        Which.
    what : str
        ``starter`` or ``seed``.
    wanted, found : float
        What the plan sets, and what the run gave [unit].
    unit : str
        ``kg/ha`` or ``seeds a metre of line``.
    factor : float
        New setting over old setting [1].
    sentence : str
        What follows.
    """

    method: str
    what: Literal["starter", "seed"]
    wanted: float
    found: float
    unit: str
    factor: float
    sentence: str

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``calibrate --json``."""
        return asdict(self)


def starter_run(
    found: MethodSettings, caught_kg: float, amount: float, over: Over, circumference_m: float | None = None
) -> CalibrationRun:
    """Turn what was caught from all hoses into kg/ha, and say by what to multiply the setting.

    Parameters
    ----------
    found : MethodSettings
        Settings of the method: width, speed and starter wanted.
    caught_kg : float
        What came out of all hoses together [kg].
    amount : float
        How many minutes at the set speed, metres driven, or turns of the driving wheel [min; m; 1].
    over : {"minutes", "metres", "turns"}
        Which of them.
    circumference_m : float or None
        Way of one turn of the wheel [m]; needed for turns.

    Raises
    ------
    ValueError
        If the method has no starter, a number is not above 0, or the way of one turn is not said.

    Source: `evenground.sowing.calibration`.
    """
    if found.starter_kg_per_ha <= 0.0:
        raise ValueError(f"method {found.method} gets no starter")
    if not (amount > 0.0 and caught_kg > 0.0 and math.isfinite(amount) and math.isfinite(caught_kg)):
        raise ValueError("what was caught, and over how much, must be above 0")
    if over == "turns":
        if circumference_m is None:
            raise ValueError("the way of one turn of the wheel is not said")
        got = kg_per_ha_from_turns(caught_kg, amount, circumference_m, found.working_width_m)
    elif over == "metres":
        got = caught_kg * M2_PER_HA / (amount * found.working_width_m)
    else:
        got = rate_per_ha(caught_kg / amount, found.speed_km_per_h, found.working_width_m)
    wanted = found.starter_kg_per_ha
    unit = over.removesuffix("s") if amount == 1.0 else over
    said = f"{caught_kg:g} kg in {amount:g} {unit} are {got:.4g} kg/ha; {wanted:g} kg/ha is wanted"
    return _run(found.method, "starter", (wanted, got), "kg/ha", said)


def seed_run(found: MethodSettings, seeds: int, dug_m: float, lines: int = 1) -> CalibrationRun:
    """Turn seeds found by digging into seeds a metre of line, and say by what to multiply the setting.

    Parameters
    ----------
    found : MethodSettings
        Settings of the method.
    seeds : int
        Seeds found in all lines dug [1].
    dug_m : float
        Length dug in each line [m].
    lines : int
        Lines dug [1]; the two of a twin row are two.

    Raises
    ------
    ValueError
        If a number is not above 0.

    Source: seeds / (length x lines), definition.
    """
    if not (seeds > 0 and dug_m > 0.0 and math.isfinite(dug_m) and lines > 0):
        raise ValueError("seeds found, length dug and lines must be above 0")
    got, wanted = seeds / (dug_m * lines), found.seeds_per_m_of_line
    rate = got / wanted * found.seeds_per_m2
    said = (
        f"{seeds} seeds in {lines} x {dug_m:g} m of line are {got:.3g} a metre, {rate:.3g} seeds/m2; {wanted:.3g} a "
        f"metre, {found.seeds_per_m2:.3g} seeds/m2, are wanted"
    )
    return _run(found.method, "seed", (wanted, got), "seeds a metre of line", said)


def _run(
    method: str, what: Literal["starter", "seed"], amounts: tuple[float, float], unit: str, said: str
) -> CalibrationRun:
    wanted, got = amounts
    factor = correction_factor(wanted, got)
    if abs(factor - 1.0) <= NEAR_ENOUGH:
        then = "Near enough: leave the setting, and run once more to be sure"
    else:
        off = "too much" if got > wanted else "too little"
        then = f"{abs(got / wanted - 1.0):.0%} {off}: new setting = old setting x {factor:.3f}; then run again"
    return CalibrationRun(method, what, wanted, got, unit, factor, f"{method}, {what}: {said}. {then}.")
