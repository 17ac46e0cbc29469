"""What came off each strip: loads joined to weighings, samples to strips, and the result records of the harvest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import Damage, OfStrips, Records, current
from evenground.basis.outcome_plan import OutcomeSection
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, Strip
from evenground.basis.thousands import grouped
from evenground.harvest.area import Ground, ground
from evenground.harvest.care import blame_note, changes, cutting_height_notes, cutting_heights_cm, sample_notes
from evenground.harvest.changed_outcome import outcome_changes
from evenground.harvest.counted import PER_T_DRY, Counted, counted
from evenground.harvest.cut_plants import CutPlantFigure, cut_plants, ripeness, ripeness_note
from evenground.harvest.damaged_ground import located, outline_notes
from evenground.harvest.dry_matter import Figure, figures
from evenground.harvest.estimates import with_estimates
from evenground.harvest.feed_values import FeedValue, feed_notes, feed_values
from evenground.harvest.happened import StripFate, fate
from evenground.harvest.harvested import StripHarvest
from evenground.harvest.joining import Joined, join
from evenground.harvest.joints import place_of
from evenground.harvest.left_out import refused
from evenground.harvest.markers import marker_notes
from evenground.harvest.mass import LoadMass, StripMass, load_masses, scale_repeatability_kg, strip_masses
from evenground.harvest.names import strips_said
from evenground.harvest.other_product import as_harvested, asked_product, sampled_together, undecided
from evenground.harvest.outcome import outcome_t_per_ha
from evenground.harvest.together import CommonError, common_errors, cut_twice, plausible, united

__all__ = ["Harvest", "SharedFigure", "StripHarvest", "harvest"]

YIELD_COUNTS = Counted()


@dataclass(frozen=True)
class SharedFigure:
    """One dry-matter figure that serves several strips.

    Attributes
    ----------
    strips : tuple of int
        Strips it serves.
    dry_matter_fraction : float
        The figure [kg/kg].
    sd_fraction : float
        Its sampling standard deviation [kg/kg].
    sd_source : str
        "repeats" or "plan default".
    """

    strips: tuple[int, ...]
    dry_matter_fraction: float
    sd_fraction: float
    sd_source: str


@dataclass(frozen=True)
class Harvest:
    """All strips after harvest.

    Attributes
    ----------
    strips : tuple of StripHarvest
        Every drawn strip, weighed or not, by strip number.
    shared : tuple of SharedFigure
        Dry-matter figures that serve more than one strip.
    unit : str
        Unit of the outcome, in words.
    notes : tuple of str
        What concerns the whole harvest, in plain words.
    common : tuple of CommonError
        Errors of masses and areas that sit in more than one strip.
    joined : Joined or None
        How loads and slips were joined.
    feed : tuple of FeedValue
        What the laboratory found, by strip.
    damaged : tuple of int
        Strips with a damaged patch that the method cannot have caused.
    blamed : tuple of int
        Strips with one that it may have caused, or of which nobody said; they are never taken out.
    cut_plants : tuple of CutPlantFigure
        What plants cut by hand show, by strip.
    outcome_changes : tuple of str
        That the main outcome was changed after the draw, and how.
    unripe : str
        That the methods were not equally ripe before the harvest; empty where they were or nobody looked.
    counted : Counted
        Whose laboratory values the outcome rests on, where starch or energy is counted.
    """

    strips: tuple[StripHarvest, ...]
    shared: tuple[SharedFigure, ...]
    unit: str
    notes: tuple[str, ...] = ()
    common: tuple[CommonError, ...] = ()
    joined: Joined | None = None
    feed: tuple[FeedValue, ...] = ()
    damaged: tuple[int, ...] = ()
    counted: Counted = YIELD_COUNTS
    blamed: tuple[int, ...] = ()
    unripe: str = ""
    outcome_changes: tuple[str, ...] = ()
    cut_plants: tuple[CutPlantFigure, ...] = ()


def harvest(plan: Plan, draw: Draw, records: Records, unread: Sequence[int] = ()) -> Harvest:
    """Say what came off each strip; what is not known stays missing.

    Parameters
    ----------
    plan : Plan
        Names the outcome and the default sampling error.
    draw : Draw
        The strips.
    records : Records
        Loads, weighings, samples and events, corrections included.
    unread : sequence of int
        Strips of which a record could not be read; they stay missing.

    Returns
    -------
    Harvest

    Raises
    ------
    InputError
        If a record names a strip that was not laid out or a method the plan does not have.
    """
    _refuse_strangers(plan, draw, records)
    day = _Day.of(plan, draw, records)
    amount = plan.outcome.amount
    counting = cut_twice(united(day.strips(unread)), current(records.loads), amount)
    strips = asked_product(plausible(counting, amount))
    common = common_errors(
        strips,
        {n: m.errors for n, m in day.masses.items()},
        {n: g.errors for n, g in day.grounds.items()},
        {n: f.common for f in day.dry for n in f.serves},
    )
    return Harvest(
        strips,
        _shared(strips, day.dry),
        plan.outcome.unit,
        day.notes(),
        common,
        day.joined,
        day.feed,
        damaged=_struck(day.damage, by_method=False),
        counted=day.source,
        blamed=_struck(day.damage, by_method=True),
        unripe=day.unripe,
        outcome_changes=outcome_changes(plan, draw, records),
        cut_plants=cut_plants(records.cut_plants, day.first),
    )


@dataclass(frozen=True)
class _Day:
    """Everything the strips are put together from."""

    plan: Plan
    draw: Draw
    records: Records
    damage: tuple[Damage, ...]
    happened: Mapping[int, StripFate]
    grounds: Mapping[int, Ground]
    joined: Joined
    loads: tuple[LoadMass, ...]
    masses: Mapping[int, StripMass]
    dry: tuple[Figure, ...]
    feed: tuple[FeedValue, ...]
    source: Counted

    @classmethod
    def of(cls, plan: Plan, draw: Draw, records: Records) -> _Day:
        """Read the records of the day."""
        numbers = sorted(s.strip for s in draw.strips)
        damage = located(draw, records.damage)
        happened = {
            n: as_harvested(n, fate(draw.strip(n), records.events, damage), plan, records.events) for n in numbers
        }
        grounds = _grounds(plan, draw, happened, records)
        joined = join(records.loads, records.weighings)
        loads = load_masses(joined, current(records.scales))
        masses = with_estimates(
            strip_masses(numbers, loads, joined.strips_in_doubt, lambda unit: _alike(unit, draw, happened)),
            records.mass_estimates,
            {n: g.area_m2 for n, g in grounds.items()},
            {n: _spacing(plan, happened[n].method) for n in numbers},
        )
        dry = figures(numbers, records.samples, plan.outcome.sample_sd_points)
        feed = feed_values(records.lab_values, plan.outcome)
        source = counted(plan.outcome, feed)
        return cls(plan, draw, records, damage, happened, grounds, joined, loads, masses, dry, feed, source)

    @property
    def first(self) -> datetime | None:
        """When the first load was cut."""
        return min((load.time for load in current(self.records.loads)), default=None)

    @property
    def methods(self) -> dict[int, str]:
        """Strip to method as sown."""
        return {n: h.method for n, h in self.happened.items()}

    @property
    def unripe(self) -> str:
        """That the methods were not equally ripe."""
        return ripeness_note(ripeness(self.records.cut_plants, self.first), self.methods)

    def strips(self, unread: Sequence[int]) -> tuple[StripHarvest, ...]:
        """Put every strip together, those weighed together still each with its part."""
        records, outcome = self.records, self.plan.outcome
        barred = {
            **dict.fromkeys(unread, "a line that speaks of this strip could not be read"),
            **refused(self.draw, records.events, records.weighings, self.damage),
            **undecided(self.plan, self.draw, records),
            **sampled_together(self.happened, self.dry),
        }
        return tuple(
            _valued(
                _strip(self.draw.strip(n), mass, self.dry, self.happened[n], self.grounds, outcome, barred.get(n, "")),
                outcome,
                self.source,
            )
            for n, mass in self.masses.items()
        )

    def notes(self) -> tuple[str, ...]:
        """Gather what concerns the whole harvest."""
        records, repeat = self.records, scale_repeatability_kg(self.loads)
        scatter = "" if repeat is None else f"loads weighed more than once scatter by {grouped(repeat)} kg"
        return (
            *marker_notes(records.events),
            *self.joined.notes,
            *sample_notes(records.samples),
            *cutting_height_notes(cutting_heights_cm(records.stubble), self.methods),
            *feed_notes(self.feed),
            *((self.source.refused,) if self.source.refused else ()),
            *changes(records.events),
            *outcome_changes(self.plan, self.draw, records),
            *outline_notes(self.draw, records.damage),
            *blame_note(_struck(self.damage, by_method=True)),
            *((self.unripe,) if self.unripe else ()),
            *((f"{scatter} (standard deviation of one weighing)",) if scatter else ()),
        )


def _struck(damage: Iterable[Damage], *, by_method: bool) -> tuple[int, ...]:
    """List the strips with damage that the method may, or cannot, have caused."""
    return tuple(sorted({s for one in damage if (one.by_method != "no") == by_method for s in one.strips}))


def _grounds(plan: Plan, draw: Draw, happened: Mapping[int, StripFate], records: Records) -> dict[int, Ground]:
    """Return the ground every strip's mass came from."""
    rows = {m.id: m.rows for m in plan.machines}
    pass_rows = {m.letter: rows.get(m.machine, 1) for m in plan.methods}
    spacings = {n: _spacing(plan, h.method) for n, h in happened.items()}
    out = {}
    for n, seen in happened.items():
        strip = draw.strip(n)
        place = place_of(strip, draw, spacings, pass_rows[seen.method])
        records_of = (records.cut_areas, records.events, records.joints)
        out[n] = ground(strip, seen.method, spacings[n], *records_of, place)
    return out


