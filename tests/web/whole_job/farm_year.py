"""A farm's year for the whole-job test: the clock that is moved on, and the tables and files a farmer has at hand."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from django.utils import timezone

from evenground.adapters.demo.season import invent_season
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.basis.observations import Observation
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw

SEED = 20260318
WINTER, SOWING_DAY, COUNTING_DAY, HARVEST_DAY, EVENING = (
    datetime(2026, 3, 18, 19, 30),
    datetime(2026, 4, 28, 9, 15),
    datetime(2026, 5, 27, 9, 0),
    datetime(2026, 8, 28, 8, 0),
    datetime(2026, 9, 12, 20, 0),
)


class FarmClock:
    """What the app believes is now: a day of the farm's year, chosen by the test."""

    def __init__(self, monkeypatch) -> None:
        self._at = WINTER
        monkeypatch.setattr(timezone, "now", self.now)

    def now(self) -> datetime:
        return self._at.replace(tzinfo=ZoneInfo(str(timezone.get_default_timezone())))

    def move_to(self, at: datetime) -> None:
        assert at > self._at
        self._at = at


def season_of(plan: Plan, draw: Draw) -> dict[str, list[Observation]]:
    """Return an invented season on the drawn strips, kind by kind."""
    out: dict[str, list[Observation]] = {}
    for record in invent_season(plan, draw, np.random.default_rng(SEED)):
        out.setdefault(type(record).kind, []).append(record)
    return out


def without_strips(records: Iterable[Observation], *strips: int) -> list[Observation]:
    """Return the records of all other strips; what shares a strip with one of these goes too."""
    return [r for r in records if not set(r.strips) & set(strips)]


def table(folder: Path, kind: str, records: Sequence[Observation]) -> Path:
    """Write records as the table a farmer sends."""
    path = folder / f"{kind}.csv"
    path.write_text(rows_text(records, canonical_columns(kind)), encoding="utf-8")
    return path


def station_file(folder: Path, days: Sequence[Observation]) -> Path:
    """Write days of weather as a station in Germany does: semicolons, decimal commas, days first."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=";", lineterminator="\r\n")
    writer.writerow(["Datum", "rain (mm)", "tmin (°C)", "tmax (°C)"])
    for d in days:
        numbers = (d.rain_mm, d.temperature_min_c, d.temperature_max_c)
        writer.writerow([f"{d.day:%d.%m.%Y}", *(f"{n:.1f}".replace(".", ",") for n in numbers)])
    path = folder / "station.csv"
    path.write_text(out.getvalue(), encoding="utf-8")
    return path


def gain_by_hand(draw: Draw, season: dict[str, list[Observation]]) -> float:
    """Return the mean of method minus baseline over the blocks that have both, worked out as on paper [t/ha]."""
    of_load = {load.id: load.strips for load in season["loads"]}
    fresh: dict[int, dict[str, list[float]]] = {}
    for w in season["weighings"]:
        (strip,) = of_load[w.load]
        fresh.setdefault(strip, {}).setdefault(w.load, []).append(w.gross_kg - w.tare_kg)
    dry: dict[int, list[float]] = {}
    for sample in season["samples"]:
        for strip in sample.strips:
            dry.setdefault(strip, []).append(sample.dry_g / sample.wet_g)
    given: dict[int, dict[str, float]] = {}
    for s in draw.strips:
        if s.strip in fresh:
            tonnes = sum(float(np.mean(again)) for again in fresh[s.strip].values()) / 1000.0
            given.setdefault(s.block, {})[s.method] = tonnes * float(np.mean(dry[s.strip])) / s.cut_area_m2 * 10_000.0
    return float(np.mean([pair["B"] - pair["A"] for pair in given.values() if len(pair) == 2]))
