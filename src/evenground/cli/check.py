"""List everything that is wrong in a trial folder, all at once; nothing is changed.

Exit status 0 when nothing is wrong, 1 when something is, 2 when there is no trial folder to read.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evenground.cli.output import note, print_json


def run(
    trial: Annotated[Path, typer.Argument(metavar="TRIAL", help="A trial folder.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON on standard output.")] = False,
) -> None:
    """Print all problems, then what is worth knowing."""
    from evenground.adapters.folder_reading import read_folder
    from evenground.adapters.trial_folder import TrialFolder

    read = read_folder(TrialFolder(trial).path)
    if as_json:
        print_json({"problems": [p.as_dict() for p in read.problems], "notes": list(read.notes)})
    else:
        for one in read.problems:
            typer.echo(f"- {one}")
        count = len(read.problems)
        typer.echo("Nothing is wrong." if not count else f"{count} problem{'s' if count > 1 else ''}.")
        for text in read.notes:
            note(f"Note: {text}")
    raise typer.Exit(1 if read.problems else 0)