def _spacing(plan: Plan, method: str) -> float:
    return next(m.row_pattern.row_spacing_m for m in plan.methods if m.letter == method)


def _alike(unit: tuple[int, ...], draw: Draw, happened: Mapping[int, StripFate]) -> bool:
    """Whether strips are of one method, as sown, and of one block, and none was lost."""
    return len({(draw.strip(n).block, happened[n].method, happened[n].state) for n in unit}) == 1


def _strip(
    strip: Strip,
    mass: StripMass,
    dry: Sequence[Figure],
    happened: StripFate,
    grounds: Mapping[int, Ground],
    outcome: OutcomeSection,
    barred: str,
) -> StripHarvest:
    """Put one strip together from its mass, its dry-matter figure and what happened to it."""
    figure = next((f for f in dry if strip.strip in f.serves), None)
    area = grounds[strip.strip].area_m2
    whole = area + sum(grounds[n].area_m2 for n in mass.weighed_with)
    fresh = None if mass.fresh_t is None else mass.fresh_t * (area / whole)
    value = None
    if happened.state is None and fresh is not None and figure is not None and not barred:
        value = outcome_t_per_ha(fresh, figure.dry_matter_fraction, area, outcome)
    notes = _notes(strip.strip, happened, mass, figure)
    return StripHarvest(
        strip=strip.strip,
        block=strip.block,
        method=happened.method,
        drawn_method=strip.method,
        cut_area_m2=area,
        area_source=grounds[strip.strip].source,
        fresh_t=fresh,
        dry_matter_fraction=figure.dry_matter_fraction if figure else None,
        outcome=value,
        yield_t_per_ha=value,
        state=happened.state or ("missing" if value is None else "weighed"),
        sample_ids=figure.sample_ids if figure else (),
        shares_sample_with=tuple(s for s in figure.serves if s != strip.strip) if figure else (),
        notes=(*notes, *grounds[strip.strip].notes, *((barred,) if barred else ())),
        weighed_with=mass.weighed_with,
        estimated_sd_fraction=mass.estimated_sd_fraction,
        product=happened.product,
    )


