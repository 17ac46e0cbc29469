"""What the season's water was for each group of strips, around flowering and in all, and how unusual that is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from evenground.basis.days import said_day
from evenground.basis.plan import Plan
from evenground.basis.season_tables import SoilStore, soil_store
from evenground.season.crop_coefficient import crop_curve, with_measured_cover
from evenground.season.daily import LONGEST_GAP_DAYS, TEMPERATURES, Daily, bridged, gaps
from evenground.season.heat_ahead import earlier_years, same_days
from evenground.season.reference_water import Place, ReferenceWater, reference_water
from evenground.season.sowings import SownStrips
from evenground.season.stages import BEFORE_FLOWERING
from evenground.season.water_balance import WaterBalance, water_balance

Window = tuple[date, date]
Covers = Mapping[str, Mapping[date, float]]
# A day counts as short when the crop missed this much and more: a seedling with roots of 30 cm is soon short by the
# coefficient, but misses next to nothing. Judgement.
SHORT_DAY_MM = 0.5
# Said where the two ways to the reference evapotranspiration differ by more than this share. Judgement.
ODDS = 0.15
MOST_MISSING = 10  # an earlier year with more days missing is left out; common practice, no source


@dataclass(frozen=True)
class WaterUse:
    """The water of strips that have method, sowing day, soil and irrigation in common.

    Attributes
    ----------
    strips : SownStrips
        Which.
    first, last : date
        Days of the balance.
    balance : WaterBalance
        Day by day.
    reference_mm, hargreaves_mm : float
        Reference evapotranspiration, and the same from temperatures alone as a second opinion [mm].
    short_mm, short_days : float, int
        Water missing over the season [mm], and days on which half a millimetre and more was [d].
    flowering : tuple of date or None
        The weeks around flowering, as far as the balance reaches; None where their time is not known.
    flowering_short_mm, flowering_short_days : float or None, int or None
        The same in these weeks; None where they are not known or a long gap in the weather lies in them.
    notes : tuple of str
        What makes the figures weaker.
    rainless_days : int
        Days without a rain record, counted as dry [d].
    """

    strips: SownStrips
    first: date
    last: date
    balance: WaterBalance
    reference_mm: float
    hargreaves_mm: float
    short_mm: float
    short_days: int
    flowering: Window | None
    flowering_short_mm: float | None
    flowering_short_days: int | None
    notes: tuple[str, ...] = ()
    rainless_days: int = 0

    @property
    def rain_mm(self) -> float:
        """Rain from sowing on [mm]."""
        return math.fsum(self.balance.rain_mm)  # as the weather sums it: one figure on one page

    @property
    def irrigation_mm(self) -> float:
        """Irrigation water [mm]."""
        return float(np.sum(self.balance.irrigation_mm))

    @property
    def sentence(self) -> str:
        """Say in one plain sentence how dry it was."""
        came = f"{self.rain_mm:.0f} mm of rain"
        if self.irrigation_mm:
            came += f" and {self.irrigation_mm:.0f} mm of irrigation"
        if self.rainless_days:
            came += f" ({_days(self.rainless_days)} without a usable record counted as dry)"
        text = f"From {said_day(self.first)} to {said_day(self.last)} the crop got {came}"
        if not self.short_days:
            return text + " and was never short of water."
        text += f"; it was short of water on {_days(self.short_days)}, by {self.short_mm:.0f} mm"
        if self.flowering_short_mm is not None and self.flowering_short_days is not None:
            text += (
                f", of which {_days(self.flowering_short_days)} and {self.flowering_short_mm:.0f} mm around flowering"
            )
        return text + "."

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``water`` of ``season --json``."""
        b = self.balance
        return {
            "method": self.strips.method,
            "zone": self.strips.zone,
            "strips": list(self.strips.strips),
            "sown": self.strips.sown.isoformat(),
            "first": self.first.isoformat(),
            "last": self.last.isoformat(),
            "rain_mm": self.rain_mm,
            "irrigation_mm": self.irrigation_mm,
            "reference_et_mm": self.reference_mm,
            "hargreaves_et_mm": self.hargreaves_mm,
            "crop_et_mm": float(np.sum(b.et_mm)),
            "drainage_mm": float(np.sum(b.drainage_mm)),
            "storage_change_mm": b.storage_change_mm,
            "balance_error_mm": b.balance_error_mm,
            "short_mm": self.short_mm,
            "short_days": self.short_days,
            "flowering": None if self.flowering is None else [d.isoformat() for d in self.flowering],
            "flowering_short_mm": self.flowering_short_mm,
            "flowering_short_days": self.flowering_short_days,
            "days": {
                "available_mm": b.available_mm.tolist(),
                "available_fraction": b.available_fraction.tolist(),
                "stress": b.stress.tolist(),
                "crop_et_mm": b.et_mm.tolist(),
            },
            "sentence": self.sentence,
            "notes": list(self.notes),
        }


