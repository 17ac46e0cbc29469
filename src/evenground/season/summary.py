"""The whole season of a trial: weather looked at, heat, stages, water, and what to do when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np

from evenground.basis.days import said_day
from evenground.basis.observations import Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.season.agenda import Task, agenda
from evenground.season.alike import SameHeat, same_heat
from evenground.season.crop_walk import covers_of
from evenground.season.daily import NAMES, TEMPERATURES, Daily, bridged, daily_of, merged
from evenground.season.heat import WAYS
from evenground.season.heat_ahead import HeatAhead, heat_ahead
from evenground.season.quality import Doubt, doubts, without
from evenground.season.reference_water import DEFAULT_ALTITUDE_M, Place
from evenground.season.sowings import first_sowing, sown_strips
from evenground.season.stages import Stage, flowering_window, heat_needs, heat_since, leaf_collars, stages
from evenground.season.water_use import (
    Covers,
    WaterSetting,
    WaterUse,
    dryness,
    longest_of,
    short_in_earlier_years,
    water_use,
)
from evenground.season.weather import SeasonWeather, growing_span, season_weather

FEWEST_DAYS = 14  # of temperatures, below which nothing is forecast
MOST_RAINLESS = 0.25  # share of days without a rain record above which nothing is said about water; judgement


@dataclass(frozen=True)
class SeasonSummary:
    """What the season was.

    Attributes
    ----------
    earliness : str
        Maturity label as given.
    weather : SeasonWeather or None
        Rain and hot days from sowing to harvest, or so far; doubtful values left out.
    known : tuple of date or None
        First and last day with weather in the season.
    missing : mapping of str to int
        Value to days without it between sowing and the last day known [d].
    doubts : tuple of Doubt
        Doubtful values since sowing; these and earlier ones are left out of everything.
    sown : mapping of str to date
        Sowing day by method.
    heat : mapping of str to mapping of str to float or None
        Method to way of counting to heat since its own sowing [deg C d]; None where a day is unknown.
    leaves : mapping of str to int or None
        Leaves with a collar by method [1].
    stages : tuple of Stage
        By method.
    same_heat : tuple of SameHeat
        Methods against the baseline.
    water : tuple of WaterUse
        By method, sowing day, soil and irrigation.
    earlier_short_mm : mapping of int to float
        Water missing in earlier years [mm].
    agenda : tuple of Task
        What to do when.
    notes : tuple of str
        What could not be said, and why.
    days : Daily or None
        Weather from the first sowing to harvest, or to the last day known; doubtful values taken out, gaps not bridged.
    heat_by_day : mapping of str to tuple of float
        Method to its heat summed up to each day since its own sowing, base 6 with ceiling 30 [deg C d]; the last is the
        sum of ``heat``. A method with an unknown day is not in it.
    """

    earliness: str
    weather: SeasonWeather | None
    known: tuple[date, date] | None
    missing: Mapping[str, int]
    doubts: tuple[Doubt, ...]
    sown: Mapping[str, date]
    heat: Mapping[str, Mapping[str, float | None]]
    leaves: Mapping[str, int | None]
    stages: tuple[Stage, ...]
    same_heat: tuple[SameHeat, ...]
    water: tuple[WaterUse, ...]
    earlier_short_mm: Mapping[int, float]
    agenda: tuple[Task, ...]
    notes: tuple[str, ...]
    days: Daily | None = None
    heat_by_day: Mapping[str, tuple[float, ...]] = field(default_factory=dict)

    @property
    def sentence(self) -> str:
        """Say in plain words how dry the season was; "" where there is no balance."""
        if not self.water:
            return ""
        one = longest_of(self.water)
        return f"{one.sentence} {dryness(one.short_mm, self.earlier_short_mm)}"

    def as_dict(self) -> dict[str, Any]:
        """Return the object of ``season --json``."""
        known = self.known
        return {
            "earliness": self.earliness,
            "sentence": self.sentence,
            "weather": None if self.weather is None else self.weather.sentence,
            "known": None if known is None else [d.isoformat() for d in known],
            "missing_days": dict(self.missing),
            "doubts": [{**d.__dict__, "day": d.day.isoformat()} for d in self.doubts],
            "sown": {m: d.isoformat() for m, d in self.sown.items()},
            "heat": {m: dict(h) for m, h in self.heat.items()},
            "leaves": dict(self.leaves),
            "stages": [s.as_dict() for s in self.stages],
            "same_heat": [s.as_dict() for s in self.same_heat],
            "water": [w.as_dict() for w in self.water],
            "earlier_short_mm": {str(y): mm for y, mm in self.earlier_short_mm.items()},
            "agenda": [t.as_dict() for t in self.agenda],
            "notes": list(self.notes),
        }


def season_summary(
    plan: Plan,
    draw: Draw,
    records: Records,
    latitude_deg: float | None,
    long: Daily | None = None,
    covers: Covers | None = None,
) -> SeasonSummary:
    """Sum the season of a trial up.

    Parameters
    ----------
    plan : Plan
        Season, soil, earliness.
    draw : Draw
        The strips.
    records : Records
        Weather and events, corrections included.
    latitude_deg : float or None
        Of the field [deg]; None leaves the water out.
    long : Daily or None
        A station's weather, this season and earlier years; the trial's own records go before it.
    covers : mapping or None
        Method to the ground cover seen in the field, by day [1]; its water then follows that cover. None takes what was
        scored on crop walks.
    """
    sown = first_sowing(draw, records.events)
    every = merged(daily_of(records.weather), long)
    notes: list[str] = []
    if every is None or not sown:
        notes.append("no weather is recorded" if every is None else "no strip is recorded as sown")
        tasks = agenda((), sown, plan.outcome.product)
        return SeasonSummary(
            plan.season.earliness,
            season_weather(records, latitude_deg),
            None,
            {},
            (),
            sown,
            {},
            {},
            (),
            (),
            (),
            {},
            tasks,
            tuple(notes),
        )
    seen = covers_of(draw, records) if covers is None else covers
    return _summed(plan, draw, records, latitude_deg, every, sown, seen)


def _summed(
    plan: Plan,
    draw: Draw,
    records: Records,
    latitude_deg: float | None,
    every: Daily,
    sown: Mapping[str, date],
    covers: Covers,
) -> SeasonSummary:
    doubted = doubts(every, latitude_deg)
    sound = without(every, doubted)
    span = growing_span(records)
    end = span[1] if span else None
    now = _this_season(sound, season_days(plan.trial.season, sown), end)
    notes = _notes(plan, latitude_deg, now)
    found: tuple[Stage, ...] = ()
    if now is not None:
        found = _stages(
            plan, sown, bridged(now), heat_ahead(bridged(now), sound, plan.trial.season) if not end else None
        )
    used, earlier = _water(plan, draw, records, latitude_deg, sound, found, end or (now.last if now else None), covers)
    if now is not None and end is not None and now.last < end:
        notes.append(f"temperatures end on {said_day(now.last)}, before harvest on {said_day(end)}")
    if now is not None and not used:
        notes += _why_no_water(plan, latitude_deg, sound.part(min(sown.values()), end or now.last))
    whole = bridged(now) if now is not None else None
    return SeasonSummary(
        plan.season.earliness,
        season_weather(records, latitude_deg, every),
        (now.first, now.last) if now is not None else None,
        _missing(sound, min(sown.values()), now),
        tuple(d for d in doubted if min(sown.values()) <= d.day <= (end or date.max)),
        sown,
        {m: _sums(first, whole) for m, first in sown.items()} if whole is not None else {},
        {m: _leaves(first, whole) for m, first in sown.items()} if whole is not None else {},
        found,
        same_heat(sown, plan.baseline.letter, whole, whole.last) if whole is not None else (),
        used,
        earlier,
        agenda(found, sown, plan.outcome.product),
        tuple(notes),
        _stood(sound, sown, plan.trial.season, end),
        _by_day(sown, whole) if whole is not None else {},
    )


def _stood(sound: Daily, sown: Mapping[str, date], season: int, end: date | None) -> Daily | None:
    """Cut out the days on which the crop stood in the field; None where no weather reaches into them."""
    first, last = min(sown.values()), end or min(sound.last, date(season, 12, 31))
    return sound.part(first, last) if first <= last and sound.first <= last and sound.last >= first else None


def season_days(season: int, sown: Mapping[str, date]) -> tuple[date, date]:
    """Return the first and last day that belong to a season.

    It is the year of harvest, and in the south, where maize is sown the year before, that year too.

    Parameters
    ----------
    season : int
        Year of harvest.
    sown : mapping of str to date
        Sowing day by method.
    """
    first = min([season, *(d.year for d in sown.values())])
    return date(max(first, season - 1), 1, 1), date(season, 12, 31)


def _this_season(sound: Daily, span: tuple[date, date], end: date | None) -> Daily | None:
    """Cut the season's own days out, up to harvest or the last day with temperatures; None where there is none."""
    part = sound.part(*span)
    known = np.flatnonzero(~np.isnan(part["temperature_min_c"]) & ~np.isnan(part["temperature_max_c"]))
    if len(known) < 2:
        return None
    first, last = (part.first + timedelta(days=int(known[i])) for i in (0, -1))
    return part.part(first, min(last, end) if end and end > first else last)