def _valued(strip: StripHarvest, outcome: OutcomeSection, source: Counted) -> StripHarvest:
    """Turn a strip's yield into the starch or energy in it, where that is counted; without a value it is missing."""
    if not source.quantity or strip.yield_t_per_ha is None:
        return strip
    content = source.content(strip.strip)
    if content is None:
        why = source.missing(strip.strip)
        return replace(strip, outcome=None, state="missing", notes=(*strip.notes, *((why,) if why else ())))
    dry_t_per_ha = strip.yield_t_per_ha * outcome.dry_share
    return replace(strip, outcome=dry_t_per_ha * content * PER_T_DRY[source.quantity], content=content)


def _notes(number: int, happened: StripFate, mass: StripMass, figure: Figure | None) -> tuple[str, ...]:
    """Gather what a reader must know about one strip; a lost strip needs no talk of loads and samples."""
    if happened.state is not None:
        extra = ("its loads were weighed but do not count",) if mass.fresh_t is not None else ()
        return happened.notes + extra
    # the same slip in two sentences, one of which only adds to the other, is said once
    said = (n for n in mass.notes if not any(o != n and o.startswith(n) for o in mass.notes))
    notes = (*happened.notes, *said)
    if figure is None:
        return (*notes, f"no dry-matter sample names strip {number}")
    if figure.note:
        notes = (*notes, figure.note)
    if len(figure.serves) > 1:
        others = strips_said([s for s in figure.serves if s != number])
        return (*notes, f"shares one dry-matter figure with {others}")
    return notes


