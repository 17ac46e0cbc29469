"""What stands where since when: each method's own sowing day, and the water each strip was given."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from evenground.basis.observations import Event, Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw

Irrigation = tuple[tuple[date, float], ...]


@dataclass(frozen=True)
class SownStrips:
    """Strips that got the same treatment of sowing day, soil and water.

    Attributes
    ----------
    method : str
        Letter as really sown.
    sown : date
        Sowing day.
    zone : str
        Soil zone; "" for the soil of the field.
    irrigation : tuple of (date, float)
        Water given [mm], by day.
    strips : tuple of int
        Which strips.
    """

    method: str
    sown: date
    zone: str
    irrigation: Irrigation
    strips: tuple[int, ...]


def sowing_days(draw: Draw, events: Sequence[Event]) -> dict[int, tuple[str, date]]:
    """Return method and day of sowing by strip; strips not sown, lost or without a sowing event are left out.

    Parameters
    ----------
    draw : Draw
        The strips.
    events : sequence of Event
        Corrections included; where a strip was sown twice the later day counts, as the crop that stands is that one.
    """
    out: dict[int, tuple[str, date]] = {}
    gone: set[int] = set()
    drawn = {s.strip: s.method for s in draw.strips}
    for event in sorted(current(events), key=lambda e: e.time.replace(tzinfo=None)):
        for strip in (s for s in event.strips if s in drawn):
            if event.event == "sown":
                out[strip] = (event.method or drawn[strip], event.time.date())
                gone.discard(strip)
            elif event.event in ("not_sown", "strip_lost"):
                gone.add(strip)
    return {strip: out[strip] for strip in sorted(out) if strip not in gone}


def first_sowing(draw: Draw, events: Sequence[Event]) -> dict[str, date]:
    """Return each method's sowing day, the middle one where its strips were sown on several days.

    Parameters
    ----------
    draw : Draw
        The strips.
    events : sequence of Event
        Corrections included.
    """
    days: dict[str, list[date]] = defaultdict(list)
    for method, day in sowing_days(draw, events).values():
        days[method].append(day)
    return {method: sorted(found)[(len(found) - 1) // 2] for method, found in sorted(days.items())}


def sown_strips(plan: Plan, draw: Draw, records: Records) -> tuple[SownStrips, ...]:
    """Put strips together that have method, sowing day, soil and irrigation in common.

    Parameters
    ----------
    plan : Plan
        Names the soil zones.
    draw : Draw
        The strips.
    records : Records
        Events of sowing and irrigation.
    """
    water: dict[int, dict[date, float]] = defaultdict(lambda: defaultdict(float))
    for event in current(records.events):
        if event.event == "irrigated" and event.water_mm is not None:
            for strip in event.strips:
                water[strip][event.time.date()] += event.water_mm
    together: dict[tuple[str, date, str, Irrigation], list[int]] = defaultdict(list)
    for strip, (method, day) in sowing_days(draw, records.events).items():
        given = tuple(sorted(water[strip].items()))
        together[(method, day, plan.soil.of_strip(strip)[0], given)].append(strip)
    return tuple(SownStrips(*key, tuple(strips)) for key, strips in sorted(together.items()))
