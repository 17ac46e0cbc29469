"""The command ``evenground``: finds the sub-command asked for and imports nothing else.

Start-up time is felt at the kitchen table, so a command's module is imported only when that command runs.
"""

from __future__ import annotations

import importlib
import sys

import click
import typer
import typer.main

from evenground import __version__
from evenground.basis.errors import EvengroundError
from evenground.cli.output import fail

# name: (module, one line for the list of commands), in the order of the job
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("demo", "The whole job once, on an invented farm."),
    "new": ("new", "Start a trial: a folder with a commented trial.toml."),
    "check": ("check", "List everything that is wrong in a trial folder, all at once."),
    "layout": ("layout", "Lay the strips out in the field and draw which gets which method."),
    "settings": ("settings", "What to set on each machine, and what to buy."),
    "stand": ("stand", "Plants per square metre by strip and method."),
    "fairness": ("fairness", "What differed between the methods besides the method."),
    "harvest": ("harvest", "What came off each strip."),
    "compare": ("compare", "Compare methods in any table of strips."),
    "verdict": ("verdict", "All together: the difference, how sure, what it is worth, what next."),
    "report": ("report", "The verdict as PDF and as one HTML page."),
}


class LazyGroup(typer.core.TyperGroup):
    """A group of commands that are imported one at a time."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - the interface has it
        """Name the commands in the order of the job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import and return one command, or None if there is no such command."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"evenground.cli.{COMMANDS[cmd_name][0]}")
        app = typer.Typer(add_completion=False, rich_markup_mode=None)
        app.command(name=cmd_name, help=module.__doc__)(module.run)
        return typer.main.get_command(app)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


app = typer.Typer(cls=LazyGroup, add_completion=False, no_args_is_help=True, rich_markup_mode=None)


def _show_version(value: bool) -> None:
    if value:
        typer.echo(f"evenground {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: bool = typer.Option(False, "--version", callback=_show_version, is_eager=True, help="Print the version."),
) -> None:
    """Fair comparisons of ways of sowing maize, from bare field to verdict."""


def main() -> None:
    """Run the command line; every foreseen error ends in words and exit status 2."""
    try:
        app()
    except EvengroundError as error:
        fail(error)
        sys.exit(2)
