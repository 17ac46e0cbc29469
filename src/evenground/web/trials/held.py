"""Entries that could not become records: kept as they came, with what is wrong with them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from evenground.web.trials.models import HeldEntry, Trial


@dataclass(frozen=True)
class Waiting:
    """An entry that waits, apart from the trial it waits in.

    Attributes
    ----------
    kind, record_id, text, device : str
        As they came.
    problems : sequence
        What was found wrong.
    received_at : datetime
        When.
    settled_at : datetime or None
        When it was mended or left out.
    """

    kind: str
    record_id: str
    text: str
    device: str
    problems: Sequence[object]
    received_at: datetime
    settled_at: datetime | None = None


def fields_text(fields: object) -> str:
    """Write what an entry says as JSON; the order of its fields leaves no trace."""
    return json.dumps(fields, sort_keys=isinstance(fields, dict))


def content_hash(text: str) -> str:
    """Return the sha256 of such a text, in hex."""
    return hashlib.sha256(text.encode()).hexdigest()


def keep_waiting(trial: Trial, waiting: Waiting) -> None:
    """Keep an entry that came from elsewhere, with the time it came there."""
    HeldEntry.objects.create(
        trial=trial,
        kind=waiting.kind,
        record_id=waiting.record_id,
        content_hash=content_hash(waiting.text),
        text=waiting.text,
        problems=list(waiting.problems),
        device=waiting.device,
        received_at=waiting.received_at,
        settled_at=waiting.settled_at,
    )
