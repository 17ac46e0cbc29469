"""The passes of each method in the order in which its planter drives them, found by number and by counted rows."""

from __future__ import annotations

from dataclasses import dataclass

from evenground.basis.field import Field
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.guidance import GuidanceLine
from evenground.layout.row_counts import RowCount, fixed_edge, row_counts
from evenground.layout.turned_field import turned_field
from evenground.layout.work_order import work_orders


@dataclass(frozen=True)
class DrivenPass:
    """One pass.

    Attributes
    ----------
    number : int
        Place among the passes of its method in the order of driving.
    strip, block : int
        Numbers.
    first_row, last_row : int
        Its rows, counted from the fixed edge; a twin row is one row.
    with_heading : bool
        True: driven along the heading of the strips; false: back.
    area_m2 : float
        Ground it sows [m2].
    """

    number: int
    strip: int
    block: int
    first_row: int
    last_row: int
    with_heading: bool
    area_m2: float


@dataclass(frozen=True)
class Driven:
    """Passes of all methods.

    Attributes
    ----------
    passes : dict
        Method letter to its passes in the order of driving.
    counted_from : str
        What rows are counted from, in words.
    start_m, far_m : float
        From the field edge to row 1 of the outermost strip, at its start and its far end [m].
    """

    passes: dict[str, tuple[DrivenPass, ...]]
    counted_from: str
    start_m: float
    far_m: float

    @property
    def areas(self) -> dict[str, tuple[tuple[int, float], ...]]:
        """Method letter to strip and ground [m2] of each pass in the order of driving."""
        return {letter: tuple((p.strip, p.area_m2) for p in found) for letter, found in self.passes.items()}


def driven_passes(plan: Plan, draw: Draw | None, field: Field | None) -> Driven | None:
    """Say in which order the passes of each method are driven and which rows they take; None without draw or outline.

    Parameters
    ----------
    plan : Plan
        Methods, machines, fixed edge.
    draw : Draw or None
        Strips.
    field : Field or None
        Outline.

    Source: `evenground.layout.work_order` and `evenground.layout.row_counts`.
    """
    if draw is None or field is None:
        return None
    turned = turned_field(field, draw)
    counted, edge = {one.strip: one for one in row_counts(plan, turned)}, fixed_edge(plan, turned)
    passes: dict[str, list[DrivenPass]] = {m.letter: [] for m in plan.methods}
    for order in work_orders(plan, turned):
        for one in order.passes:
            mine = passes[one.line.method]
            mine.append(_pass(one.line, counted[one.line.strip], len(mine) + 1, edge.side, one.with_heading))
    origin = edge.words if edge.counted_from_edge else f"the outermost strip row beside {edge.words}"
    origin += edge.elsewhere
    return Driven({k: tuple(v) for k, v in passes.items()}, origin, edge.start_m, edge.far_m)


def _pass(line: GuidanceLine, count: RowCount, number: int, side: int, with_heading: bool) -> DrivenPass:
    """Name the rows of one pass; passes are numbered from the left, rows from the fixed edge."""
    first, last = count.rows
    in_strip = count.passes[1] - count.passes[0] + 1
    each = max(1, round((last - first + 1) / in_strip))
    place = line.pass_in_strip - 1 if side < 0 else in_strip - line.pass_in_strip
    start = first + place * each
    return DrivenPass(
        number, line.strip, line.block, start, start + each - 1, with_heading, line.width_m * line.length_m
    )
