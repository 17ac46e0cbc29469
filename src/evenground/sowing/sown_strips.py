"""How every strip was really sown: the entries made on the day, joints measured, and what a planter's log adds."""

from __future__ import annotations

import re
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from evenground.basis.harvest_records import CutArea
from evenground.basis.observations import AS_DRIVEN, Event, MeasuredJoint, Observation, Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, Strip
from evenground.sowing.as_sown import PlanterLog, StripSown
from evenground.sowing.joints import Joint, joints_of_cut, joints_of_strip

_SHARE_ONLY = re.compile(r"\d+ % of it sown")
KM_PER_H = 3.6
"""Kilometres an hour in a metre a second."""
LOG_READER = "planter's log"
"""Stands as ``who`` in entries that were read from a log; beside them, entries by hand give only method and lot."""


@dataclass(frozen=True)
class SownStrip:
    """One strip as sown.

    Attributes
    ----------
    strip, block : int
        Which.
    drawn, sown : str
        Letter drawn, and letter that counts: the later entry's, or the drawn one where there is none.
    entries : int
        Entries ``sown`` [1]; 0 where nobody wrote anything.
    letters : tuple of str
        Letters in the entries, in order of time, each once.
    not_sown : bool
        Whether an entry says that it was not sown.
    first, last : datetime or None
        Time of the first and the last entry.
    speed_km_per_h, speed_sd_km_per_h : float or None
        Mean speed, and its SD: between entries, or within the strip where a log tells [km/h].
    stops : int or None
        Times the planter stood [1].
    rows_off : int or None
        Most row units off at one time [1].
    rows_off_m, lifted_m, overlap_m2, sown_fraction : float or None
        Metres of single row left out, metres driven lifted [m], ground sown twice [m2], share sown [1]; of several
        entries the sum.
    seeds_per_m2 : float or None
        Seeds dropped as the planter counted them [1/m2].
    seed_lots : tuple of str
        Lots in the entries, each once.
    joints : Joint or None
        Joints measured after sowing or in the weighed cut.
    notes : tuple of str
        What is odd, in plain words.
    """

    strip: int
    block: int
    drawn: str
    sown: str
    entries: int
    letters: tuple[str, ...] = ()
    not_sown: bool = False
    first: datetime | None = None
    last: datetime | None = None
    speed_km_per_h: float | None = None
    speed_sd_km_per_h: float | None = None
    stops: int | None = None
    rows_off: int | None = None
    rows_off_m: float | None = None
    lifted_m: float | None = None
    overlap_m2: float | None = None
    sown_fraction: float | None = None
    seeds_per_m2: float | None = None
    seed_lots: tuple[str, ...] = ()
    joints: Joint | None = None
    notes: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return plain data."""
        times = {n: None if t is None else t.isoformat() for n, t in (("first", self.first), ("last", self.last))}
        lists = {n: list(getattr(self, n)) for n in ("letters", "seed_lots", "notes")}
        return {**asdict(self), **times, **lists}


def sown_strips(plan: Plan, draw: Draw, records: Records) -> tuple[SownStrip, ...]:
    """Gather for every drawn strip what was written down while it was sown.

    Parameters
    ----------
    plan : Plan
        Gives the row spacing each method was ordered with.
    draw : Draw
        The strips.
    records : Records
        Events, measured cuts and joints, corrections included.

    Returns
    -------
    tuple of SownStrip
        Every drawn strip, by number. Of several entries the speeds are averaged, stops added, and the most rows off
        kept; the method is the later one's, as everywhere.
    """
    events = sorted(current(records.events), key=_clock)
    spacing = {m.letter: m.row_pattern.row_spacing_m for m in plan.methods}
    cuts = sorted(current(records.cut_areas), key=_clock)
    measured = current(records.joints)
    out = []
    for strip in sorted(draw.strips, key=lambda s: s.strip):
        one = _entered(strip, [e for e in events if strip.strip in e.strips])
        mine = [c for c in cuts if strip.strip in c.strips]
        out.append(replace(one, joints=_joints(mine, _inside(strip.strip, measured), spacing[one.sown])))
    letters = {one.strip: one.sown for one in out}
    between = _between(measured, {strip: spacing[letter] for strip, letter in letters.items()})
    return tuple(replace(one, notes=(*one.notes, *between.get(one.strip, ()))) for one in out)


def _clock(record: Observation) -> datetime:
    """Return the time on the farm's clock; a zone written with it is left aside, as all records are local."""
    return record.time.replace(tzinfo=None)


