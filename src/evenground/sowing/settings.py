"""What to set on each machine, what to buy, how long it takes, and what differs that is not the question."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from evenground.basis.method import Machine, Method
from evenground.basis.pace import field_capacity_ha_per_h
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.sowing.depth import depth_sentences
from evenground.sowing.field_work import hours_for, seconds_for, speed_at_limit_km_per_h
from evenground.sowing.hopper_fills import Driven, Fill, seed_fills, starter_fills, strips_in_order
from evenground.sowing.seed_lot import seed_kg_per_ha, seed_need_of_method
from evenground.sowing.seed_spacing import (
    in_line_spacing_m,
    kernels_per_second,
    seeds_for_plants,
    units_per_ha,
)
from evenground.sowing.starter import StarterSettings, starter_settings

# Where the share of the time really spent sowing comes from, if it is left as it is.
PLANTER_EFFICIENCY = 0.60
PLANTER_EFFICIENCY_SOURCE = "published rule of thumb for planters that need tending; short strips may be slower"
# Seed left in the discs, turning, a re-sown end.
SEED_RESERVE_PERCENT = 5.0
SEED_RESERVE_SOURCE = "common practice, no source"
# Seeds set and seeds needed for the plants wanted that differ by less are alike: half a percent, judgement.
SEEDS_ALIKE = 0.005

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
    target_plants_per_m2, seeds_for_target_per_m2 : float or None
        Plants wanted, and seeds that give them at the expected emergence [1/m2]; None where no plants are named.
    expected_emergence_fraction : float
        Share of seeds expected to become plants [1].
    thousand_kernel_weight_g, seed_kg_per_ha : float or None
        Weight of 1000 kernels [g] and of the seed of a hectare [kg/ha].
    seed_to_buy_kg : float or None
        Weight of the units to buy [kg].
    metering_limit_per_s, speed_at_limit_km_per_h : float or None
        What a metering unit can bear [1/s] and the speed at which it is reached [km/h]; None where not said.
    timed_run_s : float
        Time for 100 m at the set speed [s].
    seed_fills, starter_fills : tuple of Fill
        Before which passes to fill, and how much; empty where volume, weight or draw is not known.
    starter : StarterSettings or None
        None without starter.
    depth : tuple of str
        Why this depth, and what speaks against it.
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
    target_plants_per_m2: float | None
    seeds_for_target_per_m2: float | None
    expected_emergence_fraction: float
    thousand_kernel_weight_g: float | None
    seed_kg_per_ha: float | None
    seed_to_buy_kg: float | None
    metering_limit_per_s: float | None
    speed_at_limit_km_per_h: float | None
    timed_run_s: float
    seed_fills: tuple[Fill, ...]
    starter_fills: tuple[Fill, ...]
    starter: StarterSettings | None
    depth: tuple[str, ...]
    differences: tuple[Difference, ...]
    notes: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``methods`` of ``settings --json``."""
        differs = [{**d.__dict__, "sentence": d.sentence} for d in self.differences]
        return {**asdict(self), "differences": differs}


@dataclass(frozen=True)
class _Strips:
    """What the draw says about one method: passes a strip and ground."""

    passes: int | None
    area_m2: float | None
    notes: tuple[str, ...]


def settings(plan: Plan, draw: Draw | None, driven: Mapping[str, Driven] | None = None) -> tuple[MethodSettings, ...]:
    """Say what to set on each machine and what to buy, in the order of the plan.

    Parameters
    ----------
    plan : Plan
        Methods, machines and prices.
    draw : Draw or None
        The strips; before the draw nothing is said about amounts to buy.
    driven : mapping or None
        Method letter to strip and ground [m2] of each pass in the order of driving; without it strip after strip.

    Returns
    -------
    tuple of MethodSettings
    """
    known = driven or {}
    return tuple(
        _settings_of(plan, draw, method, known.get(method.letter) or strips_in_order(draw, method))
        for method in plan.methods
    )


