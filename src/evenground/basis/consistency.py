"""Checks that the records agree with each other, with the plan and with the strips that were drawn.

Each check is a small function that lists problems; a record that a correction replaces is no longer asked anything but
its id.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from evenground.basis.errors import Problem
from evenground.basis.harvest_records import OTHER_LOAD
from evenground.basis.observations import RECORD_KINDS, Observation, OfStrips, Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw

Place = tuple[str, int | None]


@dataclass(frozen=True)
class Told:
    """All that the checks look at.

    Attributes
    ----------
    plan : Plan
        What was meant.
    draw : Draw or None
        The draw that counts.
    records : Records
        What was seen.
    places : mapping
        (kind, position among the records of the kind) to file and line.
    """

    plan: Plan
    draw: Draw | None
    records: Records
    places: Mapping[tuple[str, int], Place]

    def every(self, kind: str) -> tuple[Observation, ...]:
        """Return all records of a kind, corrections and corrected ones."""
        return tuple(getattr(self.records, kind))

    def fault(self, record: Observation, field: str, given: object, allowed: str, message: str) -> Problem:
        """Make a problem that points at a record's line."""
        kind = type(record).kind
        position = next((i for i, r in enumerate(self.every(kind)) if r is record), -1)
        file, row = self.places.get((kind, position), (f"records/{kind}.csv", None))
        return Problem(file, row, field, str(given), allowed, message)

    def counting(self) -> Iterator[Observation]:
        """Go through all records that count."""
        for kind in RECORD_KINDS:
            yield from current(self.every(kind))


def record_problems(
    plan: Plan,
    draw: Draw | None,
    records: Records,
    places: Mapping[tuple[str, int], Place] | None = None,
    *,
    complete: bool = True,
) -> list[Problem]:
    """List everything in which the records contradict each other, the plan or the draw.

    Parameters
    ----------
    plan : Plan
        What was meant.
    draw : Draw or None
        The draw that counts; without one, strip numbers are not checked.
    records : Records
        What was seen.
    places : mapping or None
        (kind, position) to file and line, for the messages.
    complete : bool
        False where some records could not be read: only checks that need no other record are made then, so that one
        faulty line does not bring others down.

    Returns
    -------
    list of Problem
    """
    told = Told(plan, draw, records, places or {})
    return [fault for check in (ALONE + TOGETHER if complete else ALONE) for fault in check(told)]


def _ids_once(told: Told) -> Iterator[Problem]:
    for kind in RECORD_KINDS:
        seen: set[str] = set()
        for record in told.every(kind):
            if record.id in seen:
                message = "this id is used twice; a correction has an id of its own and names the other in replaces."
                yield told.fault(record, "id", record.id, "each id once", message)
            seen.add(record.id)


def _corrections(told: Told) -> Iterator[Problem]:
    for kind in RECORD_KINDS:
        records = told.every(kind)
        ids = {r.id for r in records}
        times = Counter(r.replaces for r in records if r.replaces is not None)
        earlier: set[str] = set()
        for record in records:
            if record.replaces is not None and record.replaces not in ids:
                message = "the record this one corrects is not there."
                yield told.fault(record, "replaces", record.replaces, "the id of a record of this kind", message)
            elif record.replaces is not None and record.replaces not in earlier and record.replaces != record.id:
                message = "a correction stands before the record it corrects; corrections follow."
                yield told.fault(record, "replaces", record.replaces, "the id of an earlier record", message)
            elif record.replaces is not None and times[record.replaces] > 1 and record.replaces in earlier:
                message = "two corrections replace the same record; the second must replace the first correction."
                yield told.fault(record, "replaces", record.replaces, "a record nobody else replaces", message)
            earlier.add(record.id)


