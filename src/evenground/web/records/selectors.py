"""What the pages of records show: how many of each kind, and each record with what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Count, Max
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground.adapters.record_writing import cell_text
from evenground.basis.observations import RECORD_KINDS, Observation, OfStrips, Records
from evenground.harvest.names import load_name
from evenground.web.forms_from_records import ASIDE, HIDDEN, entries
from evenground.web.numbers import day, moment, plain
from evenground.web.record_words import Words, choice_words, field_words, kind_words, unit_words
from evenground.web.trials.models import HeldEntry, StoredRecord, Trial

SHOWN_AT_ONCE = 200
LONGEST_SHOWN = 160


@dataclass(frozen=True)
class KindSeen:
    """A kind of record and how much of it there is.

    Attributes
    ----------
    kind : str
        As in ``RECORD_KINDS``.
    words : str
        What it is called.
    count : int
        Records, corrections included [1].
    latest : datetime or None
        When the last one arrived.
    held : int
        Entries from phones that wait to be mended [1].
    """

    kind: str
    words: Words
    count: int
    latest: datetime | None
    held: int


@dataclass(frozen=True)
class Shown:
    """One record in a table.

    Attributes
    ----------
    record : Observation
        What was seen.
    cells : list of str
        Its values, in the order of the columns.
    replaced_by : str
        Id of its correction, or "".
    entered : str
        When it arrived, and from whom.
    """

    record: Observation
    cells: list[str]
    replaced_by: str
    entered: str


@dataclass(frozen=True)
class ShownTable:
    """A table of records.

    Attributes
    ----------
    columns : list of (words, unit)
        Headings.
    rows : list of Shown
        Newest first.
    more : int
        Records that are not shown [1].
    """

    columns: list[tuple[Words, Words]]
    rows: list[Shown]
    more: int


def kinds_seen(trial: Trial) -> list[KindSeen]:
    """Return every kind of record with its count, in the order of the season."""
    counted: dict[str, Any] = {
        row["kind"]: row for row in trial.records.values("kind").annotate(n=Count("pk"), latest=Max("received_at"))
    }
    waiting: dict[str, int] = dict(
        open_entries(trial).values("kind").annotate(n=Count("pk")).values_list("kind", "n").order_by()
    )
    return [
        KindSeen(
            kind,
            kind_words(kind),
            counted.get(kind, {}).get("n", 0),
            counted.get(kind, {}).get("latest"),
            waiting.get(kind, 0),
        )
        for kind in RECORD_KINDS
    ]


def open_entries(trial: Trial) -> Any:  # noqa: ANN401 - a query set of HeldEntry
    """Return the entries from phones that are neither mended nor left out, oldest first."""
    return (
        HeldEntry.objects.filter(trial=trial, settled_at=None).select_related("received_from").order_by("received_at")
    )


def held_shown(trial: Trial, kind: str = "") -> list[tuple[HeldEntry, Words]]:
    """Return the entries that wait, of one kind or of all, each with what its kind is called."""
    return [(held, kind_words(held.kind)) for held in open_entries(trial) if kind in ("", held.kind)]


def shown_table(trial: Trial, records: Records, kind: str, *, every: bool = False) -> ShownTable:
    """Return the records of a kind, newest first, each with who entered it and what replaced it.

    Parameters
    ----------
    trial : Trial
        Its row.
    records : Records
        As they stand.
    kind : str
        A key of ``RECORD_KINDS``.
    every : bool
        Whether to show all or the newest `SHOWN_AT_ONCE`.
    """
    mine: tuple[Observation, ...] = getattr(records, kind)
    stored = {r.record_id: r for r in trial.records.filter(kind=kind).select_related("received_from")}
    gone = {r.replaces: r.id for r in mine if r.replaces is not None}
    names = _told(mine, kind)
    chosen = {e.name for e in entries(kind) if e.choices}
    wanted = mine if every else mine[-SHOWN_AT_ONCE:]
    loads = {load.id: load_name(load) for load in records.loads}
    rows = [
        Shown(r, [_cell(r, n, chosen, loads) for n in names], gone.get(r.id, ""), _entered(stored.get(r.id)))
        for r in reversed(wanted)
    ]
    return ShownTable([(field_words(n), unit_words(n)) for n in names], rows, len(mine) - len(wanted))


def _entered(row: StoredRecord | None) -> str:
    if row is None:
        return ""
    who = row.received_from.get_username() if row.received_from is not None else row.device
    return f"{moment(timezone.localtime(row.received_at))} {who}".strip()


def _told(records: tuple[Observation, ...], kind: str) -> list[str]:
    """Name the fields that any record says something in, strips and time first."""
    model = RECORD_KINDS[kind]
    first = [n for n in ("strips", "day", "time") if n in model.model_fields]
    rest = [n for n in model.model_fields if n not in (*HIDDEN, *first, *ASIDE)]
    said = [n for n in rest if any(getattr(r, n) != model.model_fields[n].get_default() for r in records)]
    asides = [n for n in ("who", "note") if any(getattr(r, n) for r in records)]
    return [*first, *said, *asides]


def _cell(record: Observation, name: str, chosen: set[str], loads: Mapping[str, str]) -> str:
    value = getattr(record, name)
    if name == "load" and value in loads:
        return loads[value]
    return str(choice_words(value)) if name in chosen and value else value_words(value)


def value_words(value: object) -> str:
    """Write the value of a field for a table."""
    if isinstance(value, tuple):
        joined = "+" if all(isinstance(v, int) for v in value) else " "
        said = [plain(v) if isinstance(v, int | float) else cell_text(v) for v in value[:12]]
        return joined.join(said) + (f" … ({len(value)})" if len(value) > len(said) else "")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, int | float):
        return plain(value)
    if isinstance(value, date):  # a datetime is one too
        return moment(value) if isinstance(value, datetime) else day(value)
    text = value if isinstance(value, str) else ""
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]} …"


def one_record(records: Records, kind: str, record_id: str) -> Observation | None:
    """Return the record with an id, or None."""
    return next((r for r in getattr(records, kind) if r.id == record_id), None)


def strips_named(record: Observation) -> tuple[int, ...]:
    """Return the strips a record is about; none for weather, slips and scales."""
    return record.strips if isinstance(record, OfStrips) else ()