def _settings_of(plan: Plan, draw: Draw | None, method: Method, driven: Driven) -> MethodSettings:
    machine, pattern, efficiency = plan.machine(method.machine), method.row_pattern, plan.sowing.efficiency_fraction
    spacing = in_line_spacing_m(method.seeds_per_m2, pattern.row_spacing_m, pattern.lines_per_row)
    speed, width, strips = method.speed_km_per_h, machine.working_width_m, _strips_of(draw, method, machine)
    need = seed_need_of_method(plan, draw, method)
    limit, wanted = machine.metering_limit_per_s, method.target_plants_per_m2
    hours = None if strips.area_m2 is None else hours_for(strips.area_m2, speed, width, efficiency)
    found = MethodSettings(
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
        speed_km_per_h=speed,
        kernels_per_second=kernels_per_second(spacing, speed),
        depth_cm=method.depth_cm,
        starter_kg_per_ha=method.starter_kg_per_ha,
        units_per_ha=units_per_ha(method.seeds_per_m2, plan.money.kernels_per_unit),
        working_width_m=width,
        field_capacity_ha_per_h=field_capacity_ha_per_h(speed, width, efficiency),
        passes_per_strip=strips.passes,
        strips_area_m2=strips.area_m2,
        units_for_strips=need.units if need else None,
        hours=hours,
        units_to_buy=need.units_to_buy if need else None,
        target_plants_per_m2=wanted,
        seeds_for_target_per_m2=seeds_for_plants(wanted, method.expected_emergence_fraction) if wanted else None,
        expected_emergence_fraction=method.expected_emergence_fraction,
        thousand_kernel_weight_g=plan.seed.thousand_kernel_weight_g,
        seed_kg_per_ha=seed_kg_per_ha(method.seeds_per_m2, plan.seed.thousand_kernel_weight_g),
        seed_to_buy_kg=need.kg_to_buy if need else None,
        metering_limit_per_s=limit,
        speed_at_limit_km_per_h=None if limit is None else speed_at_limit_km_per_h(spacing, limit),
        timed_run_s=seconds_for(speed),
        seed_fills=seed_fills(plan, method, driven, draw),
        starter_fills=starter_fills(plan, method, driven),
        starter=starter_settings(plan, method.letter, strips.area_m2),
        depth=depth_sentences(plan, method),
        differences=differences(plan, method),
        notes=(),
    )
    return replace(found, notes=(*_pattern_notes(plan, method), *strips.notes, *_setting_notes(plan, found)))


def _setting_notes(plan: Plan, found: MethodSettings) -> tuple[str, ...]:
    """Say what does not fit together, and which defaults were used."""
    said = []
    needed, emergence = found.seeds_for_target_per_m2, 100 * found.expected_emergence_fraction
    if needed is not None and abs(needed / found.seeds_per_m2 - 1.0) > SEEDS_ALIKE:
        said.append(
            f"{found.method}: {found.target_plants_per_m2:g} plants/m2 at {emergence:g} % emergence "
            f"need {needed:.1f} seeds/m2, {found.seeds_per_m2:g} are set"
        )
    limit = found.speed_at_limit_km_per_h
    if limit is not None and found.speed_km_per_h > limit:
        said.append(
            f"{found.method}: TOO FAST for the metering: {found.kernels_per_second:.1f} kernels a second, it bears "
            f"{found.metering_limit_per_s:g}; drive at most {limit:.1f} km/h"
        )
    for name, parts in (("seed", found.seed_fills), ("starter", found.starter_fills)):
        if any(fill.inside for fill in parts):
            said.append(
                f"{found.method}: one strip takes more {name} than the machine holds; stop to fill on the headland"
            )
    shared = [m.letter for m in plan.methods if m.machine == found.machine and m.letter != found.method]
    if shared and (found.seed_fills or found.starter_fills):
        said.append(f"{found.method}: fills are counted for its own strips; the planter also sows {', '.join(shared)}")
    reserve = plan.seed.reserve_percent
    source = f": {SEED_RESERVE_SOURCE}" if reserve == SEED_RESERVE_PERCENT else " as the plan says"
    efficiency = plan.sowing.efficiency_fraction
    own = "" if efficiency == PLANTER_EFFICIENCY else " in the plan instead of 60 %"
    pace = PLANTER_EFFICIENCY_SOURCE if not own else "the farm's own figure"
    return (
        *said,
        f"{reserve:g} % seed reserve{source}",
        f"pace: {100 * efficiency:g} % of the time sowing{own}, {pace}",
    )


def _pattern_notes(plan: Plan, method: Method) -> tuple[str, ...]:
    machine, wanted = plan.machine(method.machine), method.row_pattern.row_spacing_m
    if math.isclose(machine.row_spacing_m, wanted, abs_tol=0.0005):
        return ()
    return (f"the planter {machine.id} has rows {machine.row_spacing_m:g} m apart, the method wants {wanted:g} m",)


