"""Find the plants in a photograph taken straight down: spacing runs, and an overlay to accept or correct.

PHOTO is a JPEG, PNG or TIFF of maize rows at 3 to 5 leaves. Its scale comes from two marked points (--mark X1 Y1 X2 Y2
in pixels, --distance-m) or, for a tile of a metric map picture, from its own tags (GeoTIFF) or the world file beside
it. Wrong plants go into a table with the columns action (add or remove), x, y in pixels, handed over with
--corrections. With --into TRIAL, --strip and --taken the rows become spacing runs of that trial, which 'evenground
stand' reads; the same photograph read again corrects them.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from evenground.basis.errors import InputError, problem
from evenground.cli.opened_trial import in_columns, number
from evenground.cli.output import note, print_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evenground.adapters.photo_file import Photo
    from evenground.stand.photo.corrections import Change
    from evenground.stand.photo.found import Found

KEEPING = ("--into", "--strip", "--taken")
TIME_FORMATS = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d"]


def run(
    photo: Annotated[Path, typer.Argument(help="JPEG, PNG or TIFF, taken straight down.")],
    mark: Annotated[
        tuple[float, float, float, float] | None, typer.Option(help="Two points in pixels: X1 Y1 X2 Y2.")
    ] = None,
    distance_m: Annotated[float | None, typer.Option(help="Distance of the two points, in metres.")] = None,
    twin: Annotated[
        bool | None, typer.Option("--twin/--single", help="Twin rows or single ones; otherwise by their distances.")
    ] = None,
    corrections: Annotated[Path | None, typer.Option(help="Table of plants to add or remove.")] = None,
    out: Annotated[Path, typer.Option(help="Folder to write into.")] = Path(),
    into: Annotated[Path | None, typer.Option(help="Trial folder to keep the runs in.")] = None,
    strip: Annotated[int | None, typer.Option(help="Strip the rows are in.")] = None,
    taken_at: Annotated[
        datetime | None, typer.Option("--taken", help="When the photograph was taken.", formats=TIME_FORMATS)
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    from evenground.adapters.photo_file import Mark, read_photo
    from evenground.adapters.photo_overlay import write_overlay
    from evenground.adapters.photo_runs import read_changes, write_runs
    from evenground.stand.photo.corrections import corrected

    if (mark is None) != (distance_m is None):
        field, given = ("--distance-m", "") if distance_m is None else ("--mark", "")
        text = "a scale needs both the two marked points and their distance."
        raise InputError([problem(text, field=field, given=given, allowed="--mark X1 Y1 X2 Y2 --distance-m D")])
    if len({option is None for option in (into, strip, taken_at)}) > 1:
        text = "to keep the runs, say the trial, the strip and when the photograph was taken."
        given = " ".join(
            name for name, option in zip(KEEPING, (into, strip, taken_at), strict=True) if option is not None
        )
        raise InputError([problem(text, field="--into", given=given, allowed=", ".join(KEEPING) + " together")])
    changes = read_changes(corrections) if corrections is not None else ()
    taken = read_photo(photo, None if mark is None or distance_m is None else Mark(mark, distance_m))
    found = _found(taken, photo.name, twin)
    if corrections is not None:
        found = corrected(found, changes, corrections.name)
    overlay = out / f"{photo.stem}-plants.png"
    try:
        runs, left = write_runs(found, out, photo.stem)
        write_overlay(overlay, taken, found)
    except OSError as error:
        text = f"the results cannot be written: {error.strerror}."
        raise InputError([problem(text, field="--out", given=out, allowed="a folder you may write into")]) from error
    for text in left:
        note(text)
    if into is not None and strip is not None and taken_at is not None:
        _keep(found, into, strip, taken_at, photo, changes)
    answer = _answer(found, taken.scale, [*map(str, runs), str(overlay)])
    if as_json:
        print_json(answer)
    else:
        typer.echo("\n".join(in_words(answer)))


def _found(taken: Photo, file: str, twin: bool | None) -> Found:
    """Find the plants, with a bar on standard error where someone watches; errors name the file."""
    from dataclasses import replace

    from rich.console import Console
    from rich.progress import Progress

    from evenground.stand.photo.found import find_plants

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("plants", total=1.0)
        try:
            return find_plants(
                taken.pixels,
                taken.work_pixel_m,
                taken.pixel_m,
                twin=twin,
                progress=lambda share: bar.update(task, completed=share),
            )
        except InputError as error:
            raise InputError([replace(p, file=file) for p in error.problems]) from error


def _keep(found: Found, into: Path, strip: int, at: datetime, photo: Path, changes: Sequence[Change]) -> None:
    """Keep the runs of all rows in a trial folder, as corrections where this photograph gave them before."""
    import hashlib

    from evenground.adapters.trial_folder import TrialFolder
    from evenground.stand.photo.run_records import RowTaken, run_records

    folder = TrialFolder(into)
    taken = [RowTaken(row, strip, None) for row in range(1, len(found.rows.rows) + 1)]
    key = f"photo-{hashlib.sha256(photo.read_bytes()).hexdigest()[:12]}"
    by_hand = f"; by hand {sum(c.action == 'add' for c in changes)} put in, " if changes else ""
    by_hand += f"{sum(c.action == 'remove' for c in changes)} taken out" if changes else ""
    stored = folder.load().records.spacing_runs
    made = run_records(found, taken, stored, key=key, at=at, who="", note=f"from a photograph{by_hand}")
    new = folder.append_records(made)
    corrected = sum(run.replaces is not None for run in made)
    note(f"{new} runs stored in records/spacing_runs.csv, {corrected} of them correct earlier ones of this photograph.")


def _answer(found: Found, scale: str, files: list[str]) -> dict[str, Any]:
    """Return the keys of ``photo --json``."""
    from evenground.stand.photo.limits import LIMITS, doubts
    from evenground.stand.photo.summary import rows_found

    return {
        "pixel_m": found.pixel_m,
        "scale": scale,
        "plants": len(found.plants),
        "rows": [row.as_dict() for row in rows_found(found)],
        "green_fraction": found.green_fraction,
        "between_rows_fraction": found.between_rows_fraction,
        "excess_green_threshold": found.excess_green_threshold,
        "leaf_reach_m": found.leaf_reach_m,
        "edge_m": found.edge_m,
        "doubts": list(doubts(found)),
        "limits": list(LIMITS),
        "files": files,
    }


def in_words(answer: dict[str, Any]) -> list[str]:
    """Put the answer into lines for a screen."""
    rows = [
        [
            str(row["row"]),
            "twin row" if row["lines"] == 2 else "single row",
            str(row["plants"]),
            number(row["length_m"], 2),
            number(row["plants_per_metre"]),
            number(None if row["twin_gap_m"] is None else 100 * row["twin_gap_m"]),
            number(None if row["to_next_row_m"] is None else 100 * row["to_next_row_m"]),
        ]
        for row in answer["rows"]
    ]
    head = ["row", "", "plants", "metres seen", "plants per metre", "twin gap, cm", "to the next row, cm"]
    return [
        f"{answer['plants']} plants found; scale: {answer['scale']} ({1000 * answer['pixel_m']:.2f} mm a pixel).",
        f"Plants within {100 * answer['edge_m']:.0f} cm of the picture's edge are left out.",
        "",
        in_columns(head, rows),
        "",
        *(f"Written: {name}" for name in answer["files"]),
        *(f"Doubt: {text}" for text in answer["doubts"]),
        "",
        "How far to trust this:",
        *(f"- {text}" for text in answer["limits"]),
    ]