def _stages(plan: Plan, sown: Mapping[str, date], now: Daily, ahead: HeatAhead | None) -> tuple[Stage, ...]:
    needs = heat_needs(plan.season)
    if len(now) < FEWEST_DAYS:
        ahead = None
    return tuple(s for method, day in sown.items() for s in stages(method, day, now, needs, ahead))


def _water(
    plan: Plan,
    draw: Draw,
    records: Records,
    latitude_deg: float | None,
    sound: Daily,
    found: tuple[Stage, ...],
    last: date | None,
    covers: Covers,
) -> tuple[tuple[WaterUse, ...], dict[int, float]]:
    """Water of every group, and of the earlier years for the largest of them."""
    if latitude_deg is None or last is None:
        return (), {}
    season = plan.season
    altitude = DEFAULT_ALTITUDE_M if season.altitude_m is None else season.altitude_m
    place = Place(latitude_deg, altitude, season.coast, season.wind_height_m, season.dew_point_below_min_c)
    by_method = {m: tuple(s for s in found if s.method == m) for m in {s.method for s in found}}
    windows = {m: w for m, mine in by_method.items() if (w := flowering_window(mine)) is not None}
    setting = WaterSetting(plan, place, windows, covers)
    every = (water_use(setting, g, sound, last) for g in sown_strips(plan, draw, records))
    used = tuple(w for w in every if w is not None and w.rainless_days <= MOST_RAINLESS * len(w.balance.rain_mm))
    if not used:
        return (), {}
    one = longest_of(used)
    return used, short_in_earlier_years(setting, one.strips, sound, one.last)


