"""Records made of typed weights; typing them again makes corrections, and nothing is overwritten."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TypeVar

from django.utils.translation import gettext as _

from evenground.basis.errors import InputError, problem
from evenground.basis.observations import Load, Observation, Records, Sample, Weighing, current
from evenground.basis.strip import Draw

NOT_TOLD = "time not told; typed in afterwards"
TYPED = "typed-"
"""Beginning of the ids of what was typed here."""
NOON, EVENING = time(12), time(18)

Kind = TypeVar("Kind", Load, Weighing, Sample)


@dataclass(frozen=True)
class Typed:
    """What was typed, strip by strip.

    Attributes
    ----------
    day : date
        Day of harvest.
    net_kg : sequence of float
        Net mass of each strip [kg].
    dry_matter_percent : sequence of float
        Dry matter of each strip [%].
    groups : sequence of tuple of int
        Strips that share a sample.
    """

    day: date
    net_kg: Sequence[float]
    dry_matter_percent: Sequence[float]
    groups: Sequence[tuple[int, ...]]


def typed_before(records: Records) -> tuple[dict[int, Load], dict[str, Weighing], dict[tuple[int, ...], Sample]]:
    """Return loads by strip, weighings by load and samples by strips, as far as they were typed here and count."""
    loads = {r.strips[0]: r for r in current(records.loads) if r.id.startswith(TYPED)}
    slips = {r.load or "": r for r in current(records.weighings) if r.id.startswith(TYPED)}
    samples = {r.strips: r for r in current(records.samples) if r.id.startswith(TYPED)}
    return loads, slips, samples


def shown_before(draw: Draw, records: Records) -> list[dict[str, str]]:
    """Return the lines as they would have to be typed for what counts now."""
    loads, slips, samples = typed_before(records)
    dry = {n: s.dry_matter_percent for strips, s in samples.items() for n in strips}
    lines = []
    for s in draw.strips:
        slip = slips.get(loads[s.strip].id) if s.strip in loads else None
        line = {"block": str(s.block), "method": s.method}
        line |= {"width_m": f"{s.cut_width_m:.10g}", "length_m": f"{s.cut_length_m:.10g}"}
        line["weight"] = "" if slip is None or slip.slip_net_kg is None else f"{slip.slip_net_kg:.10g}"
        percent = dry.get(s.strip)
        line["dry_matter_percent"] = "" if percent is None else f"{percent:.10g}"
        lines.append(line)
    return lines


def records_for(typed: Typed, before: Records, number: int) -> list[Observation]:
    """Return the records that have to be stored so that what was typed counts.

    Parameters
    ----------
    typed : Typed
        What was typed.
    before : Records
        What is on record; what was typed earlier and says something else is followed by a correction.
    number : int
        Which time something is typed in, for the ids.

    Raises
    ------
    InputError
        If strips or shared samples of earlier would have to vanish; a correction follows one record, no more.
    """
    loads, slips, samples = typed_before(before)
    _nothing_vanishes(typed, loads, samples)
    out: list[Observation] = []
    # One time for all: an order of weighing that nobody told would be looked at as if it were known.
    at = datetime.combine(typed.day, NOON)
    for i, mass in enumerate(typed.net_kg, start=1):
        key = f"{TYPED}{number}-{i:02d}"
        old = loads.get(i)
        load = _after(Load(id=f"{key}-load", time=at, strips=(i,), note=NOT_TOLD), old)
        slip = Weighing(id=f"{key}-slip", time=at, load=load.id, slip_net_kg=mass, note=NOT_TOLD)
        out += [load, _after(slip, slips.get(old.id) if old is not None else None)]
    at = datetime.combine(typed.day, EVENING)
    for n, strips in enumerate(typed.groups, start=1):
        percent = typed.dry_matter_percent[strips[0] - 1]
        sample = Sample(
            id=f"{TYPED}{number}-sample-{n}", time=at, strips=strips, dry_matter_percent=percent, note=NOT_TOLD
        )
        out.append(_after(sample, samples.get(strips)))
    stored = {r.id for every in (loads.values(), slips.values(), samples.values()) for r in every}
    return [r for r in out if r.id not in stored]


def _after(new: Kind, old: Kind | None) -> Kind:
    """Return what follows an earlier record: the earlier one where it says the same."""
    if old is None:
        return new
    same = new.model_copy(update={"id": old.id, "replaces": old.replaces}) == old
    return old if same else new.model_copy(update={"replaces": old.id})


def _nothing_vanishes(typed: Typed, loads: Mapping[int, Load], samples: Mapping[tuple[int, ...], Sample]) -> None:
    problems = []
    if loads and max(loads) > len(typed.net_kg):
        words = _("a strip that was stored can be corrected, not taken out; if it does not count, record it as lost.")
        problems.append(problem(words, row=max(loads)))
    if samples and set(samples) - set(typed.groups):
        words = _("which strips share a dry-matter figure was stored; correct the figures, not who shares them.")
        problems.append(problem(words, field=_("dry matter")))
    if problems:
        raise InputError(problems)


def groups_of(methods: Sequence[str], *, by_method: bool) -> list[tuple[int, ...]]:
    """Return the strips that share a sample: all of a method, or each its own."""
    if not by_method:
        return [(i,) for i in range(1, len(methods) + 1)]
    return list(_by_method(methods))


def _by_method(methods: Sequence[str]) -> Iterator[tuple[int, ...]]:
    for letter in dict.fromkeys(methods):
        yield tuple(i for i, m in enumerate(methods, start=1) if m == letter)
