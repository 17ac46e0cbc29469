"""The page of the crop walk: what was scored, counted and seen, by method; root pits and pictures are only shown."""

from __future__ import annotations

from evenground.basis.days import said_day
from evenground.basis.walk_records import RootPit
from evenground.decide.verdict_record import Verdict
from evenground.decide.walk_result import WalkResult, WalkRow
from evenground.report.document import Column, Heading, Paragraph, Part, Table
from evenground.report.photo_part import photo_parts
from evenground.report.wording import NONE, first_capital, number, sentence, signed, span
from evenground.season.crop_walk import Sighting

BESIDE = (
    "Scores are judged by eye. They say how the crop looked, explain a result or make it doubtful, and decide nothing. "
    "The strip is the unit; intervals at the level of the verdict."
)
NEVER = "One pit shows one place. Roots are looked at, never counted into the verdict."


def walk_page(verdict: Verdict) -> tuple[Part, ...]:
    """Return the page of the crop walk; nothing where nobody wrote anything down.

    Parameters
    ----------
    verdict : Verdict
        What was seen is shown; nothing is computed again.
    """
    found = verdict.walk
    if found is None:
        return ()
    parts: list[Part] = [Heading("Seen in the crop")]
    if found.rows:
        parts += [Paragraph(BESIDE), walk_table(found)]
    if found.walk.pits:
        parts += [pits_table(found.walk.pits)]
    if any(one.note or one.lon is not None for one in found.walk.seen):
        parts += [seen_table(found.walk.seen)]
    parts += photo_parts(found.walk, {s.strip: s.method for s in verdict.harvest.strips})
    parts += [Paragraph(sentence(text), "small") for text in found.walk.notes]
    return tuple(parts)


def walk_table(found: WalkResult) -> Table:
    """Return what was scored and counted, with each method's mean and the differences."""
    letters = tuple(dict.fromkeys(m for row in found.rows for m in row.means))
    hidden = {f.name: (f.hidden, f.scores) for f in found.walk.figures}
    return Table(
        caption="Scored and counted, mean of the strips",
        columns=(
            Column("What", share=3.0),
            Column("Unit", share=0.9),
            *(Column(letter, "", "right", share=0.8) for letter in sorted(letters)),
            Column("Difference", "", "right", share=1.8),
            Column("Interval", "", "right", share=2.2),
            Column("Method hidden", share=1.2),
        ),
        rows=tuple(_row(row, sorted(letters), hidden) for row in found.rows),
        note="Method hidden: scores taken by somebody who knew the number of the strip only.",
    )


def _row(row: WalkRow, letters: list[str], hidden: dict[str, tuple[int, int]]) -> tuple[str, ...]:
    digits = 2 if row.unit in ("1", "score") else 1
    scored = hidden.get(row.what)
    return (
        first_capital(row.what),
        row.unit if row.unit not in ("1", "score") else NONE,
        *(number(row.means[letter], digits) if letter in row.means else NONE for letter in letters),
        "; ".join(f"{r.method} − {r.baseline} {signed(r.difference, digits)}" for r in row.results) or NONE,
        "; ".join(span(r.interval, digits) for r in row.results) or NONE,
        NONE if scored is None else f"{scored[0]} of {scored[1]}",
    )


def pits_table(pits: tuple[RootPit, ...]) -> Table:
    """Return the root pits as they were seen, strip by strip."""
    return Table(
        caption="Root pits",
        columns=(
            Column("Strip", share=0.6),
            Column("Day", share=1.2),
            Column("Deepest root", "cm", "right", share=1.0),
            Column("Squares with roots", share=1.6),
            Column("Picture", share=1.6),
            Column("Note", share=2.4),
        ),
        rows=tuple(
            (
                str(pit.strip),
                said_day(pit.time),
                number(pit.deepest_root_cm),
                _squares(pit),
                pit.photo or NONE,
                pit.note or NONE,
            )
            for pit in pits
        ),
        note=NEVER,
    )


def _squares(pit: RootPit) -> str:
    if pit.grid_count is None:
        return NONE
    size = f" of {number(pit.grid_square_cm, 1)} cm" if pit.grid_square_cm else ""
    return f"{pit.grid_count} of {pit.grid_squares}{size}"


def seen_table(seen: tuple[Sighting, ...]) -> Table:
    """Return pictures and notes with strip, day and place; a picture of which nothing more is said is only shown."""
    return Table(
        caption="Pictures and notes",
        columns=(
            Column("Strip", share=0.6),
            Column("Day", share=1.2),
            Column("Place", share=1.8),
            Column("Picture", share=2.0),
            Column("Note", share=2.8),
        ),
        rows=tuple(
            (str(one.strip), said_day(one.day), _place(one), one.photo or NONE, one.note or NONE)
            for one in seen
            if one.note or one.lon is not None
        ),
    )


def _place(one: Sighting) -> str:
    return NONE if one.lon is None or one.lat is None else f"{one.lat:.5f}, {one.lon:.5f}"
