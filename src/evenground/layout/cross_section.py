"""The cross-section of a strip in whole millimetres: whole passes, whole rows in the cut, guard rows beside it."""

from __future__ import annotations

from collections.abc import Sequence
from math import lcm

from evenground.basis.method import Machine
from evenground.basis.plan import Plan
from evenground.basis.strip import Strip

# A wider strip is no neighbour to the next one any more. Judgement, no source.
WIDEST_SLOT_M = 60.0


def mm(length_m: float) -> int:
    """Return a length in whole millimetres [mm].

    Source: definition.

    Examples
    --------
    >>> mm(4.572)
    4572
    """
    return round(length_m * 1000)


def bite_mm(machine: Machine, grid: int) -> int:
    """Return the width a harvester weighs in one pass [mm]: of a header given in metres the whole rows it holds.

    Parameters
    ----------
    machine : Machine
        The harvester.
    grid : int
        Least common multiple of the row spacings [mm].

    Returns
    -------
    int
        [mm]; of a header narrower than the rows its own width.

    Source: arithmetic: a header wider than its rows runs over ground that bears none.
    """
    width = mm(machine.working_width_m)
    return width if machine.header_width_m is None else width // grid * grid or width


def grid_mm(plan: Plan) -> int:
    """Return the least common multiple of the row spacings of a plan [mm].

    Source: arithmetic.
    """
    return lcm(*(mm(method.row_pattern.row_spacing_m) for method in plan.methods))


def not_whole_passes(plan: Plan, strips: Sequence[Strip]) -> tuple[str, ...]:
    """Return which machines of the plan do not cover the strips as drawn in whole passes; empty where all do.

    Answers: another machine comes than the one the strips were drawn for; can it sow and cut them?

    Parameters
    ----------
    plan : Plan
        Methods and machines as they stand now.
    strips : sequence of Strip
        As drawn.

    Returns
    -------
    tuple of str
        One sentence a planter and method; a strip may be less than a row narrower than its passes, as walked
        outlines are, and a row wider.

    Source: definition.
    """
    found = []
    for method in plan.methods:
        machine = plan.machine(method.machine)
        pass_m = machine.working_width_m
        widths = sorted({strip.width_m for strip in strips if strip.method == method.letter})
        beyond = {w: max(1, round(w / pass_m)) * pass_m - w for w in widths}
        # A row over goes into the next strip; a row short may be a row unit that is shut off.
        off = [w for w in widths if not -machine.row_spacing_m - 1e-3 < beyond[w] < machine.row_spacing_m - 1e-3]
        if off:
            said = " and ".join(f"{w:g} m" for w in off)
            found.append(
                f"{machine.id} sows {pass_m:g} m a pass; the strips drawn for method {method.letter} are {said} wide, "
                "which is not whole passes of it. Draw anew for this machine (--again REASON); the old draw stays on "
                "record."
            )
    return tuple(found)


def cut_mm(width: int, bite: int, grid: int, guard: int) -> tuple[int, int] | None:
    """Return left edge and width of the widest cut a slot holds [mm], or None.

    Parameters
    ----------
    width : int
        Width of the slot [mm].
    bite : int
        Working width of the harvester [mm].
    grid : int
        Least common multiple of the row spacings [mm].
    guard : int
        Kept on each side of the cut [mm].

    Returns
    -------
    (int, int) or None
        Whole bites and whole rows, guard rows beside them; as near to the middle as whole rows allow.

    Source: arithmetic.
    """
    for bites in range((width - 2 * guard) // bite, 0, -1):
        across = bites * bite
        if across % grid:
            continue
        left = (width - across) // 2 // grid * grid
        # Where the middle is no row edge, the nearest row edge that leaves the guard rows on both sides.
        for edge in sorted((left, left + grid), key=lambda at: abs(2 * at - (width - across))):
            if edge >= guard and width - across - edge >= guard:
                return edge, across
    return None


def narrowest_mm(
    planters: Sequence[int], rows: Sequence[int], bite: int | None, guard_rows: int, widest: int
) -> int | None:
    """Return the width of the narrowest slot for machines given by their widths [mm].

    Parameters
    ----------
    planters : sequence of int
        Working widths of the planters [mm].
    rows : sequence of int
        Row spacings of the methods [mm].
    bite : int or None
        Working width of the harvester [mm]; None without one.
    guard_rows : int
        Rows kept on each side of the cut [1].
    widest : int
        Wider slots do not count [mm].

    Returns
    -------
    int or None
        [mm]; None where none fits.

    Source: as `evenground.layout.slot.fit_slots`.
    """
    common, grid = lcm(*planters), lcm(*rows)
    widths = range(common, widest + 1, common)
    return next((width for width in widths if cut_mm(width, bite or grid, grid, guard_rows * max(rows))), None)
