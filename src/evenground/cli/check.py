"""List everything that is wrong in a trial folder, all at once; nothing is changed.

Exit status 0 when nothing is wrong, 1 when something is, 2 when there is no trial folder to read.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evenground.basis.errors import InputError, Problem
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON on standard output.")] = False,
) -> None:
    """Print all problems, then what is worth knowing."""
    from evenground.adapters.folder_reading import read_folder
    from evenground.adapters.trial_folder import TrialFolder

    path = TrialFolder(located(trial, name)).path
    read = read_folder(path)
    layers, faults = _point_layers(path)
    problems, notes = [*read.problems, *faults], [*read.notes, *layers]
    if as_json:
        print_json({"problems": [p.as_dict() for p in problems], "notes": notes})
    else:
        for one in problems:
            typer.echo(f"- {one}")
        count = len(problems)
        typer.echo("Nothing is wrong." if not count else f"{count} problem{'s' if count > 1 else ''}.")
        for text in notes:
            note(f"Note: {text}")
    raise typer.Exit(1 if problems else 0)


def _point_layers(path: Path) -> tuple[list[str], list[Problem]]:
    """Read earlier yields and the like, which only the layout needs: what is there, and what is wrong."""
    from evenground.adapters.earlier_yields import read_point_layers

    try:
        layers = read_point_layers(path)
    except InputError as error:
        return [], list(error.problems)
    return [
        f"{layer.name}: {len(layer.value)} points, values {min(layer.value):g} to {max(layer.value):g}."
        for layer in layers
    ], []
