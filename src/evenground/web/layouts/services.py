"""What the layout changes: answers on the field's history, wishes, the heading chosen, and the draw."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from datetime import datetime

from django.utils.translation import gettext as _

from evenground import __version__
from evenground.basis.errors import InputError, problem
from evenground.basis.layout_plan import BAND_KINDS, PLACE_KINDS
from evenground.basis.strip import Draw
from evenground.layout.laid_out import make_draw
from evenground.web.layouts.search import Found
from evenground.web.trial_view import Opened

# Below 2**53, so that every program reads the seed back exactly.
SEED_BITS = 48
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


def draw(*, opened: Opened, found: Found, reason: str, now: datetime) -> Draw:
    """Draw which strip gets which method, and store and lock it.

    The seed comes from the machine's randomness and cannot be chosen here; a draw that is there already stays on
    record, and a new one needs a reason.

    Raises
    ------
    LockedError
        If there is a draw already and no reason is given.
    InputError
        If the draw cannot be stored, or the search is for another plan.
    """
    stored = opened.stored
    if found.plan_hash != stored.plan_hash:
        raise InputError([problem(_("the plan was changed since the search; look for layouts again."))])
    wish = stored.plan.layout.seed
    made = make_draw(
        stored.plan,
        found.laid_out,
        seed=secrets.randbits(SEED_BITS) if wish is None else wish + len(stored.draws),
        drawn_at=now,
        plan_hash=stored.plan_hash,
        version=__version__,
        number=len(stored.draws) + 1,
        reason=reason.strip() if stored.draws else "",
    )
    opened.store.append_draw(made)
    return made
