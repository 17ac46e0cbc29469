"""The day of every trailer walked through once: filled, weighed, emptied, filled again; what does not fit is said."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise

from evenground.basis.harvest_records import OTHER_LOAD, Load
from evenground.basis.thousands import grouped
from evenground.harvest.drives import FEWEST_DRIVES, Drives, minutes
from evenground.harvest.names import MANY, load_name
from evenground.harvest.slips import Slip, trailer_key

# What happened to a trailer, in order where times are equal: taken up, on the scale, weighed empty.
Happening = tuple[datetime, int, Load | Slip | None]
# A load lighter or heavier than this share of the day's middle one is asked before it counts. Judgement: a digit left
# out makes a tenth, one typed twice makes ten.
LOADS_LIE_BETWEEN = (0.25, 3.0)


@dataclass(frozen=True)
class Link:
    """One slip and the load or loads that were on the trailer.

    Attributes
    ----------
    loads : tuple of Load
        What the trailer held.
    slip : Slip
        What the scale said.
    how : str
        How the two were joined.
    """

    loads: tuple[Load, ...]
    slip: Slip
    how: str


@dataclass
class Walk:
    """One pass through the day; fills its lists as it goes."""

    loads: Sequence[Load]
    time: Mapping[str, datetime]
    stands_for: Mapping[str, str]
    links: list[Link] = field(default_factory=list)
    doubts: dict[str, list[str]] = field(default_factory=dict)
    orphans: list[Slip] = field(default_factory=list)
    strips_in_doubt: dict[int, list[str]] = field(default_factory=dict)
    may_be_of: dict[str, list[int]] = field(default_factory=dict)
    _asked: dict[str, set[int]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    _tentative: list[tuple[list[Load], Slip]] = field(default_factory=list)
    drives: Drives = field(default_factory=lambda: Drives((), ()))

    def named(self, slips: Iterable[Slip]) -> None:
        """Believe slips that name their load."""
        by_id = {load.id: load for load in self.loads}
        for slip in slips:
            name = slip.weighing.load
            load = by_id.get(self.stands_for.get(name or "", ""))
            if load is not None:
                self.links.append(Link((load,), slip, "named by the weighing"))
            elif name != OTHER_LOAD:
                text = f"weighing {slip.weighing.id} names load {name}, which is not recorded; it was left out"
                self.notes.append(text)

    def doubt(self, load: Load, text: str) -> None:
        """Leave a load's mass open, with the reason."""
        said = self.doubts.setdefault(load.id, [])
        if text not in said:
            said.append(text)

    def open_loads(self) -> list[Load]:
        """List the loads that have no slip and no doubt."""
        linked = {load.id for link in self.links for load in link.loads}
        return [x for x in self.loads if x.id not in linked and x.id not in self.doubts]

    def unsettled(self) -> list[Load]:
        """List the loads that are not joined for certain."""
        linked = {load.id for link in self.links for load in link.loads}
        return [x for x in self.loads if x.id not in linked or x.id in self.doubts]

    def by_trailer(self, slips: Sequence[Slip], empties: Sequence[tuple[datetime, str]]) -> None:
        """Walk each trailer through its day: filled, weighed, filled again."""
        linked = {load.id for link in self.links for load in link.loads}
        happenings: dict[str, list[Happening]] = defaultdict(list)
        for load in self.loads:
            if load.trailer:
                known = load.id in linked
                happenings[trailer_key(load.trailer)].append((self.time[load.id], 0, None if known else load))
        for link in self.links:
            if link.slip.trailer:
                happenings[link.slip.trailer].append((link.slip.time, 1, None))
        for when, trailer in empties:
            happenings[trailer].append((when, 2, None))
        for slip in slips:
            if slip.trailer:
                happenings[slip.trailer].append((slip.time, 1, slip))
            else:
                self.orphans.append(slip)
        found = [pair for trailer in sorted(happenings) for pair in self._fillings(happenings[trailer])]
        pairs = [(self.time[group[-1].id], slip) for group, slip in found if group]
        self.drives = Drives(pairs, self._rounds(happenings))
        for group, slip in found:
            self._settle(group, slip, self.drives)

    def _fillings(self, day: list[Happening]) -> list[tuple[list[Load], Slip]]:
        """Group the loads a trailer took up before each of its slips."""
        out: list[tuple[list[Load], Slip]] = []
        filled: list[Load] = []
        for _, _, what in sorted(day, key=lambda h: (h[0], h[1])):
            if isinstance(what, Load):
                filled.append(what)
            elif isinstance(what, Slip):
                out.append((filled, what))
                filled = []
            else:
                filled = []
        return out

    def _rounds(self, happenings: Mapping[str, list[Happening]]) -> list[timedelta]:
        """List the times from one slip of a trailer to its next."""
        out = []
        for day in happenings.values():
            weighed = sorted(when for when, kind, _ in day if kind == 1)
            out += [b - a for a, b in pairwise(weighed)]
        return out

    def _settle(self, group: list[Load], slip: Slip, drives: Drives) -> None:
        """Join one slip to what its trailer had taken up, where that is beyond doubt."""
        trailer = slip.weighing.trailer
        if not group:
            self.orphans.append(slip)
            return
        last = group[-1]
        after = slip.time - self.time[last.id]
        if not drives.fits(slip, after):
            text = (
                f"slip at {slip.weighing.time:%H:%M} of trailer {trailer} comes {minutes(after)} after the "
                f"{load_name(last)}"
            )
            for load in group:
                self.doubt(load, f"{text}, longer or shorter than the drives of the day; is it this load?")
            self.orphans.append(slip)
            return
        gaps = [self.time[b.id] - self.time[a.id] for a, b in pairwise(group)]
        if any(gap >= drives.shortest_round for gap in gaps):
            self._tentative.append((group, slip))
            return
        self.links.append(Link(tuple(group), slip, f"by trailer {trailer} and time, {minutes(after)} after filling"))

    def by_time_alone(self) -> None:
        """Join slips without a trailer, or loads without one, where exactly one fits exactly one."""
        undecided = {load.id: load for group, _ in self._tentative for load in group[:-1]}
        tentative = {group[-1].id for group, _ in self._tentative}
        free = [x for x in self.open_loads() if x.id not in tentative]
        fits = {s.weighing.id: [x for x in free if self._may_be(x, s)] for s in self.orphans}
        wanted = defaultdict(list)
        for slip in self.orphans:
            for load in fits[slip.weighing.id]:
                wanted[load.id].append(slip)
        for slip in list(self.orphans):
            choices = fits[slip.weighing.id]
            if len(choices) == 1 and len(wanted[choices[0].id]) == 1:
                self.orphans.remove(slip)
                undecided.pop(choices[0].id, None)
                said = f"by time alone, {minutes(slip.time - self.time[choices[0].id])} after filling"
                self.links.append(Link((choices[0],), slip, said))
                self.notes.append(f"{slip.name} was joined to the {load_name(choices[0])} {said}; check it")
                continue
        self._doubt_choices({k: v for k, v in fits.items() if any(s.weighing.id == k for s in self.orphans)})
        self._settle_tentative(undecided)

    def _doubt_choices(self, fits: Mapping[str, Sequence[Load]]) -> None:
        """Say of each load which slips may be its own; where nearly all fit, how many do."""
        mine: dict[str, list[Slip]] = defaultdict(list)
        for slip in self.orphans:
            for load in fits[slip.weighing.id]:
                mine[load.id].append(slip)
                self._asked.setdefault(slip.weighing.id, set()).update(load.strips)
        by_id = {load.id: load for load in self.loads}
        for id_, slips in mine.items():
            if len(slips) > MANY:
                span = (
                    f"any of {len(slips)} slips from {slips[0].weighing.time:%H:%M} to {slips[-1].weighing.time:%H:%M}"
                )
                self.doubt(
                    by_id[id_], f"{span} may be its own: write the trailer on the slips, or name the loads in them"
                )
                continue
            for slip in slips:
                text = f"slip without trailer at {slip.weighing.time:%H:%M} may be the {_named(fits[slip.weighing.id])}"
                self.doubt(by_id[id_], text)

    def _may_be(self, load: Load, slip: Slip) -> bool:
        if load.trailer and slip.trailer:
            return False
        return self.drives.fits(slip, slip.time - self.time[load.id])

    def _settle_tentative(self, undecided: Mapping[str, Load]) -> None:
        """Join slips whose trailer took up more than one load, once the earlier ones have found their own slip."""
        for group, slip in self._tentative:
            earlier = [x for x in group[:-1] if x.id in undecided]
            trailer = slip.weighing.trailer
            if not earlier:
                after = minutes(slip.time - self.time[group[-1].id])
                self.links.append(Link((group[-1],), slip, f"by trailer {trailer} and time, {after} after filling"))
                continue
            names = " and ".join(x.id for x in (*earlier, group[-1]))
            for load in (*earlier, group[-1]):
                text = f"trailer {trailer} took up loads {names} before slip at {slip.weighing.time:%H:%M}"
                self.doubt(load, f"{text}: was one slip lost, or were both on it? Name the load in the weighing")

    def doubt_strips(self) -> None:
        """Doubt what a slip without a load may belong to: loads weighed just before, and strips cut at that time."""
        of_strip: dict[int, list[tuple[Slip, str]]] = {}
        for slip in self.orphans:
            trailer = f", trailer {slip.weighing.trailer}?" if slip.weighing.trailer else ", no trailer on it"
            text = f"slip without load at {slip.weighing.time:%H:%M}{trailer}"
            early, late = self.drives.filled_between(slip)
            weighed = [x.slip.time for x in self.links if x.slip.trailer == slip.trailer and x.slip.time < slip.time]
            for link in self.links:
                twice = link.slip.trailer == slip.trailer and link.slip.time <= slip.time
                if slip.trailer and twice and self.drives.fits(slip, slip.time - self.time[link.loads[-1].id]):
                    for load in link.loads:
                        self.doubt(load, f"{text} It may be this load a second time")
            if slip.trailer and weighed:
                early = max(early, *weighed)
            for strip in self._cut_between(early, late):
                self.may_be_of.setdefault(slip.weighing.id, []).append(strip)
                if strip in self._asked.get(slip.weighing.id, ()):
                    continue  # its load says so already
                of_strip.setdefault(strip, []).append((slip, text))
        for strip, found in of_strip.items():
            self.strips_in_doubt[strip] = [text for _, text in found] if len(found) <= MANY else [_many(found)]

    def doubt_scale(self, scale: str, text: str) -> None:
        """Leave open what was joined by the clock of a scale that may be wrong."""
        for link in self.links:
            if link.slip.weighing.scale == scale and link.slip.weighing.load is None:
                for load in link.loads:
                    self.doubt(load, text)

    def doubt_masses(self) -> None:
        """Ask about loads that weigh a fraction or a multiple of the others, unless the weighing names them."""
        known = [x.slip.net_kg for x in self.links if x.slip.net_kg is not None and not x.slip.weighing.cumulative]
        if len(known) < FEWEST_DRIVES:
            return
        middle = statistics.median(known)
        for link in self.links:
            net = link.slip.net_kg
            asked = net is not None and link.slip.weighing.load is None and not link.slip.weighing.cumulative
            if asked and net is not None and not LOADS_LIE_BETWEEN[0] * middle < net < LOADS_LIE_BETWEEN[1] * middle:
                for load in link.loads:
                    self.doubt(
                        load,
                        f"{link.slip.name} says {grouped(net)} kg, other loads weigh about {grouped(middle)} kg: is a "
                        "digit missing or too many? If it is right, name the load in the weighing",
                    )

    def _cut_between(self, early: datetime, late: datetime) -> list[int]:
        """List the strips that were being cut in a span of time: loads in it, the last before and the first after."""
        inside = [x for x in self.loads if early <= self.time[x.id] <= late]
        before = [x for x in self.loads if self.time[x.id] < early][-1:]
        behind = [x for x in self.loads if self.time[x.id] > late][:1]
        return sorted({s for x in (*before, *inside, *behind) for s in x.strips if x.part == "cut"})


def _named(loads: Sequence[Load]) -> str:
    if len(loads) <= MANY:
        return " or the ".join(load_name(x) for x in loads)
    return f"{load_name(loads[0])}, the {load_name(loads[-1])} or any of {len(loads) - 2} between"


def _many(found: Sequence[tuple[Slip, str]]) -> str:
    times = sorted(slip.weighing.time for slip, _ in found)
    trailers = sorted({slip.weighing.trailer for slip, _ in found if slip.weighing.trailer})
    whose = f"trailers {', '.join(trailers)}" if trailers else "no trailer on them"
    return f"{len(found)} slips without load from {times[0]:%H:%M} to {times[-1]:%H:%M}, {whose}"
