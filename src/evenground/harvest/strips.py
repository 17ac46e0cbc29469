"""What came off each strip: loads joined to weighings, samples to strips, and the result records of the harvest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import OfStrips, Records, current
from evenground.basis.plan import OutcomeSection, Plan
from evenground.basis.strip import Draw, Strip
from evenground.harvest.dry_matter import Figure, figures
from evenground.harvest.happened import StripFate, fate
from evenground.harvest.mass import StripMass, load_masses, scale_repeatability_kg, strip_masses, strip_names
from evenground.harvest.outcome import outcome_t_per_ha


@dataclass(frozen=True)
class StripHarvest:
    """One strip after harvest.

    Attributes
    ----------
    strip, block : int
        Which strip.
    method : str
        Method as it was really sown.
    drawn_method : str
        Method as drawn.
    cut_area_m2 : float
        Area of the weighed cut [m2].
    area_source : str
        "geometry" or "measured".
    fresh_t : float or None
        Fresh mass of the cut [t]; None if missing.
    dry_matter_fraction : float or None
        Dry matter per fresh matter used for it [kg/kg].
    outcome : float or None
        Outcome per hectare [t/ha of the outcome's unit]; None if the strip is missing.
    state : {"weighed", "missing", "lost", "not_sown"}
        What became of it.
    sample_ids : tuple of str
        Samples its dry matter rests on.
    shares_sample_with : tuple of int
        Other strips that use the same figure.
    notes : tuple of str
        In plain words.
    """

    strip: int
    block: int
    method: str
    drawn_method: str
    cut_area_m2: float
    area_source: str
    fresh_t: float | None
    dry_matter_fraction: float | None
    outcome: float | None
    state: str
    sample_ids: tuple[str, ...] = ()
    shares_sample_with: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``strips`` of ``harvest --json``."""
        return {
            "strip": self.strip,
            "block": self.block,
            "method": self.method,
            "drawn_method": self.drawn_method,
            "cut_area_m2": self.cut_area_m2,
            "area_source": self.area_source,
            "fresh_t": self.fresh_t,
            "dry_matter_fraction": self.dry_matter_fraction,
            "outcome": self.outcome,
            "state": self.state,
            "shares_sample_with": list(self.shares_sample_with),
            "notes": list(self.notes),
        }


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
    """

    strips: tuple[StripHarvest, ...]
    shared: tuple[SharedFigure, ...]
    unit: str
    notes: tuple[str, ...] = ()


def harvest(plan: Plan, draw: Draw, records: Records) -> Harvest:
    """Say what came off each strip; what is not known stays missing.

    Parameters
    ----------
    plan : Plan
        Names the outcome and the default sampling error.
    draw : Draw
        The strips.
    records : Records
        Loads, weighings, samples and events, corrections included.

    Returns
    -------
    Harvest

    Raises
    ------
    InputError
        If a record names a strip that was not laid out or a method the plan does not have.
    """
    _refuse_strangers(plan, draw, records)
    numbers = [s.strip for s in sorted(draw.strips, key=lambda s: s.strip)]
    loads, notes = load_masses(records.loads, records.weighings)
    masses = strip_masses(numbers, loads)
    dry = figures(numbers, records.samples, plan.outcome.sample_sd_points)
    strips = tuple(_strip(draw.strip(n), masses[n], dry, records, plan.outcome) for n in numbers)
    repeat = scale_repeatability_kg(loads)
    if repeat is not None:
        notes += (f"loads weighed more than once scatter by {repeat:,.0f} kg (standard deviation of one weighing)",)
    return Harvest(strips, _shared(strips, dry), plan.outcome.unit, notes)


def _strip(
    strip: Strip, mass: StripMass, dry: Sequence[Figure], records: Records, outcome: OutcomeSection
) -> StripHarvest:
    """Put one strip together from its mass, its dry-matter figure and what happened to it."""
    happened = fate(strip, records.events)
    figure = next((f for f in dry if strip.strip in f.serves), None)
    value = None
    if happened.state is None and mass.fresh_t is not None and figure is not None:
        value = outcome_t_per_ha(mass.fresh_t, figure.dry_matter_fraction, happened.cut_area_m2, outcome)
    return StripHarvest(
        strip=strip.strip,
        block=strip.block,
        method=happened.method,
        drawn_method=strip.method,
        cut_area_m2=happened.cut_area_m2,
        area_source=happened.area_source,
        fresh_t=mass.fresh_t,
        dry_matter_fraction=figure.dry_matter_fraction if figure else None,
        outcome=value,
        state=happened.state or ("missing" if value is None else "weighed"),
        sample_ids=figure.sample_ids if figure else (),
        shares_sample_with=tuple(s for s in figure.serves if s != strip.strip) if figure else (),
        notes=_notes(strip.strip, happened, mass, figure),
    )


def _notes(number: int, happened: StripFate, mass: StripMass, figure: Figure | None) -> tuple[str, ...]:
    """Gather what a reader must know about one strip; a lost strip needs no talk of loads and samples."""
    if happened.state is not None:
        extra = ("its loads were weighed but do not count",) if mass.fresh_t is not None else ()
        return happened.notes + extra
    notes = happened.notes + mass.notes
    if figure is None:
        return (*notes, f"no dry-matter sample names strip {number}")
    if len(figure.serves) > 1:
        others = strip_names([s for s in figure.serves if s != number])
        return (*notes, f"shares one dry-matter figure with strip {others}")
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
