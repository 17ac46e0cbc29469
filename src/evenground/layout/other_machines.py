"""Which machine or setting would give strips that are narrower, or that fit at all: computed, one change at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from evenground.basis.method import Machine
from evenground.basis.plan import Plan
from evenground.layout.cross_section import WIDEST_SLOT_M, bite_mm, grid_mm, mm, narrowest_mm

_MOST_ROWS = 48
_SUGGESTIONS = 3


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a machine or setting, and the narrowest strip it allows.

    Attributes
    ----------
    words : str
        What would be changed.
    strip_width_m : float
        Narrowest strip then [m].
    apart_m : float
        How far the changed width is from what the plan says [m].
    """

    words: str
    strip_width_m: float
    apart_m: float


def changes_for(plan: Plan, below_m: float) -> tuple[Change, ...]:
    """Return the smallest single changes that allow strips narrower than a width.

    Answers: which machine, or which setting of one, would fit? Tried are row units of a planter shut off, planters and
    harvesters with other numbers of rows on the same row spacing, a planter set to the row spacing of another method,
    and fewer guard rows.

    Parameters
    ----------
    plan : Plan
        Methods, machines, guard rows, harvester.
    below_m : float
        Only strips narrower than this are of use [m].

    Returns
    -------
    tuple of Change
        For each machine the nearest with fewer and the nearest with more rows, then fewer guard rows; smallest change
        first, no more than three. Empty where no single change helps.

    Source: arithmetic of `evenground.layout.slot`; one change at a time and three of them are judgement.
    """
    found = [
        *_planters(plan, below_m),
        *_spacings(plan, below_m),
        *_harvesters(plan, below_m),
        *_guards(plan, below_m),
    ]
    ranked = sorted(found, key=lambda change: (change.apart_m, change.strip_width_m))
    return tuple(ranked[:_SUGGESTIONS])


def in_words(changes: Sequence[Change]) -> str:
    """Return changes as one sentence; "" where there are none.

    Examples
    --------
    >>> in_words([Change("a planter of 6 rows (3 m) instead of narrow (3.5 m)", 9.0, 0.5)])
    'a planter of 6 rows (3 m) instead of narrow (3.5 m): strips of 9 m.'
    """
    said = [f"{change.words}: strips of {change.strip_width_m:g} m" for change in changes]
    return "; or ".join(said) + "." if said else ""


def _planters(plan: Plan, below_m: float) -> Iterator[Change]:
    machines = {method.machine: plan.machine(method.machine) for method in plan.methods}
    for name, machine in machines.items():
        spacings = [mm(m.row_pattern.row_spacing_m) for m in plan.methods if m.machine == name]
        others = [mm(other.working_width_m) for key, other in machines.items() if key != name]
        for candidates in _other_rows(machine.rows):
            for rows in candidates:
                width = rows * mm(machine.row_spacing_m)
                whole = all(width % spacing == 0 for spacing in spacings)
                strip = _narrowest(plan, [width, *others], _bite(plan)) if whole else None
                if strip is not None and strip < below_m:
                    yield Change(_rows_of(machine, rows), strip, _apart(machine, rows))
                    break


def _rows_of(planter: Machine, rows: int) -> str:
    width_m = rows * mm(planter.row_spacing_m) / 1e3
    if rows < planter.rows:
        off = f"{planter.rows - rows} of the {planter.rows} rows of planter {planter.id} shut off"
        return f"{off} ({rows} rows, {width_m:g} m a pass)"
    return f"a planter of {rows} rows ({width_m:g} m) instead of {planter.id} ({planter.working_width_m:g} m)"


def _spacings(plan: Plan, below_m: float) -> Iterator[Change]:
    """Try each planter at the row spacing of another method."""
    machines = {method.machine: plan.machine(method.machine) for method in plan.methods}
    for name, machine in machines.items():
        rest = [m for m in plan.methods if m.machine != name]
        others = [mm(plan.machine(key).working_width_m) for key in dict.fromkeys(m.machine for m in rest)]
        for spacing_m in dict.fromkeys(m.row_pattern.row_spacing_m for m in rest):
            rows = [mm(spacing_m), *(mm(m.row_pattern.row_spacing_m) for m in rest)]
            width = machine.rows * mm(spacing_m)
            found = narrowest_mm([width, *others], rows, _bite(plan), plan.layout.guard_rows, _widest(plan))
            if found is not None and found / 1e3 < below_m and mm(spacing_m) != mm(machine.row_spacing_m):
                words = f"planter {name} at a row spacing of {spacing_m:g} m ({width / 1e3:g} m a pass)"
                yield Change(words, found / 1e3, abs(width / 1e3 - machine.working_width_m))


def _harvesters(plan: Plan, below_m: float) -> Iterator[Change]:
    if plan.layout.harvester is None:
        return
    machine, planters = plan.machine(plan.layout.harvester), _widths(plan)
    for candidates in _other_rows(machine.rows):
        for rows in candidates:
            width = rows * mm(machine.row_spacing_m)
            strip = _narrowest(plan, planters, width)
            if strip is not None and strip < below_m:
                words = f"a harvester of {rows} rows ({width / 1e3:g} m) instead of {machine.rows}"
                yield Change(words, strip, _apart(machine, rows))
                break


def _guards(plan: Plan, below_m: float) -> Iterator[Change]:
    widest_row = max(method.row_pattern.row_spacing_m for method in plan.methods)
    for guard in range(plan.layout.guard_rows - 1, -1, -1):
        strip = _narrowest(plan, _widths(plan), _bite(plan), guard)
        if strip is not None and strip < below_m:
            words = f"{guard} guard row{'' if guard == 1 else 's'} on each side (guard_rows)"
            yield Change(words, strip, (plan.layout.guard_rows - guard) * widest_row)
            return


def _narrowest(plan: Plan, planters: Sequence[int], bite: int | None, guard: int | None = None) -> float | None:
    rows = [mm(method.row_pattern.row_spacing_m) for method in plan.methods]
    guards = plan.layout.guard_rows if guard is None else guard
    found = narrowest_mm(planters, rows, bite, guards, _widest(plan))
    return None if found is None else found / 1e3


def _widest(plan: Plan) -> int:
    return mm(min(WIDEST_SLOT_M, plan.layout.widest_strip_m))


def _other_rows(rows: int) -> tuple[range, range]:
    """Return fewer rows down to half, and more, nearest first."""
    return range(rows - 1, (rows - 1) // 2, -1), range(rows + 1, _MOST_ROWS + 1)


def _widths(plan: Plan) -> list[int]:
    return [mm(plan.machine(name).working_width_m) for name in dict.fromkeys(m.machine for m in plan.methods)]


def _bite(plan: Plan) -> int | None:
    harvester = plan.layout.harvester
    return None if harvester is None else bite_mm(plan.machine(harvester), grid_mm(plan))


def _apart(machine: Machine, rows: int) -> float:
    return abs(rows - machine.rows) * machine.row_spacing_m
