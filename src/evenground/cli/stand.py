"""Say how the crop stands by strip and method: plants, late plants, losses, row units, spacing, depth, emergence."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evenground.adapters.files import write_atomically
from evenground.basis.errors import InputError, problem
from evenground.basis.plan import Plan
from evenground.cli.opened_trial import in_columns, number, opened
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located
from evenground.sowing.row_geometry import growing_space, repeated
from evenground.stand.counts_needed import DEFAULT_ERROR, CountsNeeded
from evenground.stand.plants import Stand
from evenground.stand.row_units import RowUnit
from evenground.stand.stages import StandStages
from evenground.stand.summary import StandSummary, stand_summary


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    error: Annotated[
        float, typer.Option(help="Error wanted of a strip's plants/m2, a fraction; for the number of counts.")
    ] = DEFAULT_ERROR,
    sheet: Annotated[Path | None, typer.Option(help="Write the count sheet (PDF) here.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    if not 0.001 <= error <= 0.5:
        allowed, message = "0.001 to 0.5", "the error is a fraction of the plants/m2."
        raise InputError([problem(message, field="--error", given=error, allowed=allowed)])
    stored, draw = opened(located(trial, name))
    if sheet is not None:
        from evenground.adapters.count_sheet import count_sheet  # brings the typesetter with it

        _write_sheet(sheet, count_sheet(stored.plan, draw))
    found = stand_summary(stored.plan, draw, stored.records, error_fraction=error)
    if as_json:
        print_json(found.as_dict())
    else:
        typer.echo("\n".join(in_words(found, stored.plan)))


def _write_sheet(path: Path, made: bytes) -> None:
    """Write the count sheet; a folder that is not there is said, not made."""
    if not path.absolute().parent.is_dir():
        message = "there is no such folder to write into."
        raise InputError([problem(message, field="--sheet", given=path, allowed="a file in a folder that is there")])
    write_atomically(path, made)
    note(f"Count sheet written: {path}")


def in_words(found: StandSummary, plan: Plan) -> list[str]:
    """Put the stand into lines for a screen; parts without records are left out."""
    parts = [
        _plants(found.stand),
        _stages(found.method_stages),
        _units(found.row_units),
        _spacing(found),
        _room(found, plan),
        _depth(found),
        _emergence(found),
        [_enough(c) for c in found.counts_needed],
        [f"{n[0].upper()}{n[1:]}." for n in found.stand.notes],
    ]
    return "\n\n".join("\n".join(p) for p in parts if p).split("\n")


def _plants(found: Stand) -> list[str]:
    strips = [[str(s.strip), str(s.block), s.method, number(s.plants_per_m2), str(s.plants)] for s in found.strips]
    methods = [
        [m.method, number(m.expected_plants_per_m2), number(m.plants_per_m2), str(m.strips_counted)]
        for m in found.methods
    ]
    return [
        in_columns(["method", "expected plants/m2", "counted plants/m2", "strips counted"], methods),
        "",
        in_columns(["strip", "block", "method", "plants/m2", "plants counted"], strips),
    ]


def _stages(methods: tuple[StandStages, ...]) -> list[str]:
    if not any(m.after_last_hoeing is not None or m.late_fraction is not None or m.lost_per_m2 for m in methods):
        return []
    rows = [
        [m.method, number(m.three_leaves), number(m.after_last_hoeing), number(_percent(m.late_fraction)), _lost(m)]
        for m in methods
    ]
    return [in_columns(["method", "3 leaves", "after last hoeing", "late plants %", "lost plants/m2"], rows)]


def _lost(one: StandStages) -> str:
    return ", ".join(f"{cause} {density:.2f}" for cause, density in one.lost_per_m2.items()) or "-"


def _percent(fraction: float | None) -> float | None:
    return None if fraction is None else 100 * fraction


def _units(units: tuple[RowUnit, ...]) -> list[str]:
    rows = [[u.method, str(u.row_unit), number(u.plants_per_m2), _apart(u), u.state] for u in units]
    return [in_columns(["method", "row unit", "plants/m2", "against the others", ""], rows)] if rows else []


def _apart(unit: RowUnit) -> str:
    """Say how far a unit lies off the others, with its interval."""
    if unit.ratio is None or unit.interval is None:
        return "-"
    low, high = unit.interval
    end = "?" if high is None else f"{100 * (high - 1):+.0f}"
    return f"{100 * (unit.ratio - 1):+.0f} % ({100 * (low - 1):+.0f} to {end})"


def _spacing(found: StandSummary) -> list[str]:
    rows = [
        [
            m.method,
            str(m.strips),
            *(number(_percent(v)) for v in (m.quality_of_feed, m.misses, m.multiples, m.precision)),
            number(m.stagger, 2),
        ]
        for m in found.method_spacings
    ]
    header = ["method", "strips", "spaced right %", "misses %", "doubles %", "precision %", "stagger (1 full, 0 none)"]
    return [in_columns(header, rows)] if rows else []


def _room(found: StandSummary, plan: Plan) -> list[str]:
    """Show the room of the measured plants by strip, beside that of a stand where all stood where planned."""
    planned = {
        m.letter: growing_space(repeated(m.row_pattern, m.seeds_per_m2 * m.expected_emergence_fraction))
        for m in plan.methods
    }
    rows = [
        [
            str(one.strip),
            one.method,
            str(one.space.plants),
            number(1e4 * one.space.area_m2, 0),
            number(100 * one.space.area_cv, 0),
            number(100 * one.space.nearest_m),
            number(100 * planned[one.method].nearest_neighbour_m),
            number(one.space.compactness, 2),
            number(planned[one.method].compactness, 2),
        ]
        for one in found.spacings
        if one.space is not None
    ]
    header = ["strip", "method", "plants", "land per plant, cm2", "its SD, %", "nearest plant, cm", "evenly", "compact"]
    said = '"Evenly": every plant expected stands where it should. Land per plant depends on plants/m2 alone.'
    return [in_columns([*header, "evenly"], rows), said] if rows else []


def _depth(found: StandSummary) -> list[str]:
    rows = [
        [d.method, number(d.planned_cm), number(d.mean_cm), number(d.sd_cm), number(_percent(d.outside_fraction), 0)]
        for d in found.method_depths
    ]
    header = ["method", "planned depth, cm", "found", "SD in a strip", "more than 1 cm off, %"]
    return [in_columns(header, rows)] if rows else []


def _emergence(found: StandSummary) -> list[str]:
    rows = [[e.method, number(e.days_to_half), number(e.standard_error)] for e in found.emergence if e.strip is None]
    return [in_columns(["method", "days to half emerged", "standard error"], rows)] if rows else []


def _enough(one: CountsNeeded) -> str:
    many = "more than 10,000 counts" if one.counts is None else f"{one.counts} counts"
    return (
        f"{one.method}: to tell a strip's plants/m2 within {100 * one.error_fraction:.3g} % (9 times in 10) takes "
        f"{many} of {one.count_length_m:.1f} m of row in each strip (single counts vary by {100 * one.cv:.1f} %; "
        f"{one.cv_source})."
    )
