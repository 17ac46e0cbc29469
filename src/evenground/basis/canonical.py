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


def canonical_text(value: BaseModel | list[BaseModel]) -> str:
    """Write records as JSON with sorted keys, full digits and no spaces."""
    data = [v.model_dump(mode="json") for v in value] if isinstance(value, list) else value.model_dump(mode="json")
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def plan_hash(plan: Plan) -> str:
    """Return the sha256 of the canonical text of a plan, in hex."""
    return _sha256(canonical_text(plan))


def records_hash(records: Records) -> str:
    """Return the sha256 of the canonical text of all records, in hex; their order in the files does not matter."""
    parts = []
    for kind in sorted(RECORD_KINDS):
        found: tuple[Observation, ...] = getattr(records, kind)
        ordered: list[BaseModel] = [*sorted(found, key=lambda r: r.id)]
        parts.append(f"{kind}:{canonical_text(ordered)}")
    return _sha256("\n".join(parts))


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
