"""Rows of a photograph as spacing runs of a trial: new, or corrections of those the same photograph gave before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from evenground.basis.stand_records import SpacingRun
from evenground.stand.photo.found import Found

FEWEST = 2
"""Plants of a line that make a gap."""


@dataclass(frozen=True)
class RowTaken:
    """To what a row of the photograph belongs.

    Attributes
    ----------
    row : int
        Row in the photograph, from 1.
    strip : int
        Strip.
    row_unit : int or None
        Row unit of the planter.
    """

    row: int
    strip: int
    row_unit: int | None


def run_records(
    found: Found,
    taken: Sequence[RowTaken],
    stored: Iterable[SpacingRun],
    *,
    key: str,
    at: datetime,
    who: str,
    note: str,
) -> list[SpacingRun]:
    """Return the spacing runs of the rows that were taken, one a line, as far as they are new.

    A line that this photograph gave before is corrected: the new run replaces the old one, which stays. Where nothing
    changed there is no new run. A line with one plant gives none.

    Parameters
    ----------
    found : Found
        Plants as accepted.
    taken : sequence of RowTaken
        Rows to keep.
    stored : iterable of SpacingRun
        Runs of the trial, corrections included.
    key : str
        Beginning of the ids, the same for the same photograph.
    at : datetime
        When it was taken, farm time.
    who : str
        Who accepted it.
    note : str
        What is said beside each run.
    """
    there = list(stored)
    out = []
    for one in taken:
        for line in range(1, len(found.rows.rows[one.row - 1]) + 1):
            places = sorted(p.position_m for p in found.plants if (p.row, p.line) == (one.row, line))
            if len(places) < FEWEST:
                continue
            start = min(0.0, places[0])  # a tape has no reading below its start
            new = SpacingRun(
                id=f"{key}-{one.row}-{line}",
                time=at,
                who=who,
                strips=(one.strip,),
                row_unit=one.row_unit,
                run=f"{key}-{one.row}",
                line=line,
                offset_cm=round(100.0 * start, 1),
                readings=tuple(round(100.0 * (p - start), 1) for p in places),
                note=note,
            )
            out += _as_correction(new, there)
    return out


def _as_correction(new: SpacingRun, stored: Sequence[SpacingRun]) -> list[SpacingRun]:
    """Return the run, replacing what the same line gave before; nothing where that says the same."""
    last, number = next((r for r in stored if r.id == new.id), None), 2
    if last is None:
        return [new]
    ids, by_replaced = {r.id for r in stored}, {r.replaces: r for r in stored if r.replaces is not None}
    while last.id in by_replaced:
        last = by_replaced[last.id]
    # who accepted it, and how many plants of other rows were corrected, make no new run
    same = {"id": last.id, "who": last.who, "note": last.note, "replaces": last.replaces}
    if new.model_copy(update=same) == last:
        return []
    while f"{new.id}-{number}" in ids:
        number += 1
    return [new.model_copy(update={"id": f"{new.id}-{number}", "replaces": last.id})]
