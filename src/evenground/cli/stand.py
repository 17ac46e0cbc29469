"""Say how the crop stands by strip and method: plants, late plants, losses, row units, spacing, depth, emergence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

import typer

from evenground.basis.errors import InputError, problem
from evenground.basis.plan import Plan
from evenground.basis.thousands import grouped
from evenground.cli.opened_trial import in_columns, number, opened
from evenground.cli.output import print_json, write_sheet
from evenground.cli.simulated import check_plants, simulated, spread_table
from evenground.cli.trial_place import TrialName, TrialPath, located
from evenground.decide.side_comparison import SideResult
from evenground.decide.sowing_quality import QualityFound, sowing_quality
from evenground.decide.stand_outcomes import stand_compared
from evenground.sowing.row_geometry import growing_space, repeated
from evenground.sowing.stand_simulation import SHARES, StandSpace
from evenground.stand.counts_needed import DEFAULT_ERROR, CountsNeeded
from evenground.stand.plants import Stand
from evenground.stand.row_units import RowUnit
from evenground.stand.stages import StandStages
from evenground.stand.summary import StandSummary, stand_summary

Rooms = tuple[tuple[QualityFound, StandSpace], ...]


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    error: Annotated[
        float, typer.Option(help="Error wanted of a strip's plants/m2, a fraction; for the number of counts.")
    ] = DEFAULT_ERROR,
    sheet: Annotated[Path | None, typer.Option(help="Write the count sheet (PDF) here.")] = None,
    simulate: Annotated[
        int | None, typer.Option(help="Simulate this many plants of each method, as even as was measured.")
    ] = None,
    seed: Annotated[int, typer.Option(help="Seed of the simulation.")] = 0,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    if not 0.001 <= error <= 0.5:
        allowed, message = "0.001 to 0.5", "the error is a fraction of the plants/m2."
        raise InputError([problem(message, field="--error", given=error, allowed=allowed)])
    stored, draw = opened(located(trial, name))
    if sheet is not None:
        from evenground.adapters.count_sheet import count_sheet  # brings the typesetter with it

        write_sheet(sheet, count_sheet(stored.plan, draw), "Count sheet")
    found = stand_summary(stored.plan, draw, stored.records, error_fraction=error)
    compared = stand_compared(found, stored.plan, draw)
    rooms = () if simulate is None else _simulated(found, stored.plan, simulate, seed)
    if as_json:
        told = {"comparisons": [asdict(one) for one in compared], "level": stored.plan.advice.level}
        print_json(found.as_dict() | told | ({} if simulate is None else {"simulated": _rooms_dict(rooms)}))
    else:
        typer.echo("\n".join([*in_words(found, stored.plan, compared), *_rooms_words(rooms)]))


def _simulated(found: StandSummary, plan: Plan, plants: int, seed: int) -> Rooms:
    """Simulate a stand of every method with what its own runs and counts say."""
    check_plants(plants)
    qualities = [(m, sowing_quality(found, m)) for m in plan.methods]
    return tuple((q, simulated(m.row_pattern, m.seeds_per_m2, plants, q.quality, seed)) for m, q in qualities)


def _rooms_dict(rooms: Rooms) -> list[dict[str, Any]]:
    return [
        asdict(space) | {"method": q.method, "quality": asdict(q.quality), "runs": q.runs, "shares": list(SHARES)}
        for q, space in rooms
    ]


def _rooms_words(rooms: Rooms) -> list[str]:
    """Say how the room of the plants is spread in the simulated stands, method beside method."""
    if not rooms:
        return []
    sizes = ", ".join(f"{q.method} {grouped(s.plants)} ({s.plants_per_m2:.2f} plants/m2)" for q, s in rooms)
    table = in_columns(*spread_table({q.method: space for q, space in rooms}))
    kept = "The two lines of a twin row are taken to keep their stagger, or to have none, as planned."
    return ["", f"Simulated plants: {sizes}.", table, *(f"{q.words}." for q, _ in rooms), kept]


def in_words(found: StandSummary, plan: Plan, compared: Sequence[SideResult] = ()) -> list[str]:
    """Put the stand into lines for a screen; parts without records are left out."""
    parts = [
        _plants(found.stand),
        _stages(found.method_stages),
        _units(found.row_units),
        _spacing(found),
        _staggers(found),
        _room(found, plan),
        _depth(found),
        _emergence(found),
        _compared(compared, plan),
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


def _staggers(found: StandSummary) -> list[str]:
    """Show where the second line of every measured twin row stands in the gaps of the first."""
    rows = [
        [
            str(one.strip),
            str(twin.plants),
            number(twin.mean_phase, 2),
            "-" if twin.phase_interval is None else "{:.2f} to {:.2f}".format(*twin.phase_interval),
            number(twin.resultant, 2),
            "{:.2f} ({:.2f} to {:.2f})".format(twin.stagger, *twin.stagger_interval),
            twin.words,
        ]
        for one in found.spacings
        for twin in one.staggers
    ]
    header = ["strip", "plants", "phase (0.5 in the middle)", "between", "agree (1 all)", "stagger (between)", ""]
    return [in_columns(header, rows)] if rows else []


def _compared(found: Sequence[SideResult], plan: Plan) -> list[str]:
    """Hold the methods against each other, the strip as the unit."""
    rows = [
        [
            f"{one.outcome}, {one.unit}",
            f"{one.method} against {one.baseline}",
            f"{one.difference:+.2f}",
            f"{one.interval[0]:+.2f} to {one.interval[1]:+.2f}",
        ]
        for one in found
    ]
    said = f"The strip is the unit; such a range holds the truth in about {20 * plan.advice.level:.0f} of 20 trials."
    return [in_columns(["compared", "", "difference", "probably between"], rows), said] if rows else []


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