def _strips_exist(told: Told) -> Iterator[Problem]:
    if told.draw is None:
        return
    there = {s.strip for s in told.draw.strips}
    for record in told.counting():
        if isinstance(record, OfStrips):
            for number in sorted(set(record.strips) - there):
                allowed = f"{min(there)} to {max(there)}" if there else "no strip"
                yield told.fault(record, "strips", number, allowed, f"there is no strip {number} in the draw.")


def _loads_exist(told: Told) -> Iterator[Problem]:
    loads = {load.id: load for load in told.records.loads}
    counting = {load.id for load in current(told.records.loads)}
    for weighing in current(told.records.weighings):
        if weighing.load is None or weighing.load == OTHER_LOAD:
            continue
        if weighing.load not in loads:
            message = "there is no load with this id."
            yield told.fault(weighing, "load", weighing.load, "the id of a load in records/loads.csv", message)
        elif weighing.load not in counting:
            message = (
                "this load was replaced by a correction; the weighing must name the correction, or be corrected too."
            )
            yield told.fault(weighing, "load", weighing.load, "the id of a load that counts", message)
        elif weighing.time.date() < loads[weighing.load].time.date():
            message = "the load was weighed before it was harvested."
            allowed = f"{loads[weighing.load].time.date()} or later"
            yield told.fault(weighing, "time", weighing.time.date(), allowed, message)


def _methods_exist(told: Told) -> Iterator[Problem]:
    for event in current(told.records.events):
        if event.method is not None and event.method not in told.plan.letters:
            allowed = "one of " + ", ".join(told.plan.letters)
            yield told.fault(event, "method", event.method, allowed, "there is no method with this letter in the plan.")


def _season(told: Told) -> Iterator[Problem]:
    season = told.plan.trial.season
    for record in told.counting():
        seen = getattr(record, "day", None) or record.time.date()
        field = "day" if hasattr(record, "day") else "time"
        if not season - 1 <= seen.year <= season + 1:
            message = f"this is not within a year of the trial's season, {season}."
            yield told.fault(record, field, seen, f"a date from {season - 1} to {season + 1}", message)


def _after_sowing(told: Told) -> Iterator[Problem]:
    sown: dict[int, date] = {}
    for event in current(told.records.events):
        if event.event == "sown":
            for number in event.strips:
                sown[number] = min(event.time.date(), sown.get(number, event.time.date()))
    seen = told.records
    kinds = (
        *seen.stand_counts,
        *seen.spacing_runs,
        *seen.depths,
        *seen.scores,
        *seen.root_pits,
        *seen.loads,
        *seen.samples,
    )
    counting = {id(r) for r in told.counting()}
    for record in kinds:
        days = [sown[n] for n in record.strips if n in sown]
        if id(record) in counting and days and record.time.date() < max(days):
            message = "this lies before the day the strip was sown."
            yield told.fault(record, "time", record.time.date(), f"{max(days)} or later", message)


def _before_harvest(told: Told) -> Iterator[Problem]:
    """Scores are taken from a crop that still stands."""
    cut: dict[int, date] = {}
    for event in current(told.records.events):
        if event.event == "harvested":
            for number in event.strips:
                cut[number] = max(event.time.date(), cut.get(number, event.time.date()))
    for record in current(told.records.scores):
        last = cut.get(record.strip)
        if last is not None and record.time.date() > last:
            message = "this lies after the day the strip was harvested; the crop no longer stood."
            yield told.fault(record, "time", record.time.date(), f"{last} or earlier", message)


def _days_once(told: Told) -> Iterator[Problem]:
    seen: set[date] = set()
    for record in current(told.records.weather):
        if record.day in seen:
            message = "this day has two weather records; correct one with replaces."
            yield told.fault(record, "day", record.day, "each day once", message)
        seen.add(record.day)


Check = Callable[[Told], Iterator[Problem]]
ALONE: tuple[Check, ...] = (_ids_once, _strips_exist, _methods_exist, _season)
TOGETHER: tuple[Check, ...] = (_corrections, _loads_exist, _after_sowing, _before_harvest, _days_once)
