"""A whole farm as one file with a hash of everything in it, and back: checked first, never over what is there."""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import IO, Any

from django.contrib.auth import get_user_model
from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground import __version__
from evenground.adapters.zip_file import ZipLimits, read_zip, write_zip
from evenground.basis.errors import InputError, Problem, problem
from evenground.web.transfer.rows import TABLES, Table, fits, row_of, said_of
from evenground.web.trials.folder_files import IN_COLUMNS, clashes
from evenground.web.trials.models import Farm, Trial
from evenground.web.trials.services import free_slug

FORM = "evenground farm backup"
FORM_NUMBER = 1
HEAD, HASHES = "farm.json", "hashes.txt"
LIMITS = ZipLimits(files=50_000, whole_bytes=1_000_000_000, file_bytes=400_000_000, ratio=150.0, name_signs=300)
MOST_ROWS_BYTES = 500_000_000
SPOOLED_BYTES = 8_000_000
PROBLEMS_TOLD = 40
LONGEST_PATH = 200

Progress = Callable[[int, int], None]


def back_up(farm: Farm) -> IO[bytes]:
    """Return everything of a farm as one file, rewound to its start.

    Plans, fields, draws, records, waiting entries and files with all versions, and who may see what by name; passwords,
    links and sessions are not in it.

    Parameters
    ----------
    farm : Farm
        The farm.
    """
    hashes: list[str] = []

    def files() -> Iterator[tuple[str, bytes]]:
        for name, content in _contents(farm):
            hashes.append(f"{hashlib.sha256(content).hexdigest()}  {name}")
            yield name, content
        yield HASHES, ("\n".join(hashes) + "\n").encode()

    out: IO[bytes] = tempfile.SpooledTemporaryFile(SPOOLED_BYTES)  # noqa: SIM115 - the response closes it
    with transaction.atomic():  # SQLite and PostgreSQL alike: one state of the farm, not several
        write_zip(files(), out)
    out.seek(0)
    return out


def _contents(farm: Farm) -> Iterator[tuple[str, bytes]]:
    """Give every file of a backup but the hashes."""
    trials = list(farm.trials.order_by("pk").select_related("grown_from"))
    head = {
        "file": FORM,
        "form": FORM_NUMBER,
        "version": __version__,
        "made_at": timezone.now().isoformat(),
        "farm": farm.name,
        "people": [{"name": m.user.get_username(), "role": m.role} for m in farm.memberships.select_related("user")],
        "trials": [_trial_said(t) for t in trials],
    }
    yield HEAD, _json(head)
    for trial in trials:
        for table in TABLES:
            rows = getattr(trial, table.name).order_by("pk")
            if table.person:
                rows = rows.select_related(table.person)
            if table.name == "files":
                for file in rows.iterator(chunk_size=1):
                    yield f"{trial.slug}/files/{file.path}", bytes(file.content)
            else:
                yield f"{trial.slug}/{table.name}.jsonl", b"".join(_json(said_of(r, table)) for r in rows.iterator())


def _trial_said(trial: Trial) -> dict[str, object]:
    shares = [{"name": s.user.get_username(), "role": s.role} for s in trial.shares.select_related("user")]
    return {
        "slug": trial.slug,
        "name": trial.name,
        "season": trial.season,
        "door": trial.door,
        "made_at": trial.made_at.isoformat(),
        "put_away_at": trial.put_away_at.isoformat() if trial.put_away_at else None,
        "grown_from": trial.grown_from.slug if trial.grown_from else None,
        "people": shares,
    }


def _json(said: object) -> bytes:
    return (json.dumps(said, ensure_ascii=True, separators=(",", ":")) + "\n").encode()


