"""Say what the season was: weather, heat, stages and water of each method, and what to do when.

With --weather a station's file is read too, earlier years included; with --store its days of this season become
records, and those of earlier years are kept beside them.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evenground.adapters.weather_years import YEARS_FILE, read_years, years_text
from evenground.basis.days import said_day
from evenground.basis.errors import InputError, problem
from evenground.cli.opened_trial import in_columns, number, opened
from evenground.cli.options import style_option
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, keep_file, located, store_at
from evenground.report.wording import STAGE_WORDS
from evenground.season.daily import Daily, merged
from evenground.season.heat import WAY_WORDS, WAYS
from evenground.season.quality import doubts, in_runs
from evenground.season.sowings import first_sowing
from evenground.season.summary import SeasonSummary, season_days, season_summary

if TYPE_CHECKING:
    from evenground.basis.store import Stored

MOST_DOUBTS = 10


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    weather: Annotated[Path | None, typer.Option(help="Daily weather of a station: CSV or text.")] = None,
    store: Annotated[bool, typer.Option("--store", help="Keep the file's days of this season as records.")] = False,
    calendar: Annotated[Path | None, typer.Option(help="Write what to do when as a calendar file (.ics) here.")] = None,
    number_style: Annotated[str | None, typer.Option(help='How the file writes numbers, such as "1.234,5".')] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    if store and weather is None:
        raise InputError([problem("--store needs a weather file.", field="--store", allowed="--weather FILE --store")])
    folder = located(trial, name)
    stored, draw = opened(folder)
    place = _centre(stored)
    long = _read(weather, stored, place, number_style) if weather is not None else None
    if store and weather is not None and long is not None:
        _keep(folder, stored, long, weather.name, place)
        stored, draw = opened(folder)
    years = read_years(folder)
    every = merged(long, years.weather if years is not None else None)
    found = season_summary(stored.plan, draw, stored.records, place[0] if place else None, every)
    if calendar is not None:
        _write_calendar(calendar, stored, found)
    if as_json:
        print_json(found.as_dict())
    else:
        typer.echo("\n".join(in_words(found)))


def _centre(stored: Stored) -> tuple[float, float] | None:
    """Latitude and longitude of the middle of the field [deg]."""
    if stored.field is None:
        return None
    centre = stored.field.boundary.centroid
    return centre.y, centre.x


def _read(path: Path, stored: Stored, place: tuple[float, float] | None, style: str | None) -> Daily:
    from evenground.adapters.weather_file import misplaced, read_weather_file

    read = read_weather_file(path, number_style=style_option(style))
    for text in (*read.notes, *misplaced(read, path.name, stored.plan.trial.season, place)):
        note(text)
    return read.weather


def _keep(folder: Path, stored: Stored, long: Daily, source: str, place: tuple[float, float] | None) -> None:
    from evenground.adapters.weather_store import weather_records

    doubted = doubts(long, place[0] if place else None)
    assert stored.draw is not None
    span = season_days(stored.plan.trial.season, first_sowing(stored.draw, stored.records.events))
    new = weather_records(long, span, stored.records.weather, doubted, source)
    note(f"{store_at(folder).append_records(new)} days of weather stored.")
    there = read_years(folder)
    text = years_text(long, span[0], there.weather if there is not None else None)
    if text:
        keep_file(folder, YEARS_FILE, text.encode())
        note(f"{text.count(chr(10)) - 1} days of earlier years kept in {YEARS_FILE}.")


def _write_calendar(path: Path, stored: Stored, found: SeasonSummary) -> None:
    """Write the agenda as a calendar; a folder that is not there is said, not made."""
    from evenground.adapters.export.calendar import Due, calendar
    from evenground.adapters.files import write_atomically

    if not path.absolute().parent.is_dir():
        message = "there is no such folder to write into."
        raise InputError([problem(message, field="--calendar", given=path, allowed="a file in a folder that is there")])
    name, draw = stored.plan.trial.name, stored.draw
    assert draw is not None
    tasks = [Due(f"{name}: {t.what}", t.why, t.first, t.last, f"season-{t.key}") for t in found.agenda]
    write_atomically(path, calendar(stored.plan, draw, (), tasks))
    note(f"Calendar written: {path}")


def in_words(found: SeasonSummary) -> list[str]:
    """Put the season into lines for a screen; parts without records are left out."""
    parts = [
        [t for t in (found.sentence, found.weather.sentence if found.weather else "") if t],
        _heat(found),
        _stages(found),
        [s.sentence for s in found.same_heat],
        _water(found),
        _agenda(found),
        _doubts(found),
        [f"Note: {n}." for n in found.notes],
    ]
    return "\n\n".join("\n".join(p) for p in parts if p).split("\n")


def _heat(found: SeasonSummary) -> list[str]:
    if not found.heat:
        return []
    rows = [
        [m, said_day(found.sown[m]), *(number(h[way], 0) for way in WAYS), _leaves(found, m)]
        for m, h in found.heat.items()
    ]
    title = f"Heat since each method's own sowing, up to {said_day(found.known[1])}" if found.known else "Heat"
    if found.earliness:
        title += f" (hybrid: {found.earliness}, as given)"
    return [f"{title}:", in_columns(["method", "sown", *(WAY_WORDS[w] for w in WAYS), "leaves"], rows)]


def _leaves(found: SeasonSummary, method: str) -> str:
    leaves = found.leaves.get(method)
    return "-" if leaves is None else f"{leaves}" if leaves < 16 else "all"


def _stages(found: SeasonSummary) -> list[str]:
    rows = [[s.method, STAGE_WORDS[s.stage], *(said_day(d) if d else "-" for d in (s.first, s.last)), s.state]
            for s in found.stages]  # fmt: skip
    return [in_columns(["method", "stage", "from", "to", ""], rows)] if rows else []


def _water(found: SeasonSummary) -> list[str]:
    rows = [
        [
            w.strips.method,
            w.strips.zone or "field",
            said_day(w.strips.sown),
            number(w.rain_mm, 0),
            number(w.irrigation_mm, 0),
            number(w.short_mm, 0),
            f"{w.short_days}",
            number(w.flowering_short_mm, 0),
            "-" if w.flowering_short_days is None else f"{w.flowering_short_days}",
            f"{w.balance.available_mm[-1]:.0f} mm, {100 * w.balance.available_fraction[-1]:.0f} %",
        ]
        for w in found.water
    ]
    header = ["method", "soil", "sown", "rain mm", "irrigation", "short mm", "days short", "around flowering mm",
              "days", "available water at the end"]  # fmt: skip
    weak = dict.fromkeys(f"Weaker because: {n}." for w in found.water for n in w.notes)
    return [in_columns(header, rows), *weak] if rows else []


def _agenda(found: SeasonSummary) -> list[str]:
    rows = [[said_day(t.first) if t.first else "-", said_day(t.last) if t.last else "-", t.what] for t in found.agenda]
    return [in_columns(["from", "to", "what to do"], rows)] if rows else []


def _doubts(found: SeasonSummary) -> list[str]:
    if not found.doubts:
        return []
    runs = in_runs(found.doubts)
    more = len(runs) - MOST_DOUBTS
    return [
        "Doubtful weather, left out until somebody stands by it (checked = true in records/weather.csv):",
        *(f"  {d}" for d in runs[:MOST_DOUBTS]),
        *([f"  and {more} more"] if more > 0 else []),
    ]
