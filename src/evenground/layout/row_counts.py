"""Strips named by rows counted from a fixed edge: how to find them when every screen is dark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from evenground.basis.plan import Plan
from evenground.layout.turned_field import StripBox, TurnedField, to_edge_m

# Half a thumb on a tape: a gap this much short of one more row still holds it.
_TOLERANCE_M = 0.02


@dataclass(frozen=True)
class FixedEdge:
    """What rows are counted from.

    Attributes
    ----------
    words : str
        Its name in a sentence, such as "the ditch".
    side : int
        -1 where it lies left of the strips, looking along the heading, 1 right.
    counted_from_edge : bool
        True where the field edge runs with the rows, so that rows can be counted from the edge itself; otherwise the
        first row is the outermost row of the outermost strip.
    start_m, far_m : float
        From the field edge to the outer edge of that strip, at its start and its far end [m].
    rows_before : int
        Rows between the field edge and that strip, where counted from the edge [1].
    elsewhere : str
        How strips in other parts of the field are counted, as the end of a sentence; empty where there are none.
    """

    words: str
    side: int
    counted_from_edge: bool
    start_m: float
    far_m: float
    rows_before: int
    elsewhere: str = ""


@dataclass(frozen=True)
class RowCount:
    """The rows of one strip.

    Attributes
    ----------
    strip : int
        Number.
    method : str
        Letter.
    rows : tuple of int
        First and last row of the strip, counted from the fixed edge.
    cut_rows : tuple of int
        First and last row of its weighed cut.
    passes : tuple of int
        First and last pass of its planter, counted in widths of that planter from the outermost strip.
    start_m, far_m : float
        From the field edge to the near edge of the strip, at its start and its far end [m].
    words : str
        One line for a card.
    """

    strip: int
    method: str
    rows: tuple[int, int]
    cut_rows: tuple[int, int]
    passes: tuple[int, int]
    start_m: float
    far_m: float
    words: str


def fixed_edge(plan: Plan, turned: TurnedField) -> FixedEdge:
    """Say what rows are counted from, and whether the field edge itself will do.

    Rows can be counted from the field edge only where it runs with the rows: where the outermost strip lies equally far
    from it at both ends, to half a row. Between parts of a field no row stands, so each part counts from its own edge.

    Parameters
    ----------
    plan : Plan
        Name and side of the fixed edge; row spacing of the baseline, with which the ground beside the strips is sown.
    turned : TurnedField
        The strips.

    Source: geometry; counting rows is common practice, no source.
    """
    first, *others = _parts(plan, turned)
    named = plan.layout.fixed_edge or f"field edge on the {plan.layout.fixed_edge_side}"
    edge = _edge(plan, turned, first, f"the {named.removeprefix('the ')}")
    if not others:
        return edge
    strips = sorted(box.strip.strip for group in others for box in group)
    which = f"strip {strips[0]} lies" if len(strips) == 1 else f"strips {', '.join(map(str, strips))} lie"
    side = plan.layout.fixed_edge_side
    return replace(edge, elsewhere=f"; {which} in another part of the field and count from its own edge on the {side}")


def _parts(plan: Plan, turned: TurnedField) -> list[tuple[StripBox, ...]]:
    """Return the strips of each part of the field from the fixed edge inwards, that with the outermost strip first."""
    groups = turned.parts()
    if plan.layout.fixed_edge_side == "left":
        return sorted(groups, key=lambda group: group[0].left_m)
    return sorted((tuple(reversed(group)) for group in groups), key=lambda group: -group[0].right_m)


def _edge(plan: Plan, turned: TurnedField, boxes: Sequence[StripBox], words: str) -> FixedEdge:
    side = -1 if plan.layout.fixed_edge_side == "left" else 1
    start, far = _edge_distances(turned, boxes[0], side)
    spacing = plan.baseline.row_pattern.row_spacing_m
    parallel = abs(start - far) <= spacing / 2
    before = int((min(start, far) + _TOLERANCE_M) / spacing) if parallel else 0
    return FixedEdge(words, side, parallel, start, far, before)


def row_counts(plan: Plan, turned: TurnedField) -> tuple[RowCount, ...]:
    """Return the rows of every strip, counted from the fixed edge over the rows as they will stand.

    Each strip counts the rows of its own method; ground between strips counts rows of the baseline.

    Parameters
    ----------
    plan : Plan
        Methods, machines and fixed edge.
    turned : TurnedField
        The strips.

    Source: geometry.
    """
    first, *others = _parts(plan, turned)
    own = f"the {plan.layout.fixed_edge_side} edge of that part of the field"
    found = _counted(plan, turned, first, fixed_edge(plan, turned))
    for boxes in others:
        found += _counted(plan, turned, boxes, _edge(plan, turned, boxes, own))
    return tuple(sorted(found, key=lambda one: one.strip))


def _counted(plan: Plan, turned: TurnedField, boxes: Sequence[StripBox], edge: FixedEdge) -> list[RowCount]:
    """Count the rows of the strips of one part of the field, nearest to the fixed edge first."""
    methods = {method.letter: method for method in plan.methods}
    between = plan.baseline.row_pattern.row_spacing_m
    counted, reached, first_edge = edge.rows_before, _near(boxes[0], edge.side), _near(boxes[0], edge.side)
    found = []
    for box in boxes:
        method = methods[box.strip.method]
        spacing = method.row_pattern.row_spacing_m
        width = plan.machine(method.machine).working_width_m
        near = _near(box, edge.side)
        gap = (near - reached) * -edge.side
        if gap < -_TOLERANCE_M:  # ahead of or behind the strips counted so far: count anew
            counted, gap = edge.rows_before, abs(near - first_edge)
        counted += int((max(0.0, gap) + _TOLERANCE_M) / between)
        rows = (counted + 1, counted + round(box.strip.width_m / spacing))
        guard = round(abs((box.cut_left_m if edge.side < 0 else box.cut_right_m) - near) / spacing)
        cut = (rows[0] + guard, rows[0] + guard + round(box.strip.cut_width_m / spacing) - 1)
        before = round(abs(near - first_edge) / width)
        passes = (before + 1, before + round(box.strip.width_m / width))
        start, far = _edge_distances(turned, box, edge.side)
        words = _words(edge, rows, cut)
        found.append(RowCount(box.strip.strip, method.letter, rows, cut, passes, start, far, words))
        counted, reached = rows[1], near - edge.side * box.strip.width_m
    return found


def _near(box: StripBox, side: int) -> float:
    """Return the edge of a strip that looks at the fixed edge [m across]."""
    return box.left_m if side < 0 else box.right_m


def _edge_distances(turned: TurnedField, box: StripBox, side: int) -> tuple[float, float]:
    near = _near(box, side)
    start = to_edge_m(turned, (near, box.low_m), (side, 0))
    return start, to_edge_m(turned, (near, box.high_m), (side, 0))


def _words(edge: FixedEdge, rows: tuple[int, int], cut: tuple[int, int]) -> str:
    origin = edge.words if edge.counted_from_edge else "the outermost strip row beside " + edge.words
    return f"rows {rows[0]} to {rows[1]} from {origin}; weighed are rows {cut[0]} to {cut[1]}"
