"""A trial folder in and out as one zip: what came goes back byte for byte, what was added since is added."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import IO, Any

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground.adapters.folder_reading import FolderRead, read_folder
from evenground.adapters.geojson import FIELD_FILE
from evenground.adapters.plan_file import PLAN_FILE
from evenground.adapters.strips_file import STRIPS_FILE
from evenground.adapters.zip_file import ZipLimits, open_zip, zip_pieces
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import RECORD_KINDS
from evenground.basis.plan import Plan
from evenground.web.transfer.placeless import placeless_files
from evenground.web.trials.appending import unreadable
from evenground.web.trials.folder_files import HELD_FILE, IN_COLUMNS, clashes, folder_files
from evenground.web.trials.held import Waiting, fields_text, keep_waiting
from evenground.web.trials.models import Door, DrawVersion, Farm, FieldVersion, PlanVersion, Trial, TrialFile
from evenground.web.trials.parsed import plan_hash_of
from evenground.web.trials.services import free_slug
from evenground.web.trials.store import FIRST_YEAR, LAST_YEAR, DatabaseStore

LIMITS = ZipLimits(files=50_000, whole_bytes=100_000_000_000)
"""Photographs of a trial may fill a disk, but never the memory; what is not a photograph is bounded below."""
Progress = Callable[[int, int], None]
LARGEST_TABLES_BYTES = 16_000_000
"""All tables of records of a trial together: some 100,000 records. Read, a table takes twenty times its size."""


def trial_as_zip(trial: Trial, *, without_places: bool = False) -> Iterator[bytes]:
    """Give a trial folder as a zip, piece by piece while it is packed.

    Parameters
    ----------
    trial : Trial
        The trial.
    without_places : bool
        Whether to leave out everything that says where it lies; see `evenground.web.transfer.placeless`.

    Yields
    ------
    bytes
        The next piece of the archive.
    """
    files = placeless_files(trial) if without_places else folder_files(trial)
    return zip_pieces((f"{trial.slug}/{path}", content) for path, content in files)


def take_zip(
    *,
    farm: Farm,
    file: IO[bytes],
    by: AbstractBaseUser | None,
    progress: Progress = lambda _d, _t: None,
    limits: ZipLimits = LIMITS,
) -> Trial:
    """Store a trial folder that came as a zip as a new trial.

    Everything is unpacked twice, once to check it and once to store it, so that never more than one photograph is in
    memory. Photographs are stored one by one after the trial itself; where that ends early, the trial goes again.

    Parameters
    ----------
    farm : Farm
        The farm it belongs to.
    file : binary file
        The archive.
    by : user or None
        Who brings it.
    progress : callable
        Told how many of how many bytes are done, checking and storing together; may raise to stop it.
    limits : ZipLimits
        How large it may be unpacked.

    Returns
    -------
    Trial
        A new trial; nothing that is there is changed.

    Raises
    ------
    InputError
        With every problem of the archive and of the files in it; nothing is stored then.
    """
    archive = open_zip(file, limits)
    paths = _below_top(archive.entries)
    texts = [path for path in paths if path in IN_COLUMNS or _is_table(path)]
    _check_sizes({path: archive.entries[paths[path]].file_size for path in texts})
    if odd := clashes(paths):
        text = _("a file and a folder of one name cannot lie beside each other.")
        raise InputError([problem(text, file=path) for path in odd])
    done = [0, 2 * max(1, archive.whole_bytes)]

    def more(size: int) -> None:
        done[0] += size
        progress(min(*done), done[1])

    wanted = {paths[path] for path in texts}
    kept = archive.walked(keep=wanted.__contains__, seen=lambda _name, chunk: more(len(chunk)))
    trial = _stored(farm, {path: kept[paths[path]] for path in texts}, by)
    try:
        for path, name in paths.items():
            if path not in IN_COLUMNS:
                TrialFile.objects.create(trial=trial, path=path, content=archive.content(name))
                more(archive.entries[name].file_size)
    except BaseException:  # stopped, or no room: nothing of it stays
        trial.files.all().delete()
        trial.delete()
        raise
    return trial


def _is_table(path: str) -> bool:
    return path.startswith("records/") and path.endswith(".csv")


def _check_sizes(sizes: Mapping[str, int]) -> None:
    """Refuse texts that would not fit in memory; what the archive says of their size is held to when they are read."""
    tables_bytes = sum(size for path, size in sizes.items() if _is_table(path))
    if tables_bytes > LARGEST_TABLES_BYTES:
        given, allowed = f"{tables_bytes / 1e6:.1f} MB", f"{LARGEST_TABLES_BYTES / 1e6:g} MB"
        text = _("the tables of records are larger than those of any trial.")
        raise InputError([problem(text, file="records/", given=given, allowed=allowed)])


def _stored(farm: Farm, files: Mapping[str, bytes], by: AbstractBaseUser | None) -> Trial:
    """Store the trial with all but its other files."""
    read = _read(files)
    problems = [*read.problems, *_text_problems(files), *_record_problems(read)]
    held = _held_in(files, problems)
    if problems or read.plan.plan is None:
        raise InputError(problems)
    with transaction.atomic():
        trial = _new_trial(farm, read.plan.plan, read)
        _store_versions(trial, files, read, by)
        DatabaseStore(trial, by).add(
            [r for k in RECORD_KINDS for r in (read.tables[k].records if k in read.tables else ())]
        )
        for one in held:
            keep_waiting(trial, one)
    return trial


def _below_top(names: Iterable[str]) -> dict[str, str]:
    """Return the names in the archive by their path in the trial folder, wherever that lies in it.

    Raises
    ------
    InputError
        If there is no trial folder in it, or files lie beside it.
    """
    every = {PurePosixPath(name): name for name in names}
    plans = [path for path in every if path.name == PLAN_FILE]
    if not plans:
        text = _("there is no trial.toml in this archive.")
        raise InputError([problem(text, allowed=_("a trial folder packed as zip"))])
    top = min((p.parent for p in plans), key=lambda p: len(p.parts))
    beside = [name for path, name in every.items() if not path.is_relative_to(top) and path.parts[0] != "__MACOSX"]
    if beside:
        text = _("this lies beside the trial folder; pack the folder alone.")
        raise InputError([problem(text, file=p, allowed=f"{top}/...") for p in beside[:20]])
    return {path.relative_to(top).as_posix(): name for path, name in every.items() if path.is_relative_to(top)}


def _read(files: Mapping[str, bytes]) -> FolderRead:
    """Read the trial folder as the commands do."""
    with tempfile.TemporaryDirectory(prefix="evenground-") as name:
        for path in (PLAN_FILE, FIELD_FILE, STRIPS_FILE, *(f"records/{k}.csv" for k in RECORD_KINDS)):
            if path in files:
                target = Path(name) / path
                target.parent.mkdir(exist_ok=True)
                target.write_bytes(files[path])
        return read_folder(Path(name))


def _text_problems(files: Mapping[str, bytes]) -> list[Problem]:
    """Say which of the files that become text are not UTF-8."""
    out = []
    for path in (PLAN_FILE, FIELD_FILE, STRIPS_FILE):
        try:
            files.get(path, b"").decode()
        except UnicodeDecodeError:
            out.append(problem(_("this file is not text in UTF-8."), file=path, allowed="UTF-8"))
    return out


def _record_problems(read: FolderRead) -> list[Problem]:
    """Say which records could not be written to a folder again; a file may hold signs that get lost on the way."""
    found = unreadable([r for t in read.tables.values() for r in t.records])
    return [p for faults in found.values() for p in faults]


def _held_in(files: Mapping[str, bytes], problems: list[Problem]) -> list[Waiting]:
    """Read the entries that were waiting to be looked at."""
    if HELD_FILE not in files:
        return []
    try:
        said = json.loads(files[HELD_FILE])
        return [_waiting(one) for one in said]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        problems.append(problem(_("this file of waiting entries cannot be read."), file=HELD_FILE))
        return []


def _waiting(said: Mapping[str, Any]) -> Waiting:
    """Read one entry that waits.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError
        If it is none.
    """
    kind, name, device = said["kind"], said["id"], said["device"]
    for value, longest in ((kind, 40), (name, 80), (device, 80)):
        if len(value) > longest or not value.isprintable():
            raise ValueError(value)
    received_at = datetime.fromisoformat(said["received_at"])
    if received_at.tzinfo is None or not FIRST_YEAR < received_at.year < LAST_YEAR:
        raise ValueError(received_at)
    problems = [{str(n): str(v) for n, v in one.items()} for one in said["problems"]]
    return Waiting(kind, name, fields_text(said["fields"]), device, problems, received_at)


def _new_trial(farm: Farm, plan: Plan, read: FolderRead) -> Trial:
    name, season = plan.trial.name, plan.trial.season
    door = Door.PLANNED if read.draws or not any(t.records for t in read.tables.values()) else Door.SOWN
    return Trial.objects.create(farm=farm, slug=free_slug(name, season), name=name[:200], season=season, door=door)


def _store_versions(trial: Trial, files: Mapping[str, bytes], read: FolderRead, by: AbstractBaseUser | None) -> None:
    """Keep plan, field and strips as the texts that came, to the byte."""
    by_id = by.pk if by is not None else None
    text = files[PLAN_FILE].decode()
    PlanVersion.objects.create(trial=trial, number=1, text=text, plan_hash=plan_hash_of(text), saved_by_id=by_id)
    if FIELD_FILE in files:
        FieldVersion.objects.create(trial=trial, number=1, text=files[FIELD_FILE].decode(), saved_by_id=by_id)
    if read.draws:
        last = read.draws[-1]
        drawn_at = last.drawn_at if last.drawn_at.tzinfo else timezone.make_aware(last.drawn_at)
        DrawVersion.objects.create(
            trial=trial, number=last.number, text=files[STRIPS_FILE].decode(), drawn_at=drawn_at, saved_by_id=by_id
        )
