"""Loads joined to slips: two records written at two places, held together by trailer and time.

A slip that names its load is believed. All others are joined only where nothing else is possible: one trailer is
filled, weighed, emptied and filled again, and it takes about as long from field to scale as it always does. Whatever
leaves two readings open is said and left open; a correction that names the load in the weighing settles it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from evenground.basis.days import said_day, said_moment
from evenground.basis.harvest_records import Load, Weighing
from evenground.basis.observations import current
from evenground.harvest.clock import hour_off, night_times
from evenground.harvest.corrections import latest_ids
from evenground.harvest.drives import FEWEST_DRIVES
from evenground.harvest.names import MANY, load_name
from evenground.harvest.slips import Slip, slips_of, trailer_key, without_doubles
from evenground.harvest.walk import Link, Walk


@dataclass(frozen=True)
class Joined:
    """All loads and slips of the harvest.

    Attributes
    ----------
    loads : tuple of Load
        Those that count, by time.
    links : tuple of Link
        What belongs together.
    doubts : mapping of str to tuple of str
        Load id to what keeps its mass open.
    without_load : tuple of Slip
        Slips that no load can be found for.
    strips_in_doubt : mapping of int to tuple of str
        Strip to the slips without a load that may be its.
    notes : tuple of str
        What was noticed, in plain words.
    may_be_of : mapping of str to tuple of int
        Id of a weighing without a load to the strips that were cut at that time.
    """

    loads: tuple[Load, ...]
    links: tuple[Link, ...]
    doubts: Mapping[str, tuple[str, ...]]
    without_load: tuple[Slip, ...]
    strips_in_doubt: Mapping[int, tuple[str, ...]]
    notes: tuple[str, ...]
    may_be_of: Mapping[str, tuple[int, ...]] = field(default_factory=dict)

    def as_data(self) -> list[dict[str, Any]]:
        """Return the entries of ``joins`` of ``harvest --json``."""
        return [
            {
                "loads": [load.id for load in link.loads],
                "weighing": link.slip.weighing.id,
                "net_kg": link.slip.net_kg,
                "how": link.how,
                "mass": link.slip.how,
                "fault": link.slip.fault,
                "doubts": [text for load in link.loads for text in self.doubts.get(load.id, ())],
            }
            for link in self.links
        ]


def join(loads: Sequence[Load], weighings: Sequence[Weighing]) -> Joined:
    """Join every slip to its load, or say why not.

    Parameters
    ----------
    loads, weighings : sequence
        All records, corrections included.

    Returns
    -------
    Joined
    """
    kept, faults, notes = without_doubles(current(weighings))
    day = _Day(loads, kept, faults)
    shifts, doubtful = hour_off(day.scales(), day.left_over)
    for scale, by in shifts.items():
        way = "ahead" if by < timedelta(0) else "behind"
        notes.append(f"the clock of scale {scale or '(no name)'} seems to be an hour {way}; its times were moved")
    walk = day.walk(shifts)
    walk.by_time_alone()
    for scale in doubtful:
        text = f"the clock of scale {scale or '(no name)'} may be an hour off; check a slip against a watch"
        notes.append(text)
        walk.doubt_scale(scale, text)
    walk.doubt_strips()
    walk.doubt_masses()
    notes += day.notes + walk.notes + _order_gaps(day.loads, walk.doubt)
    return Joined(
        loads=tuple(day.loads),
        links=tuple(walk.links),
        doubts={k: tuple(v) for k, v in walk.doubts.items()},
        without_load=tuple(walk.orphans),
        strips_in_doubt={k: tuple(v) for k, v in walk.strips_in_doubt.items()},
        notes=tuple(notes),
        may_be_of={k: tuple(v) for k, v in walk.may_be_of.items()},
    )


class _Day:
    """The records of the day with their times put right."""

    def __init__(self, loads: Sequence[Load], kept: Sequence[Weighing], faults: Mapping[str, str]) -> None:
        counting = current(loads)
        moved = night_times([r.time for r in (*counting, *kept)])
        self.notes = _moved_nights(moved)
        self.time = {r.id: moved.get(r.time, r.time) for r in counting}
        self.seen = {w.id: moved.get(w.time, w.time) for w in kept}
        self.loads = sorted(counting, key=lambda x: (self.time[x.id], x.order or 0))
        self.kept, self.faults = kept, faults
        self.stands_for = latest_ids(loads)

    def scales(self) -> dict[str, bool]:
        """Name the scales whose slips are joined by time, and whether there are enough to judge their clock."""
        names = [w.scale for w in self.kept if w.load is None and not w.is_empty_trailer]
        return {n: names.count(n) >= FEWEST_DRIVES for n in sorted(set(names))}

    def walk(self, shifts: Mapping[str, timedelta]) -> Walk:
        """Join by trailer and time, with the clocks of some scales moved."""
        none = timedelta(0)
        times = {w.id: self.seen[w.id] + shifts.get(w.scale, none) for w in self.kept}
        slips = slips_of(self.kept, self.faults, times)
        empties = [(times[w.id], trailer_key(w.trailer)) for w in self.kept if w.is_empty_trailer and w.trailer]
        walk = Walk(self.loads, self.time, self.stands_for)
        walk.named([s for s in slips if s.weighing.load is not None])
        walk.by_trailer([s for s in slips if s.weighing.load is None], empties)
        return walk

    def left_over(self, shifts: Mapping[str, timedelta]) -> int:
        """Count loads and slips without a partner if the clocks of some scales are moved [1]."""
        walk = self.walk(shifts)
        return len(walk.orphans) + len(walk.unsettled())


def _moved_nights(moved: Mapping[datetime, datetime]) -> list[str]:
    """Say which times were taken as the night after: each, or of many of one date the first and the last."""
    out = []
    for day in sorted({wrong.date() for wrong in moved}):
        times = sorted(wrong for wrong in moved if wrong.date() == day)
        if len(times) <= MANY:
            out += [f"{said_moment(x)} was taken as the night after, {said_moment(moved[x])}" for x in times]
            continue
        span = f"{len(times)} times from {said_moment(times[0])} to {times[-1]:%H:%M}"
        out.append(f"{span} were taken as the night after, {said_day(moved[times[0]])}")
    return out


def _order_gaps(loads: Sequence[Load], doubt: Callable[[Load, str], None]) -> list[str]:
    """Name loads that the field's own numbering misses, and doubt the strips on either side of the gap."""
    numbered = sorted((x for x in loads if x.order is not None), key=lambda x: x.order or 0)
    out = []
    for a, b in pairwise(numbered):
        gone = range((a.order or 0) + 1, b.order or 0)
        if gone:
            which = f"load number {gone[0]} is" if len(gone) == 1 else f"load numbers {gone[0]} to {gone[-1]} are"
            text = f"{which} not recorded between the {load_name(a)} and the {load_name(b)}"
            out.append(text)
            for load in (a, b):
                doubt(load, text)
    return out
