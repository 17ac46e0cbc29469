"""Compare two neighbouring areas, one method each, that were never randomised: what was seen, what could explain it.

TRIAL is a trial folder with border.csv, or one table of yields or weights with the method of each row. The answer is
always "cannot tell", with the step, the range it leaves open, and what a fair layout would see next year.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from evenground.adapters.border_file import BorderRead, read_border_file, read_border_folder
from evenground.adapters.border_trial import border_hashes
from evenground.adapters.earlier_yields import read_earlier_yields
from evenground.adapters.number_style import NumberStyle
from evenground.adapters.weather_store import weather_records
from evenground.basis.errors import InputError, problem
from evenground.basis.observations import WeatherDay
from evenground.cli.options import style_option
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, located, store_at
from evenground.fairness.border import border_comparison
from evenground.fairness.border_json import as_dict
from evenground.fairness.border_setting import Known, planned, planned_words, setting_of
from evenground.fairness.border_sides import Measured, sides_of
from evenground.fairness.border_words import in_words
from evenground.season.quality import doubts, without


def run(
    trial: Annotated[
        Path | None, typer.Argument(metavar="TRIAL", help="The trial folder, or a table of yields or weights.")
    ] = None,
    name: TrialName = None,
    baseline: Annotated[
        str | None, typer.Option(help="Method the farm uses now (else the plan's, or the first).")
    ] = None,
    outcome: Annotated[str, typer.Option(help="Column with the yield of each row, in t/ha.")] = "value",
    days_later: Annotated[float | None, typer.Option(help="Days the method was sown after the baseline.")] = None,
    level: Annotated[
        float | None, typer.Option(help="Level of the range, a fraction (else the plan's, or 0.9).")
    ] = None,
    weather: Annotated[
        Path | None, typer.Option(help="Daily weather of a station, for the heat between both sowing days.")
    ] = None,
    number_style: Annotated[str | None, typer.Option(help='How numbers are written, such as "1.234,5".')] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    if level is not None and not 0.0 < level < 1.0:
        raise InputError([problem("the level is a fraction.", field="--level", given=level, allowed="between 0 and 1")])
    place = located(trial, name)
    read, known = _read(place, style_option(number_style), outcome, days_later, level)
    files = border_hashes(place)
    if weather is not None:
        known = replace(known, weather=(*known.weather, *_station(weather, known)))
        files |= border_hashes(weather)
    for text in read.notes:
        note(text)
    if read.measured is None:
        _show_planned(known, read, files if as_json else None)
    else:
        _show(known, read, read.measured, baseline, files if as_json else None)


def _read(
    trial: Path, style: NumberStyle | None, outcome: str, days_later: float | None, level: float | None
) -> tuple[BorderRead, Known]:
    if not trial.is_dir():
        read = read_border_file(trial, number_style=style, value=outcome)
        return read, Known(sown=read.sown, days_later=days_later, level=level)
    stored = store_at(trial).load()
    layers = read_earlier_yields(trial, style)
    read = read_border_folder(trial, stored.field, layers, number_style=style, value=outcome)
    return read, Known(stored.plan, stored.records.weather, read.sown, days_later, level)


def _station(path: Path, known: Known) -> list[WeatherDay]:
    """Return the days of a station's file that the trial's own records do not have."""
    from evenground.adapters.weather_file import misplaced, read_weather_file

    read = read_weather_file(path)
    days = (known.sown or {}).values()
    season = max(days).year if days else read.weather.last.year
    for text in (*read.notes, *misplaced(read, path.name, season, None)):
        note(text)
    doubted = doubts(read.weather, None)
    sound = without(read.weather, doubted)
    return weather_records(sound, (read.weather.first, read.weather.last), known.weather, (), path.name)


def _show(
    known: Known, read: BorderRead, measured: Measured, baseline: str | None, files: Mapping[str, str] | None
) -> None:
    """Show the answer; as JSON where the hashes of its files are given."""
    farm = known.plan.baseline.letter if known.plan else None
    sides = sides_of(measured, baseline or farm, read.areas or None)
    setting = setting_of(known, sides.baseline, sides.method, float(sides.value.mean()))
    answer = border_comparison(sides, setting)
    if files is not None:
        print_json({**as_dict(answer), "files": files})
    else:
        typer.echo("\n".join(in_words(answer)))


def _show_planned(known: Known, read: BorderRead, files: Mapping[str, str] | None) -> None:
    """Show what can be said beforehand; as JSON where the hashes of its files are given."""
    ahead = planned(known, read.areas)
    if files is not None:
        print_json({**ahead.as_dict(), "files": files})
    else:
        typer.echo("\n".join(planned_words(ahead)))
