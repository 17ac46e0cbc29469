"""What the layout changes: answers on the field's history, wishes, and the heading chosen."""

from __future__ import annotations

from collections.abc import Mapping

from evenground.basis.layout_plan import BAND_KINDS, PLACE_KINDS
from evenground.web.trial_view import Opened

WISHES = (
    "blocks",
    "most_blocks",
    "heading_deg",
    "headland_m",
    "guard_rows",
    "harvester",
    "shortest_strip_m",
    "widest_strip_m",
    "obstacle_distance_m",
    "sprayer_width_m",
    "first_tramline_m",
    "samples_per_strip",
    "fixed_edge",
    "fixed_edge_side",
)
TEXTS = ("harvester", "fixed_edge", "fixed_edge_side")
WHOLE = ("blocks", "most_blocks", "guard_rows", "samples_per_strip")
MAY_BE_EMPTY = ("harvester", "sprayer_width_m")


def save_history(*, opened: Opened, given: Mapping[str, str]) -> None:
    """Store the answers on what lies in the ground.

    Raises
    ------
    InputError
        If an answer is none of those allowed; the plan stays.
    """
    changes: dict[str, object] = {}
    for kind in (*BAND_KINDS, *PLACE_KINDS):
        answer = given.get(kind, "").strip()
        if not answer:
            continue
        text = given.get(f"{kind}-deg", "").strip()
        changes[f"history.{kind}"] = _number(text) if answer == "direction" else answer
    if changes:
        opened.store.change_plan(changes)


def save_wishes(*, opened: Opened, given: Mapping[str, str]) -> None:
    """Store the wishes for the layout.

    Raises
    ------
    InputError
        If a wish is out of range; the plan stays.
    """
    changes: dict[str, object] = {}
    for name in WISHES:
        if name not in given:
            continue
        text = given[name].strip()
        old = getattr(opened.stored.plan.layout, name)
        value: object = text if name in TEXTS else _number(text, whole=name in WHOLE)
        if not text:
            value = None
        if value != old and not (value is None and old is None):
            changes[f"layout.{name}"] = value
    if changes:
        opened.store.change_plan(changes)


def _number(text: str, *, whole: bool = False) -> object:
    """Return a number, with a comma or a point; what is none stays text, and the plan's checks say so."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return text
    return int(value) if whole and value.is_integer() else value


def choose_heading(*, opened: Opened, text: str) -> None:
    """Store the heading the farmer takes, or "best".

    Raises
    ------
    InputError
        If it is no heading; the plan stays.
    """
    opened.store.change_plan({"layout.heading_deg": text if text == "best" else _number(text)})
