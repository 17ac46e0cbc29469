"""Say how much room, of what shape, a row pattern gives each plant.

At the same number of plants every pattern gives a plant the same land. What changes is its shape and the distance to
the nearest plant. A pattern without --twin-gap-m, --band-width-m and --lines is single rows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Annotated, Any

import typer
from pydantic import ValidationError

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.method import Method, RowPattern
from evenground.basis.record import limits_text, problems_of
from evenground.basis.thousands import grouped
from evenground.cli.opened_trial import in_columns
from evenground.cli.output import note, print_json
from evenground.cli.simulated import check_plants, quality_of, quality_words, simulated, spread_table
from evenground.sowing.root_reach import (
    ROOT_GROWTH_MM_PER_DAY,
    ROOT_GROWTH_SOURCE,
    RootReach,
    root_radius_m,
    root_reach,
)
from evenground.sowing.row_geometry import (
    GrowingSpace,
    RepeatedPattern,
    growing_space,
    repeated,
    repeated_lines,
    triangle,
)
from evenground.sowing.stand_simulation import ASSUMED, SHARES, SowingQuality, StandSpace

MOST_LINES = 24
_LINE = re.compile(r"(?P<across>\d+(?:\.\d+)?)/(?P<along>\d+(?:\.\d+)?)")


def run(
    row_spacing_m: Annotated[float, typer.Option(help="Distance between row centres [m].")],
    seeds_per_m2: Annotated[float, typer.Option(help="Seeds set [1/m2]; each is taken for a plant.")],
    twin_gap_m: Annotated[float | None, typer.Option(help="Twin rows: distance between the two lines [m].")] = None,
    staggered: Annotated[bool, typer.Option("--staggered", help="Twin rows: lines offset by half a spacing.")] = False,
    band_width_m: Annotated[float | None, typer.Option(help="Bands: width the seeds are spread over [m].")] = None,
    lines: Annotated[
        str | None,
        typer.Option(help='Any other pattern: lines across [m] and shift along [0 to 1], such as "0/0 0.2/0.5 0.4/0".'),
    ] = None,
    root_radius: Annotated[
        float | None, typer.Option("--root-radius-m", help="How far roots reach to all sides [m].")
    ] = None,
    days: Annotated[float | None, typer.Option(help="Instead: days after emergence.")] = None,
    root_growth_mm_per_day: Annotated[
        float, typer.Option(help="Sideways root growth [mm/day]; default: common practice, no source.")
    ] = ROOT_GROWTH_MM_PER_DAY,
    compare: Annotated[bool, typer.Option("--compare", help="Beside it single rows at the same spacing.")] = False,
    simulate: Annotated[int | None, typer.Option(help="Simulate a stand of about this many plants.")] = None,
    precision: Annotated[float, typer.Option(help="For it: spread of gaps spaced right, share of the gap.")] = (
        ASSUMED.precision
    ),
    misses: Annotated[float, typer.Option(help="For it: share of places without a seed.")] = ASSUMED.miss_share,
    doubles: Annotated[float, typer.Option(help="For it: share of places with two.")] = ASSUMED.double_share,
    emergence: Annotated[float, typer.Option(help="For it: share of seeds that come up.")] = (
        ASSUMED.emergence_fraction
    ),
    seed: Annotated[int, typer.Option(help="Seed of the simulation.")] = 0,
    picture: Annotated[Path | None, typer.Option(help="Picture to write, .svg or .png.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    pattern = _pattern(row_spacing_m, seeds_per_m2, twin_gap_m, staggered, band_width_m)
    radius = _radius(root_radius, days, root_growth_mm_per_day)
    quality = quality_of(precision, misses, doubles, emergence)
    if simulate is not None:
        check_plants(simulate)
    if lines is not None and simulate is not None:
        text = "stands are simulated of single rows, twin rows and bands only."
        raise InputError([problem(text, field="--simulate", given=simulate, allowed="without --lines")])
    patterns = [repeated(pattern, seeds_per_m2) if lines is None else _lines(pattern, lines, seeds_per_m2)]
    if compare and (pattern.kind != "single" or lines is not None):
        patterns.append(repeated(RowPattern(row_spacing_m=row_spacing_m), seeds_per_m2))
    patterns.append(triangle(seeds_per_m2))
    answer = Answer(
        tuple((p, growing_space(p)) for p in patterns),
        tuple(root_reach(p, radius) for p in patterns) if radius is not None else (),
        root_growth_mm_per_day,
        simulated(pattern, seeds_per_m2, simulate, quality, seed) if simulate is not None else None,
        quality,
    )
    if picture is not None:
        from evenground.adapters.pattern_picture import write_pattern_picture

        write_pattern_picture(picture, _shown(patterns))
        note(f"Written: {picture}")
    if as_json:
        print_json(answer.as_dict() | ({"files": [str(picture)]} if picture is not None else {}))
    else:
        typer.echo("\n".join(in_words(answer)))


@dataclass(frozen=True)
class Answer:
    """What is printed: the pattern asked for first, the ideal triangle last, single rows between if wanted."""

    spaces: tuple[tuple[RepeatedPattern, GrowingSpace], ...]
    reaches: tuple[RootReach, ...]
    root_growth_mm_per_day: float
    simulated: StandSpace | None
    quality: SowingQuality = ASSUMED

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of ``space --json``."""
        out: dict[str, Any] = {"pattern": self.spaces[0][0].name, **asdict(self.spaces[0][1])}
        out["triangle"] = asdict(self.spaces[-1][1])
        if len(self.spaces) == 3:
            out["compared_with"] = {"pattern": self.spaces[1][0].name, **asdict(self.spaces[1][1])}
        if self.reaches:
            reached = {p.name: r for (p, _), r in zip(self.spaces, self.reaches, strict=True)}
            out["root_reach"] = {
                "root_radius_m": self.reaches[0].root_radius_m,
                "root_growth_mm_per_day": self.root_growth_mm_per_day,
                "source": ROOT_GROWTH_SOURCE,
                "patterns": {
                    name: {
                        "share_of_ground": r.share_of_ground,
                        "day_all_reached": r.day_all_reached(self.root_growth_mm_per_day),
                    }
                    for name, r in reached.items()
                },
            }
        if self.simulated is not None:
            out["simulated"] = asdict(self.simulated) | {"shares": list(SHARES), "quality": asdict(self.quality)}
        return out


