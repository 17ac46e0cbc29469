"""The database made ready at every start: backed up, brought up to this version, and never taken back."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from evenground.adapters.files import writer_lock
from evenground.basis.errors import EvengroundError

BACKUPS = "backups"
KEPT = 10
WAIT_FOR_OTHER_S = 120.0


def prepare_database(data: Path, say: Callable[[str], None] = lambda _: None) -> Path | None:
    """Bring the database up to this version of the program; an SQLite file is backed up before it is changed.

    Parameters
    ----------
    data : Path
        The data folder; made where it is not there. Backups go into its folder ``backups``, the last `KEPT` stay.
    say : callable
        Told in a sentence what is done.

    Returns
    -------
    Path or None
        The backup that was made; None where nothing had to be changed, or there was nothing to lose yet.

    Raises
    ------
    EvengroundError
        If the database was written by a newer program, cannot be backed up, or cannot be changed. It is then as it was.
    """
    data.mkdir(parents=True, exist_ok=True, mode=0o700)
    file = sqlite_file()
    if file is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
    with writer_lock(data, WAIT_FOR_OTHER_S):
        steps = steps_to_go()
        if not steps:
            return None
        begun = bool(MigrationRecorder(connection).applied_migrations())
        backup = _backed_up(file, data / BACKUPS, say) if file is not None and begun else None
        try:
            call_command("migrate", interactive=False, verbosity=0)
        except DatabaseError as error:
            kept = f" The copy made before is {backup}." if backup is not None else ""
            raise EvengroundError(f"the database could not be brought up to this version: {error}.{kept}") from error
    return backup


def sqlite_file() -> Path | None:
    """Return the database's file; None where it is a server or in memory."""
    said = settings.DATABASES["default"]
    name = str(said["NAME"])
    return None if "sqlite3" not in said["ENGINE"] or ":memory:" in name or "mode=memory" in name else Path(name)


def steps_to_go() -> list[str]:
    """Name the changes that this version would make to the database.

    Raises
    ------
    EvengroundError
        If the database knows changes that this program does not.
    """
    executor = MigrationExecutor(connection)
    known = executor.loader.disk_migrations
    ours = {app for app, _ in known}
    newer = sorted(f"{a}.{n}" for a, n in executor.loader.applied_migrations if a in ours and (a, n) not in known)
    if newer:
        raise EvengroundError(
            f"this database was written by a newer version of evenground ({newer[0]}); nothing was changed. "
            "Use that version, or put a backup back."
        )
    return [f"{m.app_label}.{m.name}" for m, _ in executor.migration_plan(executor.loader.graph.leaf_nodes())]


def _backed_up(file: Path, folder: Path, say: Callable[[str], None]) -> Path:
    """Copy an SQLite database as it stands, check the copy, and let go of the oldest copies."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    path = folder / f"{file.stem}-{datetime.now(UTC):%Y%m%d-%H%M%S-%f}.sqlite3"
    copy_sqlite(file, path)
    say(f"The database is backed up: {path}")
    for old in sorted(folder.glob(f"{file.stem}-*.sqlite3"))[:-KEPT]:
        old.unlink()
    return path


def copy_sqlite(file: Path, to: Path) -> None:
    """Copy an SQLite database while others may be using it, and check the copy.

    Raises
    ------
    EvengroundError
        If the copy is not sound; it is removed then.
    """
    part = to.with_suffix(".part")
    try:
        with contextlib.closing(sqlite3.connect(part)) as copy:
            part.chmod(0o600)
            with contextlib.closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as source:
                source.backup(copy)
            found = copy.execute("PRAGMA integrity_check").fetchone()[0]
        if found != "ok":
            raise EvengroundError(f"the database is damaged ({found}); nothing was changed.")
        part.replace(to)
    except sqlite3.Error as error:
        raise EvengroundError(f"the database cannot be backed up: {error}.") from error
    finally:
        part.unlink(missing_ok=True)
