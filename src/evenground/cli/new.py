"""Start a trial: make a folder with a commented trial.toml, empty record tables and a page that says what to do."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from evenground.cli.output import note


def run(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new or empty folder.")],
    season: Annotated[
        int | None, typer.Option(min=1990, max=2100, help="Year of harvest; if not given, the coming one.")
    ] = None,
    decimal_comma: Annotated[
        bool, typer.Option("--decimal-comma", help="Record tables with a decimal comma and semicolons.")
    ] = False,
) -> None:
    """Make the folder and say what comes next."""
    from evenground.adapters.new_trial import start_trial

    today = date.today()
    coming = today.year + (today.month > 10)  # from November on, the next harvest is next year's
    start_trial(folder, season if season is not None else coming, decimal_comma=decimal_comma)
    typer.echo(f"A new trial is in {folder}.")
    note(f"Next: fill in {folder / 'trial.toml'} and save the outline of the field as {folder / 'field.geojson'};")
    note(f"then run: evenground check {folder}")
