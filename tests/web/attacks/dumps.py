"""Everything the database and the folder of waiting files hold, to compare before and after."""

from __future__ import annotations

import hashlib
from pathlib import Path

from django.apps import apps
from django.conf import settings

NOT_LOOKED_AT = {"sessions.Session"}


def everything(*, but: frozenset[str] = frozenset()) -> dict[str, str]:
    """Return a hash of every table, sessions left out, and of the files that wait."""
    out = {}
    for model in apps.get_models(include_auto_created=True):
        if model._meta.label in NOT_LOOKED_AT | but:
            continue
        rows = sorted(repr(row) for row in model._default_manager.values_list())
        out[model._meta.label] = f"{len(rows)} {hashlib.sha256(repr(rows).encode()).hexdigest()}"
    folder = Path(settings.DATA) / "uploads"
    names = sorted(p.name for p in folder.iterdir()) if folder.is_dir() else []
    return {**out, "waiting files": repr(names)}
