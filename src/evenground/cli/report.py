"""Write the verdict of a trial as PDF and as one web page, with the strip map as a picture of its own.

The files go into the folder "report" of the trial unless --out names another one.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from evenground import __version__
from evenground.adapters.border_trial import border_of
from evenground.adapters.report_files import write_border_report, write_report
from evenground.adapters.small_photo import folder_reader
from evenground.adapters.weather_years import read_years
from evenground.basis.errors import InputError, problem
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located, out_folder, store_at
from evenground.decide.border_verdict import border_verdict
from evenground.decide.verdict import verdict


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    out: Annotated[Path | None, typer.Option(help="Folder to write into.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    note("Reading the trial.")
    place = located(trial, name, photographs=True)
    stored = store_at(place).load()
    folder = out if out is not None else out_folder(place, "report")
    aside = border_of(place, stored)
    try:
        if aside is not None:
            note("Comparing both sides of the border.")
            beside = border_verdict(stored, aside.answer, aside.files, today=date.today(), version=__version__)
            files = write_border_report(beside, folder, say=note)
        else:
            note("Comparing the strips.")
            found = verdict(stored, today=date.today(), version=__version__, years=read_years(place))
            files = write_report(found, stored.field, folder, note, folder_reader(place))
    except OSError as error:
        text = f"the report cannot be written here: {error.strerror}."
        raise InputError([problem(text, field="--out", given=folder, allowed="a folder to write into")]) from error
    if as_json:
        print_json({"files": [str(path) for path in files]})
    else:
        typer.echo("\n".join(str(path) for path in files))