def _pattern(row: float, seeds: float, gap: float | None, staggered: bool, band: float | None) -> RowPattern:
    """Check the options of the pattern together and make it."""
    faults: list[Problem] = []
    if gap is not None and band is not None:
        text = "a row is a twin row or a band, not both."
        faults.append(problem(text, field="--band-width-m", given=f"{band:g}", allowed="only one of the two widths"))
    if staggered and gap is None:
        text = "only twin rows can be staggered."
        faults.append(problem(text, field="--staggered", given="staggered", allowed="together with --twin-gap-m"))
    limits = limits_text(Method, ("seeds_per_m2",))
    low, high = (float(number) for number in limits.split(" to "))
    if not (math.isfinite(seeds) and low <= seeds <= high):
        faults.append(problem("this seed rate cannot be.", field="--seeds-per-m2", given=f"{seeds:g}", allowed=limits))
    kind = "band" if band is not None and gap is None else "twin" if gap is not None else "single"
    given = {"kind": kind, "row_spacing_m": row, "staggered": staggered and gap is not None}
    given |= {"twin_gap_m": gap} if gap is not None else {"band_width_m": band} if band is not None else {}
    try:
        pattern = RowPattern.model_validate(given)
    except ValidationError as error:
        for one in problems_of(error, file="", model=RowPattern):
            field = "--" + one.field.replace("_", "-")
            faults.append(Problem("", None, field, one.given, one.allowed, one.message))
    if faults:
        raise InputError(faults)
    return pattern


def _lines(pattern: RowPattern, text: str, seeds_per_m2: float) -> RepeatedPattern:
    """Read a pattern of lines; it stands alone, beside none of the other patterns."""
    field, allowed = (
        "--lines",
        f'up to {MOST_LINES} lines such as "0/0 0.2/0.5", across below the row spacing, shift below 1',
    )
    if pattern.kind != "single":
        other = "a pattern of lines is no twin row and no band."
        raise InputError([problem(other, field=field, given=text, allowed="without --twin-gap-m and --band-width-m")])
    parts = [_LINE.fullmatch(part) for part in text.split()]
    try:
        if not 0 < len(parts) <= MOST_LINES or None in parts:
            raise ValueError("this is no pattern of lines")
        read = [(float(p["across"]), float(p["along"])) for p in parts if p is not None]
        return repeated_lines(pattern.row_spacing_m, read, seeds_per_m2)
    except ValueError as error:
        raise InputError([problem(f"{error}.", field=field, given=text, allowed=allowed)]) from error


