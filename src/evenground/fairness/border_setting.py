"""What is known of a border besides its yields, and what can be said of one before there are any."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from shapely.geometry.base import BaseGeometry

from evenground.basis.days import said_day
from evenground.basis.errors import InputError, problem
from evenground.basis.method import Method
from evenground.basis.observations import WeatherDay
from evenground.basis.plan import Plan
from evenground.fairness.border import REASON, Setting, ground_explanation, half_width
from evenground.fairness.border_sides import MOST_GAP_M, SHORTEST_BORDER_M, shared_border
from evenground.fairness.border_spread import PRIOR_DF, SPREAD_PERCENT, SPREAD_SOURCE, Spread
from evenground.fairness.border_words import last_sentence, layout_line, next_year_of
from evenground.fairness.explanations import Explanation, heat_between, of_settings, of_sowing, of_the_rest

# Two crops sown farther apart than this are no comparison of ways of sowing. Common practice, no source.
MOST_DAYS_APART = 90


@dataclass(frozen=True)
class Known:
    """What is known besides the yields.

    Attributes
    ----------
    plan : Plan or None
        The trial's plan.
    weather : tuple of WeatherDay
        The season's weather.
    sown : mapping of str to date
        Sowing day by method.
    days_later : float or None
        Days the method was sown after the baseline, where the user says so [d].
    level : float or None
        Level of the range, where the user says so [1].
    """

    plan: Plan | None = None
    weather: Sequence[WeatherDay] = ()
    sown: Mapping[str, date] | None = None
    days_later: float | None = None
    level: float | None = None


def setting_of(known: Known, baseline: str, method: str, mean_t_per_ha: float) -> Setting:
    """Gather explanations, next year's layout and the spread of the ground for one border.

    Parameters
    ----------
    known : Known
        What is known besides the yields.
    baseline, method : str
        Both sides.
    mean_t_per_ha : float
        Yield level [t/ha].

    Raises
    ------
    InputError
        If a side is no method of the plan, or the sowing days are not of one season.
    """
    explanations = _explanations(known, baseline, method, mean_t_per_ha)
    next_year, level = next_year_of(known.plan, mean_t_per_ha), known.level
    if known.plan is None:
        plain = Setting()
        return Setting(explanations, next_year, level or plain.level, plain.spread_percent, plain.spread_source)
    percent = known.plan.unevenness.border_step_percent
    return Setting(
        explanations,
        next_year,
        level or known.plan.advice.level,
        percent,
        SPREAD_SOURCE if percent == SPREAD_PERCENT else "the plan's own figure (border_step_percent)",
        known.plan.outcome.unit,
    )


def _explanations(known: Known, baseline: str, method: str, mean: float) -> tuple[Explanation, ...]:
    sown = {n: d for n, d in (known.sown or {}).items() if n in (baseline, method)}
    later, heat = known.days_later, None
    if later is None and len(sown) == 2:
        later = float((sown[method] - sown[baseline]).days)
        heat = heat_between(known.weather, sown)
    _one_season(known, sown, later)
    out = [of_sowing(later, heat, mean)]
    if known.plan is not None:
        out += of_settings(known.plan, _method(known.plan, baseline, method), mean)
    return (*out, of_the_rest())


def _one_season(known: Known, sown: Mapping[str, date], later: float | None) -> None:
    """Refuse sowing days of another season than the plan's, or too far apart for one comparison."""
    faults = []
    if later is not None and abs(later) > MOST_DAYS_APART:
        given, allowed = f"{later:g} days", f"at most {MOST_DAYS_APART} days apart"
        faults.append(problem("these two were not sown in one season.", field="sown", given=given, allowed=allowed))
    for method, day in sown.items() if known.plan is not None else ():
        season = known.plan.trial.season if known.plan is not None else day.year
        if abs(day.year - season) > 1:
            text, given = f"this is not within a year of the trial's season, {season}.", f"{method} on {said_day(day)}"
            faults.append(
                problem(text, field="sown", given=given, allowed=f"a day of {season}, or of the year before or after")
            )
    if faults:
        raise InputError(faults)


