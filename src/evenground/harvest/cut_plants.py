"""Plants cut by hand: cobs a plant, cobless plants, cob share, and how ripe whole plants were before the harvest."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from evenground.basis.days import said_day
from evenground.basis.observations import CutPlants, current

# From here on one method is riper than the other on the same day, in points of dry matter. Common practice, no source.
RIPENESS_POINTS = 2.0


@dataclass(frozen=True)
class CutPlantFigure:
    """One figure from plants cut by hand, by strip.

    Attributes
    ----------
    name, unit : str
        In words.
    by_strip : mapping of int to float
        Value of each strip: sums over its plants, then their ratio [unit].
    """

    name: str
    unit: str
    by_strip: Mapping[int, float]


def cut_plants(records: Iterable[CutPlants], harvested: datetime | None = None) -> tuple[CutPlantFigure, ...]:
    """Say what plants cut by hand show, strip by strip.

    Parameters
    ----------
    records : iterable of CutPlants
        All records, corrections included.
    harvested : datetime or None
        When the first load was cut; whole plants taken earlier say how ripe the crop was before.

    Returns
    -------
    tuple of CutPlantFigure
        Only figures that were measured. Cobs weighed with and without husks are two figures.

    Source: definitions; 10 plants in a row, cobs without husk over whole plants (practice of published sources).
    """
    kept = current(records)
    figures = [
        CutPlantFigure("cobs per plant", "1", _ratio(kept, lambda r: (r.cobs, r.plants))),
        CutPlantFigure("cobless plants", "%", _ratio(kept, lambda r: (_hundred(r.cobless_plants), r.plants))),
    ]
    for husk in ("without", "with"):
        mine = [r for r in kept if r.husk == husk]
        figures += [
            CutPlantFigure(f"cob share, fresh, cobs {husk} husk", "%", _ratio(mine, _fresh_share)),
            CutPlantFigure(f"cob share, dry, cobs {husk} husk", "%", _ratio(mine, _dry_share)),
        ]
    ripe = ripeness(kept, harvested)
    if ripe is not None:
        when, by_strip = ripe
        figures.append(CutPlantFigure(f"dry matter of whole plants on {said_day(when)}", "%", by_strip))
    return tuple(f for f in figures if f.by_strip)


def ripeness(records: Iterable[CutPlants], harvested: datetime | None = None) -> tuple[date, dict[int, float]] | None:
    """Return dry matter of whole plants by strip on the last day before harvest on which any was taken [%].

    What was taken the day before that one counts with it, for where the work took two days.

    Parameters
    ----------
    records : iterable of CutPlants
        All records, corrections included.
    harvested : datetime or None
        When the first load was cut; None takes every day.

    Returns
    -------
    tuple of (date, dict) or None
        The day, and the mean of each strip's samples of that day; None where none was taken.
    """
    there = [r for r in current(records) if r.whole_dry_fraction is not None]
    before = [r for r in there if harvested is None or r.time < harvested]
    if not before:
        return None
    last = max(r.time.date() for r in before)
    found: dict[int, list[float]] = {}
    for record in before:
        if (last - record.time.date()).days <= 1:
            for strip in record.strips:
                found.setdefault(strip, []).append(100.0 * (record.whole_dry_fraction or 0.0))
    return last, {strip: statistics.fmean(values) for strip, values in sorted(found.items())}


def ripeness_note(ripe: tuple[date, Mapping[int, float]] | None, methods: Mapping[int, str]) -> str:
    """Say that the methods were not equally ripe before the harvest; "" where they were or nobody looked.

    Parameters
    ----------
    ripe : tuple or None
        From `ripeness`.
    methods : mapping
        Strip to method as sown.
    """
    if ripe is None:
        return ""
    when, by_strip = ripe
    found: dict[str, list[float]] = {}
    for strip, percent in by_strip.items():
        found.setdefault(methods[strip], []).append(percent)
    means = {letter: statistics.fmean(values) for letter, values in sorted(found.items())}
    if len(means) < 2 or max(means.values()) - min(means.values()) <= RIPENESS_POINTS:
        return ""
    said = ", ".join(f"{letter} {percent:.1f} %" for letter, percent in means.items())
    return (
        f"the methods were not equally ripe: dry matter of whole plants on {when} was {said}; more than "
        f"{RIPENESS_POINTS:g} points apart, one harvest day is too early for one or too late for another"
    )


Parts = tuple[float | None, float | None]


def _ratio(records: Iterable[CutPlants], parts_of: Callable[[CutPlants], Parts]) -> dict[int, float]:
    """Sum both parts over a strip's records, then divide; records that lack one do not count."""
    sums: dict[int, tuple[float, float]] = {}
    for record in records:
        over, under = parts_of(record)
        if over is not None and under:
            for strip in record.strips:
                before = sums.get(strip, (0.0, 0.0))
                sums[strip] = before[0] + over, before[1] + under
    return {strip: over / under for strip, (over, under) in sorted(sums.items())}


def _hundred(value: float | None) -> float | None:
    return None if value is None else 100.0 * value


def _fresh_share(record: CutPlants) -> Parts:
    return _hundred(record.cobs_fresh_g), record.whole_fresh_g


def _dry_share(record: CutPlants) -> Parts:
    dry = (record.cobs_dry_fraction, record.cobs_fresh_g), (record.whole_dry_fraction, record.whole_fresh_g)
    cobs, whole = (None if share is None or mass is None else share * mass for share, mass in dry)
    return _hundred(cobs), whole
