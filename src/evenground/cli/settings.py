"""Say what to set on each machine and what to buy, method beside method, with the cautions of the sowing day."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated

import typer

from evenground.adapters.trial_folder import TrialFolder
from evenground.cli.opened_trial import in_columns, number
from evenground.cli.output import print_json
from evenground.sowing.settings import MethodSettings, cautions, settings

LINES: tuple[tuple[str, Callable[[MethodSettings], str]], ...] = (
    ("planter", lambda s: s.machine),
    ("row spacing, cm", lambda s: number(100 * s.row_spacing_m)),
    ("lines in a row", lambda s: str(s.lines_per_row)),
    ("seed to seed in the line, cm", lambda s: number(100 * s.in_line_spacing_m)),
    ("seeds/m2", lambda s: number(s.seeds_per_m2, 2)),
    ("seeds in a metre of row", lambda s: number(s.seeds_per_m_of_row, 2)),
    ("seeds in a metre of line", lambda s: number(s.seeds_per_m_of_line, 2)),
    ("plants/m2 expected", lambda s: number(s.expected_plants_per_m2)),
    ("depth, cm", lambda s: number(s.depth_cm)),
    ("starter, kg/ha", lambda s: number(s.starter_kg_per_ha, 0)),
    ("speed, km/h", lambda s: number(s.speed_km_per_h)),
    ("kernels a second and metering unit", lambda s: number(s.kernels_per_second)),
    ("metering units", lambda s: str(s.metering_units)),
    ("units of seed per ha", lambda s: number(s.units_per_ha, 2)),
    ("passes a strip", lambda s: number(s.passes_per_strip, 0)),
    ("all its strips, m2", lambda s: number(s.strips_area_m2, 0)),
    ("units to buy", lambda s: number(s.units_to_buy, 0)),
    ("hours for its strips", lambda s: number(s.hours)),
    ("pace, ha/h", lambda s: number(s.field_capacity_ha_per_h, 2)),
)


def run(
    trial: Annotated[Path, typer.Argument(help="The trial folder.")],
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    stored = TrialFolder(trial).load()
    found, careful = settings(stored.plan, stored.draw), cautions(stored.plan)
    if as_json:
        print_json({"methods": [s.as_dict() for s in found], "cautions": list(careful)})
    else:
        typer.echo(as_text(found, careful))


def as_text(found: Sequence[MethodSettings], careful: Sequence[str]) -> str:
    """Write the settings method beside method, what differs, notes and cautions."""
    header = ["", *(f"{s.method} {s.name}" for s in found)]
    table = in_columns(header, [[name, *(say(s) for s in found)] for name, say in LINES])
    differs = [f"{s.method}: {d.sentence}." for s in found for d in s.differences]
    notes = [f"{n[0].upper()}{n[1:]}." for s in found for n in s.notes]
    return "\n".join(
        [table, "", "What differs from the baseline", *differs, "", *dict.fromkeys(notes), "", "Take care", *careful]
    )
