"""What else could explain the step at a border, each with its size where one is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal

import numpy as np

from evenground.basis.method import Method
from evenground.basis.observations import WeatherDay
from evenground.basis.plan import Plan
from evenground.fairness.sizes import (
    COMMON_PRACTICE,
    GRAIN_DENSITY_SOURCE,
    SILAGE_DENSITY_SOURCE,
    SOWING_DATE_SOURCE,
    density_range,
    sowing_delay_range,
)
from evenground.season.daily import daily_of
from evenground.season.heat import base_6
from evenground.sowing.settings import differences

NOT_ASKED = "hybrid, dressing, starter, weeds, water, harvest day, dry matter, cutting height"


@dataclass(frozen=True)
class Explanation:
    """One thing besides the method that could explain a step.

    Attributes
    ----------
    item : str
        What.
    state : {"alike", "differs", "unknown"}
        What is known of it.
    found : str
        In words.
    bias_t_per_ha : (float, float) or None
        How much of the step it could explain, low and high [t/ha]; None where no size is known.
    source : str
        Where the size comes from.
    """

    item: str
    state: Literal["alike", "differs", "unknown"]
    found: str
    bias_t_per_ha: tuple[float, float] | None
    source: str

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``explanations`` of ``border --json``."""
        size = None if self.bias_t_per_ha is None else list(self.bias_t_per_ha)
        return {**self.__dict__, "bias_t_per_ha": size}


def of_sowing(days_later: float | None, heat: float | None, yield_t_per_ha: float) -> Explanation:
    """Say what the sowing days could explain.

    Parameters
    ----------
    days_later : float or None
        How much later the method was sown than the baseline [d]; None if not known.
    heat : float or None
        Heat the earlier one had before the later was sown [deg C d, base 6]; None if not known.
    yield_t_per_ha : float
        Yield level [t/ha].
    """
    if days_later is None:
        found = "the sowing days of both sides are not known"
        return Explanation("sowing day", "unknown", found, None, SOWING_DATE_SOURCE)
    if days_later == 0.0:
        return Explanation("sowing day", "alike", "sown on the same day", None, SOWING_DATE_SOURCE)
    word = "later" if days_later > 0 else "earlier"
    days = "day" if abs(days_later) == 1.0 else "days"
    had = "the heat between is not known" if heat is None else f"the earlier sown had {heat:.0f} degree days before"
    size = sowing_delay_range(days_later, yield_t_per_ha)
    found = f"the method was sown {abs(days_later):g} {days} {word}; {had}"
    return Explanation("sowing day", "differs", found, size, SOWING_DATE_SOURCE)


def heat_between(weather: Sequence[WeatherDay], sown: Mapping[str, date]) -> float | None:
    """Return the heat from the earlier to the later of two sowing days; None where a temperature is missing.

    Parameters
    ----------
    weather : sequence of WeatherDay
        Corrections included.
    sown : mapping of str to date
        Sowing day of both.

    Returns
    -------
    float or None
        [deg C d, base 6 with ceiling 30]

    Source: `evenground.season.heat.base_6`.
    """
    daily = daily_of(weather)
    if daily is None or len(sown) != 2:
        return None
    first, last = min(sown.values()), max(sown.values())
    if first == last:
        return 0.0
    part = daily.part(first, last - timedelta(days=1))
    heat = base_6(part["temperature_min_c"], part["temperature_max_c"])
    return None if np.isnan(heat).any() else float(heat.sum())


def of_settings(plan: Plan, method: Method, yield_t_per_ha: float) -> tuple[Explanation, ...]:
    """Say which settings of the plan differ that the trial does not ask about.

    Parameters
    ----------
    plan : Plan
        Settings of both methods.
    method : Method
        The one on the other side of the baseline.
    yield_t_per_ha : float
        Yield level [t/ha].
    """
    out = []
    for one in differences(plan, method):
        if one.part_of_question:
            continue
        size, source = None, COMMON_PRACTICE
        if one.setting == "seeds":
            size, source = _density(plan, method, yield_t_per_ha)
        found = f"{method.letter} {one.value}, {plan.baseline.letter} {one.baseline_value} in the plan"
        out.append(Explanation(one.setting, "differs", found, size, source))
    return tuple(out)


def _density(plan: Plan, method: Method, yield_t_per_ha: float) -> tuple[tuple[float, float], str]:
    base, product = plan.baseline, plan.outcome.product
    more = (
        method.seeds_per_m2 * method.expected_emergence_fraction - base.seeds_per_m2 * base.expected_emergence_fraction
    )
    source = SILAGE_DENSITY_SOURCE if product == "silage" else GRAIN_DENSITY_SOURCE
    return density_range(more, yield_t_per_ha, product), source


def of_the_rest() -> Explanation:
    """Name what nobody looked at."""
    return Explanation("everything else", "unknown", f"not looked at: {NOT_ASKED}", None, COMMON_PRACTICE)
