"""Say what to set on each machine and what to buy, method beside method, with the cautions of the sowing day.

--cards DIR also writes one cab card a method as PDF.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from evenground.basis.errors import InputError, problem
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.cli.opened_trial import in_columns, number
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located, store_at
from evenground.report.cab_card import cab_cards
from evenground.report.driven_passes import driven_passes
from evenground.sowing.agreements import answer_sentences, answers
from evenground.sowing.hopper_fills import Fill
from evenground.sowing.seed_lot import lot_of_strips, lot_sentences, lots_of_method
from evenground.sowing.settings import MethodSettings, cautions, rate_sentence, settings
from evenground.sowing.starter import AMERICAN_ONLY, EUROPE, StarterSettings

Said = Callable[[MethodSettings], str]


def _starter(say: Callable[[StarterSettings], str]) -> Said:
    return lambda s: "-" if s.starter is None else say(s.starter)


def _fills(fills: Sequence[Fill]) -> str:
    said = (
        f"before no. {f.before_pass} (strip {f.before_strip}) {f.kg:.0f} kg{f' of {f.lot}' if f.lot else ''}"
        for f in fills
    )
    return "; ".join(said) or "-"


LINES: tuple[tuple[str, Said], ...] = (
    ("planter", lambda s: s.machine),
    ("row spacing, cm", lambda s: number(100 * s.row_spacing_m)),
    ("lines in a row", lambda s: str(s.lines_per_row)),
    ("seed to seed in the line, cm", lambda s: number(100 * s.in_line_spacing_m)),
    ("seeds/m2", lambda s: number(s.seeds_per_m2, 2)),
    ("seeds in a metre of row", lambda s: number(s.seeds_per_m_of_row, 2)),
    ("seeds in a metre of line", lambda s: number(s.seeds_per_m_of_line, 2)),
    ("plants/m2 wanted", lambda s: number(s.target_plants_per_m2)),
    ("emergence expected, %", lambda s: number(100 * s.expected_emergence_fraction, 0)),
    ("plants/m2 expected", lambda s: number(s.expected_plants_per_m2)),
    ("depth, cm", lambda s: number(s.depth_cm)),
    ("speed, km/h", lambda s: number(s.speed_km_per_h)),
    ("100 m take, s", lambda s: number(s.timed_run_s)),
    ("kernels a second and metering unit", lambda s: number(s.kernels_per_second)),
    ("metering bears, kernels a second", lambda s: number(s.metering_limit_per_s)),
    ("which is reached at, km/h", lambda s: number(s.speed_at_limit_km_per_h)),
    ("metering units", lambda s: str(s.metering_units)),
    ("starter, kg/ha", lambda s: number(s.starter_kg_per_ha, 0)),
    ("starter, kg/min", _starter(lambda f: number(f.kg_per_min, 2))),
    ("starter, kg/min and hose", _starter(lambda f: f"{number(f.kg_per_min_per_hose, 3)} ({f.hoses} hoses)")),
    ("starter in 100 m, kg", _starter(lambda f: number(f.calibration_100_m_kg, 2))),
    ("starter in 20 turns of the wheel, kg", _starter(lambda f: number(f.calibration_20_turns_kg, 2))),
    ("thousand-kernel weight, g", lambda s: number(s.thousand_kernel_weight_g, 0)),
    ("seed, kg/ha", lambda s: number(s.seed_kg_per_ha)),
    ("units of seed per ha", lambda s: number(s.units_per_ha, 2)),
    ("passes a strip", lambda s: number(s.passes_per_strip, 0)),
    ("all its strips, m2", lambda s: number(s.strips_area_m2, 0)),
    ("units to buy", lambda s: number(s.units_to_buy, 0)),
    ("which weigh, kg", lambda s: number(s.seed_to_buy_kg, 0)),
    ("starter to buy, kg", _starter(lambda f: number(f.kg_for_strips, 0))),
    ("fill seed, in the order of driving", lambda s: _fills(s.seed_fills)),
    ("fill starter, in the order of driving", lambda s: _fills(s.starter_fills)),
    ("hours for its strips", lambda s: number(s.hours)),
    ("pace, ha/h", lambda s: number(s.field_capacity_ha_per_h, 2)),
)


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    cards: Annotated[Path | None, typer.Option(help="Folder to write a cab card for each method into.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    stored = store_at(located(trial, name)).load()
    plan, draw = stored.plan, stored.draw
    driven = driven_passes(plan, draw, stored.field)
    found, careful = settings(plan, draw, driven.areas if driven else None), cautions(plan)
    if not plan.trial.settings_told:
        note("How the methods were sown was not told (settings_told): what follows are placeholders.")
    files: list[str] = []
    if cards is not None:
        from evenground.adapters.cab_card import write_cab_cards

        try:
            files = [str(path) for path in write_cab_cards(cab_cards(plan, draw, found, driven), cards)]
        except OSError as error:
            text = f"the cards cannot be written here: {error.strerror}."
            raise InputError([problem(text, field="--cards", given=cards, allowed="a folder to write into")]) from error
    if as_json:
        print_json(
            {
                "methods": [s.as_dict() for s in found],
                "settings_told": plan.trial.settings_told,
                "rate_question": {"asked": plan.trial.rate_question, "sentence": rate_sentence(plan)},
                "seed_lots": list(lot_sentences(plan, draw)),
                "seed_lot_of_strips": {str(n): lot for n, lot in lot_of_strips(plan, draw).items()} if draw else {},
                "agreements": asdict(answers(plan, draw)),
                "cautions": list(careful),
                "files": files,
            }
        )
    else:
        typer.echo("\n".join([as_text(found, careful, said_of(plan, draw, found)), *_written(files)]))


def said_of(plan: Plan, draw: Draw | None, found: Sequence[MethodSettings]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return what stands beside the numbers: headings, each with its sentences."""
    depths = tuple(f"{s.method}: {' '.join(s.depth)}" for s in found)
    starter = tuple(f"{s.method}: {s.starter.sentence}" for s in found if s.starter is not None)
    limits = dict.fromkeys(
        f"{x.salts_kg_per_ha:.1f} kg/ha N + K2O {x.placement}: {x.source}."
        for s in found
        if s.starter
        for x in s.starter.limits
    )
    lots = (f"{s.method}, {sentence}" for s in found for sentence in lots_of_method(plan, draw, s.method)[:-1])
    return (
        ("What the trial asks", (rate_sentence(plan), *lot_sentences(plan, draw), *lots)),
        ("Depth", depths),
        ("Starter near the seed", (*starter, *limits, *((AMERICAN_ONLY, EUROPE) if limits else ()))),
        ("Agreed before the draw", answer_sentences(plan, draw)),
    )


def as_text(
    found: Sequence[MethodSettings], careful: Sequence[str], said: Sequence[tuple[str, Sequence[str]]] = ()
) -> str:
    """Write the settings method beside method, what differs, notes and cautions."""
    header = ["", *(f"{s.method} {s.name}" for s in found)]
    rows = [[name, *(say(s) for s in found)] for name, say in LINES]
    table = in_columns(header, [row for row in rows if set(row[1:]) != {"-"}])
    differs = [f"{s.method}: {d.sentence}." for s in found for d in s.differences]
    notes = [f"{n[0].upper()}{n[1:]}." for s in found for n in s.notes]
    parts = [line for heading, lines in said if lines for line in ("", heading, *lines)]
    return "\n".join(
        [
            table,
            "",
            "What differs from the baseline",
            *differs,
            *parts,
            "",
            *dict.fromkeys(notes),
            "",
            "Take care",
            *careful,
        ]
    )


def _written(files: Sequence[str]) -> list[str]:
    return ["", "Written:", *(f"  {name}" for name in files)] if files else []
