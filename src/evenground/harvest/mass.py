"""From trailers and weighbridge slips to the fresh mass of each strip, and the errors strips have in common."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from evenground.basis.harvest_records import Load, Scale
from evenground.basis.thousands import grouped
from evenground.harvest.joining import Joined
from evenground.harvest.names import load_name, strip_names
from evenground.harvest.slips import Slip

# How far a measured split of a load may be off where nobody said. Judgement, no source.
SPLIT_SD_FRACTION = 0.05
# How far a scale may be off in proportion, by its kind, where no check against a known mass is recorded. It matters
# only where strips went over different scales. Common practice, no source.
SCALE_SD_FRACTION = {"weighbridge": 0.002, "pads": 0.01, "mixer_wagon": 0.01, "other": 0.02}


@dataclass(frozen=True)
class LoadMass:
    """What was on a trailer at one time and what the scale said about it.

    Attributes
    ----------
    loads : tuple of Load
        One load, or several taken up before the trailer was weighed.
    net_kg : float or None
        Fresh mass, the mean where it was weighed more than once [kg]; None where it is not known.
    readings_kg : tuple of float
        Every net reading [kg].
    errors : mapping of str to float
        Errors in common with other loads: what one standard deviation does to this mass [kg].
    faults : tuple of str
        Why the mass is not known, in plain words.
    """

    loads: tuple[Load, ...]
    net_kg: float | None
    readings_kg: tuple[float, ...]
    errors: Mapping[str, float] = field(default_factory=dict)
    faults: tuple[str, ...] = ()

    @property
    def strips(self) -> tuple[int, ...]:
        """Strips it came from."""
        return tuple(sorted({s for load in self.loads for s in load.strips}))

    @property
    def counts(self) -> bool:
        """Whether it was cut for the comparison; headlands and opening cuts are weighed but do not count."""
        return any(load.part == "cut" for load in self.loads)

    @property
    def split(self) -> tuple[int, float, float] | None:
        """Strip named first, its measured share and how far that may be off [1]; None without a measured split."""
        if len(self.loads) != 1 or self.loads[0].split_fraction is None:
            return None
        load = self.loads[0]
        assert load.split_fraction is not None  # asked above
        return load.strips[0], load.split_fraction, load.split_sd_fraction or SPLIT_SD_FRACTION

    @property
    def name(self) -> str:
        """How it is called."""
        return " and ".join(load_name(load) for load in self.loads)

    @property
    def note(self) -> str:
        """What a reader must know about its weighing, in plain words; "" if nothing."""
        if not self.readings_kg:
            return "" if self.faults else f"{self.name} has no weighing"
        if len(self.readings_kg) == 1:
            return ""
        low, high = min(self.readings_kg), max(self.readings_kg)
        times = "twice" if len(self.readings_kg) == 2 else f"{len(self.readings_kg)} times"
        return (
            f"{self.name} was weighed {times}, {grouped(low)} and {grouped(high)} kg net; "
            f"the mean counts, they lie {grouped(high - low)} kg apart"
        )


@dataclass(frozen=True)
class StripMass:
    """Fresh mass of one strip.

    Attributes
    ----------
    fresh_t : float or None
        Sum of its loads [t]; None where any part of it is unknown. For strips weighed together it is their sum.
    notes : tuple of str
        In plain words.
    weighed_with : tuple of int
        Other strips in the same sum: same method, same block, one trailer.
    errors : mapping of str to float
        Errors in common with other strips: what one standard deviation does to the sum [t].
    has_load : bool
        Whether a load of it is recorded, weighed or not.
    estimated_sd_fraction : float
        Where it never saw a scale: how far the estimate may be off by itself [1]; else 0.
    """

    fresh_t: float | None
    notes: tuple[str, ...]
    weighed_with: tuple[int, ...] = ()
    errors: Mapping[str, float] = field(default_factory=dict)
    has_load: bool = False
    estimated_sd_fraction: float = 0.0


def load_masses(joined: Joined, scales: Sequence[Scale] = ()) -> tuple[LoadMass, ...]:
    """Say what each load weighed; a load weighed more than once gets the mean.

    Parameters
    ----------
    joined : Joined
        Loads and slips.
    scales : sequence of Scale
        What is known of the scales.

    Returns
    -------
    tuple of LoadMass
        Every load that counts once, alone or with those that were on the trailer with it [kg].
    """
    slips: dict[tuple[str, ...], list[Slip]] = defaultdict(list)
    by_id = {load.id: load for load in joined.loads}
    for link in joined.links:
        slips[tuple(load.id for load in link.loads)].append(link.slip)
    alone = [(load.id,) for load in joined.loads if not any(load.id in ids for ids in slips)]
    used = {s.weighing.scale for many in slips.values() for s in many}
    off = {s: scale_sd_fraction(s, scales) for s in used} if len(used) > 1 else {}
    groups = sorted([*slips, *alone], key=lambda ids: [x.id for x in joined.loads].index(ids[0]))
    return tuple(
        _mass_of(
            tuple(by_id[i] for i in ids), slips.get(ids, []), [t for i in ids for t in joined.doubts.get(i, ())], off
        )
        for ids in groups
    )


def scale_sd_fraction(scale: str, scales: Sequence[Scale]) -> float:
    """Say how far a scale may be off in proportion [1]: what its checks say, else what its kind is held to.

    Parameters
    ----------
    scale : str
        Name of the scale.
    scales : sequence of Scale
        Records of scales.
    """
    mine = [s for s in scales if s.scale.casefold() == scale.casefold()]
    checks = [s.reading_kg / s.known_kg - 1.0 for s in mine if s.reading_kg is not None and s.known_kg is not None]
    if checks:
        return math.sqrt(sum(c * c for c in checks) / len(checks))
    return SCALE_SD_FRACTION[mine[-1].way if mine else "weighbridge"]


def _mass_of(
    loads: tuple[Load, ...], slips: Sequence[Slip], doubts: Sequence[str], off: Mapping[str, float]
) -> LoadMass:
    mixed = len({load.part == "cut" for load in loads}) > 1
    parts = ["weighed cut and headland or opening cut were on one trailer"] if mixed else []
    faults = tuple(dict.fromkeys([*parts, *doubts, *(s.fault for s in slips if s.fault)]))
    readings = tuple(s.net_kg for s in slips if s.net_kg is not None)
    if faults or not readings:
        return LoadMass(loads, None, readings, {}, faults)
    errors: dict[str, float] = defaultdict(float)
    for slip in slips:
        for name, kg in slip.errors.items():
            errors[name] += kg / len(readings)
        scale = slip.weighing.scale
        if off.get(scale):
            errors[f"scale {scale or '(no name)'}"] += off[scale] * (slip.net_kg or 0.0) / len(readings)
    return LoadMass(loads, sum(readings) / len(readings), readings, dict(errors))


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


def strip_masses(
    strips: Iterable[int],
    masses: Sequence[LoadMass],
    doubts: Mapping[int, Sequence[str]],
    alike: Callable[[tuple[int, ...]], bool],
) -> Mapping[int, StripMass]:
    """Sum the loads of each strip [t].

    A trailer with parts of several strips is one weighed unit where they are alike; else it can be divided only by a
    measured split, and without one its strips stay missing. So does a strip with a load that was never weighed, or
    that a slip without a load may belong to. Nothing is filled in.

    Parameters
    ----------
    strips : iterable of int
        Strip numbers.
    masses : sequence of LoadMass
        Loads with their net mass [kg].
    doubts : mapping of int to sequence of str
        Strip to what keeps its mass open.
    alike : callable
        Whether strips are of one method and one block.
    """
    counting = [m for m in masses if m.counts]
    units = _units([m.strips for m in counting if len(m.strips) > 1 and m.split is None])
    return {s: _unit_mass(s, units.get(s, (s,)), counting, doubts, alike) for s in strips}


def _units(together: Iterable[tuple[int, ...]]) -> dict[int, tuple[int, ...]]:
    """Gather strips that share a trailer, directly or through others."""
    unit_of: dict[int, set[int]] = {}
    for strips in together:
        merged = set(strips).union(*(unit_of.get(s, set()) for s in strips))
        for s in merged:
            unit_of[s] = merged
    return {s: tuple(sorted(unit)) for s, unit in unit_of.items()}


def _unit_mass(
    strip: int,
    unit: tuple[int, ...],
    masses: Sequence[LoadMass],
    doubts: Mapping[int, Sequence[str]],
    alike: Callable[[tuple[int, ...]], bool],
) -> StripMass:
    """Sum the loads of a strip, or of the strips it was weighed together with."""
    mine = [m for m in masses if set(m.strips) & set(unit)]
    own = [m for m in mine if strip in m.strips]
    if not own:
        return StripMass(None, (f"no load of strip {strip} is recorded", *doubts.get(strip, ())))
    notes = [text for m in own for text in ((m.note,) if m.note else ()) + m.faults]
    mixed = len(unit) > 1 and not alike(unit)
    if mixed:
        notes += [
            f"{m.name} {'holds' if len(m.loads) == 1 else 'hold'} strips {strip_names(m.strips)} together and cannot "
            "be split between them"
            for m in own
            if len(m.strips) > 1 and m.split is None
        ]
    open_ = [text for s in unit for text in doubts.get(s, ())]
    notes += open_
    if mixed or open_ or any(m.net_kg is None for m in mine):
        return StripMass(None, tuple(dict.fromkeys(notes)), has_load=True)
    if len(unit) > 1:
        notes.append(f"strips {strip_names(unit)} were weighed together and count as one")
    parts = [(m, _share(m, unit)) for m in mine]
    total = math.fsum((m.net_kg or 0.0) * share for m, share in parts) / 1000.0
    others = tuple(s for s in unit if s != strip)
    return StripMass(total, tuple(dict.fromkeys(notes)), others, _errors(parts, unit), has_load=True)


def _share(mass: LoadMass, unit: tuple[int, ...]) -> float:
    """Say what share of a load belongs to a strip or unit [1]."""
    if mass.split is None:
        return 1.0
    first, share, _ = mass.split
    return share * (first in unit) + (1.0 - share) * (({*mass.strips} - {first}).pop() in unit)


def _errors(parts: Iterable[tuple[LoadMass, float]], unit: tuple[int, ...]) -> dict[str, float]:
    """Add up the errors a strip has in common with others [t]; what a split gives one strip it takes from the other."""
    out: dict[str, float] = defaultdict(float)
    for mass, share in parts:
        for name, kg in mass.errors.items():
            out[name] += kg * share / 1000.0
        if mass.split is not None and 0.0 < share < 1.0:
            first, _, sd = mass.split
            out[f"the split of {mass.name}"] += (1.0 if first in unit else -1.0) * sd * (mass.net_kg or 0.0) / 1000.0
    return dict(out)
