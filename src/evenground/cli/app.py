"""The command ``evenground``: finds the sub-command asked for and imports nothing else.

Start-up time is felt at the kitchen table, so a command's module is imported only when that command runs.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence

import typer

from evenground import __version__
from evenground.basis.errors import EvengroundError
from evenground.cli.output import fail

# name: (module, one line for the list of commands), in the order of the job
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("demo", "The whole job once, on an invented farm."),
    "new": ("new", "Start a trial: a folder with a commented trial.toml."),
    "check": ("check", "List everything that is wrong in a trial folder, all at once."),
    "layout": ("layout", "Lay the strips out in the field and draw which gets which method."),
    "export": ("export", "Hand the trial over: maps, task data, calendar, field plan, sign, pack."),
    "settings": ("settings", "What to set on each machine, and what to buy."),
    "calibrate": ("calibrate", "What a calibration run gave, and by what to multiply the setting."),
    "sown": ("sown", "How every strip was really sown, from entries and the planter's log."),
    "space": ("space", "How much room, of what shape, a row pattern gives each plant."),
    "stand": ("stand", "How the crop stands: plants, row units, spacing, depth; by strip and method."),
    "season": ("season", "Weather, heat, stages and water of each method, and what to do when."),
    "walk": ("walk", "What was seen on crop walks, by strip and method; the list to score with."),
    "spacing": ("spacing", "How evenly the plants of one line stand: spaced right, misses, doubles."),
    "photo": ("photo", "Plants from a photograph taken straight down: spacing runs and an overlay to check."),
    "fairness": ("fairness", "What differed between the methods besides the method."),
    "border": ("border", "Two areas side by side that were never randomised: what can be said, and what cannot."),
    "harvest": ("harvest", "What came off each strip."),
    "compare": ("compare", "Compare methods in any table of strips."),
    "value": ("value", "What a tonne of silage is worth, for the two values of the plan."),
    "verdict": ("verdict", "All together: the difference, how sure, what it is worth, what next."),
    "report": ("report", "The verdict as PDF and as one HTML page."),
    "serve": ("serve", "The app in the browser, on this machine or for the phones of the farm."),
}


def _show_version(value: bool) -> None:
    if value:
        typer.echo(f"evenground {__version__}")
        raise typer.Exit


def _root(
    version: bool = typer.Option(False, "--version", callback=_show_version, is_eager=True, help="Print the version."),
) -> None:
    """Fair comparisons of ways of sowing maize, from bare field to verdict."""


def _not_asked_for() -> None:
    """Stand in the list of commands for one that this call does not need."""


def build(arguments: Sequence[str]) -> typer.Typer:
    """Return the application, with only the command that was asked for imported.

    Parameters
    ----------
    arguments : sequence of str
        Words of the command line, program name left out.
    """
    wanted = next((word for word in arguments if not word.startswith("-")), None)
    app = typer.Typer(add_completion=False, no_args_is_help=True, rich_markup_mode=None)
    app.callback()(_root)
    for name, (module_name, line) in COMMANDS.items():
        if name == wanted:
            module = importlib.import_module(f"evenground.cli.{module_name}")
            app.command(name, help=module.__doc__)(module.run)
        else:
            app.command(name, help=line)(_not_asked_for)
    return app


def main() -> None:
    """Run the command line; every foreseen error ends in words and exit status 2."""
    try:
        build(sys.argv[1:])()
    except EvengroundError as error:
        fail(error)
        sys.exit(2)
