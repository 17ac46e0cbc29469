"""Say how every strip was really sown: method, time, speed, stops, rows off, seed lot, joints; from entries and a log.

--log FILE --method LETTER reads a planter's log; --store keeps what it says as entries of the trial.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Annotated

import typer

from evenground.adapters.planter_log import digest_of, read_trial_log
from evenground.basis.days import said_moment
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.cli.opened_trial import in_columns, number, opened
from evenground.cli.options import style_option
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located, store_at
from evenground.sowing.as_sown import PlanterLog, StripSown, as_sown
from evenground.sowing.log_entries import log_entries, seen_before
from evenground.sowing.sown_strips import SownStrip, in_sentences, sown_strips, with_log

ALWAYS_SHOWN = 5
"""Columns that stand even where nobody wrote anything; the others only where somebody did."""


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    log: Annotated[
        Path | None,
        typer.Option(help="A planter's log: a table, or TLGnnnnn.XML or the folder TASKDATA of a terminal."),
    ] = None,
    method: Annotated[str | None, typer.Option(help="Letter of the method the planter sowed.")] = None,
    machine: Annotated[str | None, typer.Option(help="Planter that made the log; else the method's.")] = None,
    store: Annotated[bool, typer.Option("--store", help="Keep what the log says as entries of the trial.")] = False,
    number_style: Annotated[str | None, typer.Option(help='How the log writes numbers, such as "1.234,5".')] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    folder = located(trial, name)
    stored, draw = opened(folder)
    faults = _option_problems(stored.plan, log, method, machine, store)
    if faults:
        raise InputError(faults)
    new = None
    if log is None or method is None:
        strips = sown_strips(stored.plan, draw, stored.records)
    else:
        planter = stored.plan.machine(machine or _machine_of(stored.plan, method))
        style = style_option(number_style)
        read = read_trial_log(log, method, planter, draw, stored.plan.trial.season, number_style=style)
        found = as_sown(read, draw)
        _notes(stored.plan, draw, read, machine)
        if store:
            new, stored = _store(folder, log, read, found, stored)
        else:
            note("What the log says does not count yet; --store keeps it.")
        strips = with_log(sown_strips(stored.plan, draw, stored.records), read, found)
    sentences = in_sentences(strips)
    if as_json:
        print_json({"strips": [s.as_dict() for s in strips], "sentences": list(sentences), "stored": new})
    else:
        typer.echo(as_text(strips, sentences))


def _option_problems(
    plan: Plan, log: Path | None, method: str | None, machine: str | None, store: bool
) -> list[Problem]:
    """List what is wrong with the options, all at once."""
    faults = []
    letters, planters = ", ".join(plan.letters), [m.id for m in plan.machines if m.kind == "planter"]
    if log is None and (method or machine or store):
        text = "--method, --machine and --store are about a log; name it."
        faults.append(problem(text, field="--log", allowed="a planter's log"))
    if log is not None and method not in plan.letters:
        text = "whose log is it? Name the method." if method is None else "there is no method with this letter."
        faults.append(problem(text, field="--method", given=method, allowed=f"one of {letters}"))
    if machine is not None and machine not in planters:
        text = "there is no planter with this id in the plan."
        faults.append(problem(text, field="--machine", given=machine, allowed="one of " + ", ".join(planters)))
    return faults


def _machine_of(plan: Plan, method: str) -> str:
    return next(m.machine for m in plan.methods if m.letter == method)


def _notes(plan: Plan, draw: Draw, log: PlanterLog, machine: str | None) -> None:
    """Say what makes one wonder whether this is the right log."""
    own = _machine_of(plan, log.method)
    if machine is not None and machine != own:
        note(f"{log.method} was to be sown by {own}; this log is of {machine}.")
    if not log.rows_off.any():
        note("The log never says that rows were off: driving over a strip counts as sowing it.")
    for said in log.notes:
        note(said)
    if log.start is None:
        note("The log has no dates, so it gives no time of sowing.")
    elif log.start.utcoffset() == timedelta(0):
        note("The log's clock is UTC; its times are kept as they stand, not turned into local time.")
    if log.start is not None and log.start.date() < draw.drawn_at.date():
        note(f"The log is of {log.start.date()}; the strips were drawn later, on {draw.drawn_at.date()}.")


def _store(folder: Path, file: Path, log: PlanterLog, found: Sequence[StripSown], stored: Stored) -> tuple[int, Stored]:
    """Keep the entries of a log; return how many were new, and the trial as it then stands."""
    if log.start is None:
        text, allowed = "a log without dates cannot be kept.", "dates with clock time"
        raise InputError([problem(text, file=file.name, row=1, field="time", given="seconds", allowed=allowed)])
    entries = log_entries(log, found, digest_of(file))
    early = seen_before(entries, stored.records)
    if early:
        text = "the crop was counted or harvested before this log says it was sown: strip "
        text += ", ".join(str(s) for s in early) + "."
        latest = min(early.values(), key=lambda t: t.date()).date()
        given = log.start.date()
        raise InputError([problem(text, file=file.name, field="time", given=given, allowed=f"{latest} or earlier")])
    kept = store_at(folder)
    new = kept.append_records(entries)
    note(f"{new} of {len(entries)} entries are new and stored in records/events.csv.")
    return new, kept.load()


def as_text(strips: Sequence[SownStrip], sentences: Sequence[str]) -> str:
    """Write the strips as a table with the sentences below."""
    header = ["strip", "block", "drawn", "sown", "begun", "km/h", "SD", "stops", "rows off", "row left out m"]
    header += ["lifted m", "twice m2", "sown %", "seeds/m2", "seed lot", "joints cm"]
    lines = [f"{s[0].upper()}{s[1:]}." for s in sentences]
    rows = [_row(s) for s in strips]
    told = [k for k in range(len(header)) if k < ALWAYS_SHOWN or any(row[k] != "-" for row in rows)]
    table = in_columns([header[k] for k in told], [[row[k] for k in told] for row in rows])
    return "\n".join([table, *lines])


def _row(one: SownStrip) -> list[str]:
    return [
        str(one.strip),
        str(one.block),
        one.drawn,
        "not sown" if one.not_sown else one.sown if one.letters or one.entries else "-",
        "-" if one.first is None else said_moment(one.first),
        number(one.speed_km_per_h),
        number(one.speed_sd_km_per_h),
        number(one.stops, 0),
        number(one.rows_off, 0),
        number(one.rows_off_m, 0),
        number(one.lifted_m, 0),
        number(one.overlap_m2, 0),
        number(None if one.sown_fraction is None else 100 * one.sown_fraction, 0),
        number(one.seeds_per_m2, 1),
        ", ".join(one.seed_lots) or "-",
        "-" if one.joints is None else number(100 * one.joints.mean_m, 0),
    ]
