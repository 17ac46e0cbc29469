"""What to set on each machine, what to buy, how long it takes, and what differs that is not the question."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from evenground.basis.method import Method
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.sowing.seed_spacing import (
    M2_PER_HA,
    field_capacity_ha_per_h,
    in_line_spacing_m,
    kernels_per_second,
    units_per_ha,
)

# Planters that need tending: 60 % of the theoretical pace is the published rule of thumb (Progressive Forage, "Farm
# field equipment efficiency versus capacity"). Short strips with many turns may be slower.
PLANTER_EFFICIENCY = 0.60
PLANTER_EFFICIENCY_SOURCE = "published rule of thumb for planters that need tending; short strips may be slower"
# Seed left in the discs, turning, a re-sown end: common practice, no source.
SEED_RESERVE = 0.05
SEED_RESERVE_SOURCE = "5 % reserve: common practice, no source"

CAUTIONS = (
    "Dressed seed: gloves on, do not throw bags, keep blower dust off people and flowers, cover spills, "
    "stop the metering before lifting, put what is left back in its labelled bag.",
    "Folded machine on the road, power shaft and hydraulics: switch off and let stop before anyone reaches in; "
    "nobody under a raised machine.",
    "Wind limits, permitted machines and entry times: local rules and the label go first.",
)
STARTER_CAUTION = (
    "Starter beside the seed: keep the distance, salt burns seedlings, most of all on dry sand; it counts in the "
    "farm's fertiliser plan; local rules go first."
)


@dataclass(frozen=True)
class Difference:
    """One setting that is not alike for a method and the baseline.

    Attributes
    ----------
    setting : str
        What differs.
    baseline_value, value : str
        Both, with unit.
    part_of_question : bool
        Whether the trial asks about it.
    """

    setting: str
    baseline_value: str
    value: str
    part_of_question: bool

    @property
    def sentence(self) -> str:
        """One plain sentence."""
        text = f"{self.setting}: {self.value} against {self.baseline_value}"
        return text + (
            " (part of the question)" if self.part_of_question else " (NOT part of the question: make it alike)"
        )


@dataclass(frozen=True)
class MethodSettings:
    """Settings of one method.

    Attributes
    ----------
    method, name, machine : str
        Which method, with which planter.
    baseline : bool
        Whether it is what the farm does now.
    row_spacing_m, in_line_spacing_m : float
        Between row centres; between seeds of one line [m].
    lines_per_row, metering_units : int
        Lines on one row centre; metering units of the planter, one a line [1].
    seeds_per_m2, seeds_per_m_of_row, seeds_per_m_of_line : float
        Seeds set [1/m2; 1/m; 1/m].
    expected_plants_per_m2 : float
        Seeds times expected emergence [1/m2].
    speed_km_per_h, kernels_per_second : float
        Driving speed [km/h] and what each metering unit gives at it [1/s].
    depth_cm, starter_kg_per_ha : float
        Sowing depth [cm], starter fertiliser [kg/ha].
    units_per_ha : float
        Seed units a hectare takes [1/ha].
    working_width_m, field_capacity_ha_per_h : float
        Of the planter [m; ha/h].
    passes_per_strip : int or None
        Passes that fill a slot [1]; None before the draw.
    strips_area_m2, units_for_strips, hours : float or None
        Ground of all its strips [m2], seed for it with reserve [units], and time [h]; None before the draw.
    units_to_buy : int or None
        Whole units [1]; None before the draw.
    differences : tuple of Difference
        Against the baseline; empty for the baseline itself.
    notes : tuple of str
        Defaults used and what does not fit, in words.
    """

    method: str
    name: str
    machine: str
    baseline: bool
    row_spacing_m: float
    in_line_spacing_m: float
    lines_per_row: int
    metering_units: int
    seeds_per_m2: float
    seeds_per_m_of_row: float
    seeds_per_m_of_line: float
    expected_plants_per_m2: float
    speed_km_per_h: float
    kernels_per_second: float
    depth_cm: float
    starter_kg_per_ha: float
    units_per_ha: float
    working_width_m: float
    field_capacity_ha_per_h: float
    passes_per_strip: int | None
    strips_area_m2: float | None
    units_for_strips: float | None
    hours: float | None
    units_to_buy: int | None
    differences: tuple[Difference, ...]
    notes: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``methods`` of ``settings --json``."""
        plain = {k: v for k, v in self.__dict__.items() if k not in ("differences", "notes")}
        differs = [{**d.__dict__, "sentence": d.sentence} for d in self.differences]
        return {**plain, "differences": differs, "notes": list(self.notes)}


@dataclass(frozen=True)
class _Strips:
    """What the draw says about one method: passes a strip and ground."""

    passes: int | None
    area_m2: float | None
    notes: tuple[str, ...]


def settings(plan: Plan, draw: Draw | None) -> tuple[MethodSettings, ...]:
    """Say what to set on each machine and what to buy, in the order of the plan.

    Parameters
    ----------
    plan : Plan
        Methods, machines and prices.
    draw : Draw or None
        The strips; before the draw nothing is said about amounts to buy.

    Returns
    -------
    tuple of MethodSettings
    """
    return tuple(_settings_of(plan, draw, method) for method in plan.methods)


