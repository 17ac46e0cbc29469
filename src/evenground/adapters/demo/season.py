"""Simulate the season of the demo after its strips were drawn: everything here is invented, and says so.

The stated truth: dry-matter yield of a strip = field mean + slope across the field + a smooth wave of the soil + the
method's effect + strip error. The comparison never sees these numbers; the report may be held against them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np

from evenground.adapters.demo.lines import measured_lines
from evenground.basis.observations import (
    Event,
    Load,
    Observation,
    Sample,
    StandCount,
    WeatherDay,
    Weighing,
)
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, Strip

WHO = "invented"
SOWN = date(2026, 4, 28)
COUNTED = date(2026, 5, 27)
STAND_SEED, TWO_UNITS = 20260527, (2, 5)
HARVESTED = date(2026, 8, 28)
TARE_KG = 8_360.0
TRAILER_HOLDS_KG = 5_600.0


@dataclass(frozen=True)
class Truth:
    """The model behind the invented weights.

    Attributes
    ----------
    mean_t_per_ha : float
        Baseline mean, dry matter [t/ha].
    gain_t_per_ha : float
        What method B gives more in this invented season [t/ha].
    slope_t_per_ha : float
        From the first strip to the last [t/ha].
    wave_t_per_ha : float
        Height of the smooth wave of the soil [t/ha].
    strip_sd_t_per_ha : float
        Strip error [t/ha].
    dry_matter_percent : float
        Dry matter at harvest [%].
    """

    mean_t_per_ha: float = 11.4
    gain_t_per_ha: float = 0.55
    slope_t_per_ha: float = -1.1
    wave_t_per_ha: float = 0.5
    strip_sd_t_per_ha: float = 0.38
    dry_matter_percent: float = 34.2


def invent_season(plan: Plan, draw: Draw, rng: np.random.Generator, truth: Truth | None = None) -> list[Observation]:
    """Return the records of an invented season on the drawn strips.

    Parameters
    ----------
    plan : Plan
        The demo's plan.
    draw : Draw
        Its strips.
    rng : numpy.random.Generator
        Source of randomness.
    truth : Truth or None
        Model of the yields.

    Returns
    -------
    list of Observation
        Sowing, stand counts, weather, loads, weighings, samples, and three mishaps: the fifth strip of the baseline is
        lost to a blocked row, one load is weighed twice, and the other method's last two strips share one sample.
    """
    truth = truth or Truth()
    lost = _nth(draw, plan.baseline.letter, 5)
    other = next(m.letter for m in plan.methods if not m.baseline)
    shared = tuple(s.strip for s in draw.strips if s.method == other)[-2:]
    weighed = [s for s in draw.strips if s.strip != lost]
    records: list[Observation] = [
        *_sowing(draw),
        *_stand(plan, draw, rng),
        *_weather(rng),
        *measured_lines(plan, draw, _at(COUNTED, 13, 0), WHO),
    ]
    records.append(
        Event(
            id="demo-lost",
            time=_at(COUNTED, 10, 5),
            who=WHO,
            strips=(lost,),
            event="strip_lost",
            note="one row unit was blocked over the whole length: a row of the weighed cut is missing",
        )
    )
    fresh, dry_matter = _yields(plan, draw, rng, truth)
    records += _harvest(weighed, fresh, rng)
    records += _samples(weighed, dry_matter, shared, rng)
    records.append(
        Event(id="demo-harvest", time=_at(HARVESTED, 17, 40), who=WHO, strips=_numbers(weighed), event="harvested")
    )
    return records


def _nth(draw: Draw, letter: str, n: int) -> int:
    return [s.strip for s in draw.strips if s.method == letter][n - 1]


def _numbers(strips: list[Strip]) -> tuple[int, ...]:
    return tuple(s.strip for s in strips)


def _at(day: date, hour: int, minute: int) -> datetime:
    return datetime.combine(day, time(hour, minute))


def _sowing(draw: Draw) -> list[Observation]:
    """Return one event a method: sown as drawn, on the same day."""
    out: list[Observation] = []
    for i, letter in enumerate(sorted({s.method for s in draw.strips})):
        strips = tuple(s.strip for s in draw.strips if s.method == letter)
        out.append(
            Event(
                id=f"demo-sown-{letter}",
                time=_at(SOWN, 9 + 3 * i, 15),
                who=WHO,
                strips=strips,
                event="sown",
                method=letter,
            )
        )
    return out


def _stand(plan: Plan, draw: Draw, rng: np.random.Generator) -> list[Observation]:
    """Return a count of every row unit in each strip, along a thousandth of a hectare of row."""
    out: list[Observation] = []
    aside = np.random.default_rng(STAND_SEED)
    rows = {m.letter: m for m in plan.methods}
    for strip in draw.strips:
        method = rows[strip.method]
        length = round(10.0 / method.row_pattern.row_spacing_m, 2)
        seeds = method.seeds_per_m2 * length * method.row_pattern.row_spacing_m
        for unit in range(1, plan.machine(method.machine).rows + 1):
            # Two units are drawn from the season's own numbers, so that its weights are those of a season with two.
            numbers = rng if unit in TWO_UNITS else aside
            out.append(
                StandCount(
                    id=f"demo-stand-{strip.strip:02d}-{unit}",
                    time=_at(COUNTED, 9, 0) + timedelta(minutes=6 * strip.strip + unit),
                    who=WHO,
                    strips=(strip.strip,),
                    row_unit=unit,
                    length_m=length,
                    plants=int(numbers.binomial(round(seeds), method.expected_emergence_fraction)),
                )
            )
    return out


def _weather(rng: np.random.Generator) -> list[Observation]:
    """Return daily weather from sowing to harvest with a dry spell from late June to early August."""
    out: list[Observation] = []
    for i in range((HARVESTED - SOWN).days + 1):
        day = SOWN + timedelta(days=i)
        dry = date(2026, 6, 24) <= day <= date(2026, 8, 6)
        wet = rng.random() < (0.07 if dry else 0.36)
        rain = round(float(rng.gamma(0.9, 2.2 if dry else 5.6)), 1) if wet else 0.0
        warm = 14.0 + 6.0 * np.sin((i - 20) / 140 * np.pi) + (2.2 if dry else 0.0) + rng.normal(0, 2.4)
        span = 8.0 + (3.5 if not wet else 0.0) + abs(rng.normal(0, 1.2))
        out.append(
            WeatherDay(
                id=f"demo-weather-{day.isoformat()}",
                time=_at(day, 20, 0),
                who=WHO,
                day=day,
                rain_mm=rain,
                temperature_min_c=round(float(warm - span / 2), 1),
                temperature_max_c=round(float(warm + span / 2), 1),
            )
        )
    return out


def _yields(
    plan: Plan, draw: Draw, rng: np.random.Generator, truth: Truth
) -> tuple[dict[int, float], dict[int, float]]:
    """Return fresh mass [t] and dry-matter fraction [kg/kg] of every strip's cut."""
    n = len(draw.strips)
    fresh, dry_matter = {}, {}
    for i, strip in enumerate(draw.strips):
        along = i / (n - 1)
        soil = truth.slope_t_per_ha * (along - 0.5) + truth.wave_t_per_ha * np.sin(2.3 * np.pi * along + 0.4)
        gain = 0.0 if strip.method == plan.baseline.letter else truth.gain_t_per_ha
        dry = truth.mean_t_per_ha + soil + gain + rng.normal(0.0, truth.strip_sd_t_per_ha)
        dry_matter[strip.strip] = (truth.dry_matter_percent - 0.3 * (gain > 0) + rng.normal(0.0, 0.6)) / 100.0
        fresh[strip.strip] = float(dry / dry_matter[strip.strip] * strip.cut_area_m2 / 10_000.0)
    return fresh, dry_matter


