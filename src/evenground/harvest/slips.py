"""From weighings to slips: what was typed twice, what cannot be, which tare belongs to which, and how far it is off."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import groupby

from evenground.basis.harvest_records import OTHER_LOAD, Weighing
from evenground.basis.thousands import grouped

# Spread of an empty trailer's mass over a day (mud, fuel, the driver on or off), where its own tares cannot tell.
# Common practice, no source.
TARE_SD_KG = 40.0
# A tare further than this from the trailer's others is another trailer's, or wrong. Judgement.
TARE_STRANGE_KG = 400.0
# No loaded trailer is lighter than this: tonnes were written where kilograms are asked. Judgement.
LIGHTEST_LOADED_KG = 200.0
STORED_TARE_TIMES = 3


@dataclass(frozen=True)
class Slip:
    """One weighing of a loaded trailer.

    Attributes
    ----------
    weighing : Weighing
        The record.
    time : datetime
        When, clocks put right.
    net_kg : float or None
        Fresh mass [kg]; None where it cannot be known.
    fault : str
        Why not, in plain words.
    how : str
        How the net mass came about, in plain words.
    errors : mapping of str to float
        Errors it has in common with other slips: name of the error to what one standard deviation of it does to this
        net mass [kg].
    """

    weighing: Weighing
    time: datetime
    net_kg: float | None = None
    fault: str = ""
    how: str = ""
    errors: Mapping[str, float] = field(default_factory=dict)

    @property
    def trailer(self) -> str:
        """Trailer, spelled alike."""
        return trailer_key(self.weighing.trailer)

    @property
    def name(self) -> str:
        """How people call it: its number and clock time."""
        number = f"slip {self.weighing.slip}" if self.weighing.slip else "slip without a number"
        return f"{number} at {self.weighing.time:%H:%M}"


def trailer_key(name: str) -> str:
    """Spell a trailer's name alike.

    Examples
    --------
    >>> trailer_key(" Trailer 3 "), trailer_key("Red")
    ('3', 'red')
    """
    key = name.strip().casefold()
    return key.removeprefix("trailer").strip() or key


def without_doubles(weighings: Sequence[Weighing]) -> tuple[list[Weighing], dict[str, str], list[str]]:
    """Leave out slips typed twice; name slips whose number stands under different entries.

    Parameters
    ----------
    weighings : sequence of Weighing
        Those that count.

    Returns
    -------
    kept : list of Weighing
        Each slip once.
    faults : dict
        Id of a weighing that cannot be trusted to why.
    notes : list of str
        What was left out.
    """
    groups: dict[tuple[object, ...], list[Weighing]] = defaultdict(list)
    for w in weighings:
        by_number = ("slip", w.scale.casefold(), w.slip.casefold())
        groups[by_number if w.slip else ("seen", w.scale, w.trailer, w.time, _said(w))].append(w)
    kept, faults, notes = [], {}, []
    for same in groups.values():
        first = same[0]
        if len(same) == 1 or len({(_said(w), trailer_key(w.trailer)) for w in same}) == 1:
            kept.append(first)
            if len(same) > 1:
                notes.append(f"{Slip(first, first.time).name} is there {_times(len(same))}; it counts once")
            continue
        kept += same
        for w in same:
            faults[w.id] = (
                f"slip {first.slip} is there {_times(len(same))} with different entries; correct or withdraw one"
            )
    place = {w.id: i for i, w in enumerate(weighings)}
    return sorted(kept, key=lambda w: place[w.id]), faults, notes


def _times(n: int) -> str:
    return "twice" if n == 2 else f"{n} times"


def _said(w: Weighing) -> tuple[object, ...]:
    return (w.gross_kg, w.tare_kg, w.slip_net_kg, w.load, w.cumulative)


def slips_of(
    weighings: Iterable[Weighing], faults: Mapping[str, str], times: Mapping[str, datetime]
) -> tuple[Slip, ...]:
    """Work out the net mass of every weighing of a loaded trailer.

    Gross minus its own tare; else minus the tare of the same trailer nearest in time, on the same scale where there is
    one; a cumulative reading minus the trailer's reading before it; else the net mass as printed.

    Parameters
    ----------
    weighings : iterable of Weighing
        Each slip once.
    faults : mapping
        Id of a weighing that cannot be trusted to why.
    times : mapping
        Id to time, clocks put right.

    Returns
    -------
    tuple of Slip
        In order of time; empty trailers are not in it.
    """
    every = sorted(weighings, key=lambda w: (times[w.id], w.id))
    tares = _Tares(every, times)
    out = []
    before: dict[str, Weighing | None] = {}
    for w in every:
        trailer = trailer_key(w.trailer)
        if not w.is_empty_trailer and w.load != OTHER_LOAD:
            slip = Slip(w, times[w.id])
            fault = faults.get(w.id) or _too_light(w)
            out.append(replace(slip, fault=fault) if fault else _with_net(slip, before.get(trailer), tares))
            if trailer:
                before[trailer] = None if out[-1].fault else w  # nothing can be added to a reading that is wrong
        elif trailer:
            before[trailer] = w
    return tuple(out)


def _too_light(w: Weighing) -> str:
    mass = w.gross_kg if w.gross_kg is not None else w.slip_net_kg
    if mass is not None and mass < LIGHTEST_LOADED_KG:
        return f"{Slip(w, w.time).name} says {mass:g} kg; were tonnes meant? Then name the column with _t"
    return ""


def _with_net(slip: Slip, before: Weighing | None, tares: _Tares) -> Slip:
    w = slip.weighing
    if w.cumulative:
        return _added(slip, before)
    own = w.net_kg
    if own is None:
        return tares.applied(slip)
    if w.tare_kg is None or not slip.trailer:
        return replace(slip, net_kg=own, how="net as printed" if w.tare_kg is None else "gross minus tare")
    if strange := tares.strange(slip.trailer, w.tare_kg):
        return replace(slip, fault=f"{slip.name}: {strange}")
    if tares.stored(slip.trailer, w.tare_kg):
        return replace(
            slip,
            net_kg=own,
            how="gross minus a tare stored for the trailer",
            errors={f"the stored tare of trailer {w.trailer}": tares.sd_kg(slip.trailer)},
        )
    return replace(slip, net_kg=own, how="gross minus tare")


def _added(slip: Slip, before: Weighing | None) -> Slip:
    """Take a cumulative reading minus the reading before it."""
    w = slip.weighing
    base = None if before is None else before.gross_kg if before.gross_kg is not None else before.tare_kg
    if before is None or base is None or w.gross_kg is None:
        return replace(slip, fault=f"{slip.name} is cumulative, but no sound reading of this trailer stands before it")
    if w.gross_kg <= base:
        text = f"{slip.name} is cumulative, but with {grouped(w.gross_kg)} kg not heavier than the reading before it"
        return replace(slip, fault=text)
    how = f"what was added since {before.time:%H:%M}"
    return replace(slip, net_kg=w.gross_kg - base, how=how)


class _Tares:
    """All empty masses of all trailers."""

    def __init__(self, weighings: Sequence[Weighing], times: Mapping[str, datetime]) -> None:
        self.times = times
        self.of: dict[str, list[Weighing]] = defaultdict(list)
        for w in weighings:
            if w.tare_kg is not None and w.trailer:
                self.of[trailer_key(w.trailer)].append(w)

    def values(self, trailer: str) -> list[float]:
        """Every tare of a trailer that was read, a stored one once [kg]."""
        read = [w.tare_kg for w in self.of[trailer] if w.tare_kg is not None]
        stored = {v for v in read if self.stored(trailer, v)}
        return sorted(v for v in read if v not in stored) + sorted(stored)

    def stored(self, trailer: str, tare_kg: float) -> bool:
        """Whether the same tare stands on so many slips, one after the other, that it was stored, not read."""
        runs = (len(list(same)) for tare, same in groupby(w.tare_kg for w in self.of[trailer]) if tare == tare_kg)
        return max(runs, default=0) >= STORED_TARE_TIMES

    def sd_kg(self, trailer: str) -> float:
        """Spread of a trailer's tare over the day [kg]: its own where it was read four times or more."""
        read = self.values(trailer)
        return statistics.stdev(read) if len(read) > STORED_TARE_TIMES else TARE_SD_KG

    def strange(self, trailer: str, tare_kg: float) -> str:
        """Say that a tare is not this trailer's, or "" where nothing speaks against it."""
        others = [v for v in (w.tare_kg for w in self.of[trailer]) if v is not None]
        middle = statistics.median(others)
        if len(others) < 3 or abs(tare_kg - middle) <= TARE_STRANGE_KG:
            return ""
        said = f"a tare of {grouped(tare_kg)} kg is not that of this trailer"
        return f"{said}, which weighs about {grouped(middle)} kg empty"

    def applied(self, slip: Slip) -> Slip:
        """Take the nearest tare of the trailer from a slip that gives only the gross mass."""
        w = slip.weighing
        there = self.of[slip.trailer] if slip.trailer else []
        same = [t for t in there if t.scale.casefold() == w.scale.casefold()] or there
        if not same or w.gross_kg is None:
            whose = f"trailer {w.trailer}" if w.trailer else "a trailer without name"
            return replace(slip, fault=f"{slip.name} gives the gross mass only, and no tare of {whose} is recorded")
        nearest = min(same, key=lambda t: (abs(self.times[t.id] - slip.time), t.id))
        tare = nearest.tare_kg or 0.0
        if strange := self.strange(slip.trailer, tare):
            return replace(slip, fault=f"{slip.name}: {strange}")
        if w.gross_kg <= tare:
            text = f"{slip.name}: {grouped(w.gross_kg)} kg are not more than the trailer's tare of {grouped(tare)} kg"
            return replace(slip, fault=text)
        other = "" if nearest.scale.casefold() == w.scale.casefold() else " on another scale"
        how = f"gross minus the tare of {nearest.time:%H:%M}{other}"
        error = {f"the tare of trailer {w.trailer} at {nearest.time:%H:%M}": self.sd_kg(slip.trailer)}
        return replace(slip, net_kg=w.gross_kg - tare, how=how, errors=error)