def _shared(strips: Sequence[StripHarvest], dry: Sequence[Figure]) -> tuple[SharedFigure, ...]:
    """List the figures that more than one weighed strip rests on."""
    weighed = {s.strip for s in strips if s.outcome is not None}
    out = []
    for figure in dry:
        serves = tuple(s for s in figure.serves if s in weighed)
        if len(serves) > 1:
            out.append(SharedFigure(serves, figure.dry_matter_fraction, figure.sd_fraction, figure.sd_source))
    return tuple(out)


def _refuse_strangers(plan: Plan, draw: Draw, records: Records) -> None:
    """Raise with every record that names a strip or method that does not exist."""
    known = {s.strip for s in draw.strips}
    allowed = f"one of the strips {min(known)} to {max(known)}" if known else "no strip is laid out"
    kinds: Mapping[str, Sequence[OfStrips]] = {
        "loads": records.loads,
        "samples": records.samples,
        "events": records.events,
        "cut_areas": records.cut_areas,
        "joints": records.joints,
        "stubble": records.stubble,
        "lab_values": records.lab_values,
        "cut_plants": records.cut_plants,
        "damage": records.damage,
        "mass_estimates": records.mass_estimates,
    }
    faults: list[Problem] = []
    for kind, rows in kinds.items():
        for row in current(rows):
            strange = [s for s in row.strips if s not in known]
            if strange:
                text = f"record {row.id} names a strip that was not laid out."
                faults.append(
                    problem(text, file=f"records/{kind}.csv", field="strips", given=strange[0], allowed=allowed)
                )
    for event in current(records.events):
        if event.method is not None and event.method not in plan.letters:
            text = f"record {event.id} names a method the plan does not have."
            letters = "one of " + ", ".join(plan.letters)
            faults.append(problem(text, file="records/events.csv", field="method", given=event.method, allowed=letters))
    if faults:
        raise InputError(faults)
