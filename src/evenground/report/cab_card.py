"""The cab card: on one sheet a method, what to set, which rows to drive, what to dig up, and what to take care of."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.report.driven_passes import Driven, DrivenPass
from evenground.report.wording import first_capital, number
from evenground.sowing.hopper_fills import Fill
from evenground.sowing.seed_lot import lot_of_strips, lot_sentences, lots_of_method
from evenground.sowing.settings import MethodSettings, cautions
from evenground.sowing.starter import AMERICAN_ONLY, TURNS

INVENTED = "Invented trial: farm, field and figures are made up."
# Line dug free for the seed check: the shortest of these that holds 15 seeds. Judgement.
DUG_M = (2.0, 3.0, 5.0, 10.0)
DUG_SEEDS = 15.0
GAPS_LAID_OUT = 10
FIRST_CHECK_M = 20
_COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True)
class CardFact:
    """One setting in large type.

    Attributes
    ----------
    label, value, unit : str
        What, how much, in what.
    """

    label: str
    value: str
    unit: str


@dataclass(frozen=True)
class CardPass:
    """One line of the list of passes.

    Attributes
    ----------
    number, strip, rows, way : str
        Place in the order, strip, rows, direction.
    fill : bool
        Whether to fill before it.
    """

    number: str
    strip: str
    rows: str
    way: str
    fill: bool


@dataclass(frozen=True)
class CalibrationBox:
    """A line of boxes to write in.

    Attributes
    ----------
    name, wanted, how : str
        What is checked, what should be found, and how.
    """

    name: str
    wanted: str
    how: str


@dataclass(frozen=True)
class CabCard:
    """One sheet, front and back.

    Attributes
    ----------
    letter, name, machine, trial, banner : str
        Method, planter, trial and season; banner of an invented trial.
    settings : tuple of CardFact
        What to set.
    warnings : tuple of str
        What must be put right before sowing.
    rows_note, way_note : str
        What rows are counted from; what "out" means.
    passes : tuple of CardPass
        In the order of driving; empty before the draw.
    fills : tuple of str
        What to fill before which of them.
    lots : tuple of str
        Which seed lot goes into which of this card's strips; empty where there is one lot.
    boxes : tuple of CalibrationBox
        Set, found, corrected to.
    checks, notes, cautions : tuple of str
        After the first metres; seed and depth; the usual cautions.
    """

    letter: str
    name: str
    machine: str
    trial: str
    banner: str
    settings: tuple[CardFact, ...]
    warnings: tuple[str, ...]
    rows_note: str
    way_note: str
    passes: tuple[CardPass, ...]
    fills: tuple[str, ...]
    lots: tuple[str, ...]
    boxes: tuple[CalibrationBox, ...]
    checks: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


def cab_cards(
    plan: Plan, draw: Draw | None, found: tuple[MethodSettings, ...], driven: Driven | None
) -> tuple[CabCard, ...]:
    """Return one card a method.

    Parameters
    ----------
    plan : Plan
        Methods and machines.
    draw : Draw or None
        Strips.
    found : tuple of MethodSettings
        Settings of all methods.
    driven : Driven or None
        Passes in the order of driving; without them strips are listed by number only.
    """
    return tuple(_card(plan, draw, one, driven) for one in found)


def _card(plan: Plan, draw: Draw | None, found: MethodSettings, driven: Driven | None) -> CabCard:
    passes = driven.passes.get(found.method, ()) if driven else ()
    listed = _pass_lines(passes, found) if passes else _strip_lines(draw, found)
    return CabCard(
        letter=found.method,
        name=found.name,
        machine=found.machine,
        trial=f"{plan.trial.name}, {plan.trial.season}",
        banner=INVENTED if plan.trial.invented else "",
        settings=_facts(found),
        warnings=_warnings(found),
        rows_note=_rows_note(driven, found),
        way_note=_way_note(draw) if passes else "",
        passes=listed,
        fills=tuple(f"Before {place}: {words}" for place, words in _fills_before(found).items()) if listed else (),
        lots=_lots(plan, draw, found.method, passes),
        boxes=_boxes(found),
        checks=_checks(plan, found),
        notes=(" ".join(lot_sentences(plan, draw)), " ".join(found.depth), *_near_seed(found)),
        cautions=cautions(plan),
    )


def _facts(found: MethodSettings) -> tuple[CardFact, ...]:
    """Return the settings a driver enters, the most often needed first."""
    line = "in each line" if found.lines_per_row > 1 else "in the row"
    facts = [
        CardFact("Speed", number(found.speed_km_per_h, 1), "km/h"),
        CardFact("Depth", number(found.depth_cm, 1), "cm"),
        CardFact(f"Seed to seed {line}", number(100 * found.in_line_spacing_m, 1), "cm"),
        CardFact("Seeds", f"{found.seeds_per_m2:.4g}", "per m²"),
        CardFact(f"Seeds a metre {line}", number(found.seeds_per_m_of_line, 2), ""),
        CardFact("Kernels a second, each unit", number(found.kernels_per_second, 1), ""),
    ]
    if found.speed_at_limit_km_per_h is not None:
        facts.append(CardFact("Metering limit is reached at", number(found.speed_at_limit_km_per_h, 1), "km/h"))
    starter = found.starter
    if starter is None:
        return (*facts, CardFact("Starter", "none", ""))
    facts += [
        CardFact("Starter", number(starter.kg_per_ha), "kg/ha"),
        CardFact("Starter at this speed", number(starter.kg_per_min, 2), "kg/min"),
        CardFact(f"Each of {starter.hoses} hoses", number(starter.kg_per_min_per_hose, 3), "kg/min"),
    ]
    return tuple(facts)


def _warnings(found: MethodSettings) -> tuple[str, ...]:
    """Return what stands against sowing as planned."""
    said = [f"{first_capital(d.sentence)}." for d in found.differences if not d.part_of_question]
    said += [f"{note.removeprefix(f'{found.method}: ')}." for note in found.notes if "TOO FAST" in note]
    said += [s for s in found.depth if "TOO COLD" in s]
    if found.starter is not None and found.starter.sentence.startswith("TOO NEAR"):
        said.append(found.starter.sentence)
    return tuple(said)


def _rows_note(driven: Driven | None, found: MethodSettings) -> str:
    if driven is None:
        return "No outline of the field, or no draw yet: rows cannot be counted."
    twin = " A twin row counts as one row." if found.lines_per_row > 1 else ""
    gap = f"The outermost strip begins {number(driven.start_m, 1)} m from the field edge at its start"
    return f"Rows are counted from {driven.counted_from}.{twin} {gap}, {number(driven.far_m, 1)} m at its far end."


def _way_note(draw: Draw | None) -> str:
    if draw is None:
        return ""
    names = _COMPASS[round(draw.heading_deg / 45.0) % len(_COMPASS)]
    return f"Out is towards {names} ({number(draw.heading_deg)}°); back is the other way."


def _pass_lines(passes: tuple[DrivenPass, ...], found: MethodSettings) -> tuple[CardPass, ...]:
    before = _fills_before(found)
    return tuple(
        CardPass(
            str(p.number),
            str(p.strip),
            f"{p.first_row} to {p.last_row}",
            "out" if p.with_heading else "back",
            p.number in before,
        )
        for p in passes
    )


def _strip_lines(draw: Draw | None, found: MethodSettings) -> tuple[CardPass, ...]:
    """List strips by number where rows cannot be counted."""
    mine = sorted(s.strip for s in draw.strips if s.method == found.method) if draw else []
    before = _fills_before(found)
    return tuple(CardPass(str(i), str(n), "–", "–", i in before) for i, n in enumerate(mine, start=1))


def _fills_before(found: MethodSettings) -> dict[int, str]:
    """Say what to fill before which place in the order."""
    said: dict[int, list[str]] = {}
    for what, fills in (("seed", found.seed_fills), ("starter", found.starter_fills)):
        for fill in fills:
            said.setdefault(fill.before_pass, []).append(_fill_words(what, fill))
    return {place: ", ".join(words) for place, words in sorted(said.items())}


def _lots(plan: Plan, draw: Draw | None, letter: str, passes: tuple[DrivenPass, ...]) -> tuple[str, ...]:
    """Say which lot goes into which strips, and whether the order of driving would change it more often than needed."""
    said = lots_of_method(plan, draw, letter)
    if draw is None or len(said) < 2:
        return said
    lots = lot_of_strips(plan, draw)
    driven = [lots[p.strip] for p in passes]
    changes = sum(a != b for a, b in pairwise(driven))
    if changes >= len(set(driven)):
        return (*said, f"In this order the lot would change {changes} times: drive all strips of one lot first.")
    return said


def _near_seed(found: MethodSettings) -> tuple[str, ...]:
    """Say where the limits for starter come from, where there are any."""
    return (AMERICAN_ONLY,) if found.starter is not None and found.starter.limits else ()


def _fill_words(what: str, fill: Fill) -> str:
    again = f", {fill.inside} more inside the pass" if fill.inside else ""
    lot = f" of {fill.lot}" if fill.lot else ""
    return f"{what} {number(fill.kg)} kg{lot} ({number(fill.litres)} l{again})"


def _boxes(found: MethodSettings) -> tuple[CalibrationBox, ...]:
    """Return the lines of boxes: seed by digging, starter by a run on the spot, speed by the watch."""
    dug = next((m for m in DUG_M if m * found.seeds_per_m_of_line >= DUG_SEEDS), DUG_M[-1])
    seeds = dug * found.seeds_per_m_of_line
    lines = ", both lines of a twin row apart" if found.lines_per_row > 1 else ""
    boxes = [
        CalibrationBox(
            "Seed",
            f"{number(seeds, 1)} seeds in {dug:g} m of line",
            f"Dig {dug:g} m of line in at least 3 rows{lines}; all seeds found / lines dug.",
        ),
        CalibrationBox(
            "Depth", f"{number(found.depth_cm, 1)} cm", "From the seed to the closed surface, in 10 places."
        ),
        CalibrationBox("Speed", f"{number(found.timed_run_s, 1)} s", "Time for 100 m with the planter at work."),
    ]
    if found.starter is not None:
        turns = found.starter.calibration_20_turns_kg
        catch = f"{number(found.starter.kg_per_min, 2)} kg a minute"
        catch += f", {number(found.starter.calibration_100_m_kg, 2)} kg a 100 m"
        catch += "" if turns is None else f", {number(turns, 2)} kg in {TURNS} turns"
        hoses = f"All {found.starter.hoses} hoses together, then each alone."
        how = f"{hoses} New setting = old × wanted / caught; run again."
        boxes.append(CalibrationBox("Starter", catch, how))
    return tuple(boxes)


def _checks(plan: Plan, found: MethodSettings) -> tuple[str, ...]:
    """Return what to look at after the first metres."""
    gaps = number(100 * GAPS_LAID_OUT * found.in_line_spacing_m)
    machine = plan.machine(found.machine)
    said = [
        f"Right strip, right rows? This card is method {found.method} only.",
        f"Every row unit drops: {found.metering_units} metering units. Look behind wheels and under the tank too.",
        f"Ten gaps in one line: {gaps} cm.",
        f"Depth {number(found.depth_cm, 1)} cm in every row unit, slot closed.",
        f"Joint to the pass beside: {number(100 * found.row_spacing_m)} cm from row to row, measured, not read off.",
    ]
    if found.starter is not None:
        place = _band(machine.starter_beside_cm, machine.starter_below_cm)
        said.append(f"Starter comes from all {found.starter.hoses} hoses{place}.")
    said.append(
        "Write down: strip, method, time; every stop, row off or new seed lot. A wrong strip written down is not lost."
    )
    return tuple(said)


def _band(beside_cm: float | None, below_cm: float | None) -> str:
    if beside_cm is None or below_cm is None:
        return ""
    return f", band {number(beside_cm, 1)} cm beside and {number(below_cm, 1)} cm below the seed"