def _entered(strip: Strip, events: Sequence[Event]) -> SownStrip:
    sown = [e for e in events if e.event == "sown"]
    told = [e for e in sown if e.who == LOG_READER] or sown
    speeds = [e.speed_km_per_h for e in told if e.speed_km_per_h is not None]
    stops = [e.stops for e in told if e.stops is not None]
    rows_off = [e.rows_off for e in told if e.rows_off is not None]
    letters = [e.method for e in sown if e.method is not None]
    not_sown = any(e.event == "not_sown" for e in events)
    one = SownStrip(
        strip=strip.strip,
        block=strip.block,
        drawn=strip.method,
        sown=letters[-1] if letters else strip.method,
        entries=len(sown),
        letters=tuple(dict.fromkeys(letters)),
        not_sown=not_sown,
        first=sown[0].time if sown else None,
        last=sown[-1].time if sown else None,
        speed_km_per_h=statistics.fmean(speeds) if speeds else None,
        speed_sd_km_per_h=statistics.stdev(speeds) if len(speeds) > 1 else None,
        stops=sum(stops) if stops else None,
        rows_off=max(rows_off, default=None),
        seed_lots=tuple(dict.fromkeys(e.seed_lot for e in sown if e.seed_lot)),
        **_driven(told),
    )
    return replace(one, notes=(*_odd(one), *_from_log(strip.strip, events)))


def _driven(told: Iterable[Event]) -> dict[str, Any]:
    """Return what a log kept in its entries: lengths and areas added up, seeds/m2 as their mean."""
    told = list(told)
    out: dict[str, Any] = {}
    for name in AS_DRIVEN:
        values = [value for e in told if (value := getattr(e, name)) is not None]
        if values:
            out[name] = statistics.fmean(values) if name == "seeds_per_m2" else sum(values)
    if "sown_fraction" in out:
        out["sown_fraction"] = min(1.0, out["sown_fraction"])
    return out


def _odd(one: SownStrip) -> Iterable[str]:
    if one.not_sown and one.entries:
        yield f"strip {one.strip} has entries for sown and for not sown; it counts as not sown until one is corrected"
    if len(one.letters) > 1:
        yield (
            f"strip {one.strip} has entries for {' and '.join(one.letters)}; the later, {one.sown}, counts; if both "
            "stand in it, record it as lost (strip_lost)"
        )
    if len(one.seed_lots) > 1:
        yield f"strip {one.strip} was sown from lots {' and '.join(one.seed_lots)}"


def _from_log(strip: int, events: Iterable[Event]) -> Iterable[str]:
    """Repeat what entries from a log say in words, where it is more than the share sown."""
    for event in events:
        if event.who == LOG_READER and event.note and not _SHARE_ONLY.fullmatch(event.note):
            yield f"strip {strip}: {event.note}"


def _inside(strip: int, joints: Iterable[MeasuredJoint]) -> tuple[float, ...]:
    """Return the joints inside a strip from left to right, each the mean of its measurements [m]."""
    found: dict[int, list[float]] = {}
    for one in joints:
        if one.strips == (strip,):
            found.setdefault(one.joint, []).append(one.joint_m)
    return tuple(statistics.fmean(found[number]) for number in sorted(found))