def _radius(radius: float | None, days: float | None, growth: float) -> float | None:
    """Return the root radius asked for, directly or by the day."""
    faults = []
    if radius is not None and days is not None:
        faults.append(problem("the radius or the day, not both.", field="--days", given=f"{days:g}", allowed="one"))
    if radius is not None and not 0.0 <= radius <= 5.0:
        text = "roots do not reach that far."
        faults.append(problem(text, field="--root-radius-m", given=f"{radius:g}", allowed="0 to 5"))
    if days is not None and not 0.0 <= days <= 200.0:
        faults.append(problem("that is no day of the crop.", field="--days", given=f"{days:g}", allowed="0 to 200"))
    if not 0.1 <= growth <= 100.0:
        text = "roots do not grow at that pace."
        faults.append(problem(text, field="--root-growth-mm-per-day", given=f"{growth:g}", allowed="0.1 to 100"))
    if faults:
        raise InputError(faults)
    return root_radius_m(days, growth) if days is not None else radius


def _shown(patterns: Sequence[RepeatedPattern]) -> list[RepeatedPattern]:
    """Return what the picture shows: single rows first if they are compared, the pattern asked for, or the triangle."""
    return [patterns[1], patterns[0]] if len(patterns) == 3 else list(patterns)


def in_words(answer: Answer) -> list[str]:
    """Put the answer into lines for a screen."""
    names = [p.name for p, _ in answer.spaces]
    table: list[tuple[str, Callable[[GrowingSpace], str]]] = [
        ("land per plant, cm2", lambda s: grouped(1e4 * s.growing_space_m2)),
        ("  its compactness (circle 1)", lambda s: f"{s.compactness:.2f}"),
        ("  from the plant to its edge, cm", lambda s: f"{100 * s.edge_distance_m:.1f}"),
        ("nearest plant, cm", lambda s: f"{100 * s.nearest_neighbour_m:.1f}"),
        ("seed to seed in the line, cm", lambda s: f"{100 * (s.in_line_spacing_m or 0.0):.1f}"),
        ("circle to the nearest plant, cm2", lambda s: grouped(1e4 * s.circle_area_m2)),
        ("  share of the ground in circles", lambda s: f"{s.circle_share:.0%}"),
        ("farthest ground from any plant, cm", lambda s: f"{100 * s.farthest_ground_m:.1f}"),
    ]
    rows = [[name, *(say(s) for _, s in answer.spaces)] for name, say in table]
    if answer.reaches:
        radius = 100 * answer.reaches[0].root_radius_m
        rows.append(
            [f"ground within {radius:.3g} cm of a plant", *(f"{r.share_of_ground:.0%}" for r in answer.reaches)]
        )
    lines = [in_columns(["", *names], rows), ""]
    lines.append(
        f"At {answer.spaces[0][1].plants_per_m2:g} plants/m2 every pattern gives a plant the same land. "
        "What changes is its shape and the distance to the nearest plant."
    )
    lines += _compared(answer)
    if answer.reaches:
        lines.append(f"Roots are taken as circles. By the day: {ROOT_GROWTH_SOURCE}.")
    return lines + (_simulated_words(answer.simulated, answer.quality) if answer.simulated is not None else [])


def _compared(answer: Answer) -> list[str]:
    """Say what the pattern changes against single rows."""
    if len(answer.spaces) < 3:
        return []
    (pattern, mine), (other, single) = answer.spaces[:2]
    near, circle = mine.nearest_neighbour_m / single.nearest_neighbour_m, mine.circle_area_m2 / single.circle_area_m2
    return [
        f"{pattern.name} against {other.name}: nearest plant {near - 1:+.0%}, circle to it {circle - 1:+.0%}, "
        f"land per plant {abs(mine.growing_space_m2 / single.growing_space_m2 - 1):.0%} (it is the same)."
    ]


def _simulated_words(stand: StandSpace, quality: SowingQuality) -> list[str]:
    """Say how the room is spread in the simulated stand."""
    text = f"Simulated stand: {grouped(stand.plants)} plants, {stand.plants_per_m2:.2f} plants/m2."
    said = quality_words(quality)
    return ["", f"{text} {said}", in_columns(*spread_table({"": stand}))]