def _settings_of(plan: Plan, draw: Draw | None, method: Method) -> MethodSettings:
    machine, pattern = plan.machine(method.machine), method.row_pattern
    spacing = in_line_spacing_m(method.seeds_per_m2, pattern.row_spacing_m, pattern.lines_per_row)
    units = units_per_ha(method.seeds_per_m2, plan.money.kernels_per_unit)
    pace = field_capacity_ha_per_h(method.speed_km_per_h, machine.working_width_m, PLANTER_EFFICIENCY)
    strips = _strips_of(draw, method, machine.working_width_m)
    ha = None if strips.area_m2 is None else strips.area_m2 / M2_PER_HA
    needed = None if ha is None else ha * units * (1.0 + SEED_RESERVE)
    return MethodSettings(
        method=method.letter,
        name=method.name,
        machine=method.machine,
        baseline=method.baseline,
        row_spacing_m=pattern.row_spacing_m,
        in_line_spacing_m=spacing,
        lines_per_row=pattern.lines_per_row,
        metering_units=machine.rows * pattern.lines_per_row,
        seeds_per_m2=method.seeds_per_m2,
        seeds_per_m_of_row=method.seeds_per_m2 * pattern.row_spacing_m,
        seeds_per_m_of_line=1.0 / spacing,
        expected_plants_per_m2=method.seeds_per_m2 * method.expected_emergence_fraction,
        speed_km_per_h=method.speed_km_per_h,
        kernels_per_second=kernels_per_second(spacing, method.speed_km_per_h),
        depth_cm=method.depth_cm,
        starter_kg_per_ha=method.starter_kg_per_ha,
        units_per_ha=units,
        working_width_m=machine.working_width_m,
        field_capacity_ha_per_h=pace,
        passes_per_strip=strips.passes,
        strips_area_m2=strips.area_m2,
        units_for_strips=needed,
        hours=None if ha is None else ha / pace,
        units_to_buy=None if needed is None else math.ceil(needed - 1e-9),
        differences=differences(plan, method),
        notes=(*_pattern_notes(plan, method), *strips.notes, SEED_RESERVE_SOURCE, f"pace: {PLANTER_EFFICIENCY_SOURCE}"),
    )


def _pattern_notes(plan: Plan, method: Method) -> tuple[str, ...]:
    machine = plan.machine(method.machine)
    wanted = method.row_pattern.row_spacing_m
    if math.isclose(machine.row_spacing_m, wanted, abs_tol=0.0005):
        return ()
    return (f"the planter {machine.id} has rows {machine.row_spacing_m:g} m apart, the method wants {wanted:g} m",)


def _strips_of(draw: Draw | None, method: Method, width_m: float) -> _Strips:
    """Look up passes and ground of a method's strips."""
    mine = [s for s in draw.strips if s.method == method.letter] if draw else []
    if not mine:
        return _Strips(None, None, ())
    passes = mine[0].width_m / width_m
    whole = max(1, round(passes))
    fits = math.isclose(passes, whole, abs_tol=0.01)
    note = () if fits else (f"a strip of {mine[0].width_m:g} m is not whole passes of {width_m:g} m",)
    return _Strips(whole, math.fsum(s.area_m2 for s in mine), note)


def _pattern_words(method: Method) -> str:
    pattern = method.row_pattern
    if pattern.kind == "single":
        return f"single rows at {pattern.row_spacing_m * 100:g} cm"
    form = "staggered twin rows" if pattern.staggered else "twin rows side by side"
    return f"{form}, lines {(pattern.twin_gap_m or 0.0) * 100:g} cm apart, at {pattern.row_spacing_m * 100:g} cm"


# What can differ, and how it is said. Machine last: another row pattern as a rule needs another machine.
_LOOKED_AT: dict[str, Callable[[Method], str]] = {
    "row pattern": _pattern_words,
    "seeds": lambda m: f"{m.seeds_per_m2:g} seeds/m2",
    "depth": lambda m: f"{m.depth_cm:g} cm",
    "speed": lambda m: f"{m.speed_km_per_h:g} km/h",
    "starter": lambda m: f"{m.starter_kg_per_ha:g} kg/ha",
    "machine": lambda m: m.machine,
}


def differences(plan: Plan, method: Method) -> tuple[Difference, ...]:
    """List what is not alike for a method and the baseline, and whether the trial asks about it.

    The row pattern, where it differs, is the question, and the machine comes with it. Where the pattern is alike, a
    single other difference is the question. Seeds belong to the question where the plan gives each method its own rate.

    Parameters
    ----------
    plan : Plan
        Methods and whether all are to have the same seed rate.
    method : Method
        Which one; the baseline has no differences.
    """
    found = {k: (say(plan.baseline), say(method)) for k, say in _LOOKED_AT.items() if say(plan.baseline) != say(method)}
    asked = {"row pattern", "machine"} if "row pattern" in found else set()
    if plan.trial.rate_question == "own_rate":
        asked.add("seeds")
    others = [k for k in found if k != "machine"] or list(found)
    if len(others) == 1:
        asked |= {others[0], "machine"}
    return tuple(Difference(k, old, new, k in asked) for k, (old, new) in found.items())


def cautions(plan: Plan) -> tuple[str, ...]:
    """Say the usual cautions of the sowing day; no limit here is a legal one."""
    starter = any(m.starter_kg_per_ha > 0.0 for m in plan.methods)
    return (*CAUTIONS, *((STARTER_CAUTION,) if starter else ()))
