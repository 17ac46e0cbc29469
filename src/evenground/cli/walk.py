"""Say what was seen on crop walks: scores by strip and method, mineral nitrogen, root pits, pictures and notes.

With --list: the strips in walking order by number alone, to be scored with the method hidden; --sheet makes the same
list a sheet to print.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evenground.basis.days import said_day
from evenground.basis.walk_records import SCORED
from evenground.cli.opened_trial import in_columns, number, opened
from evenground.cli.output import print_json, write_sheet
from evenground.cli.trial_place import TrialName, TrialPath, located
from evenground.decide.walk_result import WalkResult, WalkRow, walk_result
from evenground.harvest.strips import harvest
from evenground.season.crop_walk import CropWalk
from evenground.season.score_list import CAUTION, HIDDEN, SCALE, ScoreSpot, score_list

if TYPE_CHECKING:
    from collections.abc import Sequence

COLUMNS = ("hidden", *SCORED[:-1], "disease", SCORED[-1], "photo", "note")
HEADS = ("hidden", "ground cover %", "height cm", "leaf rolling", "lodged %", "weeds %", "disease", "diseased %",
         "picture", "note")  # fmt: skip


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    to_score: Annotated[bool, typer.Option("--list", help="The list to score with, methods left out.")] = False,
    sheet: Annotated[
        Path | None, typer.Option(help="Write the sheet to score on (PDF) here, methods left out.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    stored, draw = opened(located(trial, name))
    if sheet is not None:
        from evenground.adapters.score_sheet import score_sheet  # brings the typesetter with it

        write_sheet(sheet, score_sheet(stored.plan, draw, stored.records), "Score sheet")
    if to_score:
        spots = score_list(draw, stored.records)
        if as_json:
            print_json({"list": [s.as_dict() for s in spots], "columns": list(COLUMNS), "notes": [HIDDEN, CAUTION]})
        else:
            typer.echo("\n".join(_to_score(spots)))
        return
    found = walk_result(stored.plan, draw, stored.records, harvest(stored.plan, draw, stored.records))
    if as_json:
        print_json(found.as_dict())
    else:
        typer.echo("\n".join(in_words(found)))


def _to_score(spots: Sequence[ScoreSpot]) -> list[str]:
    """Write the list with room to fill in."""
    rows = [[str(s.strip), s.way, *("_" * max(len(h), 5) for h in HEADS)] for s in spots]
    return [HIDDEN, SCALE, CAUTION, "", in_columns(["strip", "way", *HEADS], rows)]


def in_words(found: WalkResult) -> list[str]:
    """Put the crop walk into lines for a screen; parts without records are left out."""
    if found.empty:
        return ["Nothing was written down on a crop walk yet; 'evenground walk TRIAL --list' prints the list to score."]
    parts = [
        _compared(found.rows),
        _by_strip(found.walk),
        _pits(found.walk),
        _seen(found.walk),
        [f"Weaker because: {text}." for text in found.walk.notes],
    ]
    return "\n\n".join("\n".join(p) for p in parts if p).split("\n")


def _compared(rows: Sequence[WalkRow]) -> list[str]:
    lines = [
        [
            row.what,
            row.unit,
            "  ".join(f"{m} {number(v)} ({row.strips[m]})" for m, v in row.means.items()),
            "; ".join(
                f"{r.method} - {r.baseline} {r.difference:+.2f} ({r.interval[0]:+.2f} to {r.interval[1]:+.2f})"
                for r in row.results
            )
            or ("the same in every strip" if _all_alike(row) else "too few strips"),
        ]
        for row in rows
    ]
    return [in_columns(["what", "unit", "mean (strips)", "difference (interval)"], lines)] if rows else []


def _all_alike(row: WalkRow) -> bool:
    """Whether strips enough were looked at, and nothing but one figure was seen: no error can be told from that."""
    return min(row.strips.values(), default=0) > 1 and len(row.means) > 1 and len(set(row.means.values())) == 1


def _by_strip(walk: CropWalk) -> list[str]:
    """Write every figure by strip, strips down and figures across in the order in which they are compared."""
    figures = (*walk.figures, *walk.nitrogen)
    strips = sorted({s for f in figures for s in f.by_strip})
    if not strips:
        return []
    names = [f"{f.what} {said_day(f.first)}" for f in figures]
    rows = [[str(s), *(number(f.by_strip.get(s)) for f in figures)] for s in strips]
    return [in_columns(["strip", *names], rows)]


def _pits(walk: CropWalk) -> list[str]:
    rows = [
        [
            str(p.strip),
            said_day(p.time),
            number(p.deepest_root_cm),
            "-" if p.grid_count is None else f"{p.grid_count} of {p.grid_squares}",
            p.photo or "-",
            p.note or "-",
        ]
        for p in walk.pits
    ]
    header = ["strip", "day", "deepest root cm", "squares with roots", "picture", "note"]
    return ["Root pits, shown only, never in the verdict:", in_columns(header, rows)] if rows else []


def _seen(walk: CropWalk) -> list[str]:
    rows = [
        [
            str(s.strip),
            said_day(s.day),
            "-" if s.lat is None or s.lon is None else f"{s.lat:.5f}, {s.lon:.5f}",
            s.photo or "-",
            s.note or "-",
        ]
        for s in walk.seen
    ]
    return [in_columns(["strip", "day", "place (lat, lon)", "picture", "note"], rows)] if rows else []
