"""Where a trial is: a folder, or, with --trial, the database of the app. The commands do the same with both.

A trial of the database is laid out as a folder for the time of one command; what the command stores goes into the
database. The web layer is imported only then.
"""

from __future__ import annotations

import atexit
import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evenground.basis.errors import InputError, Problem, problem
from evenground.cli.output import note

if TYPE_CHECKING:
    from evenground.adapters.trial_folder import TrialFolder
    from evenground.web.trials.models import Trial
    from evenground.web.trials.store import DatabaseStore

TrialPath = Annotated[
    Path | None, typer.Argument(metavar="TRIAL", help="The trial folder. Without it, name a trial with --trial.")
]
TrialName = Annotated[str | None, typer.Option("--trial", help="A trial in the app's database instead of a folder.")]

NAMES_TOLD = 12
DEVICE = "command line"

_laid_out: dict[Path, DatabaseStore] = {}
_open = contextlib.ExitStack()
atexit.register(_open.close)


def located(trial: Path | None, name: str | None, *, photographs: bool = False) -> Path:
    """Return the folder a command reads: the one given, or a trial of the database laid out as one.

    Parameters
    ----------
    trial : Path or None
        A folder.
    name : str or None
        Or the name of a trial in the database: as in its address, or as it is called.
    photographs : bool
        Whether photographs are needed too; they can be large.

    Raises
    ------
    InputError
        If both or neither are given, or there is no such trial.
    """
    if (trial is None) == (name is None):
        text = (
            "say which trial: a folder, or --trial and a name." if trial is None else "a folder and --trial are given."
        )
        raise InputError([problem(text, field="TRIAL", given=trial or "", allowed="one of the two")])
    if trial is not None:
        return trial
    store = _in_database(str(name))
    folder = _open.enter_context(store.as_folder(photographs=photographs))
    _laid_out[folder] = store
    return folder


def store_at(folder: Path) -> TrialFolder | DatabaseStore:
    """Return the store a command writes to: the folder, or the database it was laid out from."""
    from evenground.adapters.trial_folder import TrialFolder  # maps come with it; commands without a trial start sooner

    return _laid_out.get(folder) or TrialFolder(folder)


def keep_file(folder: Path, name: str, content: bytes) -> None:
    """Keep a file of a trial beside its records: in the folder, and in the database it was laid out from.

    Parameters
    ----------
    folder : Path
        From `located`.
    name : str
        Name of the file in the trial folder.
    content : bytes
        What stands in it.
    """
    from evenground.adapters.files import write_atomically

    write_atomically(folder / name, content)
    store = _laid_out.get(folder)
    if store is not None:
        from evenground.web.trials.models import TrialFile

        TrialFile.objects.update_or_create(trial=store.trial, path=name, defaults={"content": content})


def out_folder(folder: Path, name: str) -> Path:
    """Return the folder for what a command makes: within the trial folder; beside the work for one of the database."""
    store = _laid_out.get(folder)
    return folder / name if store is None else Path(store.trial.slug) / name


def _in_database(name: str) -> DatabaseStore:
    """Find a trial in the database of the app."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "evenground.web.config.settings")
    import django

    django.setup()
    from django.conf import settings

    from evenground.web.trials.migrating import prepare_database, sqlite_file
    from evenground.web.trials.models import Trial
    from evenground.web.trials.store import DatabaseStore

    file = sqlite_file()
    if file is not None and not file.is_file():
        text = "there is no database yet; 'evenground serve' makes one."
        raise InputError([problem(text, file=str(file), field="--trial", given=name, allowed="a trial folder")])
    prepare_database(Path(settings.DATA), note)
    found = list(Trial.objects.filter(slug=name)) or list(Trial.objects.filter(name=name).order_by("season"))
    if len(found) != 1:
        raise InputError([_which(name, found or list(Trial.objects.order_by("-season", "slug")), some=bool(found))])
    return DatabaseStore(found[0], device=DEVICE)


def _which(name: str, trials: list[Trial], *, some: bool) -> Problem:
    text = "several trials are called this; use the name in the address." if some else "there is no trial of this name."
    names = ", ".join(t.slug for t in trials[:NAMES_TOLD])
    more = f" and {len(trials) - NAMES_TOLD} more" if len(trials) > NAMES_TOLD else ""
    return problem(text, field="--trial", given=name, allowed=f"one of {names}{more}" if names else "no trial yet")
