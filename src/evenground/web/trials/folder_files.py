"""A trial of the database as the files of a trial folder: what came from a folder goes back byte for byte."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import PurePosixPath

from evenground.adapters.geojson import FIELD_FILE
from evenground.adapters.plan_file import PLAN_FILE
from evenground.adapters.record_appending import with_more
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.adapters.strips_file import STRIPS_FILE
from evenground.adapters.trial_folder import VERSIONS
from evenground.basis.observations import RECORD_KINDS, Observation
from evenground.web.trials.models import Trial
from evenground.web.trials.parsed import plan_of, record_of

PHOTOS = "photos/"
HELD_FILE = "held-entries.json"
IN_COLUMNS = (PLAN_FILE, FIELD_FILE, STRIPS_FILE, HELD_FILE)
"""Files that are kept as versions and rows, not as files."""


def folder_files(trial: Trial, *, photographs: bool = True, history: bool = True) -> Iterator[tuple[str, bytes]]:
    """Give every file of the trial's folder, one after the other.

    Parameters
    ----------
    trial : Trial
        The trial.
    photographs : bool
        Whether to give photographs too; they can be large.
    history : bool
        Whether to give earlier versions of plan and field, and entries that wait to be looked at.

    Yields
    ------
    tuple
        Path in the folder, and content.
    """
    tables = {f"records/{kind}.csv": kind for kind in RECORD_KINDS}
    came: dict[str, bytes] = {}
    for file in trial.files.order_by("path").iterator(chunk_size=1):
        if file.path in tables:
            came[file.path] = bytes(file.content)
        elif photographs or not file.path.startswith(PHOTOS):
            yield file.path, bytes(file.content)
    plan = trial.plans.last()
    if plan is not None:
        yield PLAN_FILE, plan.text.encode()
    if (field := trial.fields.last()) is not None:
        yield FIELD_FILE, field.text.encode()
    if (draw := trial.draws.last()) is not None:
        yield STRIPS_FILE, draw.text.encode()
    styles = plan_of(plan.text).files if plan is not None else {}
    every: dict[str, list[Observation]] = {}
    for kind, text in trial.records.values_list("kind", "text"):
        every.setdefault(kind, []).append(record_of(kind, text))
    for path, kind in tables.items():
        records, old = every.get(kind, []), came.get(path)
        if old is not None and old.strip() and records:
            yield path, with_more(kind, records, old, styles)
        elif records:
            yield path, rows_text(records, canonical_columns(kind)).encode()
        elif old is not None:
            yield path, old
    if history:
        yield from _history(trial)


def _history(trial: Trial) -> Iterator[tuple[str, bytes]]:
    """Give what was replaced, numbered on from what came with the folder, and what waits."""
    came = set(trial.files.filter(path__startswith=f"{VERSIONS}/").values_list("path", flat=True))
    for stem, suffix, versions in (("trial", "toml", trial.plans), ("field", "geojson", trial.fields)):
        before = sum(path.startswith(f"{VERSIONS}/{stem}-") and path.endswith(f".{suffix}") for path in came)
        latest = versions.last()
        for version in versions.all():
            if version != latest:
                yield f"{VERSIONS}/{stem}-{before + version.number:03d}.{suffix}", version.text.encode()
    held = [
        {
            "kind": h.kind,
            "id": h.record_id,
            "fields": json.loads(h.text),
            "problems": h.problems,
            "received_at": h.received_at.isoformat(),
            "device": h.device,
        }
        for h in trial.held.filter(settled_at=None)
    ]
    if held:
        yield HELD_FILE, (json.dumps(held, indent=1) + "\n").encode()


def clashes(paths: Iterable[str]) -> list[str]:
    """Name the files of a folder that cannot lie beside what the app writes there, or beside one another.

    Parameters
    ----------
    paths : iterable of str
        Paths in the folder.
    """
    every = list(paths)
    tables = [f"records/{kind}.csv" for kind in RECORD_KINDS]
    files = {p.casefold() for p in (*every, PLAN_FILE, FIELD_FILE, STRIPS_FILE, HELD_FILE, *tables)}
    folders = {"records", VERSIONS, PHOTOS.rstrip("/")}
    out = []
    for path in every:
        above = [a.as_posix().casefold() for a in PurePosixPath(path).parents]
        if path.casefold() in folders or files.intersection(above):
            out.append(path)
    return out
