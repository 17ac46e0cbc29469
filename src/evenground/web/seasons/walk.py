"""The crop walk: strips by number in walking order with the method left out; what was seen, put side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from evenground.adapters.small_photo import small_photo
from evenground.basis.observations import current
from evenground.basis.walk_records import SCORED
from evenground.decide.walk_result import walk_result
from evenground.harvest.strips import harvest
from evenground.report.document import Paragraph, Part
from evenground.report.photo_part import photo_parts
from evenground.report.walk_page import BESIDE, pits_table, seen_table, walk_table
from evenground.report.wording import sentence
from evenground.season.score_list import ScoreSpot, score_list
from evenground.web.forms_from_records import Row, empty_row, typed_row
from evenground.web.trial_view import Opened
from evenground.web.trials.photographs import photograph_reader

KIND = "scores"
COLUMNS = (*SCORED[:-1], "disease", SCORED[-1], "note")
"""What can be written down for each strip, from left to right."""


@dataclass(frozen=True)
class SpotRow:
    """A strip of the list with the controls for its scores."""

    spot: ScoreSpot
    row: Row


def key_of(spot: ScoreSpot) -> str:
    """Return the beginning of the names of a strip's controls."""
    return f"strip{spot.strip}"


def empty_list(opened: Opened, *, now: datetime, who: str) -> list[SpotRow]:
    """Return the strips in walking order, nothing scored yet."""
    spots = score_list(opened.draw, opened.stored.records)
    return [
        SpotRow(s, empty_row(KIND, key_of(s), now=now, who=who, values={"strips": str(s.strip), "hidden": "true"}))
        for s in spots
    ]


def typed_list(opened: Opened, posted: Mapping[str, str], *, who: str) -> list[SpotRow]:
    """Return the strips as they were scored; time and whether the method was hidden hold for all of them."""
    out = []
    for spot in score_list(opened.draw, opened.stored.records):
        row = typed_row(KIND, key_of(spot), posted)
        shared = {"strips": str(spot.strip), "who": posted.get("who", "").strip() or who}
        row.values |= {**shared, "time": posted.get("time", ""), "hidden": posted.get("hidden", "")}
        out.append(SpotRow(spot, row))
    return out


def scored(rows: list[SpotRow]) -> list[Row]:
    """Return the rows in which anything was written."""
    return [one.row for one in rows if any(one.row.values.get(name) for name in COLUMNS)]


def seen_parts(opened: Opened) -> tuple[Part, ...]:
    """Return what was seen on walks, by method, with the pits and pictures; empty where nobody wrote anything."""
    stored = opened.stored
    weighed = harvest(stored.plan, opened.draw, stored.records)
    found = walk_result(stored.plan, opened.draw, stored.records, weighed)
    parts: list[Part] = []
    if found.rows:
        parts += [Paragraph(BESIDE), walk_table(found)]
    if found.walk.pits:
        parts.append(pits_table(found.walk.pits))
    if any(one.note or one.lon is not None for one in found.walk.seen):
        parts.append(seen_table(found.walk.seen))
    parts += photo_parts(found.walk, {s.strip: s.method for s in weighed.strips})
    return (*parts, *(Paragraph(sentence(text), "small") for text in found.walk.notes))


def photograph(opened: Opened, name: str) -> bytes | None:
    """Return a photograph that a score or a root pit names, made small; None where there is none to show.

    Parameters
    ----------
    opened : Opened
        The trial.
    name : str
        Its place inside the trial folder.
    """
    records = opened.stored.records
    named = {s.photo for s in current(records.scores)} | {p.photo for p in current(records.root_pits)}
    data = photograph_reader(opened.trial)(name) if name and name in named else None
    return small_photo(data) if data is not None else None