def _days(n: int) -> str:
    return "1 day" if n == 1 else f"{n} days"


@dataclass(frozen=True)
class WaterSetting:
    """What all groups share.

    Attributes
    ----------
    plan : Plan
        Soil, stage lengths, product.
    place : Place
        Where.
    windows : mapping of str to tuple of date
        Method to the weeks around its flowering.
    covers : mapping of str to mapping of date to float
        Method to the ground cover seen in the field, by day [1]; empty where none was.
    """

    plan: Plan
    place: Place
    windows: Mapping[str, Window]
    covers: Covers = field(default_factory=dict)


def water_use(setting: WaterSetting, group: SownStrips, weather: Daily, last: date) -> WaterUse | None:
    """Follow the water of one group of strips; None where the soil is not said or temperatures do not reach that far.

    Parameters
    ----------
    setting : WaterSetting
        Plan and place.
    group : SownStrips
        Which strips.
    weather : Daily
        Doubtful values taken out, gaps not bridged.
    last : date
        Last day wanted: harvest, or the last day known.
    """
    soil = soil_store(dict(setting.plan.soil.of_strip(s) for s in group.strips[:1])[group.zone])
    if soil is None:
        return None
    whole = bridged(weather)
    known = np.flatnonzero(~np.isnan(whole["temperature_min_c"]) & ~np.isnan(whole["temperature_max_c"]))
    if not len(known):
        return None
    end = min(last, whole.first + timedelta(days=int(known[-1])))
    if end < group.sown or whole.index(group.sown) < known[0]:
        return None
    given, air = whole.part(group.sown, end), reference_water(whole.part(group.sown, end), setting.place)
    balance = _balance(setting, group, given, air, soil)
    return _summed(setting, group, weather.part(group.sown, end), air, balance)


def _balance(
    setting: WaterSetting, group: SownStrips, given: Daily, air: ReferenceWater, soil: SoilStore
) -> WaterBalance:
    """Run the balance with the group's own irrigation and the stage lengths that fit its flowering."""
    irrigation = np.zeros(len(given))
    for day, water in group.irrigation:
        if 0 <= given.index(day) < len(given):
            irrigation[given.index(day)] += water
    lengths = stage_lengths(setting, group.method, group.sown)
    dry = setting.plan.outcome.product == "grain"
    crop = crop_curve(len(given), lengths, soil.root_depth_m, dry_harvest=dry)
    seen = {given.index(day): share for day, share in setting.covers.get(group.method, {}).items() if day > given.first}
    crop = with_measured_cover(crop, seen, lengths[0] + lengths[1])
    return water_balance(air, given["rain_mm"], irrigation, crop, soil)


def stage_lengths(setting: WaterSetting, method: str, sown: date) -> tuple[int, int, int, int]:
    """Return the lengths of the four stages [d], stretched so that full cover falls on the method's own flowering.

    Where its flowering is not known the lengths of the plan are used as they are.

    Parameters
    ----------
    setting : WaterSetting
        Plan and flowering weeks.
    method : str
        Letter.
    sown : date
        Sowing day.
    """
    first, second, third, fourth = setting.plan.season.stage_days
    window = setting.windows.get(method)
    if window is None:
        return first, second, third, fourth
    days = (window[0] + BEFORE_FLOWERING - sown).days
    initial = max(round(days * first / (first + second)), 1)
    return initial, max(days - initial, 1), third, fourth


