"""Say what came off each strip: loads joined to weighings, samples joined to strips. What is missing stays missing."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from evenground.cli.opened_trial import in_columns, number, opened
from evenground.cli.output import print_json
from evenground.harvest.strips import Harvest, harvest

STATES = {"weighed": "weighed", "missing": "missing", "lost": "lost", "not_sown": "not sown"}


def run(
    trial: Annotated[Path, typer.Argument(help="The trial folder.")],
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    stored, draw = opened(trial)
    found = harvest(stored.plan, draw, stored.records)
    if as_json:
        print_json(
            {
                "unit": found.unit,
                "strips": [s.as_dict() for s in found.strips],
                "shared": [{**asdict(f), "strips": list(f.strips)} for f in found.shared],
                "notes": list(found.notes),
            }
        )
    else:
        typer.echo(as_text(found))


def as_text(found: Harvest) -> str:
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
    notes = [f"Strip {s.strip}: {note}." for s in found.strips for note in s.notes]
    return "\n".join([in_columns(header, rows), *notes, *(f"{n[0].upper()}{n[1:]}." for n in found.notes)])
