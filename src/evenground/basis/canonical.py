"""The one text a plan and its records have, however their files are written; their hashes are taken from it.

Order of keys and columns, comments, delimiters, number styles and units of a file leave no trace in it; a changed
value always does.
"""

from __future__ import annotations

import hashlib
import json

from pydantic import BaseModel

from evenground.basis.observations import RECORD_KINDS, Observation, Records
from evenground.basis.plan import Plan

# Whom to call and where to drive in: told to those who come, and no part of what is compared or how.
FOR_THE_DAY = ("layout.entrance", "layout.hazards", "people.phones")


def canonical_text(value: BaseModel | list[BaseModel]) -> str:
    """Write records as JSON with sorted keys, full digits and no spaces."""
    data = [v.model_dump(mode="json") for v in value] if isinstance(value, list) else value.model_dump(mode="json")
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def plan_hash(plan: Plan) -> str:
    """Return the sha256 of what a plan says beyond the defaults, in hex.

    Values at their default leave no trace, so that a later version of the program that knows more keys gives an old
    plan the same hash; the version stands beside every hash. Nor do those of `FOR_THE_DAY`: a new phone number is no
    change of the plan.
    """
    bare = {
        "layout": plan.layout.model_copy(update={"entrance": None, "hazards": ()}),
        "people": plan.people.model_copy(update={"phones": ()}),
    }
    return _sha256(_said_text(plan.model_copy(update=bare)))


def later_changes(plan_text: str, plan: Plan) -> tuple[str, ...]:
    """List what of a plan was changed after its canonical text was kept.

    Parameters
    ----------
    plan_text : str
        Canonical text kept with the draw; "" where none was kept.
    plan : Plan
        The plan as it stands now.

    Returns
    -------
    tuple of str
        One entry a value, such as "money.area_ha: 24 before, 40 now"; empty where nothing changed or nothing was kept.
        Values of `FOR_THE_DAY` do not count.
    """
    if not plan_text:
        return ()
    before, now = _flat(json.loads(plan_text)), _flat(json.loads(canonical_text(plan)))
    # A key that an older program did not know has not been changed as long as it stands at its default.
    said = _flat(plan.model_dump(mode="json", exclude_defaults=True))
    paths = [*before, *(p for p in now if p not in before and p in said)]
    return tuple(
        f"{path}: {_said(before, path)} before, {_said(now, path)} now"
        for path in paths
        if before.get(path) != now.get(path) and not path.startswith(FOR_THE_DAY)
    )


def _flat(value: object, path: str = "") -> dict[str, object]:
    """Return every single value of nested data under its key path."""
    if isinstance(value, dict):
        parts = [_flat(v, f"{path}.{k}" if path else str(k)) for k, v in value.items()]
    elif isinstance(value, list) and value:
        parts = [_flat(v, f"{path}[{i}]") for i, v in enumerate(value)]
    else:
        return {path: value}
    return {k: v for part in parts for k, v in part.items()}


def _said(values: dict[str, object], path: str) -> str:
    value = values.get(path)
    return "nothing" if value in (None, "", []) else str(value)


def records_hash(records: Records) -> str:
    """Return the sha256 of what all records say, in hex; neither their order in the files nor empty columns matter."""
    parts = []
    for kind in sorted(RECORD_KINDS):
        found: tuple[Observation, ...] = getattr(records, kind)
        parts.append(f"{kind}:[{','.join(_said_text(r) for r in sorted(found, key=lambda r: r.id))}]")
    return _sha256("\n".join(parts))


def _said_text(value: BaseModel) -> str:
    """Return the canonical text without values that stand at their default."""
    said = value.model_dump(mode="json", exclude_defaults=True)
    return json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
