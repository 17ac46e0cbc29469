"""What changes the plan: values, one more method or machine, one fewer. Every change is a new version."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from evenground.adapters.plan_file import add_to_plan, take_from_plan
from evenground.basis.errors import InputError, problem
from evenground.basis.units import other_names
from evenground.web.trial_view import Opened

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
GATE = "layout.entrance"
_BASELINE = re.compile(r"methods\[(\d+)\]\.baseline")
_LETTER = re.compile(r"methods\[(\d+)\]\.letter")


def change(*, opened: Opened, changes: Mapping[str, object]) -> None:
    """Store a new version of the plan with some values changed.

    Where a method becomes the baseline, the others cease to be it.

    Parameters
    ----------
    opened : Opened
        The trial.
    changes : mapping
        Key path to value; None takes the key out.

    Raises
    ------
    InputError
        With every problem found; nothing is stored then.
    """
    _keep_letters(opened, changes)
    changes = _whole_gate(opened, changes)
    every = {**_other_units_out(opened.store.plan_text(), changes), **changes}
    chosen = next((int(m[1]) for path, v in changes.items() if v is True and (m := _BASELINE.fullmatch(path))), None)
    if chosen is not None:
        every |= {f"methods[{i}].baseline": i == chosen for i in range(len(opened.stored.plan.methods))}
    opened.store.change_plan(every)


def _other_units_out(text: str, changes: Mapping[str, object]) -> dict[str, object]:
    """Take out the same quantity in another unit, so that the plan does not say it twice."""
    out: dict[str, object] = {}
    for path in changes:
        parent, _dot, name = path.rpartition(".")
        for other in other_names(name):
            if re.search(rf"^\s*{other}\s*=", text, re.MULTILINE):
                out[f"{parent}.{other}"] = None
    return out


def _whole_gate(opened: Opened, changes: Mapping[str, object]) -> Mapping[str, object]:
    """Take the whole way in out of the plan where nothing is left of it; half of one is no place."""
    told = {p: v for p, v in changes.items() if p.startswith(f"{GATE}.")}
    if not told:
        return changes
    now = opened.stored.plan.layout.entrance
    left = {f"{GATE}.{n}": v for n, v in (now.model_dump() if now is not None else {}).items()} | told
    if any(v not in (None, "") for v in left.values()):
        return changes
    return {**{p: v for p, v in changes.items() if p not in told}, GATE: None}


def _keep_letters(opened: Opened, changes: Mapping[str, object]) -> None:
    """Refuse another letter for a method whose strips are drawn: they would carry a letter nobody knows."""
    for path, value in changes.items():
        found = _LETTER.fullmatch(path)
        now = opened.stored.plan.letters[int(found[1])] if found else ""
        if found and value != now and now in _drawn(opened):
            text = _("strips are drawn with this letter, so it stays; change the name instead.")
            raise InputError([problem(text, field=path, given=value, allowed=now)])


def _drawn(opened: Opened) -> set[str]:
    return {s.method for s in opened.stored.draw.strips} if opened.stored.draw is not None else set()


def add(*, opened: Opened, path: str, values: Mapping[str, object]) -> None:
    """Add an entry to a list of the plan.

    Parameters
    ----------
    opened : Opened
        The trial.
    path : str
        The list.
    values : mapping
        Key to value, records inside as mappings.

    Raises
    ------
    InputError
        With every problem found; nothing is stored then.
    """
    opened.store.save_plan(add_to_plan(opened.store.plan_text(), path, values))


def add_method_like(*, opened: Opened, index: int) -> int:
    """Add a method that is like another but for its letter and name, and return its place in the list.

    Raises
    ------
    InputError
        If there is no such method, or no room for one more.
    """
    methods = list_in_text(opened.store.plan_text(), "methods")
    if not 0 <= index < len(methods):
        raise InputError([problem(_("there is no such method."), field="methods", given=index)])
    letter = next(one for one in LETTERS if one not in opened.stored.plan.letters)
    name = _("like %(letter)s, to be changed") % {"letter": methods[index].get("letter", "")}
    add(
        opened=opened,
        path="methods",
        values={**methods[index], "letter": letter, "name": name, "baseline": False},
    )
    return len(methods)


def list_in_text(text: str, path: str) -> list[dict[str, Any]]:
    """Return a list of the plan as it stands in its text, own units and unknown keys included."""
    here: Any = tomllib.loads(text.removeprefix("\ufeff"))
    for part in path.split("."):
        here = here.get(part, {}) if isinstance(here, dict) else {}
    return here if isinstance(here, list) else []


def remove(*, opened: Opened, path: str, index: int) -> None:
    """Take an entry out of a list of the plan; the versions before still hold it.

    Raises
    ------
    InputError
        If the plan would be none without it, or strips are drawn for it.
    """
    methods = opened.stored.plan.methods
    if path == "methods" and index < len(methods) and methods[index].letter in _drawn(opened):
        text = _("strips are drawn for this method; it stays in the plan.")
        raise InputError([problem(text, field=f"methods[{index}]", given=methods[index].letter)])
    opened.store.save_plan(take_from_plan(opened.store.plan_text(), path, index))


def nested(changes: Mapping[str, object], prefix: str) -> dict[str, object]:
    """Return flat key paths below a prefix as an entry with records inside; what is None is left out.

    Examples
    --------
    >>> nested({"methods[2].name": "C", "methods[2].row_pattern.kind": "twin"}, "methods[2]")
    {'name': 'C', 'row_pattern': {'kind': 'twin'}}
    """
    out: dict[str, object] = {}
    for path, value in changes.items():
        if value is None:
            continue
        *parents, last = path.removeprefix(f"{prefix}.").split(".")
        here: dict[str, Any] = out
        for part in parents:
            here = here.setdefault(part, {})
        here[last] = value
    return out
