"""What the harvest page shows while the day goes on: strips, what is missing, slips joined to loads and why."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from evenground.basis.harvest_records import OTHER_LOAD, Load, Weighing
from evenground.basis.observations import current
from evenground.harvest.harvested import StripHarvest
from evenground.harvest.joining import Joined
from evenground.harvest.samples_wanted import samples_wanted
from evenground.harvest.slips import Slip
from evenground.harvest.strips import Harvest, harvest
from evenground.report.wording import NONE, STATES, first_capital, listing, sentence
from evenground.web.numbers import as_percent, number
from evenground.web.trial_view import Opened


@dataclass(frozen=True)
class LiveStrip:
    """One strip as the day stands.

    Attributes
    ----------
    strip, block : int
        Which.
    method : str
        As sown.
    cells : tuple of str
        Fresh mass, dry matter and outcome as they are shown.
    state : str
        One word.
    missing : tuple of str
        What it still needs, in plain words.
    notes : tuple of str
        What else to know.
    """

    strip: int
    block: int
    method: str
    cells: tuple[str, str, str]
    state: str
    missing: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class LiveJoin:
    """One slip and what it was joined to."""

    weighing: Weighing
    loads: str
    strips: str
    net_kg: str
    how: str
    doubt: str


@dataclass(frozen=True)
class Live:
    """The harvest as the day stands.

    Attributes
    ----------
    version : str
        Changes when a record comes.
    strips : tuple of LiveStrip
        Every strip.
    done : int
        Strips whose outcome is known [1].
    to_do : tuple of str
        What is missing or open, the most pressing first.
    joins : tuple of LiveJoin
        Slips with their loads.
    orphans : tuple of LiveJoin
        Slips no load was found for.
    said : tuple of str
        What else was noticed.
    unit : str
        Unit of the outcome.
    """

    version: str
    strips: tuple[LiveStrip, ...]
    done: int
    to_do: tuple[str, ...]
    joins: tuple[LiveJoin, ...]
    orphans: tuple[LiveJoin, ...]
    said: tuple[str, ...]
    unit: str

    @property
    def in_doubt(self) -> list[LiveJoin]:
        """Slips without a load, and joins that something speaks against."""
        return [*self.orphans, *(j for j in self.joins if j.doubt)]

    @property
    def sure(self) -> list[LiveJoin]:
        """Joins nothing speaks against."""
        return [j for j in self.joins if not j.doubt]


def live(opened: Opened) -> Live:
    """Return the harvest as it stands now."""
    stored = opened.stored
    found = harvest(stored.plan, opened.draw, stored.records)
    sampled = {n for s in current(stored.records.samples) for n in s.strips}
    loaded = {n for x in current(stored.records.loads) if x.part == "cut" for n in x.strips}
    strips = tuple(_live_strip(s, s.strip in loaded, s.strip in sampled) for s in found.strips)
    joined = found.joined
    orphans = tuple(_orphan(s, joined) for s in joined.without_load) if joined is not None else ()
    return Live(
        version=stored.records_hash[:16],
        strips=strips,
        done=sum(s.outcome is not None for s in found.strips),
        to_do=tuple(_to_do(found, strips)),
        joins=tuple(_joins(joined)) if joined is not None else (),
        orphans=orphans,
        said=(*(sentence(n) for n in found.notes), *samples_wanted(stored.plan, stored.records).sentences),
        unit=found.unit,
    )


def _live_strip(one: StripHarvest, loaded: bool, sampled: bool) -> LiveStrip:
    gone = one.state in ("lost", "not_sown", "other_product")
    missing = []
    if not gone and one.fresh_t is None:
        missing.append(_("no weight that counts") if loaded else _("no load yet"))
    if not gone and one.dry_matter_fraction is None and not sampled:
        missing.append(_("no sample"))
    return LiveStrip(
        strip=one.strip,
        block=one.block,
        method=one.method,
        cells=(number(one.fresh_t, 2), as_percent(one.dry_matter_fraction, 1), number(one.outcome, 2)),
        state=str(STATES.get(one.state, one.state)),
        missing=tuple(missing),
        notes=tuple(sentence(n) for n in one.notes),
    )


def _to_do(found: Harvest, strips: tuple[LiveStrip, ...]) -> list[str]:
    """List what is open: slips without a load, loads without a slip, strips without load or sample."""
    out = []
    joined = found.joined
    for slip in joined.without_load if joined is not None else ():
        out.append(_slip_words(slip))
    waiting = [load for load in _without_slip(joined) if load.part == "cut"] if joined is not None else []
    out += [_load_words(load) for load in waiting]
    out += [
        ngettext("Strip %(strips)s: %(what)s.", "Strips %(strips)s: %(what)s.", len(numbers))
        % {"strips": listing([str(n) for n in numbers]), "what": what}
        for what, numbers in _by_missing(strips).items()
    ]
    return out


def _by_missing(strips: tuple[LiveStrip, ...]) -> dict[str, list[int]]:
    out: dict[str, list[int]] = {}
    for strip in strips:
        for what in strip.missing:
            out.setdefault(what, []).append(strip.strip)
    return out


def _slip_words(slip: Slip) -> str:
    name = _("Slip %s") % slip.weighing.slip if slip.weighing.slip else _("A slip")
    text = _("%(slip)s of %(time)s has no load") % {"slip": name, "time": f"{slip.time:%H:%M}"}
    return text + (_(" (trailer %s?).") % slip.weighing.trailer if slip.weighing.trailer else ".")


def _load_words(load: Load) -> str:
    strips = "+".join(str(n) for n in load.strips)
    trailer = _(", trailer %s") % load.trailer if load.trailer else ""
    return _("The load of strip %(strips)s at %(time)s%(trailer)s has no weight yet.") % {
        "strips": strips,
        "time": f"{load.time:%H:%M}",
        "trailer": trailer,
    }


def _without_slip(joined: Joined) -> list[Load]:
    there = {load.id for link in joined.links for load in link.loads}
    return [load for load in joined.loads if load.id not in there]


def _joins(joined: Joined) -> list[LiveJoin]:
    return [
        LiveJoin(
            weighing=link.slip.weighing,
            loads=", ".join(f"{load.time:%H:%M} {load.trailer}".strip() for load in link.loads),
            strips="+".join(str(n) for load in link.loads for n in load.strips),
            net_kg=number(link.slip.net_kg),
            how=first_capital(link.how),
            doubt="; ".join(
                [*(t for load in link.loads for t in joined.doubts.get(load.id, ())), link.slip.fault or ""]
            ).strip("; "),
        )
        for link in joined.links
    ]


def _orphan(slip: Slip, joined: Joined | None) -> LiveJoin:
    maybe = joined.may_be_of.get(slip.weighing.id, ()) if joined else ()
    strips = _("perhaps %s") % listing([str(n) for n in maybe]) if maybe else NONE
    return LiveJoin(slip.weighing, NONE, strips, number(slip.net_kg), "", slip.fault)


@dataclass(frozen=True)
class Choice:
    """One load a slip may belong to."""

    id: str
    words: str
    chosen: bool


def join_choices(opened: Opened, weighing: Weighing) -> list[Choice]:
    """Return the loads a slip may belong to, nearest in time first, and that it is of something else."""
    found = harvest(opened.stored.plan, opened.draw, opened.stored.records)
    joined = found.joined
    if joined is None:
        return []
    mine = {load.id for link in joined.links if link.slip.weighing.id == weighing.id for load in link.loads}
    mine |= {weighing.load} if weighing.load else set()
    near = sorted(joined.loads, key=lambda load: abs(weighing.time - load.time))
    choices = [
        Choice(
            load.id,
            _("Strip %(strips)s, %(time)s, trailer %(trailer)s")
            % {
                "strips": "+".join(str(n) for n in load.strips),
                "time": f"{load.time:%d.%m. %H:%M}",
                "trailer": load.trailer or NONE,
            },
            load.id in mine,
        )
        for load in near
    ]
    return [*choices, Choice(OTHER_LOAD, _("Not of this trial: another field, straw"), weighing.load == OTHER_LOAD)]


def trailers(opened: Opened) -> list[str]:
    """Return the trailers named so far, for entering them alike."""
    records = opened.stored.records
    named = [load.trailer for load in records.loads] + [w.trailer for w in records.weighings]
    return sorted({name for name in named if name})


def weighing_of(opened: Opened, weighing_id: str) -> Weighing | None:
    """Return a weighing that counts, or None."""
    return next((w for w in current(opened.stored.records.weighings) if w.id == weighing_id), None)