def _joints(cuts: Sequence[CutArea], inside: Sequence[float], row_spacing_m: float) -> Joint | None:
    if cuts:
        return joints_of_cut(cuts[-1], row_spacing_m, inside)
    return joints_of_strip(inside, row_spacing_m) if inside else None


def _between(joints: Iterable[MeasuredJoint], spacing_m: Mapping[int, float]) -> dict[int, tuple[str, ...]]:
    """Say for the first strip of each pair how far its outer row stands from the next strip's."""
    found: dict[tuple[int, ...], list[float]] = {}
    for one in joints:
        if len(one.strips) == 2 and set(one.strips) <= spacing_m.keys():
            found.setdefault(tuple(sorted(one.strips)), []).append(one.joint_m)
    return {
        pair[0]: (
            f"joint between strips {pair[0]} and {pair[1]}: {100 * statistics.fmean(values):.0f} cm where "
            f"{50 * (spacing_m[pair[0]] + spacing_m[pair[1]]):g} cm was ordered",
        )
        for pair, values in found.items()
    }


def with_log(strips: Sequence[SownStrip], log: PlanterLog, found: Iterable[StripSown]) -> tuple[SownStrip, ...]:
    """Add what a log says; the method of a strip that has an entry stays the entry's.

    Parameters
    ----------
    strips : sequence of SownStrip
        From the records.
    log : PlanterLog
        The log.
    found : iterable of StripSown
        What `as_sown` found in it.

    Returns
    -------
    tuple of SownStrip
        By number; where log and entry name different methods a note says so.
    """
    by_strip = {f.strip: f for f in found}
    return tuple(_logged(s, log, by_strip[s.strip]) if s.strip in by_strip else s for s in strips)


def _logged(one: SownStrip, log: PlanterLog, found: StripSown) -> SownStrip:
    if found.state == "not in this log":
        return one
    if found.state == "partly other method":
        return replace(one, notes=(*one.notes, f"strip {one.strip}: {part_words(found)}"))
    notes = list(one.notes)
    if one.letters and one.sown != found.sown:
        notes.append(f"the entry for strip {one.strip} says {one.sown}, the log {found.sown}")
    if found.state == "partly":
        notes.append(f"strip {one.strip}: {part_words(found)}")
    at = begun(log, found)
    return replace(
        one,
        sown=one.sown if one.letters else found.sown,
        letters=one.letters or (found.sown,),
        first=one.first or at,
        last=one.last or at,
        speed_km_per_h=km_per_h(found.speed_m_per_s),
        speed_sd_km_per_h=km_per_h(found.speed_sd_m_per_s),
        stops=found.stops,
        rows_off=found.rows_off,
        rows_off_m=found.rows_off_m,
        lifted_m=found.lifted_m,
        overlap_m2=found.overlap_m2,
        sown_fraction=found.sown_fraction,
        seeds_per_m2=found.seeds_per_m2,
        notes=tuple(notes),
    )


def part_words(found: StripSown) -> str:
    """Say what share of a strip a planter sowed, where it was not all of it.

    Parameters
    ----------
    found : StripSown
        One strip in a planter's log.
    """
    share = f"{100 * found.sown_fraction:.0f} %"
    if found.drawn == found.sown:
        return f"only {share} of it was sown by {found.sown}'s planter"
    return f"{share} of it, drawn {found.drawn}, was sown by {found.sown}'s planter"


def km_per_h(speed_m_per_s: float | None) -> float | None:
    """Turn a speed into km/h; None stays None.

    Parameters
    ----------
    speed_m_per_s : float or None
        Speed [m/s].

    Source: 3600 s/h over 1000 m/km.
    """
    return None if speed_m_per_s is None else KM_PER_H * speed_m_per_s


