"""Hand a drawn trial over: map files, task data for the terminal, calendar, field plan, sign, pack for the contractor.

--to takes geojson, gpkg, shp, kml, gpx, isoxml, ics, pack, plan or sign. The files go into the folder "export" of the
trial unless --out names another folder (or, for a single file, a file).
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evenground import __version__
from evenground.adapters.hand_over import hand_over, write_files
from evenground.adapters.weather_years import read_years
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located, out_folder, store_at


def run(
    to: Annotated[str, typer.Option(help="The form; see above.")],
    trial: TrialPath = None,
    name: TrialName = None,
    out: Annotated[Path | None, typer.Option(help="Where to write.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    folder = located(trial, name)
    stored = store_at(folder).load()
    files = hand_over(stored, to, version=__version__, years=read_years(folder) if to == "ics" else None)
    if stored.draw is not None and stored.draw.plan_hash != stored.plan_hash:
        note("The plan was changed after the draw; strips are as drawn, everything else as the plan stands now.")
    paths = write_files(files, out if out is not None else out_folder(folder, "export"))
    if as_json:
        print_json({"files": [str(path) for path in paths]})
    else:
        typer.echo("\n".join(str(path) for path in paths))