def _notes(plan: Plan, latitude_deg: float | None, now: Daily | None) -> list[str]:
    out = []
    if now is None:
        out.append(f"no temperatures of {plan.trial.season} are recorded: nothing is said about heat and stages")
    if heat_needs(plan.season) is None:
        out.append(
            "the plan does not say how early the hybrid is (earliness_group): nothing is said about flowering and the "
            "silage window"
        )
    if latitude_deg is not None and plan.season.altitude_m is None:
        out.append(
            f"the plan does not say how high the field lies above the sea (altitude_m): {DEFAULT_ALTITUDE_M:g} m taken"
        )
    return out


def _why_no_water(plan: Plan, latitude_deg: float | None, stood: Daily) -> list[str]:
    if latitude_deg is None:
        return ["there is no field outline, so no latitude: nothing is said about water"]
    if not plan.soil.said and not plan.soil.zones:
        return ["the plan does not say what the soil is like (section soil): nothing is said about water"]
    rainy = int((~np.isnan(stood["rain_mm"])).sum())
    reaches_back = not np.isnan(stood["temperature_min_c"][0])
    if reaches_back and len(stood) - rainy > MOST_RAINLESS * len(stood):
        return [f"rain is recorded on {rainy} of {len(stood)} days only: nothing is said about water"]
    return ["temperatures do not reach back to sowing: nothing is said about water"]


def _missing(sound: Daily, first: date, now: Daily | None) -> dict[str, int]:
    """Days without rain and temperatures since sowing."""
    if now is None or first > now.last:
        return {}
    part = sound.part(first, now.last)
    return {n: int(np.isnan(part[n]).sum()) for n in NAMES if n in (*TEMPERATURES, "rain_mm")}


def _sums(sown: date, now: Daily) -> dict[str, float | None]:
    out: dict[str, float | None] = {}
    for way in WAYS:
        total = float(np.sum(heat_since(sown, now, way)))
        out[way] = None if np.isnan(total) else total
    return out


def _by_day(sown: Mapping[str, date], now: Daily) -> dict[str, tuple[float, ...]]:
    sums = {m: np.cumsum(heat_since(first, now, "base_6")) for m, first in sown.items()}
    return {m: tuple(one.tolist()) for m, one in sums.items() if len(one) and not np.isnan(one[-1])}


def _leaves(sown: date, now: Daily) -> int | None:
    total = float(np.sum(heat_since(sown, now, "base_10_30")))
    return None if np.isnan(total) else leaf_collars(total)
