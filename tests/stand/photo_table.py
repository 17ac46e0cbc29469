"""The tables of docs/photo.md: how many plants of drawn scenes are found, and how that falls.

python -m tests.stand.photo_table --write docs/photo.md
"""

from __future__ import annotations

import sys
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from tests.stand.photo_score import NOTHING, Score, score
from tests.stand.scene import LIGHTS, Pattern, Scene, draw

from evenground.basis.errors import InputError

PATH = "docs/photo.md"
COMMAND = f"python -m tests.stand.photo_table --write {PATH}"
BEGIN, END = "<!-- tables: written by the command above -->", "<!-- end of tables -->"
FIRST_SEED = 20000  # the settings of the finder were chosen on scenes with seeds below 7008
HEADLINE = "Rows and leaves, no weeds, 7 to 11 plants/m2"
DENSEST = "Plants per square metre, 75 cm, 5 leaves, no weeds"
FULL, SOME = 8, 4  # scenes for one line: of the first two tables, of the others

SINGLE = Pattern(0.75, 0.0, 8.5)
TWIN = Pattern(0.75, 0.22, 8.5)
PATTERNS = {
    "single rows, 75 cm": SINGLE,
    "single rows, 50 cm": Pattern(0.5, 0.0, 8.5),
    "narrow rows, 37.5 cm": Pattern(0.375, 0.0, 8.5),
    "twin rows, 22 cm gap, 75 cm": TWIN,
}
DENSITIES_PER_M2 = (7.0, 8.5, 9.5, 11.0)  # of the first table, in turn
DOUBLE = 0.01  # share of places with two plants in the first table


@dataclass(frozen=True)
class Line:
    """One line of a table: what it says, and scenes (of which the first few are drawn in turn)."""

    name: str
    scenes: tuple[Scene, ...]


def _mixed(**changes) -> tuple[Scene, ...]:
    """Scenes of single and twin rows in every light, four leaves unless said otherwise; each light once, then again."""
    lights = tuple(zip(LIGHTS, (2.0, -4.0, 8.0, 88.0), strict=True))
    return tuple(
        replace(Scene(pattern=pattern, light=light, angle_deg=angle), **changes)
        for first in (0, 1)
        for k, (light, angle) in enumerate(lights)
        for pattern in ((SINGLE, TWIN)[(k + first) % 2],)
    )


def _all_lights(pattern: Pattern, leaves: int) -> tuple[Scene, ...]:
    return tuple(
        Scene(pattern=pattern, leaves=leaves, light=light, angle_deg=a)
        for light, a in zip(LIGHTS, (2.0, -4.0, 8.0, 88.0), strict=True)
    )


def _dense(scene: Scene, plants_per_m2: float) -> Scene:
    return replace(scene, pattern=replace(scene.pattern, plants_per_m2=plants_per_m2), double=DOUBLE)


def _all_densities(pattern: Pattern, leaves: int) -> tuple[Scene, ...]:
    """Scenes in every light, then again, so that each light meets two densities."""
    lights = _all_lights(pattern, leaves)
    densities = (*DENSITIES_PER_M2, *reversed(DENSITIES_PER_M2))
    return tuple(_dense(s, d) for s, d in zip((*lights, *lights), densities, strict=True))


def _closer(spacing_m: float, leaves: int) -> tuple[Scene, ...]:
    return tuple(replace(s, pattern=Pattern(0.75, 0.0, 1.0 / (0.75 * spacing_m))) for s in _all_lights(SINGLE, leaves))


def tables() -> dict[str, tuple[Line, ...]]:
    """Return all tables: title, lines."""
    return {
        HEADLINE: tuple(
            Line(f"{name}, {leaves} leaves", _all_densities(pattern, leaves))
            for name, pattern in PATTERNS.items()
            for leaves in (3, 4, 5)
        ),
        DENSEST: tuple(
            Line(f"{density:g}, {name}", tuple(_dense(s, density) for s in _all_lights(pattern, 5)))
            for name, pattern in (("single rows", SINGLE),)
            for density in DENSITIES_PER_M2
        ),
        "Light (4 leaves)": tuple(Line(light, tuple(s for s in _mixed() if s.light == light)) for light in LIGHTS),
        "Weeds, share of the green (4 leaves)": tuple(
            Line(f"{share:.0%} {where}", _mixed(weeds=share, weeds_in_row=in_row))
            for where, in_row in (("anywhere", False), ("in the rows", True))
            for share in (0.05, 0.1, 0.2, 0.4)
        ),
        "Overlap: plants in the line, single rows (leaves reach about 8, 12 and 18 cm at 3, 4 and 5 leaves)": tuple(
            Line(f"{100 * spacing:g} cm apart, {leaves} leaves", _closer(spacing, leaves))
            for leaves, spacings in (
                (3, (0.2, 0.15, 0.12, 0.09, 0.06)),
                (5, (0.2, 0.15, 0.12, 0.09, 0.06)),
                (6, (0.15,)),
            )
            for spacing in spacings
        ),
        "Doubles: share of places with two plants 3 to 6 cm apart (4 leaves)": tuple(
            Line(f"{share:.0%}", _mixed(double=share)) for share in (0.02, 0.05, 0.1)
        ),
        "Blur, standard deviation on the ground (4 leaves)": tuple(
            Line(f"{1000 * blur:g} mm", _mixed(blur_m=blur)) for blur in (0.002, 0.004, 0.008, 0.012)
        ),
        "Pixel on the ground (4 leaves)": tuple(
            Line(f"{1000 * pixel:g} mm", _mixed(pixel_m=pixel)) for pixel in (0.002, 0.003, 0.004, 0.006, 0.008)
        ),
    }


def measure(line: Line, scenes: int) -> Score:
    """Draw scenes of one line, find their plants, and add the scores up; where nothing was found, all are missed."""
    total = NOTHING
    for k in range(scenes):
        drawn = draw(line.scenes[k % len(line.scenes)], FIRST_SEED + k)
        try:
            total += score(drawn)
        except InputError:
            total += Score(len(drawn.stems_m), 0, 0, 0, ())
    return total


def scenes_of(title: str) -> int:
    """Return how many scenes a line of this table has."""
    return FULL if title in (HEADLINE, DENSEST) else SOME


def row(line: Line, total: Score) -> str:
    """Return one line of a table."""
    error = "-" if not total.errors_m else f"{1000 * total.error_m:.0f} mm"
    return f"| {line.name} | {total.true} | {total.recall:.3f} | {total.precision:.3f} | {error} |"


def page(pool: Executor) -> str:
    """Return all tables as they stand in the page."""
    out = [BEGIN]
    for title, lines in tables().items():
        out += [
            "",
            f"### {title}",
            "",
            "| scenes | plants drawn | recall | precision | off by |",
            "|---|---|---|---|---|",
        ]
        for line, total in zip(lines, pool.map(measure, lines, [scenes_of(title)] * len(lines)), strict=True):
            out.append(row(line, total))
            sys.stderr.write(out[-1] + "\n")
    return "\n".join([*out, "", END])


def main() -> None:
    """Write the tables into the page."""
    path = Path(sys.argv[sys.argv.index("--write") + 1])
    with ProcessPoolExecutor() as pool:
        new = page(pool)
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index(BEGIN)] + new + text[text.index(END) + len(END) :], encoding="utf-8")


if __name__ == "__main__":
    main()
