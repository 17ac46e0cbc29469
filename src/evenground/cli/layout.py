"""Lay the strips out in the field and draw at random which of them gets which method.

The draw is stored and locked: asked again, the command shows the same layout. --again REASON draws anew and keeps both.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from evenground import __version__
from evenground.adapters.earlier_yields import read_point_layers
from evenground.adapters.geojson import FIELD_FILE
from evenground.adapters.plan_file import PLAN_FILE
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.days import said_day
from evenground.basis.errors import DoesNotFitError, InputError, problem
from evenground.basis.field import Field, PointLayer
from evenground.basis.plan import Plan
from evenground.basis.store import Stored, TrialStore
from evenground.basis.strip import Draw
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located, store_at
from evenground.layout.cross_section import not_whole_passes
from evenground.layout.extras import extras_of
from evenground.layout.laid_out import LaidOut, can_answer, lay_out, make_draw
from evenground.layout.summary import summary, words
from evenground.sowing.agreements import answers

if TYPE_CHECKING:
    from rich.progress import Progress

# Below 2**53, so that every program reads the seed back exactly.
_SEED_BITS = 48
_PATIENCE_S = 1.0


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    again: Annotated[str | None, typer.Option(help="Draw anew, and why; the earlier draw stays on record.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    folder = located(trial, name)
    store = store_at(folder)
    stored = store.load()
    if again is not None and not again.strip():
        raise InputError([problem("a new draw needs a reason.", field="--again", allowed="some words")])
    if stored.field is None:
        text = "the outline of the field is missing; save it as GeoJSON in this file."
        raise InputError([problem(text, file="field.geojson", allowed="a polygon")])
    if stored.draw is None or again is not None:
        _unread(folder)
        _not_asked(stored.plan)
    try:
        layers = read_point_layers(folder)
        draw, laid_out = _draw(store, stored, stored.field, again, layers)
    except DoesNotFitError as error:
        if as_json:
            message = str(error).removesuffix(error.nearest).strip()
            print_json({"fits": False, "message": message, "nearest": error.nearest})
        note(str(error))
        raise typer.Exit(1) from error
    answer = can_answer(stored.plan, stored.field, draw)
    alternatives = () if laid_out is None else laid_out.alternatives
    chosen, notes = (None, ()) if laid_out is None else (laid_out.chosen, laid_out.exposure.notes)
    extras = extras_of(stored.plan, stored.field, draw, chosen, layers, notes)
    if as_json:
        print_json(summary(stored.plan, draw, alternatives, answer, extras))
    else:
        typer.echo("\n".join(words(stored.plan, draw, alternatives, answer, extras)))


def _unread(folder: Path) -> None:
    """Say before the draw what was not read: a key of the plan mistyped, a tree drawn as something else."""
    for text in TrialFolder(folder).notes():
        if text.startswith((PLAN_FILE, FIELD_FILE)):
            note(f"Note: {text}")


def _not_asked(plan: Plan) -> None:
    """Say before the draw whose answer to the settings is missing, and who objects."""
    found = answers(plan, None)
    if found.missing:
        note(f"Not asked yet, or the answer is not recorded: {', '.join(found.missing)}. Ask before anyone sows.")
    if found.objections:
        note("Somebody objects to the settings; 'evenground settings' shows it.")


def _draw(
    store: TrialStore, stored: Stored, field: Field, again: str | None, layers: Sequence[PointLayer]
) -> tuple[Draw, LaidOut | None]:
    """Return the draw that counts and the layout the plan gives now; draw and store it where that is called for."""
    if stored.draw is not None and again is None:
        note(f"Drawn already, {said_day(stored.draw.drawn_at)}; nothing was changed. --again REASON draws anew.")
        if stored.draw.plan_hash != stored.plan_hash:
            note("The plan was changed after the draw; the strips stay as they were drawn.")
        for misfit in not_whole_passes(stored.plan, stored.draw.strips):
            note(misfit)
        try:
            return stored.draw, lay_out(stored.plan, field, layers=layers)
        except DoesNotFitError:
            note("The plan as it stands now does not fit the field any more.")
            return stored.draw, None
    if stored.draw is None and again is not None:
        note("Nothing was drawn before; this is the first draw.")
    with _Bar() as bar:
        laid_out = lay_out(stored.plan, field, layers=layers, on_heading=bar.step)
        if stored.plan.grid is not None:
            bar.drawing()
        wish = stored.plan.layout.seed
        draw = make_draw(
            stored.plan,
            laid_out,
            seed=secrets.randbits(_SEED_BITS) if wish is None else wish + len(stored.draws),
            drawn_at=datetime.now(UTC),
            plan_hash=stored.plan_hash,
            version=__version__,
            number=len(stored.draws) + 1,
            reason=again.strip() if again is not None and stored.draws else "",
        )
    store.append_draw(draw)
    return draw, laid_out


class _Bar:
    """A progress bar on standard error that appears only when the search takes longer than a moment."""

    def __init__(self) -> None:
        self._start = monotonic()
        self._bar: Progress | None = None

    def __enter__(self) -> _Bar:
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.stop()

    def step(self, left: int) -> None:
        """Show how many headings are still to try."""
        if self._bar is None and monotonic() - self._start > _PATIENCE_S:
            self._started().add_task("Trying headings", total=left)
        elif self._bar is not None:
            self._bar.advance(self._bar.task_ids[0])

    def drawing(self) -> None:
        """Show that orders are listed; with two factors that can take seconds, and nobody knows how many beforehand."""
        (self._bar or self._started()).add_task("Listing the orders allowed and drawing one", total=None)

    def _started(self) -> Progress:
        from rich.console import Console
        from rich.progress import Progress

        self._bar = Progress(console=Console(stderr=True), transient=True)
        self._bar.start()
        return self._bar
