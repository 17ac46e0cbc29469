"""A farm back from its backup: checked first, every part of it, then stored as a farm of its own, step by step."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import IO, Any

from django.contrib.auth import get_user_model
from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground import __version__
from evenground.adapters.zip_file import CheckedZip, ZipLimits, open_zip
from evenground.basis.errors import InputError, Problem, problem
from evenground.web.numbers import day
from evenground.web.transfer.backups import FORM, FORM_NUMBER, HASHES, HEAD
from evenground.web.transfer.rows import TABLES, Table, fits, row_of
from evenground.web.trials.folder_files import IN_COLUMNS, clashes
from evenground.web.trials.models import Farm, Trial, TrialFile
from evenground.web.trials.services import free_slug

LIMITS = ZipLimits(files=200_000, whole_bytes=100_000_000_000, file_bytes=400_000_000, ratio=150.0, name_signs=300)
MOST_ROWS_BYTES = 500_000_000
TABLE_BYTES = 40_000_000
"""One table of one trial: all records of many trials. Read, a table takes twenty times its size of memory."""
PROBLEMS_TOLD = 40
STOPS_EVERY = 200  # rows
LONGEST_PATH = 200

Progress = Callable[[int, int], None]


def restore(
    *,
    file: IO[bytes],
    by: AbstractBaseUser | None,
    progress: Progress = lambda _d, _t: None,
    limits: ZipLimits = LIMITS,
    most_rows_bytes: int = MOST_ROWS_BYTES,
    begun: Callable[[Farm], None] = lambda _farm: None,
) -> Farm:
    """Bring a backup into this database as a farm of its own; nothing that is there is changed.

    Everything is unpacked twice: once to check it, once to store it, so that never more than one photograph and the
    rows of one trial are in memory. It is stored step by step, so that phones can send between the steps; until the
    caller makes somebody its owner, nobody sees the farm. What was stored is taken away again where it ends early.

    Parameters
    ----------
    file : binary file
        The backup.
    by : user or None
        Who restores it; the caller makes this person the farm's owner.
    progress : callable
        Told how many of how many bytes are done, checking and storing together; may raise to stop it.
    limits : ZipLimits
        How large it may be unpacked.
    most_rows_bytes : int
        How large all tables in it may be together [B]; photographs are not counted.
    begun : callable
        Told the farm before anything is stored in it.

    Returns
    -------
    Farm
        The farm; where one of its name is there already, its name says when it was restored.

    Raises
    ------
    InputError
        With every problem found: hashes that do not fit, files missing, texts that cannot be read; nothing is stored
        then.
    """
    backup = open_zip(file, limits)
    done = _Done(progress, 2 * max(1, backup.whole_bytes))
    _check_tables(backup, most_rows_bytes)
    head = _checked_head(backup, done)
    _check_trials(backup, head, done)
    people = {u.get_username(): u for u in get_user_model().objects.all()} if by is not None else {}
    farm = Farm.objects.create(name=_free_name(str(head["farm"])))
    try:
        begun(farm)
        _store(farm, backup, head, people, done)
    except BaseException:  # stopped, or no room: nothing of it stays
        take_away(farm)
        raise
    return farm


def take_away(farm: Farm) -> None:
    """Take away a farm that came back only in part; it has no people yet.

    Parameters
    ----------
    farm : Farm
        The farm.
    """
    for trial in farm.trials.all():
        trial.files.all().delete()
        trial.delete()
    farm.delete()


class _Done:
    """Counts what is done and tells it."""

    def __init__(self, progress: Progress, total: int) -> None:
        self.progress, self.total, self.done = progress, total, 0

    def more(self, size: int) -> None:
        """Add bytes that are checked or stored."""
        self.done += size
        self.progress(min(self.done, self.total), self.total)


def _check_tables(backup: CheckedZip, most_rows_bytes: int) -> None:
    """Refuse tables that would not fit in memory; what the archive says of their size is held to when they are read."""
    sizes = {n: e.file_size for n, e in backup.entries.items() if n.endswith(".jsonl")}
    whole = sum(sizes.values())
    text = _("the tables in this backup are too large.")
    if whole > most_rows_bytes:
        raise InputError([problem(text, given=f"{whole / 1e6:.0f} MB", allowed=f"{most_rows_bytes / 1e6:g} MB")])
    if large := [n for n, size in sizes.items() if size > TABLE_BYTES]:
        allowed = f"{TABLE_BYTES / 1e6:g} MB"
        raise InputError([problem(text, file=n, given=f"{sizes[n] / 1e6:.0f} MB", allowed=allowed) for n in large])


def _checked_head(backup: CheckedZip, done: _Done) -> dict[str, Any]:
    """Return what the backup says of itself, once every hash was found right."""
    problems = _hash_problems(backup, done)
    if problems:
        raise InputError(problems[:PROBLEMS_TOLD])
    try:
        head = json.loads(backup.content(HEAD))
        if head["file"] != FORM:
            raise ValueError(head["file"])
        if head["form"] > FORM_NUMBER:
            text = _("this backup was made by a newer version of evenground.")
            raise InputError([problem(text, file=HEAD, given=head["version"], allowed=__version__)])
        for said in head["trials"]:
            _trial_row(Farm(), said)
        slugs = [t["slug"] for t in head["trials"]]
        if len(set(slugs)) != len(slugs) or not isinstance(head["farm"], str) or not head["farm"].isprintable():
            raise ValueError(slugs)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise InputError([problem(_("this is not a backup of a farm."), file=HEAD)]) from error
    return dict(head)


def _hash_problems(backup: CheckedZip, done: _Done) -> list[Problem]:
    """Unpack everything once and compare its hash with the one in the list of contents."""
    if HASHES not in backup.entries or HEAD not in backup.entries:
        text = _("this is not a backup of a farm: its list of contents is missing.")
        return [problem(text, file=HASHES, allowed=_("a file made by 'Back up the farm'"))]
    found: dict[str, Any] = {}

    def seen(name: str, chunk: bytes) -> None:
        found.setdefault(name, hashlib.sha256()).update(chunk)
        done.more(len(chunk))

    lines = backup.walked(keep=lambda name: name == HASHES, seen=seen)[HASHES].decode("utf-8", "replace").splitlines()
    told = {name: digest for digest, _gap, name in (line.partition("  ") for line in lines)}
    out = [problem(_("this part of the backup is missing."), file=n) for n in told if n not in found]
    for name, digest in found.items():
        if name == HASHES:
            continue
        if name not in told:
            out.append(problem(_("this part does not belong to the backup."), file=name))
        elif digest.hexdigest() != told[name]:
            out.append(problem(_("this part of the backup was changed or damaged."), file=name))
    return out


def _check_trials(backup: CheckedZip, head: Mapping[str, Any], done: _Done) -> None:
    """Make sure that every text of every trial can be read again, one trial after the other."""
    problems: list[Problem] = []
    for said in head["trials"]:
        for table in TABLES:
            if table.name != "files":
                _check_rows(backup, said["slug"], table, problems, done)
        top = f"{said['slug']}/files/"
        mine = [n[len(top) :] for n in backup.entries if n.startswith(top)]
        long = [n for n in mine if len(n) > LONGEST_PATH]
        problems += [problem(_("this name is too long."), file=top + n, allowed=str(LONGEST_PATH)) for n in long]
        odd = [n for n in mine if n in IN_COLUMNS] + clashes(mine)
        problems += [problem(_("this file cannot lie beside the others."), file=top + n) for n in odd]
    if problems:
        raise InputError(problems[:PROBLEMS_TOLD])


def _check_rows(backup: CheckedZip, slug: str, table: Table, problems: list[Problem], done: _Done) -> None:
    """Look at each row of one table of one trial; what is wrong goes to the problems."""
    name = f"{slug}/{table.name}.jsonl"
    if name not in backup.entries:
        problems.append(problem(_("this part of the backup is missing."), file=name))
        return
    for number, line in enumerate(_lines(backup, slug, table), 1):
        try:
            faults = fits(json.loads(line), table)
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            faults = _("this line cannot be read.")
        if faults:
            problems.append(problem(faults, file=name, row=number))
        if len(problems) > PROBLEMS_TOLD:
            raise InputError(problems[:PROBLEMS_TOLD])
        if number % STOPS_EVERY == 0:
            done.more(0)


def _lines(backup: CheckedZip, slug: str, table: Table) -> list[str]:
    return backup.content(f"{slug}/{table.name}.jsonl").decode("utf-8", "replace").splitlines()


def _rows(backup: CheckedZip, slug: str, table: Table) -> list[dict[str, Any]]:
    """Read one table of one trial that was looked at before."""
    return [json.loads(line) for line in _lines(backup, slug, table)]


def _free_name(name: str) -> str:
    """Return the farm's name, with the day where it is taken."""
    if not Farm.objects.filter(name=name).exists():
        return name[:120]
    stamp = f"{day(timezone.localdate())}, {timezone.localtime():%H:%M}"
    return _("{name} (restored {stamp})").format(name=name[:80], stamp=stamp)[:120]


