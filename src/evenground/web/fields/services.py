"""What changes the field: an upload, a drawing, a walk, typed corners. Every change is a new version."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from evenground.adapters.field_upload import MOST_CORNERS, FieldUpload, with_boundary
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.layout_plan import PLACE_KINDS
from evenground.layout.walked_outline import MOST_PLACES, WalkedOutline, WalkedPlace, walked_outline
from evenground.web.trial_view import Opened

LARGEST_TEXT = 4_000_000
FEWEST_CORNERS = 3
_POINT = re.compile(r"\s*([+-]?\d{1,3}(?:\.\d+)?)\s*[,;\s]\s*([+-]?\d{1,3}(?:\.\d+)?)\s*")
_COMMA = re.compile(r"\s*([+-]?\d{1,3}(?:,\d+)?)\s*[;\s]\s*([+-]?\d{1,3}(?:,\d+)?)\s*")


def store_outlines(*, opened: Opened, outlines: Iterable[BaseGeometry], checked: bool = False) -> None:
    """Store a new boundary; obstacles and everything else of the field stay.

    Raises
    ------
    InputError
        With every problem found; the stored field stays.
    """
    opened.store.save_field(with_boundary(opened.store.field_text(), outlines, position_checked=checked))


def store_upload(*, opened: Opened, found: FieldUpload, chosen: Sequence[int], checked: bool = False) -> None:
    """Store what was chosen of an upload.

    Parameters
    ----------
    opened : Opened
        The trial.
    found : FieldUpload
        As read.
    chosen : sequence of int
        Places of the outlines wanted, from 0; a field of this program is stored whole.
    checked : bool
        Whether somebody has said that the place is right.

    Raises
    ------
    InputError
        With every problem found; the stored field stays.
    """
    if found.whole:
        opened.store.save_field(found.whole)
        return
    wanted = [found.outlines[i].shape for i in chosen if 0 <= i < len(found.outlines)]
    if not wanted:
        raise InputError([problem(_("choose at least one outline."), field="outlines")])
    store_outlines(opened=opened, outlines=wanted, checked=checked)


def store_drawing(*, opened: Opened, text: str) -> None:
    """Store a field as it was drawn: boundary, obstacles and the rest as GeoJSON.

    Raises
    ------
    InputError
        With every problem found; the stored field stays.
    """
    if len(text) > LARGEST_TEXT:
        raise InputError([problem(_("this drawing is too large."), allowed=f"{LARGEST_TEXT // 1_000_000} MB")])
    if text.count("[") > MOST_CORNERS:
        said = _("this drawing has more corners than any field needs.")
        raise InputError([problem(said, field="features", allowed=f"{MOST_CORNERS}")])
    opened.store.save_field(text)


def read_walk(text: str) -> WalkedOutline:
    """Return the outline of a walk.

    Parameters
    ----------
    text : str
        JSON: a list of places, each longitude, latitude [deg] and accuracy [m].

    Raises
    ------
    InputError
        If it is none, or no outline can be made of it.
    """
    wrong = InputError([problem(_("these are no places of a walk."), field="places", allowed="[[lon, lat, m], ...]")])
    if len(text) > LARGEST_TEXT:
        raise wrong
    try:
        content = json.loads(text)
        places = [WalkedPlace(*(float(v) for v in at[:3])) for at in content[: MOST_PLACES + 1]]
    except (ValueError, TypeError, KeyError, RecursionError, OverflowError) as error:
        raise wrong from error
    if any(math.isnan(p.accuracy_m) for p in places):
        raise wrong
    return walked_outline(places)


def read_corners(text: str, *, latitude_first: bool) -> Polygon:
    """Return an outline typed corner by corner.

    Parameters
    ----------
    text : str
        One corner a line, as maps and phones write places.
    latitude_first : bool
        Whether latitude stands first.

    Raises
    ------
    InputError
        With every line that is no place.
    """
    corners: list[tuple[float, float]] = []
    problems: list[Problem] = []
    for row, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        found = _POINT.fullmatch(line) or _COMMA.fullmatch(line)
        if found is None:
            allowed = "52.12345, 10.12345"
            problems.append(problem(_("this is no place."), row=row, field="corners", given=line[:60], allowed=allowed))
            continue
        first, second = (float(v.replace(",", ".")) for v in found.groups())
        corners.append((second, first) if latitude_first else (first, second))
    if not problems and len(set(corners)) < FEWEST_CORNERS:
        said = _("an outline has at least three corners.")
        problems.append(problem(said, field="corners", given=len(corners), allowed=f"{FEWEST_CORNERS}"))
    if problems:
        raise InputError(problems[:20])
    return Polygon(corners)


def tell_history(*, opened: Opened, text: str) -> None:
    """Say in the plan that places of earlier years are drawn, where a drawing shows some the plan does not know of."""
    said = opened.stored.plan.history.model_dump()
    drawn = {
        (f.get("properties") or {}).get("kind")
        for f in json.loads(text).get("features", [])
        if (f.get("properties") or {}).get("role") == "history"
    }
    changes: dict[str, object] = {
        f"history.{kind}": "drawn" for kind in PLACE_KINDS if kind in drawn and said[kind] != "drawn"
    }
    if changes:
        opened.store.change_plan(changes)
