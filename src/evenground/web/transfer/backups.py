"""A whole farm as one file with a hash of everything in it; `evenground.web.transfer.restoring` brings it back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator

from django.db import transaction
from django.utils import timezone

from evenground import __version__
from evenground.adapters.zip_file import zip_pieces
from evenground.web.transfer.rows import TABLES, said_of
from evenground.web.trials.models import Farm, Trial, TrialFile

FORM = "evenground farm backup"
FORM_NUMBER = 1
HEAD, HASHES = "farm.json", "hashes.txt"


def back_up(farm: Farm) -> Iterator[bytes]:
    """Give everything of a farm as one file, piece by piece while it is packed.

    Plans, fields, draws, records, waiting entries and files with all versions, and who may see what by name; passwords,
    links and sessions are not in it. Rows are read in one go, so that they are of one moment; files, which are never
    changed once they are there, are read one by one while the first of them are on their way.

    Parameters
    ----------
    farm : Farm
        The farm.

    Yields
    ------
    bytes
        The next piece of the archive.
    """
    hashes: list[str] = []

    def files() -> Iterator[tuple[str, bytes]]:
        for name, content in _contents(farm):
            hashes.append(f"{hashlib.sha256(content).hexdigest()}  {name}")
            yield name, content
        yield HASHES, ("\n".join(hashes) + "\n").encode()

    return zip_pieces(files())


def _contents(farm: Farm) -> Iterator[tuple[str, bytes]]:
    """Give every file of a backup but the hashes."""
    with transaction.atomic():  # SQLite and PostgreSQL alike: one state of the farm, not several
        rows, files = _rows_said(farm)
    yield from rows
    for name, number in files:
        file = TrialFile.objects.filter(pk=number).first()
        if file is not None:
            yield name, bytes(file.content)


def _rows_said(farm: Farm) -> tuple[list[tuple[str, bytes]], list[tuple[str, int]]]:
    """Return the head and all tables as files, and which other files there are: name and key."""
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
    rows, files = [(HEAD, _json(head))], []
    for trial in trials:
        for table in TABLES:
            if table.name == "files":
                told = trial.files.order_by("pk").values_list("path", "pk")
                files += [(f"{trial.slug}/files/{path}", number) for path, number in told]
                continue
            mine = getattr(trial, table.name).order_by("pk")
            if table.person:
                mine = mine.select_related(table.person)
            rows.append(
                (f"{trial.slug}/{table.name}.jsonl", b"".join(_json(said_of(r, table)) for r in mine.iterator()))
            )
    return rows, files


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