def _method(plan: Plan, baseline: str, method: str) -> Method:
    by_letter = {m.letter: m for m in plan.methods}
    wrong = [n for n in (baseline, method) if n not in by_letter]
    if wrong:
        text = "there is no such method in the plan."
        given, allowed = ", ".join(wrong), "one of " + ", ".join(plan.letters)
        raise InputError([problem(text, field="method", given=given, allowed=allowed)])
    if baseline != plan.baseline.letter:
        text = "this is not the plan's baseline."
        raise InputError([problem(text, field="--baseline", given=baseline, allowed=plan.baseline.letter)])
    return by_letter[method]


@dataclass(frozen=True)
class Planned:
    """What two planned areas could tell.

    Attributes
    ----------
    baseline, method : str
        Both sides.
    border_length_m : float
        Length of their border [m].
    placebo_sd : float
        Spread of steps between neighbouring pieces sown alike [t/ha].
    least_reach_t_per_ha : float
        The range will reach at least so far to both sides of the step [t/ha].
    setting : Setting
        Explanations and next year's layout.
    ground : Explanation
        What soil and field could do.
    """

    baseline: str
    method: str
    border_length_m: float
    placebo_sd: float
    least_reach_t_per_ha: float
    setting: Setting
    ground: Explanation

    def as_dict(self) -> dict[str, Any]:
        """Return the object of ``border --json``; what needs yields is null."""
        return {
            "baseline": self.baseline,
            "method": self.method,
            "unit": self.setting.unit,
            "way": "planned",
            "border_length_m": self.border_length_m,
            "step": None,
            "step_standard_error": None,
            "placebo_sd": self.placebo_sd,
            "interval": None,
            "least_reach_t_per_ha": self.least_reach_t_per_ha,
            "level": self.setting.level,
            "explanations": [e.as_dict() for e in (self.ground, *self.setting.explanations)],
            "next_year": [n.__dict__ for n in self.setting.next_year],
            "advice": {"action": "cannot_tell", "reason": f"{REASON} {last_sentence(self.setting.next_year)}"},
        }


def planned(known: Known, areas: Mapping[str, BaseGeometry]) -> Planned:
    """Say before harvest what two planned areas could tell.

    Parameters
    ----------
    known : Known
        With the plan.
    areas : mapping of str to shape
        Outline of each method's area in a plane [m].

    Raises
    ------
    InputError
        If an area is of no method of the plan, or the areas share no border.
    """
    plan = known.plan
    if plan is None or plan.baseline.letter not in areas:
        text, given = "no area has the plan's baseline.", ", ".join(areas)
        raise InputError([problem(text, file="border_areas.geojson", field="method", given=given)])
    baseline = plan.baseline.letter
    method = next(n for n in areas if n != baseline)
    border = shared_border(areas[baseline], areas[method])
    if border is None:
        text = "the two areas do not share a border."
        allowed = f"at most {MOST_GAP_M:g} m apart along at least {SHORTEST_BORDER_M:g} m"
        given = f"{areas[baseline].distance(areas[method]):.0f} m apart"
        raise InputError([problem(text, file="border_areas.geojson", given=given, allowed=allowed)])
    mean = plan.outcome.expected_t_per_ha
    setting = setting_of(known, baseline, method, mean)
    spread = Spread(setting.spread_percent, PRIOR_DF, (), setting.spread_source)
    sd = spread.percent / 100.0 * mean
    reach = half_width(sd, PRIOR_DF, 0.0, 1.0, setting.level)
    ground = ground_explanation(spread, mean, setting.level)
    return Planned(baseline, method, float(border.length), sd, reach, setting, ground)


def planned_words(ahead: Planned) -> list[str]:
    """Put it into lines for a screen.

    Parameters
    ----------
    ahead : Planned
        From `planned`.

    Returns
    -------
    list of str
    """
    return [
        f"Two areas, {ahead.method} beside {ahead.baseline}, share {ahead.border_length_m:.0f} m of border.",
        f"Whatever comes off, the answer will reach at least {ahead.least_reach_t_per_ha:.2f} t/ha to both sides of "
        f"the step seen ({ahead.setting.level:.0%}), because neighbouring pieces sown alike differ by "
        f"{ahead.placebo_sd:.2f} t/ha.",
        REASON,
        layout_line(ahead.setting.next_year),
        last_sentence(ahead.setting.next_year),
    ]
