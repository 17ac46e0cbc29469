"""A calendar of what is due (RFC 5545): whole days, plain words, and no date that nobody gave."""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from evenground.basis.observations import Event
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.season.agenda import Task

LONGEST_LINE = 75
# Counting window after sowing: common practice, no source; cold soils take longer.
COUNT_FROM, COUNT_TO = timedelta(days=10), timedelta(days=21)


@dataclass(frozen=True)
class Due:
    """One thing to do.

    Attributes
    ----------
    what : str
        Plain words.
    why : str
        What to watch.
    first, last : date or None
        First and last day; None where no one has said a date.
    key : str
        Unique among the things to do.
    """

    what: str
    why: str
    first: date | None
    last: date | None
    key: str


def due(plan: Plan, events: Sequence[Event]) -> tuple[Due, ...]:
    """Return what is due over the season, with dates where the records give one.

    Parameters
    ----------
    plan : Plan
        Year, product.
    events : sequence of Event
        What happened; the days of sowing and of harvest.
    """
    return tuple(_due(plan, events))


def _due(plan: Plan, events: Sequence[Event]) -> Iterator[Due]:
    sown = [e.time.date() for e in events if e.event == "sown"]
    cut = [e.time.date() for e in events if e.event == "harvested"]
    first, last = (min(sown), max(sown)) if sown else (None, None)
    name = plan.trial.name
    yield Due(
        f"{name}: settings agreed with every driver, in writing",
        "Before the draw is shown; one seed lot for all methods.",
        None,
        None,
        "agree",
    )
    yield Due(
        f"{name}: sow the strips",
        "All methods on the same day if at all possible; note which pass really went where. List every marker set.",
        first,
        last,
        "sow",
    )
    yield Due(
        f"{name}: count plants in every strip",
        "10 to 21 days after sowing (common practice): every row unit of one pass once, the same length everywhere.",
        first + COUNT_FROM if first else None,
        last + COUNT_TO if last else None,
        "count",
    )
    sample = "Dry matter by strip: warn the harvester's driver if the methods differ by more than 2 points."
    if plan.outcome.product == "silage":
        yield Due(f"{name}: sample plants a week before harvest", sample, None, None, "sample")
    yield Due(
        f"{name}: walk the edges and tick off every marker",
        "No metal, no wire, no cane left in the crop before the harvester comes.",
        None,
        None,
        "markers",
    )
    yield Due(
        f"{name}: harvest and weigh, block by block",
        f"Season {plan.trial.season}. Headlands and opening cuts first, not weighed; finish a block before a break.",
        min(cut) if cut else None,
        max(cut) if cut else None,
        "harvest",
    )


# What the season's agenda tells more exactly than the year does: its key and that of `due`.
_BETTER = {"count": "count", "dry_matter": "sample", "harvest": "harvest"}


def with_agenda(plan: Plan, events: Sequence[Event], tasks: Sequence[Task]) -> tuple[Due, ...]:
    """Return what is due with the dates of the season's agenda, counted from the heat the crop has had.

    Parameters
    ----------
    plan : Plan
        Year, product, name.
    events : sequence of Event
        What happened; a day that is past goes before any forecast.
    tasks : sequence of Task
        The agenda; tasks without a date stay out, for nobody can act on them.

    Returns
    -------
    tuple of Due
    """
    dated = {task.key: task for task in tasks if task.first is not None}
    replaced = {_BETTER[key]: task for key, task in dated.items() if key in _BETTER}
    cut = any(event.event == "harvested" for event in events)
    out = []
    for one in due(plan, events):
        task = None if one.key == "harvest" and cut else replaced.get(one.key)
        out.append(one if task is None else replace(one, why=f"{one.why} {task.why}", first=task.first, last=task.last))
    name = plan.trial.name
    more = [
        Due(f"{name}: {t.what}", t.why, t.first, t.last, f"season-{t.key}")
        for t in dated.values()
        if _BETTER.get(t.key) not in {one.key for one in out}
    ]
    return (*out, *more)


def calendar(plan: Plan, draw: Draw, events: Sequence[Event], tasks: Sequence[Due] | None = None) -> bytes:
    """Return the calendar as text: whole-day events where a date is known, tasks without a date where not.

    Parameters
    ----------
    plan : Plan
        The trial.
    draw : Draw
        The draw that counts; its time stamps every entry, so that the same trial gives the same bytes.
    events : sequence of Event
        What happened so far.
    tasks : sequence of Due or None
        What to put in instead of what `due` says, such as dates counted from the heat the crop has had.

    Source: RFC 5545, 3.1 (lines end in CR LF and are folded at 75 octets), 3.3.11 (text is escaped), 3.6.1 and 3.6.2
    (UID and DTSTAMP in every entry), 3.8.2.2 (DTEND of whole days is the day after).
    """
    stamp = _utc(draw.drawn_at)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//evenground//trial calendar//EN", "CALSCALE:GREGORIAN"]
    for one in due(plan, events) if tasks is None else tasks:
        lines += _entry(one, plan, draw, stamp)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in folded(line)).encode()


def _entry(one: Due, plan: Plan, draw: Draw, stamp: str) -> list[str]:
    key = hashlib.sha256(f"{plan.trial.name}\n{plan.trial.season}\n{one.key}".encode()).hexdigest()[:24]
    kind = "VEVENT" if one.first is not None else "VTODO"
    lines = [f"BEGIN:{kind}", f"UID:{key}@evenground.invalid", f"DTSTAMP:{stamp}", f"SEQUENCE:{draw.number - 1}"]
    if one.first is not None:
        after = (one.last or one.first) + timedelta(days=1)
        lines += [f"DTSTART;VALUE=DATE:{one.first:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}", "TRANSP:TRANSPARENT"]
    lines += [f"SUMMARY:{escaped(one.what)}", f"DESCRIPTION:{escaped(one.why)}", f"END:{kind}"]
    return lines


def _utc(when: datetime) -> str:
    known = when if when.tzinfo is not None else when.replace(tzinfo=UTC)
    return known.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def escaped(text: str) -> str:
    r"""Write a text value.

    Examples
    --------
    >>> print(escaped("A; B, C\nD"))
    A\; B\, C\nD
    """
    text = "".join(c for c in text if c in "\t\n" or not unicodedata.category(c).startswith("C"))
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return text.replace("\n", "\\n")


def folded(line: str) -> list[str]:
    """Cut a line into pieces of at most 75 octets, all but the first beginning with a space; no letter is cut through.

    Examples
    --------
    >>> [len(piece) for piece in folded("x" * 80)]
    [75, 6]
    """
    pieces, piece = [], ""
    for letter in line:
        if len((piece + letter).encode()) > LONGEST_LINE:
            pieces.append(piece)
            piece = " "
        piece += letter
    return [*pieces, piece]
