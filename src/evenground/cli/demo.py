"""Run the whole job once on an invented farm: field, draw, settings, season, verdict, report.

Writes the trial folder, the strips map and the report into DIR. Nothing in it is real.
"""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path
from typing import Annotated

import numpy as np
import typer

from evenground import __version__
from evenground.adapters.demo.drawn import SEASON_SEED, draw_demo
from evenground.adapters.demo.farm import FIELD_GEOJSON, TRIAL_TOML
from evenground.adapters.demo.season import invent_season
from evenground.adapters.geojson import read_field
from evenground.adapters.report_files import write_report
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError, problem
from evenground.basis.field import Field
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.cli.output import note
from evenground.cli.settings import as_text, said_of
from evenground.cli.verdict import in_words
from evenground.decide.verdict import verdict
from evenground.layout.extras import extras_of
from evenground.layout.laid_out import can_answer
from evenground.layout.summary import words
from evenground.sowing.settings import cautions, settings

STEPS = 6


def run(directory: Annotated[Path, typer.Argument(metavar="[DIR]", help="Where to write.")] = Path("demo")) -> None:
    """See the module docstring, which is the help text."""
    _say(1, "Reading the field and the plan of an invented farm.")
    folder = _start(directory / "trial")
    stored = folder.load()
    typer.echo(f"{stored.plan.trial.name}. {stored.plan.trial.question}")
    _say(2, "Laying out the strips: trying every heading, then drawing at random which strip gets which method.")
    _draw(folder, stored)
    stored, draw = _with_draw(folder)
    _say(3, "What to set on the machines.")
    found_settings = settings(stored.plan, draw)
    typer.echo(as_text(found_settings, cautions(stored.plan), said_of(stored.plan, draw, found_settings)))
    _say(4, "The season's records (invented): sowing, counts, weather, loads, weighings, samples.")
    new = folder.append_records(invent_season(stored.plan, draw, np.random.default_rng(SEASON_SEED)))
    typer.echo(f"{new} records stored in {folder.path / 'records'}.")
    _say(5, "The verdict.")
    found = verdict(folder.load(), today=date.today(), version=__version__)
    typer.echo("\n".join(in_words(found)))
    _say(6, "Drawing the strips map and writing the report.")
    files = write_report(found, folder.load().field, directory, say=note)
    typer.echo("\n".join(["", "Written:", *(f"  {path}" for path in files)]))


def _say(step: int, text: str) -> None:
    typer.echo(f"\n[{step}/{STEPS}] {text}\n")


def _start(path: Path) -> TrialFolder:
    """Make the demo's trial folder anew; only a folder that an earlier demo made is replaced."""
    if path.exists():
        mine = path / "trial.toml"
        if not mine.is_file() or mine.read_text() != TRIAL_TOML:
            message = "there is something here that the demo did not make; choose another folder."
            raise InputError([problem(message, file=str(path), allowed="a new folder, or an earlier demo")])
        shutil.rmtree(path)
    return TrialFolder.create(path, TRIAL_TOML, read_field(FIELD_GEOJSON.encode()).field)


def _draw(folder: TrialFolder, stored: Stored) -> None:
    """Lay out, draw, store and show."""
    draw, laid_out = draw_demo(stored, version=__version__)
    folder.append_draw(draw)
    field = _field_of(stored)
    extras = extras_of(stored.plan, field, draw, laid_out.chosen, (), laid_out.exposure.notes)
    answer = can_answer(stored.plan, field, draw)
    typer.echo("\n".join(words(stored.plan, draw, laid_out.alternatives, answer, extras)))


def _field_of(stored: Stored) -> Field:
    if stored.field is None:
        raise InputError([problem("the demo's field is missing.", file="field.geojson")])
    return stored.field


def _with_draw(folder: TrialFolder) -> tuple[Stored, Draw]:
    stored = folder.load()
    if stored.draw is None:
        raise InputError([problem("the draw was not stored.", file="strips.geojson")])
    return stored, stored.draw