def _harvest(strips: list[Strip], fresh: dict[int, float], rng: np.random.Generator) -> list[Observation]:
    """Return loads and weighings; the third load is weighed twice."""
    out: list[Observation] = []
    clock, number = _at(HARVESTED, 8, 10), 0
    for strip in strips:
        left = 1000.0 * fresh[strip.strip]
        parts = 1 + int(left > TRAILER_HOLDS_KG)
        for part in range(parts):
            number += 1
            clock += timedelta(minutes=int(rng.integers(9, 16)))
            net = left * (0.56 if parts == 2 and part == 0 else 0.44 if parts == 2 else 1.0)
            name = f"demo-load-{number:02d}"
            trailer = "red" if number % 2 else "green"
            out.append(Load(id=name, time=clock, who=WHO, strips=(strip.strip,), trailer=trailer))
            for again in range(2 if number == 3 else 1):
                gross = TARE_KG + net + (40.0 if again else 0.0)
                out.append(
                    Weighing(
                        id=f"demo-weighing-{number:02d}" + ("-again" if again else ""),
                        time=clock + timedelta(minutes=12 + 4 * again),
                        who=WHO,
                        load=name,
                        scale="weighbridge",
                        gross_kg=20.0 * round(gross / 20.0),
                        tare_kg=TARE_KG,
                        note="driven onto the scale a second time" if again else "",
                    )
                )
    return out


def _samples(
    strips: list[Strip], dry_matter: dict[int, float], shared: tuple[int, ...], rng: np.random.Generator
) -> list[Observation]:
    """Return one oven sample a strip, two from every fourth; two strips share theirs."""
    out: list[Observation] = []
    for i, strip in enumerate(s for s in strips if s.strip not in shared):
        for repeat in range(2 if i % 4 == 0 else 1):
            value = dry_matter[strip.strip] + rng.normal(0.0, 0.006)
            out.append(_oven(f"demo-sample-{strip.strip:02d}-{repeat + 1}", (strip.strip,), value, rng))
    if shared:
        mean = float(np.mean([dry_matter[s] for s in shared]))
        out.append(_oven("demo-sample-shared", shared, mean + rng.normal(0.0, 0.006), rng))
    return out


def _oven(name: str, strips: tuple[int, ...], fraction: float, rng: np.random.Generator) -> Sample:
    wet = round(float(rng.uniform(480.0, 560.0)), 1)
    return Sample(
        id=name,
        time=_at(HARVESTED, 18, 30),
        who=WHO,
        strips=strips,
        wet_g=wet,
        dry_g=round(wet * fraction, 1),
        note="one bag for two strips" if len(strips) > 1 else "",
    )
