"""The slot: the width every strip has, whichever method is sown in it, and where its weighed cut lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, lcm

from evenground.basis.errors import DoesNotFitError, InputError, problem
from evenground.basis.method import Machine
from evenground.basis.plan import Plan
from evenground.layout.cross_section import WIDEST_SLOT_M, bite_mm, cut_mm, mm
from evenground.layout.other_machines import changes_for, in_words


@dataclass(frozen=True, slots=True)
class Slot:
    """Cross-section of every strip of a trial.

    Attributes
    ----------
    width_m : float
        Width of the slot [m].
    passes : tuple of (str, int)
        Planter id and its passes in one slot [1].
    cut_left_m, cut_width_m : float
        Left edge of the weighed cut from the left edge of the slot, looking along the heading, and its width [m].
    harvester_passes : int or None
        Passes of the harvester in the weighed cut [1]; None where no harvester is named.
    """

    width_m: float
    passes: tuple[tuple[str, int], ...]
    cut_left_m: float
    cut_width_m: float
    harvester_passes: int | None


def fit_slot(plan: Plan) -> Slot:
    """Return the narrowest slot that fits every machine of the plan; see `fit_slots`."""
    return fit_slots(plan)[0]


def fit_slots(plan: Plan) -> tuple[Slot, ...]:
    """Return every slot that fits all machines of the plan, narrowest first.

    Answers: how wide may a strip be so that each planter sows it in whole passes, the harvester weighs whole passes
    and whole rows of it, and guard rows stay on both sides?

    Width = k times the least common multiple of the planters' working widths, for every k that holds one pass of the
    harvester between the guard rows: the narrowest up to 60 m, the others up to ``widest_strip_m``. The cut takes
    as many whole passes as then fit, as near to the middle as whole rows allow, and is the same part of the slot for
    every method. All lengths are counted in millimetres.

    Parameters
    ----------
    plan : Plan
        Methods, machines, guard rows and harvester.

    Returns
    -------
    tuple of Slot
        At least one.

    Raises
    ------
    InputError
        If a planter's working width is not a whole number of a method's rows.
    DoesNotFitError
        If no slot up to 60 m wide fits all machines.

    Source: arithmetic; guard rows are common practice, no source.
    """
    planters = {method.machine: plan.machine(method.machine) for method in plan.methods}
    _check_rows(plan)
    common = lcm(*(mm(machine.working_width_m) for machine in planters.values()))
    rows = [mm(method.row_pattern.row_spacing_m) for method in plan.methods]
    grid, guard = lcm(*rows), plan.layout.guard_rows * max(rows)
    if common > mm(WIDEST_SLOT_M):
        machines = [*planters.values()]
        raise DoesNotFitError(_no_common_width(machines), _would_fit(plan, _nearest_width(machines)))
    harvester = plan.machine(plan.layout.harvester) if plan.layout.harvester is not None else None
    bite = bite_mm(harvester, grid) if harvester is not None else grid
    found: list[Slot] = []
    for width in range(common, mm(WIDEST_SLOT_M) + 1, common):
        cut = cut_mm(width, bite, grid, guard)
        if found and width > mm(plan.layout.widest_strip_m):
            break
        if cut is not None:
            left, across = cut
            passes = tuple((key, width // mm(machine.working_width_m)) for key, machine in planters.items())
            n_cut = across // bite if harvester is not None else None
            found.append(Slot(width / 1000, passes, left / 1000, across / 1000, n_cut))
    if not found:
        message, nearest = _no_cut(harvester, common, grid, guard)
        raise DoesNotFitError(message, _would_fit(plan, nearest))
    return tuple(found)


def slot_of_width(plan: Plan, width_m: float) -> Slot:
    """Return the slot of a plan with a given width, as for strips that are drawn already.

    Parameters
    ----------
    plan : Plan
        Methods and machines.
    width_m : float
        Width of the strips [m].

    Returns
    -------
    Slot

    Raises
    ------
    InputError, DoesNotFitError
        As `fit_slots`; also where the machines as they stand now do not fit that width.

    Source: definition.
    """
    wide = plan.model_copy(update={"layout": plan.layout.model_copy(update={"widest_strip_m": WIDEST_SLOT_M})})
    for slot in fit_slots(wide):
        if mm(slot.width_m) == mm(width_m):
            return slot
    raise DoesNotFitError(f"The machines of the plan do not sow strips of {width_m:g} m in whole passes.")


def _check_rows(plan: Plan) -> None:
    problems = []
    for i, method in enumerate(plan.methods):
        width = plan.machine(method.machine).working_width_m
        spacing = method.row_pattern.row_spacing_m
        if mm(width) % mm(spacing):
            problems.append(
                problem(
                    f"planter {method.machine} is {width:g} m wide, which is not a whole number of rows.",
                    file="trial.toml",
                    field=f"methods[{i}].row_pattern.row_spacing_m",
                    given=f"{spacing:g}",
                    allowed=f"{width:g} m divided by a whole number",
                )
            )
    if problems:
        raise InputError(problems)


def _would_fit(plan: Plan, nearest: str) -> str:
    """Return what comes nearest, and after it the machines or settings that would fit."""
    would = in_words(changes_for(plan, inf))
    return f"{nearest} Would fit: {would}" if would else nearest


def _no_common_width(planters: Sequence[Machine]) -> str:
    widths = dict.fromkeys(f"{m.working_width_m:g} m" for m in planters)
    return f"No strip up to {WIDEST_SLOT_M:g} m wide is whole passes of planters of {' and '.join(widths)}."


def _nearest_width(planters: Sequence[Machine]) -> str:
    """Say at which numbers of passes the planters come closest."""
    first, rest = planters[0], planters[1:]
    best: tuple[float, str] | None = None
    for passes in range(1, int(WIDEST_SLOT_M / first.working_width_m) + 1):
        total = passes * first.working_width_m
        counts = [max(1, round(total / machine.working_width_m)) for machine in rest]
        apart = max(abs(n * m.working_width_m - total) for n, m in zip(counts, rest, strict=True))
        words = [f"{_passes(passes)} of {first.working_width_m:g} m ({total:.2f} m)"]
        words += [
            f"{_passes(n)} of {m.working_width_m:g} m ({n * m.working_width_m:.2f} m)"
            for n, m in zip(counts, rest, strict=True)
        ]
        if best is None or apart < best[0] - 1e-9:
            best = (apart, f"Nearest: {' beside '.join(words)}, {apart:.2f} m apart.")
    return "" if best is None else best[1]


def _passes(number: int) -> str:
    return f"{number} pass{'' if number == 1 else 'es'}"


def _no_cut(harvester: Machine | None, common: int, grid: int, guard: int) -> tuple[str, str]:
    if harvester is None:
        message = f"The guard rows ({guard / 1000:g} m on each side) leave nothing to weigh in a strip up to 60 m wide."
        return message, "Ask for fewer guard rows."
    message = (
        f"No strip up to {WIDEST_SLOT_M:g} m wide in steps of {common / 1000:g} m holds whole passes of the harvester "
        f"{harvester.id} ({harvester.working_width_m:g} m) that are also whole rows of every method."
    )
    passes = lcm(mm(harvester.working_width_m), grid) // mm(harvester.working_width_m)
    nearest = (
        f"{passes} passes of the harvester would be whole rows ({passes * harvester.working_width_m:g} m); "
        f"use a harvester whose width is a multiple of {grid / 1000:g} m, or leave the harvester out."
    )
    return message, nearest