def _strips_of(draw: Draw | None, method: Method, machine: Machine) -> _Strips:
    """Look up passes and ground of a method's strips."""
    mine = [s for s in draw.strips if s.method == method.letter] if draw else []
    if not mine:
        return _Strips(None, None, ())
    width_m = machine.working_width_m
    passes = mine[0].width_m / width_m
    whole = max(1, round(passes))
    fits = math.isclose(passes, whole, abs_tol=0.01)
    note = () if fits else (f"a strip of {mine[0].width_m:g} m is not whole passes of {width_m:g} m",)
    return _Strips(whole, math.fsum(s.area_m2 for s in mine), note)


def _pattern_words(method: Method) -> str:
    pattern = method.row_pattern
    if pattern.kind == "single":
        return f"single rows at {pattern.row_spacing_m * 100:g} cm"
    if pattern.kind == "band":
        return f"bands {(pattern.band_width_m or 0.0) * 100:g} cm wide, at {pattern.row_spacing_m * 100:g} cm"
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


def _starter_place(plan: Plan, method: Method) -> str | None:
    """Say where the starter of a method lies and in how many bands; None without starter."""
    if method.starter_kg_per_ha <= 0.0:
        return None
    machine = plan.machine(method.machine)
    bands = f"{machine.starter_hoses or machine.rows} bands on {machine.working_width_m:g} m"
    if machine.starter_beside_cm is None or machine.starter_below_cm is None:
        return f"{bands}, distance not said"
    return f"{bands}, {machine.starter_beside_cm:g} cm beside and {machine.starter_below_cm:g} cm below the seed"


def differences(plan: Plan, method: Method) -> tuple[Difference, ...]:
    """List what is not alike for a method and the baseline, and whether the trial asks about it.

    The row pattern, where it differs, is the question, and the machine comes with it. Where the pattern is alike, a
    single other difference is the question. So are seeds where each method has its own rate, and both of two factors.

    Parameters
    ----------
    plan : Plan
        Methods and whether all are to have the same seed rate.
    method : Method
        Which one; the baseline has no differences.
    """
    found = {k: (say(plan.baseline), say(method)) for k, say in _LOOKED_AT.items() if say(plan.baseline) != say(method)}
    places = [_starter_place(plan, m) for m in (plan.baseline, method)]
    if None not in places and places[0] != places[1]:
        found["starter place"] = (str(places[0]), str(places[1]))
    asked = {"row pattern", "machine"} if "row pattern" in found else set()
    if plan.trial.rate_question == "own_rate":
        asked.add("seeds")
    if plan.grid is not None:
        asked.add("seeds" if plan.factors.within == "seed_rate" else plan.factors.within)
    others = [k for k in found if k != "machine"] or list(found)
    if len(others) == 1:
        asked |= {others[0], "machine"}
    return tuple(Difference(k, old, new, k in asked) for k, (old, new) in found.items())


def rate_sentence(plan: Plan) -> str:
    """Say which question the trial asks about the seed rate, and whether the settings fit it.

    Parameters
    ----------
    plan : Plan
        Methods and ``trial.rate_question``.
    """
    rates = {m.letter: m.seeds_per_m2 for m in plan.methods}
    listed = ", ".join(f"{letter} {rate:g}" for letter, rate in rates.items())
    if plan.grid is not None and plan.factors.within == "seed_rate":
        levels = " and ".join(plan.grid.within_levels)
        return f"The trial asks about the seed rate itself: {levels}, each with every {plan.grid.whole}."
    if plan.trial.rate_question == "own_rate":
        asked = "The trial asks: each method at its advised seed rate"
        return f"{asked} ({listed} seeds/m2). Pattern and rate count together."
    if len(set(rates.values())) == 1:
        return f"The trial asks: same seeds for all methods ({next(iter(rates.values())):g} seeds/m2)."
    return f"The trial asks for the SAME seeds/m2 for all methods, but the plan sets {listed}: make them alike."


def cautions(plan: Plan) -> tuple[str, ...]:
    """Say the usual cautions of the sowing day; no limit here is a legal one."""
    starter = any(m.starter_kg_per_ha > 0.0 for m in plan.methods)
    return (*CAUTIONS, *((STARTER_CAUTION,) if starter else ()))
