"""Say how many plants stand on a square metre, by strip and by method, expected against counted."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evenground.cli.opened_trial import in_columns, number, opened
from evenground.cli.output import print_json
from evenground.stand.plants import Stand, stand


def run(
    trial: Annotated[Path, typer.Argument(help="The trial folder.")],
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    stored, draw = opened(trial)
    found = stand(stored.plan, draw, stored.records)
    if as_json:
        print_json(
            {
                "strips": [s.as_dict() for s in found.strips],
                "methods": [m.as_dict() for m in found.methods],
                "notes": list(found.notes),
            }
        )
    else:
        typer.echo(as_text(found))


def as_text(found: Stand) -> str:
    """Write the stand as two tables."""
    strips = [[str(s.strip), str(s.block), s.method, number(s.plants_per_m2), str(s.plants)] for s in found.strips]
    methods = [
        [m.method, number(m.expected_plants_per_m2), number(m.plants_per_m2), str(m.strips_counted)]
        for m in found.methods
    ]
    return "\n".join(
        [
            in_columns(["method", "expected plants/m2", "counted plants/m2", "strips counted"], methods),
            "",
            in_columns(["strip", "block", "method", "plants/m2", "plants counted"], strips),
            *(f"{n[0].upper()}{n[1:]}." for n in found.notes),
        ]
    )