def _summed(
    setting: WaterSetting, group: SownStrips, given: Daily, air: ReferenceWater, balance: WaterBalance
) -> WaterUse:
    """Sum a balance up, and say what weakens it."""
    short = balance.short_mm >= SHORT_DAY_MM
    notes = []
    rainless = int(np.isnan(given["rain_mm"]).sum())
    if rainless:
        notes.append(f"{_days(rainless)} without a rain record counted as dry")
    holes = gaps(np.isnan(given["temperature_min_c"]) | np.isnan(given["temperature_max_c"]))
    if holes:
        longest = max(n for _, n in holes)
        notes.append(f"temperatures bridged on {_days(sum(n for _, n in holes))}, at most {longest} in a row")
    if air.sentence:
        notes.append(air.sentence.rstrip("."))
    own, other = float(np.sum(air.et_mm)), float(np.sum(air.hargreaves_mm))
    if abs(other - own) > ODDS * own:
        notes.append(f"reference evapotranspiration {own:.0f} mm, from temperatures alone {other:.0f} mm")
    covers = len(setting.covers.get(group.method, {}))
    if covers:
        notes.append(f"the cover of {group.method} follows the scores of {_walks(covers)}, judged by eye")
    window = setting.windows.get(group.method)
    mm: float | None = None
    days: int | None = None
    if window is not None:
        a, b = given.index(window[0]), given.index(window[1]) + 1
        rain_holes = gaps(np.isnan(given["rain_mm"]))
        long = [(i, n) for i, n in (*holes, *rain_holes) if n > LONGEST_GAP_DAYS and i < b and i + n > a]
        if b > len(given) or a < 0:
            notes.append("the weeks around flowering are not over yet")
        elif long:
            notes.append("weather is missing around flowering: nothing is said about these weeks")
        else:
            mm, days = float(np.sum(balance.short_mm[a:b])), int(np.sum(short[a:b]))
    return WaterUse(
        group, given.first, given.last, balance, own, other,
        float(np.sum(balance.short_mm)), int(np.sum(short)), window, mm, days, tuple(notes), rainless,
    )  # fmt: skip


def _walks(n: int) -> str:
    return "1 crop walk" if n == 1 else f"{n} crop walks"


def short_in_earlier_years(
    setting: WaterSetting, group: SownStrips, long: Daily | None, last: date
) -> dict[int, float]:
    """Return the water missing in earlier years on the same days of the year, same soil, same crop, unirrigated [mm].

    Parameters
    ----------
    setting : WaterSetting
        Plan and place.
    group : SownStrips
        Which strips.
    long : Daily or None
        Weather of earlier years, doubtful values taken out.
    last : date
        Last day of this season's balance.
    """
    out = {}
    for year in earlier_years(long, setting.plan.trial.season):
        shift = setting.plan.trial.season - year
        first, end = same_days(group.sown, group.sown.year - shift), same_days(last, last.year - shift)
        assert long is not None
        part = long.part(first, end)
        if max(int(np.isnan(part[n]).sum()) for n in ("rain_mm", *TEMPERATURES)) > MOST_MISSING:
            continue
        windows = {m: (a - (group.sown - first), b - (group.sown - first)) for m, (a, b) in setting.windows.items()}
        then = replace(group, sown=first, irrigation=())
        found = water_use(replace(setting, windows=windows, covers={}), then, long, end)
        if found is not None and found.last == end:
            out[year] = found.short_mm
    return out


def dryness(short_mm: float, earlier: Mapping[int, float]) -> str:
    """Say how dry the season was against earlier years.

    Parameters
    ----------
    short_mm : float
        Water missing this season [mm].
    earlier : mapping of int to float
        Year to water missing [mm].

    Examples
    --------
    >>> dryness(60.0, {2023: 10.0, 2024: 80.0, 2025: 20.0})
    'Water was shorter than in 2 of 3 earlier years (same soil, same days, without irrigation).'
    """
    if not earlier:
        return "There is no weather of earlier years here to say how unusual that is."
    drier = sum(short_mm > e + 0.5 for e in earlier.values())
    return (
        f"Water was shorter than in {drier} of {len(earlier)} earlier years (same soil, same days, without irrigation)."
    )


def longest_of(groups: Sequence[WaterUse]) -> WaterUse:
    """Return the group with most strips, the first of those alike: the one the season is summed up with.

    Parameters
    ----------
    groups : sequence of WaterUse
        At least one.
    """
    return max(groups, key=lambda g: len(g.strips.strips))
