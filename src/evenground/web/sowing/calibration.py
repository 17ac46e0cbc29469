"""A calibration run typed into the sowing page: nothing is stored, it says by what to multiply the setting."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from evenground.adapters.number_style import STYLES, find_style, parse_number
from evenground.basis.errors import InputError, Problem, problem
from evenground.sowing.calibration_run import CalibrationRun, Over, seed_run, starter_run
from evenground.sowing.settings import MethodSettings
from evenground.web.trial_view import Opened

NUMBERS, WHOLE = ("caught_kg", "amount", "seeds", "dug_m", "lines"), ("seeds", "lines")


@dataclass(frozen=True)
class Calibrated:
    """What was typed, what follows, and what is wrong with it.

    Attributes
    ----------
    given : mapping
        As typed.
    sentences : tuple of str
        What follows, for starter and seed.
    problems : tuple of Problem
        All at once.
    """

    given: Mapping[str, str]
    sentences: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def calibrated(opened: Opened, found: tuple[MethodSettings, ...], given: Mapping[str, str]) -> Calibrated | None:
    """Say what a calibration run gave; None where none was typed.

    Parameters
    ----------
    opened : Opened
        The trial.
    found : tuple of MethodSettings
        Settings of all methods.
    given : mapping
        The form: ``calibrate`` (letter); ``caught_kg``, ``amount`` and ``over``; ``seeds``, ``dug_m`` and ``lines``.
    """
    if "calibrate" not in given:
        return None
    try:
        return Calibrated(given, tuple(one.sentence for one in _runs(opened, found, given)))
    except InputError as error:
        return Calibrated(given, (), error.problems)


def _runs(opened: Opened, found: tuple[MethodSettings, ...], given: Mapping[str, str]) -> list[CalibrationRun]:
    one = next((s for s in found if s.method == given.get("calibrate")), None)
    if one is None:
        allowed = ", ".join(s.method for s in found)
        raise InputError([problem(_("Which method was calibrated?"), allowed=allowed)])
    typed = _numbers(given)
    caught, amount, seeds, dug = (typed.get(name) for name in NUMBERS[:4])
    runs: list[Callable[[], CalibrationRun]] = []
    if caught is not None or amount is not None:
        runs.append(lambda: _starter(opened, one, (caught or 0.0, amount or 0.0), given.get("over", "")))
    if seeds is not None or dug is not None:
        lines = int(typed.get("lines", 1.0))
        runs.append(lambda: seed_run(one, int(seeds or 0), dug or 0.0, lines))
    if not runs:
        raise InputError([problem(_("Nothing was typed."), allowed=_("what was caught, or what was dug up"))])
    try:
        return [run() for run in runs]
    except ValueError as error:
        raise InputError([problem(f"{error}.", allowed=_("numbers above 0 that fit the plan"))]) from error


def _starter(opened: Opened, found: MethodSettings, caught: tuple[float, float], over: str) -> CalibrationRun:
    ways: tuple[Over, ...] = ("minutes", "metres", "turns")
    way = next((w for w in ways if w == over), ways[0])
    own = next(m for m in opened.stored.plan.methods if m.letter == found.method)
    return starter_run(found, *caught, way, opened.stored.plan.machine(own.machine).wheel_circumference_m)


def _numbers(given: Mapping[str, str]) -> dict[str, float]:
    """Read what was typed, decimal point or comma; every cell that is no number is told."""
    cells = {name: text for name in NUMBERS if (text := given.get(name, "").strip())}
    found = find_style(cells.values())
    if found.style is None and found.readings:
        said, text = (
            " / ".join(f"{value:g}" for _style, value in found.readings),
            _("this number can be read in two ways."),
        )
        raise InputError([problem(text, given=found.example, allowed=said)])
    style, read, problems = found.style or STYLES["1234.5"], {}, []
    for name, text in cells.items():
        try:
            read[name] = parse_number(text, style)
        except ValueError as error:
            problems.append(problem(f"{error}.", given=text, allowed=_("a number")))
            continue
        if name in WHOLE and not read[name].is_integer():
            problems.append(problem(_("This is counted in whole numbers."), given=text, allowed=_("a whole number")))
    if problems:
        raise InputError(problems)
    return read
