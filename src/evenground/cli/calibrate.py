"""Say what a calibration run gave, and by what to multiply the setting: starter caught, or seeds dug up.

Starter: --caught-kg with one of --minutes (at the set speed), --metres (driven) or --turns (of the driving wheel).
Seed: --seeds-dug with --dug-m (of each line) and --lines-dug. Nothing is stored.
"""

from __future__ import annotations

from typing import Annotated

import typer

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.cli.output import print_json
from evenground.cli.trial_place import TrialName, TrialPath, located, store_at
from evenground.sowing.calibration_run import CalibrationRun, Over, seed_run, starter_run
from evenground.sowing.settings import MethodSettings, settings


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    method: Annotated[str, typer.Option(help="Letter of the method that was calibrated.")] = "",
    caught_kg: Annotated[float | None, typer.Option(help="Starter caught from all hoses together [kg].")] = None,
    minutes: Annotated[float | None, typer.Option(help="For so long at the set speed [min].")] = None,
    metres: Annotated[float | None, typer.Option(help="Or: over so much way [m].")] = None,
    turns: Annotated[float | None, typer.Option(help="Or: over so many turns of the driving wheel.")] = None,
    seeds_dug: Annotated[int | None, typer.Option(help="Seeds found by digging, all lines together.")] = None,
    dug_m: Annotated[float | None, typer.Option(help="Length dug in each line [m].")] = None,
    lines_dug: Annotated[int, typer.Option(help="Lines dug; the two of a twin row are two.")] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    plan = store_at(located(trial, name)).load().plan
    found = _settings(plan, method)
    runs = []
    if caught_kg is not None:
        runs.append(_starter(plan, found, caught_kg, {"minutes": minutes, "metres": metres, "turns": turns}))
    if seeds_dug is not None:
        runs.append(_seed(found, seeds_dug, dug_m, lines_dug))
    if not runs:
        allowed = "--caught-kg, --seeds-dug, or both"
        raise InputError([problem("nothing was caught or dug.", field="--caught-kg", allowed=allowed)])
    if as_json:
        print_json({"runs": [one.as_dict() for one in runs]})
    else:
        typer.echo("\n".join(one.sentence for one in runs))


def _settings(plan: Plan, method: str) -> MethodSettings:
    if method not in plan.letters:
        text = "which method was calibrated?"
        raise InputError([problem(text, field="--method", given=method, allowed=", ".join(plan.letters))])
    return next(s for s in settings(plan, None) if s.method == method)


def _starter(plan: Plan, found: MethodSettings, caught_kg: float, ways: dict[Over, float | None]) -> CalibrationRun:
    said = [(over, amount) for over, amount in ways.items() if amount is not None]
    if len(said) != 1:
        text = "say over how much the starter was caught, in one way."
        given = ", ".join(f"--{over}" for over, _ in said)
        raise InputError(
            [problem(text, field="--caught-kg", given=given, allowed="one of --minutes, --metres, --turns")]
        )
    ((over, amount),) = said
    own = next(m for m in plan.methods if m.letter == found.method)
    try:
        return starter_run(found, caught_kg, amount, over, plan.machine(own.machine).wheel_circumference_m)
    except ValueError as error:
        raise InputError([_problem(error, f"--{over}", f"{caught_kg:g} kg over {amount:g}")]) from error


def _seed(found: MethodSettings, seeds: int, dug_m: float | None, lines: int) -> CalibrationRun:
    if dug_m is None:
        raise InputError([problem("over which length?", field="--dug-m", allowed="metres dug in each line")])
    try:
        return seed_run(found, seeds, dug_m, lines)
    except ValueError as error:
        raise InputError([_problem(error, "--seeds-dug", f"{seeds} in {lines} x {dug_m:g} m")]) from error


def _problem(error: ValueError, field: str, given: str) -> Problem:
    return problem(f"{error}.", field=field, given=given, allowed="numbers above 0 that fit the plan")