def restore(
    *,
    file: IO[bytes],
    by: AbstractBaseUser | None,
    progress: Progress = lambda _d, _t: None,
    limits: ZipLimits = LIMITS,
    most_rows_bytes: int = MOST_ROWS_BYTES,
) -> Farm:
    """Bring a backup into this database as a farm of its own; nothing that is there is changed.

    Parameters
    ----------
    file : binary file
        The backup.
    by : user or None
        Who restores it; the caller makes this person the farm's owner.
    progress : callable
        Told how many of how many trials are done.
    limits : ZipLimits
        How large it may be unpacked.
    most_rows_bytes : int
        How large all tables in it may be together [B]; photographs are not counted.

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
    files = read_zip(file, limits)
    rows_bytes = sum(len(c) for n, c in files.items() if n.endswith(".jsonl"))
    if rows_bytes > most_rows_bytes:
        given, allowed = f"{rows_bytes / 1e6:.0f} MB", f"{most_rows_bytes / 1e6:g} MB"
        raise InputError([problem(_("the tables in this backup are too large."), given=given, allowed=allowed)])
    head = _checked_head(files)
    rows = _checked_rows(files, head)
    people = {u.get_username(): u for u in get_user_model().objects.all()} if by is not None else {}
    with transaction.atomic():
        farm = Farm.objects.create(name=_free_name(str(head["farm"])))
        made: dict[str, Trial] = {}
        for done, said in enumerate(head["trials"]):
            made[said["slug"]] = _restored(farm, said, rows[said["slug"]], files, people)
            progress(done + 1, len(head["trials"]))
        for said in head["trials"]:
            if said["grown_from"] in made:
                Trial.objects.filter(pk=made[said["slug"]].pk).update(grown_from=made[said["grown_from"]])
    return farm


def _checked_head(files: Mapping[str, bytes]) -> dict[str, Any]:
    """Return what the backup says of itself, once every hash was found right."""
    problems = _hash_problems(files)
    if problems:
        raise InputError(problems[:PROBLEMS_TOLD])
    try:
        head = json.loads(files[HEAD])
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


def _hash_problems(files: Mapping[str, bytes]) -> list[Problem]:
    if HASHES not in files or HEAD not in files:
        text = _("this is not a backup of a farm: its list of contents is missing.")
        return [problem(text, file=HASHES, allowed=_("a file made by 'Back up the farm'"))]
    lines = files[HASHES].decode("utf-8", "replace").splitlines()
    told = {name: digest for digest, _gap, name in (line.partition("  ") for line in lines)}
    out = [problem(_("this part of the backup is missing."), file=n) for n in told if n not in files]
    for name, content in files.items():
        if name == HASHES:
            continue
        if name not in told:
            out.append(problem(_("this part does not belong to the backup."), file=name))
        elif hashlib.sha256(content).hexdigest() != told[name]:
            out.append(problem(_("this part of the backup was changed or damaged."), file=name))
    return out


def _checked_rows(files: Mapping[str, bytes], head: Mapping[str, Any]) -> dict[str, dict[str, list[dict[str, Any]]]]:
    """Read all rows of all trials and make sure that every text can be read again."""
    problems: list[Problem] = []
    out: dict[str, dict[str, list[dict[str, Any]]]] = {}
    for said in head["trials"]:
        mine = out.setdefault(said["slug"], {})
        for table in TABLES:
            if table.name != "files":
                name = f"{said['slug']}/{table.name}.jsonl"
                mine[table.name] = _rows(files.get(name), name, table, problems)
        top = f"{said['slug']}/files/"
        long = [n for n in files if n.startswith(top) and len(n) - len(top) > LONGEST_PATH]
        problems += [problem(_("this name is too long."), file=n, allowed=str(LONGEST_PATH)) for n in long]
        mine_too = [n[len(top) :] for n in files if n.startswith(top)]
        odd = [n for n in mine_too if n in IN_COLUMNS] + clashes(mine_too)
        problems += [problem(_("this file cannot lie beside the others."), file=top + n) for n in odd]
    if problems:
        raise InputError(problems[:PROBLEMS_TOLD])
    return out


def _rows(content: bytes | None, name: str, table: Table, problems: list[Problem]) -> list[dict[str, Any]]:
    if content is None:
        problems.append(problem(_("this part of the backup is missing."), file=name))
        return []
    out = []
    for number, line in enumerate(content.decode("utf-8", "replace").splitlines(), 1):
        try:
            said = json.loads(line)
            faults = fits(said, table)
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            faults = _("this line cannot be read.")
        if faults:
            problems.append(problem(faults, file=name, row=number))
        else:
            out.append(said)
    return out


def _free_name(name: str) -> str:
    """Return the farm's name, with the day where it is taken."""
    if not Farm.objects.filter(name=name).exists():
        return name[:120]
    stamp = timezone.localtime().strftime("%Y-%m-%d %H:%M")
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


def _restored(
    farm: Farm,
    said: Mapping[str, Any],
    rows: Mapping[str, Sequence[Mapping[str, Any]]],
    files: Mapping[str, bytes],
    people: Mapping[str, Any],
) -> Trial:
    """Store one trial with everything of it."""
    trial = _trial_row(farm, said)
    taken = Trial.objects.filter(slug=said["slug"]).exists()
    trial.slug = free_slug(trial.name, trial.season) if taken else said["slug"]
    trial.save()
    for table in TABLES:
        model = table.model
        if table.name == "files":
            top = f"{said['slug']}/files/"
            mine = [model(trial=trial, path=n[len(top) :], content=c) for n, c in files.items() if n.startswith(top)]
            model._default_manager.bulk_create(mine, batch_size=20)
            continue
        model._default_manager.bulk_create((row_of(r, table, trial, people) for r in rows[table.name]), batch_size=500)
    return trial