def begun(log: PlanterLog, found: StripSown) -> datetime | None:
    """Say when a planter began to sow a strip, to the second, on the log's clock; None where it has no dates.

    Parameters
    ----------
    log : PlanterLog
        The log.
    found : StripSown
        One strip in it.
    """
    if log.start is None or found.seconds is None:
        return None
    at = log.start + timedelta(seconds=found.seconds - float(log.seconds[0]))
    return at.replace(microsecond=0, tzinfo=None)


def in_sentences(strips: Sequence[SownStrip]) -> tuple[str, ...]:
    """Say which strips were sown otherwise than drawn, what that means, which have no entry, and what is odd.

    Parameters
    ----------
    strips : sequence of SownStrip
        All strips of a trial.

    Returns
    -------
    tuple of str
        Sentences without a full stop.

    Examples
    --------
    >>> in_sentences([SownStrip(7, 4, "B", "A", 1, ("A",))])[0]
    'strip 7 was drawn B and sown A: it counts as A; its block (4) leaves the randomisation test'
    """
    several = len({s.drawn for s in strips}) > 2
    out = []
    for one in strips:
        if one.not_sown:
            out.append(
                f"strip {one.strip}, drawn {one.drawn}, was not sown; its block ({one.block}) {_leaves(one, several)}"
            )
        elif one.sown != one.drawn:
            out.append(
                f"strip {one.strip} was drawn {one.drawn} and sown {one.sown}: it counts as {one.sown}; "
                f"its block ({one.block}) {_leaves(one, several)}"
            )
    out += dict.fromkeys(note for one in strips for note in one.notes)
    out += _lots_apart(strips)
    silent = [str(s.strip) for s in strips if not s.letters and not s.entries and not s.not_sown]
    if silent:
        word = "strip" if len(silent) == 1 else "strips"
        out.append(f"no entry for {word} {', '.join(silent)}: taken as sown as drawn")
    return (*out, *_joints_said(strips))


def _joints_said(strips: Sequence[SownStrip]) -> Iterable[str]:
    """Say what joints were measured; strips of which the same is to be said stand in one sentence."""
    alike: dict[str, list[str]] = {}
    for one in strips:
        if one.joints is not None:
            alike.setdefault(_joint_words(one.joints), []).append(str(one.strip))
    for words, numbers in alike.items():
        yield f"strip {numbers[0]}: {words}" if len(numbers) == 1 else f"strips {', '.join(numbers)}, each: {words}"


def _lots_apart(strips: Sequence[SownStrip]) -> Iterable[str]:
    """Name blocks whose methods were not sown from the same lots: then the block compares lots too."""
    for block in dict.fromkeys(s.block for s in strips):
        lots: dict[str, set[str]] = {}
        for one in strips:
            if one.block == block and one.seed_lots:
                lots.setdefault(one.sown, set()).update(one.seed_lots)
        if len({frozenset(of) for of in lots.values()}) > 1:
            said = ", ".join(f"{letter} from {' and '.join(sorted(of))}" for letter, of in sorted(lots.items()))
            yield f"block {block} compares seed lots as well as methods: {said}"


def _leaves(one: SownStrip, several: bool) -> str:
    if not several:
        return "leaves the randomisation test"
    letters = " or ".join(dict.fromkeys((one.drawn,) if one.not_sown else (one.drawn, one.sown)))
    return f"leaves the randomisation test of every comparison with {letters}"


def _joint_words(joint: Joint) -> str:
    many = "joint" if joint.measured == 1 else "joints"
    said = f"{joint.measured} {many} measured, mean {100 * joint.mean_m:.0f} cm where {100 * joint.planned_m:g} cm was"
    if joint.area_factor is None:
        return f"{said} ordered; the weighed area reckons with those at the rows that are cut"
    share = 100.0 * (joint.area_factor - 1.0)
    effect = (
        "as planned" if abs(share) < 0.05 else f"{abs(share):.1f} % {'larger' if share > 0 else 'smaller'} than planned"
    )
    return f"{said} ordered; the weighed area is {effect}"