def _trial_row(farm: Farm, said: Mapping[str, Any]) -> Trial:
    """Return a trial's row, not stored yet.

    Raises
    ------
    ValueError, KeyError, TypeError
        If it does not say what a trial needs.
    """
    texts = (said["slug"], said["name"], said["door"])
    if (
        not all(isinstance(t, str) and t.isprintable() for t in texts)
        or len(said["slug"]) > 80
        or len(said["name"]) > 200
    ):
        raise ValueError(texts)
    if not 1900 < int(said["season"]) < 2200 or said["door"] not in ("planned", "sown", "weights"):
        raise ValueError(said["season"])
    away = said["put_away_at"]
    trial = Trial(farm=farm, name=said["name"], season=int(said["season"]), door=said["door"])
    trial.put_away_at = _time(away) if away is not None else None
    trial.made_at = _time(said["made_at"])
    return trial


def _time(text: str) -> datetime:
    """Read a time with its zone."""
    time = datetime.fromisoformat(text)
    if time.tzinfo is None or not 1900 < time.year < 2200:
        raise ValueError(text)
    return time


def _store(farm: Farm, backup: CheckedZip, head: Mapping[str, Any], people: Mapping[str, Any], done: _Done) -> None:
    """Store trial after trial, each in one piece but for its files, which come one by one."""
    made: dict[str, Trial] = {}
    for said in head["trials"]:
        rows = {t.name: _rows(backup, said["slug"], t) for t in TABLES if t.name != "files"}
        with transaction.atomic():
            trial = made[said["slug"]] = _restored(farm, said, rows, people)
        done.more(sum(backup.entries[f"{said['slug']}/{name}.jsonl"].file_size for name in rows))
        top = f"{said['slug']}/files/"
        for name, entry in backup.entries.items():
            if name.startswith(top):
                TrialFile.objects.create(trial=trial, path=name[len(top) :], content=backup.content(name))
                done.more(entry.file_size)
    for said in head["trials"]:
        if said["grown_from"] in made:
            Trial.objects.filter(pk=made[said["slug"]].pk).update(grown_from=made[said["grown_from"]])


def _restored(
    farm: Farm, said: Mapping[str, Any], rows: Mapping[str, Sequence[Mapping[str, Any]]], people: Mapping[str, Any]
) -> Trial:
    """Store one trial with all its rows."""
    trial = _trial_row(farm, said)
    taken = Trial.objects.filter(slug=said["slug"]).exists()
    trial.slug = free_slug(trial.name, trial.season) if taken else said["slug"]
    trial.save()
    for table in TABLES:
        if table.name != "files":
            made = (row_of(r, table, trial, people) for r in rows[table.name])
            table.model._default_manager.bulk_create(made, batch_size=500)
    return trial
