"""Say what came off each strip: loads joined to weighings, samples joined to strips. What is missing stays missing.

Lines that are wrong are named and left out; everything else is computed, so that it can be asked while the day goes on.
--pack writes the papers of the day instead: order, trailer tags, weigh list, sampling card, stubble card, cautions.
"""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from statistics import fmean
from typing import TYPE_CHECKING, Annotated, Any

import typer

from evenground.cli.opened_trial import in_columns, number
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located
from evenground.harvest.joining import Joined
from evenground.harvest.samples_wanted import SamplesWanted, samples_wanted
from evenground.harvest.strips import Harvest, harvest

if TYPE_CHECKING:
    from evenground.adapters.sound_part import SoundPart

STATES = {
    "weighed": "weighed",
    "missing": "missing",
    "lost": "lost",
    "not_sown": "not sown",
    "other_product": "other product",
}


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    joins: Annotated[bool, typer.Option("--joins", help="Show which slip belongs to which load, and why.")] = False,
    pack: Annotated[Path | None, typer.Option("--pack", help="Write the papers of harvest day into this PDF.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    from evenground.adapters.sound_part import sound_part  # maps come with it

    part = sound_part(located(trial, name))
    if pack is not None:
        _write_pack(part, pack, as_json=as_json)
        return
    found = harvest(part.stored.plan, part.draw, part.stored.records, part.unread)
    wanted = samples_wanted(part.stored.plan, part.stored.records)
    for problem in part.problems:
        note(f"left out: {problem}")
    if as_json:
        print_json(as_data(found, wanted, [p.as_dict() for p in part.problems]))
    else:
        typer.echo(as_text(found, wanted, joins=joins))


def _write_pack(part: SoundPart, path: Path, *, as_json: bool) -> None:
    """Write the papers of the day and say where they are."""
    from evenground.adapters.harvest_pack import write_harvest_pack  # the setter is not loaded for a table

    stored = part.stored
    for problem in part.problems:
        note(f"left out: {problem}")
    if part.draw.plan_hash != stored.plan_hash:
        note("The plan was changed after the draw; strips are as drawn, everything else as the plan stands now.")
    write_harvest_pack(stored.plan, stored.field, part.draw, stored.records, path)
    if as_json:
        print_json({"files": [str(path)]})
    else:
        typer.echo(str(path))


def as_data(found: Harvest, wanted: SamplesWanted, problems: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the harvest with the keys of ``harvest --json``."""
    return {
        "unit": found.unit,
        "strips": [s.as_dict() for s in found.strips],
        "shared": [{**asdict(f), "strips": list(f.strips)} for f in found.shared],
        "common_errors": [asdict(e) for e in found.common],
        "joins": [] if found.joined is None else found.joined.as_data(),
        "samples_wanted": asdict(wanted),
        "cut_plants": [{**asdict(f), "by_strip": dict(f.by_strip)} for f in found.cut_plants],
        "damaged": list(found.damaged),
        "damaged_maybe_by_method": list(found.blamed),
        "notes": list(found.notes),
        "problems": problems,
    }


def as_text(found: Harvest, wanted: SamplesWanted, *, joins: bool = False) -> str:
    """Write the harvest as a table with its notes below."""
    header = ["strip", "block", "method", "fresh t", "dry matter %", found.unit, "state"]
    rows = [
        [
            str(s.strip),
            str(s.block),
            s.method,
            number(s.fresh_t, 2),
            number(None if s.dry_matter_fraction is None else 100 * s.dry_matter_fraction),
            number(s.outcome, 2),
            STATES[s.state],
        ]
        for s in found.strips
    ]
    notes = [_ended(f"Strip {s.strip}: {note}") for s in found.strips for note in s.notes]
    common = [f"Strips {', '.join(map(str, e.strips))} have in common: {e.label}." for e in found.common]
    whole = [_ended(f"{n[0].upper()}{n[1:]}") for n in found.notes]
    said = [*notes, *common, *_cut_plants(found), *whole, *wanted.sentences]
    shown = [_joins(found.joined)] if joins and found.joined is not None else []
    return "\n".join([in_columns(header, rows), *said, *shown])


def _cut_plants(found: Harvest) -> list[str]:
    """Write the mean of each method for what plants cut by hand show."""
    methods = {s.strip: s.method for s in found.strips}
    out = []
    for figure in found.cut_plants:
        by_method: dict[str, list[float]] = {}
        for strip, value in figure.by_strip.items():
            by_method.setdefault(methods[strip], []).append(value)
        unit = "" if figure.unit == "1" else f" {figure.unit}"
        means = ", ".join(f"{m} {fmean(v):.3g}{unit} ({len(v)} strips)" for m, v in sorted(by_method.items()))
        out.append(f"{figure.name[0].upper()}{figure.name[1:]}: {means}.")
    return out


def _ended(text: str) -> str:
    """End a sentence that has no end yet."""
    return text if text.endswith((".", "?")) else text + "."


def _joins(joined: Joined) -> str:
    """Write which slip was joined to which load, and how."""
    header = ["load", "strips", "slip", "net kg", "joined", "mass"]
    rows = [
        [
            ", ".join(load.id for load in link.loads),
            "+".join(str(s) for load in link.loads for s in load.strips),
            link.slip.weighing.slip or link.slip.weighing.id,
            number(link.slip.net_kg, 0),
            link.how,
            link.slip.fault or link.slip.how,
        ]
        for link in joined.links
    ]
    correct = (
        "To correct a join: add a weighing that replaces the old one and names the load; 'other' for another field."
    )
    return "\n".join(["", in_columns(header, rows), correct])
