"""Plants counted from a photograph: two marks for the scale, plants found, an overlay to accept or correct."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from django.utils.translation import gettext as _

from evenground.adapters.photo_file import Mark, Photo, read_photo
from evenground.adapters.photo_overlay import LONGEST_SIDE, RULER, SHORTEST_SIDE, overlay_png
from evenground.basis.errors import InputError, problem
from evenground.stand.photo.corrections import Change, corrected
from evenground.stand.photo.found import Found, find_plants
from evenground.web.jobs import Job
from evenground.web.memory import Kept, Key
from evenground.web.uploads import Upload

MOST_KEPT = 6
SHARES = 100
ID_DIGITS = 12


@dataclass(frozen=True)
class Asked:
    """What is asked of a photograph.

    Attributes
    ----------
    ends_px : tuple of float
        Two marked points: x, y, x, y from the upper left corner [pixels].
    distance_m : float
        How far they are apart on the ground [m].
    twin : bool or None
        Twin rows or single ones; None to tell by their distances.
    """

    ends_px: tuple[float, float, float, float]
    distance_m: float
    twin: bool | None

    @property
    def query(self) -> str:
        """The same as the query of an address."""
        names = zip(("x1", "y1", "x2", "y2"), self.ends_px, strict=True)
        parts = [f"{n}={v:g}" for n, v in names] + [f"distance_m={self.distance_m:g}"]
        return "&".join(parts + ([] if self.twin is None else [f"twin={'yes' if self.twin else 'no'}"]))


@dataclass(frozen=True)
class Looked:
    """A photograph as read and its plants as found."""

    photo: Photo
    found: Found


LOOKED: Kept[Looked] = Kept(MOST_KEPT)


def asked(given: Mapping[str, str]) -> Asked:
    """Read what is asked of a photograph from a query.

    Raises
    ------
    InputError
        With everything that is no number.
    """
    numbers, problems = {}, []
    for name in ("x1", "y1", "x2", "y2", "distance_m"):
        try:
            numbers[name] = float(given.get(name, "").replace(",", "."))
        except ValueError:
            text = _("mark both ends of the stick and say how long it is.")
            problems.append(problem(text, field=name, given=given.get(name, ""), allowed=_("a number")))
    if problems:
        raise InputError(problems)
    twin = {"yes": True, "no": False}.get(given.get("twin", ""))
    ends = (numbers["x1"], numbers["y1"], numbers["x2"], numbers["y2"])
    return Asked(ends, numbers["distance_m"], twin)


def key_of(upload: Upload, what: Asked) -> Key:
    """Return what a search depends on."""
    return (upload.token, what)


def search(upload: Upload, what: Asked) -> Callable[[Job], Looked]:
    """Return the work of finding the plants of a photograph; what was found before is not looked for again.

    Raises
    ------
    InputError
        With everything that is wrong with picture and marks.
    """
    with tempfile.TemporaryDirectory(prefix="evenground-photo-") as folder:
        path = Path(folder) / "photo.jpg"
        path.write_bytes(upload.data)
        photo = read_photo(path, Mark(what.ends_px, what.distance_m))

    def work(job: Job) -> Looked:
        def find() -> Looked:
            found = find_plants(
                photo.pixels,
                photo.work_pixel_m,
                photo.pixel_m,
                twin=what.twin,
                progress=lambda share: job.progress(round(SHARES * share), SHARES),
            )
            return Looked(photo, found)

        return LOOKED.get(key_of(upload, what), find)

    return work


def read_changes(text: str) -> tuple[Change, ...]:
    """Read corrections, one a line: ``add 120 340`` or ``remove 120 340`` [pixels].

    Raises
    ------
    InputError
        With every line that is none.
    """
    out, problems = [], []
    for number, line in enumerate(text.splitlines(), 1):
        words = line.replace(",", " ").split()
        if not words:
            continue
        try:
            action, x, y = words
            if action not in ("add", "remove"):
                raise ValueError(action)
            out.append(Change(number, "add" if action == "add" else "remove", float(x), float(y)))
        except ValueError:
            allowed = _("add or remove, then two numbers: add 120 340")
            problems.append(problem(_("this is no correction."), row=number, given=line[:80], allowed=allowed))
    if problems:
        raise InputError(problems)
    return tuple(out)


def with_changes(looked: Looked, changes: tuple[Change, ...]) -> Found:
    """Return the plants after corrections; see `evenground.stand.photo.corrections.corrected`."""
    return corrected(looked.found, changes, _("corrections")) if changes else looked.found


def overlay(looked: Looked, found: Found) -> bytes:
    """Return the overlay as PNG."""
    return overlay_png(looked.photo, found)


def overlay_scale(photo: Photo) -> float:
    """Return how much smaller the overlay is than the photograph [1]; its rulers take `RULER` pixels."""
    longest = max(photo.size_px)
    scale = min(1.0, LONGEST_SIDE / longest)
    return max(scale, SHORTEST_SIDE / longest) if longest < SHORTEST_SIDE else scale


RULER_PX = RULER


def key_of_runs(upload: Upload) -> str:
    """Return how the ids of a photograph's runs begin: the same picture sent again gives the same."""
    return f"photo-{hashlib.sha256(upload.data).hexdigest()[:ID_DIGITS]}"


def note_of(changes: tuple[Change, ...]) -> str:
    """Return what is said beside the runs: where they come from, and what a person corrected."""
    added = sum(change.action == "add" for change in changes)
    if not changes:
        return _("from a photograph")
    return _("from a photograph; by hand %(added)d put in, %(removed)d taken out") % {
        "added": added,
        "removed": len(changes) - added,
    }
