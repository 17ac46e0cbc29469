"""A trial that is sown already: strips as told with how they were drawn, two areas, or places of each method."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground import __version__
from evenground.adapters.border_areas import AREAS_FILE
from evenground.adapters.border_file import SOWN_FILE, read_border_folder, sown_methods
from evenground.adapters.planter_log import read_planter_log
from evenground.basis.canonical import plan_hash
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.layout.said_draw import NOWHERE, said_draw
from evenground.web.start.kept_files import keep_file
from evenground.web.start.typed_strips import ALL, SIZES, TypedRow, filled, said_strips, typed_rows
from evenground.web.start.weights_plan import methods_asked, money_asked, tell_plan
from evenground.web.trials.models import Trial
from evenground.web.trials.store import DatabaseStore
from evenground.web.uploads import sent_file

FIRST_ROWS = 8
LARGEST_BYTES = 10_000_000
MOST_PLACES = 10_000
WAYS = ("lot", "areas", "walked", "log")


def shown(trial: Trial, given: Mapping[str, str]) -> dict[str, Any]:
    """Return what the page shows; lines that were typed stay."""
    plan = DatabaseStore(trial).plan()
    count = len(plan.letters)
    rows = typed_rows(given) or [
        TypedRow(i + 1, {"block": str(i // count + 1), "method": plan.letters[i % count]})
        for i in range(max(FIRST_ROWS, 3 * count))
    ]
    every = {n: given.get(f"{ALL}-{n}", "") for n in SIZES}
    there = set(trial.files.filter(path__in=(AREAS_FILE, SOWN_FILE)).values_list("path", flat=True))
    asked = methods_asked(plan, given)
    named = [m for m in asked if m.needed or m.name]
    return {
        "methods": named,
        "further": [m for m in asked if not (m.needed or m.name)],
        "others": [m for m in named if not m.baseline],
        "named": all(m.name for m in named),
        "baseline": plan.baseline.letter,
        "money": money_asked(plan, given),
        "letters": plan.letters,
        "rows": rows,
        "there": there,
        "every": every,
    }


def store_strips(
    *, trial: Trial, by: AbstractBaseUser, said: Mapping[str, str], files: Mapping[str, UploadedFile]
) -> str:
    """Store how the field was sown; return the page that comes next.

    Parameters
    ----------
    trial : Trial
        The trial.
    by : user
        Who tells.
    said : mapping
        What was typed, drawn or walked; ``way`` says which of these.
    files : mapping
        What was sent along: ``file``, or ``log-A`` and ``log-B`` for the planters' logs.

    Raises
    ------
    InputError
        With every fault; nothing is stored then.
    """
    way = said.get("way", "")
    if way == "names":
        with transaction.atomic():
            problems = tell_plan(DatabaseStore(trial, by), said)[1]
            if problems:
                raise InputError(problems)
        return "sown/"
    if way == "lot":
        _drawn_by_lot(trial, by, said)
        return "sowing/as-sown/"
    if way not in WAYS:
        raise InputError([problem(_("choose one of the ways."), field="way", given=way, allowed=", ".join(WAYS))])
    text = said.get("areas" if way == "areas" else "places", "").strip()
    if way == "log":
        data = _from_logs(DatabaseStore(trial).plan(), files)
    else:
        data = text.encode() if text else sent_file(files.get("file"), largest_bytes=LARGEST_BYTES)[0]
    _keep(trial, by, AREAS_FILE if way == "areas" else SOWN_FILE, _sound_json(data) if way == "areas" else data)
    return "season/border/"


def _from_logs(plan: Plan, files: Mapping[str, UploadedFile]) -> bytes:
    """Return the places the planters' logs name, with rows on, as a table; of very long logs every so many-th place."""
    lines: list[str] = []
    problems: list[Problem] = []
    for method in plan.methods:
        sent = files.get(f"log-{method.letter}")
        if sent is None:
            continue
        data, name = sent_file(sent, largest_bytes=LARGEST_BYTES)
        with TemporaryDirectory(prefix="evenground-") as folder:
            path = Path(folder) / name
            path.write_bytes(data)
            try:
                log = read_planter_log(path, method.letter, plan.machine(method.machine))
            except InputError as error:
                problems += error.problems
                continue
        sowing = [(x, y) for x, y, off in zip(log.lon, log.lat, log.rows_off, strict=True) if off < log.rows]
        step = max(1, len(sowing) // MOST_PLACES)
        lines += [f"{x:.8f},{y:.8f},{method.letter}" for x, y in sowing[::step]]
    if not lines and not problems:
        problems.append(problem(_("choose the log of each planter."), field="log"))
    if problems:
        raise InputError(problems)
    return "\n".join(["lon,lat,method", *lines, ""]).encode()


def _drawn_by_lot(trial: Trial, by: AbstractBaseUser, said: Mapping[str, str]) -> None:
    store = DatabaseStore(trial, by)
    with transaction.atomic():
        plan = store.plan()
        strips = said_strips(plan, filled(typed_rows(said)))
        stored = store.load()
        centre = stored.field.boundary.centroid if stored.field is not None else None
        draw = said_draw(
            plan,
            strips,
            how=said.get("how", ""),
            told_at=timezone.now(),
            plan_hash=plan_hash(plan),
            version=__version__,
            place=(centre.x, centre.y) if centre is not None else NOWHERE,
            number=len(stored.draws) + 1,
        )
        store.append_draw(draw)


def _sound_json(data: bytes) -> bytes:
    """Make sure that what came is GeoJSON at all; the reader of borders says the rest."""
    try:
        content = json.loads(data)
    except (ValueError, RecursionError) as error:
        words = _("this is not GeoJSON.")
        raise InputError([problem(words, file=AREAS_FILE, allowed="a FeatureCollection")]) from error
    return json.dumps(content).encode()


def _keep(trial: Trial, by: AbstractBaseUser, path: str, content: bytes) -> None:
    """Keep a file of the border after reading it with all that is there."""
    store = DatabaseStore(trial, by)
    with TemporaryDirectory(prefix="evenground-") as name:
        (Path(name) / path).write_bytes(content)
        if path == SOWN_FILE:
            sown_methods(Path(name) / path)
        else:
            read_border_folder(Path(name), store.load().field, ())
    keep_file(trial, path, content)
