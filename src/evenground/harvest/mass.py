"""From trailers and weighbridge slips to the fresh mass of each strip."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from evenground.basis.observations import Load, Observation, Weighing, current


@dataclass(frozen=True)
class LoadMass:
    """One load and what the scale said about it.

    Attributes
    ----------
    load : Load
        The load.
    net_kg : float or None
        Fresh mass, the mean where it was weighed more than once [kg]; None without a weighing.
    readings_kg : tuple of float
        Every net reading [kg].
    """

    load: Load
    net_kg: float | None
    readings_kg: tuple[float, ...]

    @property
    def note(self) -> str:
        """What a reader must know about this load, in plain words; "" if nothing."""
        if not self.readings_kg:
            return f"load {self.load.id} of strip {strip_names(self.load.strips)} has no weighing"
        if len(self.readings_kg) == 1:
            return ""
        low, high = min(self.readings_kg), max(self.readings_kg)
        times = "twice" if len(self.readings_kg) == 2 else f"{len(self.readings_kg)} times"
        return (
            f"load {self.load.id} was weighed {times}, {low:,.0f} and {high:,.0f} kg net; "
            f"the mean counts, they lie {high - low:,.0f} kg apart"
        )


@dataclass(frozen=True)
class StripMass:
    """Fresh mass of one strip.

    Attributes
    ----------
    fresh_t : float or None
        Sum of its loads [t]; None where any part of it is unknown.
    notes : tuple of str
        In plain words.
    """

    fresh_t: float | None
    notes: tuple[str, ...]


def strip_names(strips: Sequence[int]) -> str:
    """Name strips as people do.

    Examples
    --------
    >>> strip_names((7, 8, 11))
    '7, 8 and 11'
    """
    names = [str(s) for s in strips]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def latest_ids(records: Iterable[Observation]) -> dict[str, str]:
    """Say under which id each record now counts, following corrections to their end.

    Parameters
    ----------
    records : iterable of Observation
        All records of one kind, corrections included.

    Returns
    -------
    dict
        Every id to the id of the last record that stands for it. Corrections that replace each other in a circle
        stand for themselves.
    """
    every = tuple(records)
    follower = {r.replaces: r.id for r in every if r.replaces is not None}
    out = {}
    for record in every:
        at, seen = record.id, {record.id}
        while at in follower and follower[at] not in seen:
            at = follower[at]
            seen.add(at)
        out[record.id] = at
    return out


def load_masses(loads: Sequence[Load], weighings: Sequence[Weighing]) -> tuple[tuple[LoadMass, ...], tuple[str, ...]]:
    """Join weighings to loads by the load's id; a load weighed more than once gets the mean.

    Parameters
    ----------
    loads, weighings : sequence
        All records, corrections included.

    Returns
    -------
    tuple of LoadMass, tuple of str
        One entry a load that counts [kg], and notes on weighings that name no load.
    """
    stands_for = latest_ids(loads)
    net: dict[str, list[float]] = defaultdict(list)
    notes = []
    for weighing in current(weighings):
        if weighing.load in stands_for:
            net[stands_for[weighing.load]].append(weighing.net_kg)
        else:
            notes.append(f"weighing {weighing.id} names load {weighing.load}, which is not recorded; it was left out")
    return tuple(_mass_of(load, tuple(net[load.id])) for load in current(loads)), tuple(notes)


def _mass_of(load: Load, readings: tuple[float, ...]) -> LoadMass:
    return LoadMass(load, sum(readings) / len(readings) if readings else None, readings)


def scale_repeatability_kg(masses: Iterable[LoadMass]) -> float | None:
    """Say how far repeated weighings of one load scatter: standard deviation of a single net weighing [kg].

    Pooled over all loads weighed more than once; None where no load was.

    Source: pooled within-group standard deviation, any statistics text.
    """
    groups = [m.readings_kg for m in masses if len(m.readings_kg) > 1]
    return pooled_sd(groups)


def pooled_sd(groups: Sequence[Sequence[float]]) -> float | None:
    """Pool the standard deviation within groups of repeats [unit of the values]; None without repeats.

    Source: pooled within-group standard deviation, sum of squares over sum of (n - 1).

    Examples
    --------
    >>> pooled_sd([(1.0, 3.0), (10.0,)])
    1.4142135623730951
    """
    df = sum(len(g) - 1 for g in groups)
    if df == 0:
        return None
    squares = sum((x - sum(g) / len(g)) ** 2 for g in groups for x in g)
    return math.sqrt(squares / df)


def strip_masses(strips: Iterable[int], masses: Sequence[LoadMass]) -> Mapping[int, StripMass]:
    """Sum the loads of each strip [t].

    A load that holds several strips cannot be split, so those strips stay missing; so does a strip with a load
    that was never weighed. Nothing is filled in.

    Parameters
    ----------
    strips : iterable of int
        Strip numbers.
    masses : sequence of LoadMass
        Loads with their net mass [kg].
    """
    return {s: _strip_mass(s, [m for m in masses if s in m.load.strips]) for s in strips}


def _strip_mass(strip: int, masses: Sequence[LoadMass]) -> StripMass:
    if not masses:
        return StripMass(None, (f"no load of strip {strip} is recorded",))
    notes = [m.note for m in masses if m.note]
    for m in masses:
        if len(m.load.strips) > 1:
            names = strip_names(m.load.strips)
            notes.append(f"load {m.load.id} holds strips {names} together and cannot be split between them")
    unknown = any(m.net_kg is None or len(m.load.strips) > 1 for m in masses)
    total = None if unknown else math.fsum(m.net_kg for m in masses if m.net_kg is not None) / 1000.0
    return StripMass(total, tuple(notes))
