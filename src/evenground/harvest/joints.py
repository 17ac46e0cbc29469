"""Joints between passes as measured after sowing, and where they lie against the weighed cut of a strip."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from evenground.basis.observations import MeasuredJoint, current
from evenground.basis.strip import Draw, Ring, Strip

M_PER_DEG = 111_320.0


@dataclass(frozen=True)
class Place:
    """Rows, passes and neighbours of one strip; all rows are counted from its left side, looking along the heading.

    Attributes
    ----------
    rows, cut_first, cut_rows : int
        Rows in the strip, rows left of the weighed cut, and rows in it [1].
    pass_rows : int
        Rows of one pass [1].
    left, right : tuple of (int, float) or None
        Strip beside it, and the joint ordered between the two [m]; None where there is none.
    """

    rows: int
    cut_first: int
    cut_rows: int
    pass_rows: int
    left: tuple[int, float] | None = None
    right: tuple[int, float] | None = None


@dataclass(frozen=True)
class SeenJoints:
    """What measured joints do to the rows that were cut.

    Attributes
    ----------
    inside : tuple of float
        Joints between two rows that were both cut [m].
    left, right : float or None
        How much wider than ordered the joint beside the first and the last row cut is, where one was measured there
        [m]; half of it is ground of the cut.
    """

    inside: tuple[float, ...] = ()
    left: float | None = None
    right: float | None = None


def place_of(strip: Strip, draw: Draw, spacings_m: Mapping[int, float], pass_rows: int) -> Place:
    """Say where the weighed cut lies among the rows of a strip, and which strips lie beside it.

    Parameters
    ----------
    strip : Strip
        As drawn.
    draw : Draw
        Its neighbours, and the heading.
    spacings_m : mapping
        Row spacing of every strip as sown [m].
    pass_rows : int
        Rows of one pass [1].
    """
    spacing = spacings_m[strip.strip]
    rows, cut = round(strip.width_m / spacing), round(strip.cut_width_m / spacing)
    middle = _middle(strip.outline)
    aside = _to_the_right(middle, _middle(strip.cut_outline), draw.heading_deg)
    first = min(max(round((strip.width_m - strip.cut_width_m) / (2 * spacing) + aside / spacing), 0), rows - cut)
    beside: dict[bool, tuple[int, float]] = {}
    for other in (o for o in draw.strips if abs(o.strip - strip.strip) == 1):
        right = _to_the_right(middle, _middle(other.outline), draw.heading_deg) > 0.0
        beside[right] = (other.strip, 0.5 * (spacing + spacings_m[other.strip]))
    return Place(rows, first, cut, pass_rows, beside.get(False), beside.get(True))


def _middle(ring: Ring) -> tuple[float, float]:
    """Return the middle of the box around a ring of longitude and latitude [deg]."""
    lons, lats = [p[0] for p in ring], [p[1] for p in ring]
    return 0.5 * (min(lons) + max(lons)), 0.5 * (min(lats) + max(lats))


def _to_the_right(start: tuple[float, float], end: tuple[float, float], heading_deg: float) -> float:
    """Return how far one point lies to the right of another, looking along the heading [m]."""
    east = (end[0] - start[0]) * M_PER_DEG * math.cos(math.radians(start[1]))
    north = (end[1] - start[1]) * M_PER_DEG
    turn = math.radians(heading_deg)
    return east * math.cos(turn) - north * math.sin(turn)


def joints_inside(strip: int, joints: Iterable[MeasuredJoint]) -> tuple[float, ...]:
    """Return the joints inside a strip from left to right, each the mean of its measurements [m].

    Parameters
    ----------
    strip : int
        Which strip.
    joints : iterable of MeasuredJoint
        All records, corrections included; those between two strips do not lie inside one.
    """
    found = _means(joints, (strip,))
    return tuple(found[n] for n in sorted(found))


def _means(joints: Iterable[MeasuredJoint], strips: tuple[int, ...]) -> dict[int, float]:
    found: dict[int, list[float]] = {}
    for one in current(joints):
        if tuple(sorted(one.strips)) == strips:
            found.setdefault(one.joint, []).append(one.joint_m)
    return {n: statistics.fmean(values) for n, values in found.items()}


def seen_joints(
    strip: int, joints: Iterable[MeasuredJoint], row_spacing_m: float, place: Place | None, rows: int | None = None
) -> SeenJoints:
    """Say which measured joints lie in the cut, which beside its outer rows; those among guard rows do nothing.

    Parameters
    ----------
    strip : int
        Which strip.
    joints : iterable of MeasuredJoint
        All records, corrections included.
    row_spacing_m : float
        Row spacing of the strip [m]; it is also what is ordered of a joint inside it.
    place : Place or None
        Where the cut lies; None where nobody knows: then every joint inside the strip is taken as inside the cut.
    rows : int or None
        Rows that were cut, where that was written down [1].
    """
    kept = tuple(joints)
    first = None if place is None else _first(place, rows)
    if place is None or first is None:
        return SeenJoints(joints_inside(strip, kept)[: None if rows is None else rows - 1])
    last = first + (rows or place.cut_rows)
    own = {n * place.pass_rows: metres for n, metres in sorted(_means(kept, (strip,)).items())}
    edges = {p: metres - row_spacing_m for p, metres in own.items() if p in (first, last)}
    if place.left is not None and first == 0:
        edges |= _between(strip, place.left, kept, 0)
    if place.right is not None and last == place.rows:
        edges |= _between(strip, place.right, kept, last)
    inside = tuple(metres for p, metres in own.items() if first < p < last)
    return SeenJoints(inside, edges.get(first), edges.get(last))


def _first(place: Place, rows: int | None) -> int | None:
    """Return how many rows lie left of the cut; None where another number of rows was cut than drawn."""
    if rows is None or rows == place.cut_rows:
        return place.cut_first
    return 0 if rows == place.rows else None


def _between(strip: int, beside: tuple[int, float], joints: Iterable[MeasuredJoint], edge: int) -> dict[int, float]:
    other, ordered = beside
    found = _means(joints, (min(strip, other), max(strip, other)))
    return {edge: statistics.fmean(found.values()) - ordered} if found else {}
