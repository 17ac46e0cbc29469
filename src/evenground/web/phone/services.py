"""What comes from phones: entries become records or are held for the farmer; none is lost, none stored twice."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from django.contrib.auth.base_user import AbstractBaseUser
from django.utils import timezone
from django.utils.translation import gettext as _
from pydantic import ValidationError

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import RECORD_KINDS, Observation
from evenground.basis.record import problems_of
from evenground.web.trials.held import content_hash, fields_text
from evenground.web.trials.models import HeldEntry, Trial
from evenground.web.trials.parsed import record_of
from evenground.web.trials.store import DatabaseStore, other_content

LONGEST_KIND, LONGEST_ID, LONGEST_DEVICE, LONGEST_GIVEN = 40, 80, 80, 200
LARGEST_ENTRY_SIGNS = 200_000
"""A spacing run of 2000 readings takes some 20,000 signs."""
HELD_TRIED_AGAIN = 200
MAYBE_WRITTEN_BY_ITSELF = {"id", "kind"}

State = Literal["stored", "already", "held", "refused"]
MayEnter = Callable[[str, Mapping[str, object]], bool]


@dataclass(frozen=True)
class Answer:
    """What became of one entry.

    Attributes
    ----------
    kind, id : str
        As they came; "" where they were none.
    state : str
        ``stored`` as a record; ``already`` there; ``held`` at the farm until somebody has looked at it; ``refused``:
        the farm does not have it.
    problems : tuple of Problem
        What is wrong.
    """

    kind: str
    id: str
    state: State
    problems: tuple[Problem, ...] = ()

    def as_dict(self) -> dict[str, object]:
        """Return what the phone is told."""
        said = [plain_problem(p) for p in self.problems]
        return {"kind": self.kind, "id": self.id, "state": self.state, "problems": said}


@dataclass(frozen=True)
class Entry:
    """One entry that can be kept at least.

    Attributes
    ----------
    kind, id : str
        What it is and which.
    fields : mapping
        What it says, as it came.
    text : str
        The same as JSON text.
    content_hash : str
        Its sha256; the order of the fields leaves no trace.
    """

    kind: str
    id: str
    fields: Mapping[str, object]
    text: str
    content_hash: str


def take_entries(
    *, trial: Trial, entries: Sequence[object], by: AbstractBaseUser | None, device: str, may_enter: MayEnter
) -> list[Answer]:
    """Store entries from a phone, each judged by itself; sending them again changes nothing.

    Parameters
    ----------
    trial : Trial
        The trial they belong to.
    entries : sequence of object
        As they came: ``{"kind", "id", "fields"}``.
    by : user or None
        Who is signed in; None for a day link.
    device : str
        The phone's own name.
    may_enter : callable
        Whether who is there may enter this kind with these fields.

    Returns
    -------
    list of Answer
        One an entry, in their order.
    """
    store = DatabaseStore(trial, by, plain(device)[:LONGEST_DEVICE])
    answers: list[Answer | None] = [None] * len(entries)
    kept: list[tuple[int, Entry]] = []
    for position, raw in enumerate(entries):
        entry = entry_of(raw)
        if isinstance(entry, Answer):
            answers[position] = entry
        elif not may_enter(entry.kind, entry.fields):
            no = problem(_("You may not enter this in this trial."), field="kind", given=entry.kind)
            answers[position] = Answer(entry.kind, entry.id, "refused", (no,))
        else:
            kept.append((position, entry))
    if kept:
        with store.locked():
            for (position, _entry), answer in zip(kept, _kept(store, [e for _, e in kept]), strict=True):
                answers[position] = answer
            if any(a is not None and a.state == "stored" for a in answers):
                try_held_again(store)
    return [a for a in answers if a is not None]


def entry_of(raw: object) -> Entry | Answer:
    """Make out an entry; what has no sane kind and id, or is far too large, is refused."""
    said: Mapping[str, object] = raw if isinstance(raw, dict) else {}
    kind, name = said.get("kind"), said.get("id")
    faults = []
    for field, value, longest in (("kind", kind, LONGEST_KIND), ("id", name, LONGEST_ID)):
        if (
            not isinstance(value, str)
            or not 0 < len(value) <= longest
            or not value.isprintable()
            or value != value.strip()
        ):
            allowed = _("text of 1 to {longest} signs").format(longest=longest)
            faults.append(
                problem(_("This entry cannot be told from others."), field=field, given=value, allowed=allowed)
            )
    fields = said.get("fields", {})
    text = fields_text(fields)
    if len(text) > LARGEST_ENTRY_SIGNS:
        allowed = _("at most {most} signs").format(most=LARGEST_ENTRY_SIGNS)
        faults.append(problem(_("This entry is too large."), field="fields", given=len(text), allowed=allowed))
    if faults:
        return Answer(_shown(kind, LONGEST_KIND), _shown(name, LONGEST_ID), "refused", tuple(faults))
    return Entry(str(kind), str(name), fields if isinstance(fields, dict) else {}, text, content_hash(text))


def record_from(kind: str, name: str, text: str) -> Observation | tuple[Problem, ...]:
    """Make a record of what an entry says, or list what is wrong with it."""
    model, fields = RECORD_KINDS.get(kind), json.loads(text)
    if model is None:
        known = ", ".join(RECORD_KINDS)
        return (problem(_("There is no such kind of record."), field="kind", given=kind, allowed=known),)
    if not isinstance(fields, dict):
        return (
            problem(_("This entry says nothing that can be read."), field="fields", allowed=_("fields with values")),
        )
    strange = [n for n, v in fields.items() if n not in model.model_fields and v not in (None, "")]
    faults = [
        problem(_("The farm's program does not know this field."), field=n, given=str(fields[n])[:LONGEST_GIVEN])
        for n in strange
        if n not in MAYBE_WRITTEN_BY_ITSELF
    ]
    if fields.get("id", name) != name or fields.get("kind", kind) != kind:
        faults.append(
            problem(_("This entry names itself in two ways."), field="id", given=fields.get("id"), allowed=name)
        )
    said = {n: v for n, v in fields.items() if n in model.model_fields and v is not None}
    try:
        record = model.model_validate({**said, "id": name})
    except ValidationError as error:
        return (*faults, *problems_of(error, file="", model=model))
    return tuple(faults) if faults else record


def _kept(store: DatabaseStore, entries: Sequence[Entry]) -> list[Answer]:
    """Store or hold entries; the trial is locked."""
    known = store.known((e.kind for e in entries), (e.id for e in entries))
    held = {
        (h.kind, h.record_id, h.content_hash): h
        for h in store.trial.held.filter(record_id__in={e.id for e in entries}, kind__in={e.kind for e in entries})
    }
    answers: dict[int, Answer] = {}
    new: list[tuple[int, Observation]] = []
    first: dict[tuple[str, str], Observation] = {
        (k, i): record_of(k, text) for (k, i), text in known.items() if k in RECORD_KINDS
    }
    for position, entry in enumerate(entries):
        before = held.get((entry.kind, entry.id, entry.content_hash))
        if before is not None:
            answers[position] = _as_before(entry, before)
            continue
        record = record_from(entry.kind, entry.id, entry.text)
        if isinstance(record, tuple):
            answers[position] = Answer(entry.kind, entry.id, "held", record)
            continue
        there = first.setdefault((entry.kind, entry.id), record)
        if there is record:
            new.append((position, record))
        elif there == record:
            answers[position] = Answer(entry.kind, entry.id, "already")
        else:
            answers[position] = Answer(entry.kind, entry.id, "held", (other_content(entry.kind, entry.id),))
    refused = _appended(store, [r for _, r in new])
    for index, (position, record) in enumerate(new):
        faults = refused.get(index)
        answers[position] = Answer(record.kind, record.id, "stored" if faults is None else "held", faults or ())
    _hold(store, [(entries[p], a) for p, a in answers.items() if a.state == "held"])
    return [answers[p] for p in range(len(entries))]


def _as_before(entry: Entry, held: HeldEntry) -> Answer:
    """Answer for an entry that came before and could not become a record then."""
    if held.settled_at is not None:
        return Answer(entry.kind, entry.id, "already")
    said = tuple(
        problem(
            str(p.get("message", "")),
            field=str(p.get("field", "")),
            given=p.get("given"),
            allowed=str(p.get("allowed", "")),
        )
        for p in held.problems
        if isinstance(p, dict)
    )
    return Answer(entry.kind, entry.id, "held", said)


def _appended(store: DatabaseStore, records: Sequence[Observation]) -> dict[int, tuple[Problem, ...]]:
    """Store what can be stored; where the trial itself cannot be read, nothing can and everything is held."""
    if not records:
        return {}
    try:
        return store.append_each(records)
    except InputError as error:
        return dict.fromkeys(range(len(records)), tuple(error.problems))


def _hold(store: DatabaseStore, held: Iterable[tuple[Entry, Answer]]) -> None:
    rows = [
        HeldEntry(
            trial=store.trial,
            kind=entry.kind,
            record_id=entry.id,
            content_hash=entry.content_hash,
            text=entry.text,
            problems=[plain_problem(p) for p in answer.problems],
            received_from_id=store.by_id,
            device=store.device,
        )
        for entry, answer in held
    ]
    HeldEntry.objects.bulk_create(rows, ignore_conflicts=True)


def try_held_again(store: DatabaseStore) -> int:
    """Store entries that were held because what they belong to came later, such as the load of a weighing.

    Returns
    -------
    int
        Number of entries that became records [1].
    """
    waiting = list(store.trial.held.filter(settled_at=None)[:HELD_TRIED_AGAIN])
    known = store.known((h.kind for h in waiting), (h.record_id for h in waiting))
    ready: dict[tuple[str, str], tuple[HeldEntry, Observation]] = {}
    for held in waiting:
        record = record_from(held.kind, held.record_id, held.text)
        if not isinstance(record, tuple) and (held.kind, held.record_id) not in known:
            ready.setdefault((held.kind, held.record_id), (held, record))
    if not ready:
        return 0
    pairs = list(ready.values())
    refused = _appended(store, [r for _, r in pairs])
    settled = [held for i, (held, _) in enumerate(pairs) if i not in refused]
    for held in settled:  # it came from that phone, not from the one that brought what was missing
        mine = store.trial.records.filter(kind=held.kind, record_id=held.record_id)
        mine.update(received_from_id=held.received_from_id, device=held.device, received_at=held.received_at)
    HeldEntry.objects.filter(pk__in=[h.pk for h in settled]).update(settled_at=timezone.now())
    return len(settled)


def plain_problem(one: Problem) -> dict[str, str]:
    """Return a problem in words that any database can keep."""
    said = {"message": one.message, "field": one.field, "given": one.given, "allowed": one.allowed}
    return {n: plain(v)[: LONGEST_GIVEN if n == "given" else 4 * LONGEST_GIVEN] for n, v in said.items()}


def plain(text: str) -> str:
    """Put a question mark for every sign that cannot be shown or kept."""
    return "".join(c if c.isprintable() or c == "\n" else "?" for c in text)


def _shown(value: object, longest: int) -> str:
    return value[:longest] if isinstance(value, str) else ""
