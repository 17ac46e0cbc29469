"""Say how evenly the plants of one line stand: spaced right, misses, doubles.

FILE is a table with one of the columns position_cm, position_m (a tape that runs on) or gap_cm, gap_m. A column "line"
tells the two lines of a twin row apart, both read from the same start.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evenground.adapters.spacing_file import SpacingFile, read_spacing_file
from evenground.cli.opened_trial import in_columns, number
from evenground.cli.options import style_option
from evenground.cli.output import note, print_json
from evenground.stand.spacing import Shares, Spacing, spacing
from evenground.stand.stagger import Stagger, stagger


def run(
    file: Annotated[Path, typer.Argument(help="Table with position_cm, position_m, gap_cm or gap_m.")],
    target_m: Annotated[float, typer.Option(help="Gap within the line the machine was set to, in metres.")],
    number_style: Annotated[str | None, typer.Option(help='How numbers are written, such as "1.234,5".')] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    read = read_spacing_file(file, target_m, number_style=style_option(number_style))
    for text in read.notes:
        note(text)
    found, twin = spacing(read.gaps_m, read.target_m), _stagger(read)
    if as_json:
        print_json({**found.as_dict(), "stagger": None if twin is None else twin.as_dict()})
    else:
        typer.echo("\n".join(in_words(found, twin)))


def _stagger(read: SpacingFile) -> Stagger | None:
    """Compare the two lines of a twin row, where the file has positions of both."""
    tapes = [line.positions_m for line in read.lines if line.positions_m is not None]
    return stagger(tapes[0], tapes[1], read.target_m) if len(tapes) == 2 else None


def in_words(found: Spacing, twin: Stagger | None) -> list[str]:
    """Put the spacing of a run into lines for a screen."""
    places = found.by_places
    rows = [
        ["spaced right", "quality of feed", *_two(found.by_gaps, places, "quality_of_feed")],
        ["miss", "miss", *_two(found.by_gaps, places, "misses")],
        ["double", "multiple", *_two(found.by_gaps, places, "multiples")],
    ]
    lines = [
        f"{found.gaps} gaps, set to {100 * found.target_m:g} cm.",
        "",
        in_columns(["", "ISO 7256-1", "% of the gaps", "% of the places"], rows),
        "",
        "Gaps by class I to V (double, right, one missing, two, three or more): " + ", ".join(map(str, found.classes)),
    ]
    if found.precision is None:
        lines.append("Precision: fewer than two gaps spaced right, so it cannot be told.")
    else:
        lines.append(
            f"Precision {100 * found.precision:.1f} % (spread of the gaps spaced right; smaller is more even, "
            "about 29 % is as good as scattered)."
        )
    spread = "" if found.sd_m is None else f", SD {number(100 * found.sd_m)} cm"
    lines.append(f"All gaps: mean {number(100 * found.mean_m)} cm{spread} (misses dominate the SD).")
    if places is None:
        lines.append("Half of the gaps and more are doubles, so places cannot be counted.")
    return lines + ([] if twin is None else ["", *_twin(twin)])


def _two(gaps: Shares, places: Shares | None, name: str) -> list[str]:
    by_places = None if places is None else 100 * getattr(places, name)
    return [number(100 * getattr(gaps, name)), number(by_places)]


def _twin(twin: Stagger) -> list[str]:
    low, high = twin.stagger_interval
    return [
        f"Twin row: {twin.words}.",
        f"  Stagger {twin.stagger:.2f} (1 every plant in the middle, 0 no relation, -1 side by side), "
        f"probably between {low:.2f} and {high:.2f}.",
        f"  Mean phase {twin.mean_phase:.2f} of a gap, agreement {twin.resultant:.2f}; "
        f"{twin.plants} plants, {twin.left_out} beside a miss or double left out.",
    ]
