"""The two sides of a border: which point lies on which side, how far from it, and whether there is a border at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from evenground.basis.errors import InputError, problem
from evenground.numerics.dividing_line import dividing_line

Floats = NDArray[np.float64]
# Two sides farther apart than this are two fields, not neighbours; as wide as two headlands. Judgement.
MOST_GAP_M = 40.0
# Points may lie this far across the line between the sides: receivers are off by a metre or two, cuts by half a width.
MOST_OVERLAP_M = 8.0
# The sides must lie beside each other over at least this share of the shorter one. Judgement.
LEAST_SHARED = 0.25
SHORTEST_BORDER_M = 10.0
LARGEST_FIELD_M = 5000.0


@dataclass(frozen=True)
class Measured:
    """What was measured on both sides, as read.

    Attributes
    ----------
    file : str
        Where it stood.
    method : tuple of str
        Method of each row; "" where the row does not say.
    value : ndarray
        Yield [t/ha].
    x, y : ndarray or None
        Places in a plane [m]; None where there are only weights.
    earlier : mapping of str to ndarray
        Earlier yields at the same places [any unit], NaN where not known.
    """

    file: str
    method: tuple[str, ...]
    value: Floats
    x: Floats | None = None
    y: Floats | None = None
    earlier: Mapping[str, Floats] = field(default_factory=dict)


@dataclass(frozen=True)
class Sides:
    """Both sides of a border.

    Attributes
    ----------
    baseline, method : str
        Names of both sides.
    value : ndarray
        Yield [t/ha], rows beside the border only.
    second : ndarray of bool
        True on the method's side.
    along, depth : ndarray or None
        Place along the border, and distance from it, positive on the method's side [m]; None for weights alone.
    earlier : mapping of str to ndarray
        Earlier yields of the same rows [any unit].
    gap_m : float or None
        Free ground between both sides [m]; None for weights alone.
    notes : tuple of str
        What was left out, and why.
    """

    baseline: str
    method: str
    value: Floats
    second: NDArray[np.bool_]
    along: Floats | None = None
    depth: Floats | None = None
    earlier: Mapping[str, Floats] = field(default_factory=dict)
    gap_m: float | None = None
    notes: tuple[str, ...] = ()


def two_methods(measured: Measured, baseline: str | None) -> tuple[str, str]:
    """Return the baseline and the other method of a table; the first one named is the baseline if none is said.

    Parameters
    ----------
    measured : Measured
        Rows with their methods.
    baseline : str or None
        The method the farm uses now.

    Raises
    ------
    InputError
        If there are not exactly two methods, or the baseline is none of them.
    """
    names = list(dict.fromkeys(m for m in measured.method if m))
    given = ", ".join(names)
    if len(names) != 2:
        text = "a border has two sides, with one method each."
        if len(names) == 1:
            text = f"all rows are of {names[0]}; the other side of the border is empty."
        raise InputError([problem(text, file=measured.file, field="method", given=given, allowed="two methods")])
    if baseline is None:
        return names[0], names[1]
    if baseline not in names:
        text = "no row has the baseline's name."
        raise InputError([problem(text, file=measured.file, field="method", given=given, allowed=baseline)])
    return baseline, next(n for n in names if n != baseline)


def sides_of(measured: Measured, baseline: str | None, areas: Mapping[str, BaseGeometry] | None = None) -> Sides:
    """Put what was measured on the two sides of its border.

    Parameters
    ----------
    measured : Measured
        Rows; those without places are weights.
    baseline : str or None
        The method the farm uses now; the first named if not said.
    areas : mapping of str to shape, optional
        Outline of each method's area in the same plane [m]. Without them the border is the straight line with the
        widest free gap between both sides.

    Returns
    -------
    Sides

    Raises
    ------
    InputError
        If a side is empty, the sides share no border, or points lie in another place.
    """
    first, second = two_methods(measured, baseline)
    is_second = np.array([m == second for m in measured.method])
    rows = np.array([m != "" for m in measured.method])
    if measured.x is None or measured.y is None:
        return Sides(first, second, measured.value[rows], is_second[rows])
    at = np.column_stack([measured.x, measured.y])
    _one_place(measured.file, at)
    if areas:
        along, depth, beside, gap = _by_areas(at, is_second, areas[first], areas[second])
    else:
        along, depth, beside, gap = _by_line(measured.file, at, is_second, rows)
    kept = rows & beside
    for name, side in ((first, kept & ~is_second), (second, kept & is_second)):
        if not side.any():
            text = f"no point of {name} lies beside the border."
            raise InputError([problem(text, file=measured.file, allowed="points on both sides of one border")])
    left = int((~kept).sum())
    rows_left = "1 row" if left == 1 else f"{left} rows"
    notes = (f"Left out, not beside the border: {rows_left}.",) if left else ()
    earlier = {n: v[kept] for n, v in measured.earlier.items()}
    return Sides(first, second, measured.value[kept], is_second[kept], along[kept], depth[kept], earlier, gap, notes)


def _one_place(file: str, at: Floats) -> None:
    far = np.hypot(*(at - np.median(at, axis=0)).T) > LARGEST_FIELD_M
    if far.any():
        text = f"{int(far.sum())} points lie more than {LARGEST_FIELD_M / 1000:g} km from the others: another place?"
        raise InputError([problem(text, file=file, allowed="points of one field")])


def _by_line(
    file: str, at: Floats, is_second: NDArray[np.bool_], rows: NDArray[np.bool_]
) -> tuple[Floats, Floats, NDArray[np.bool_], float]:
    """Find the border between points alone; points across it are strays and left out."""
    one, two = at[rows & ~is_second], at[rows & is_second]
    line = dividing_line(one, two)
    areas = "or draw both areas on a map (border_areas.geojson)"
    if line.gap < -MOST_OVERLAP_M:
        text = "the points of both sides lie among each other; no straight border divides them."
        given = f"they overlap by {-line.gap:.0f} m"
        raise InputError([problem(text, file=file, given=given, allowed=f"two areas side by side, {areas}")])
    along, across = line.along(at), line.across(at)
    lows, highs = (np.array([f(line.along(one)), f(line.along(two))]) for f in (np.min, np.max))
    low, high = float(lows.max()), float(highs.min())
    if line.gap > MOST_GAP_M or high - low < LEAST_SHARED * float((highs - lows).min()):
        text = "the two sides do not share a border."
        given = f"{max(line.gap, 0.0):.0f} m apart, beside each other over {max(high - low, 0.0):.0f} m"
        allowed = f"at most {MOST_GAP_M:g} m apart and beside each other over a quarter of the shorter side"
        raise InputError([problem(text, file=file, given=given, allowed=allowed)])
    beside = (along >= low - 1e-9) & (along <= high + 1e-9) & ((across > 0) == is_second)
    return along, across, beside, max(line.gap, 0.0)


def shared_border(first: BaseGeometry, second: BaseGeometry) -> LineString | None:
    """Return the longest line along which two areas are neighbours; None where they are not.

    Parameters
    ----------
    first, second : shape
        Outlines in a plane [m].

    Returns
    -------
    LineString or None
        Part of the first one's outline that lies within 40 m of the second, at least 10 m long.
    """
    apart = first.distance(second)
    if apart > MOST_GAP_M:
        return None
    near = first.boundary.intersection(second.buffer(apart + 2.0, quad_segs=4))
    if near.geom_type == "MultiLineString":
        near = shapely.line_merge(near)
    parts = near.geoms if isinstance(near, MultiLineString) else [near]
    lines = [p for p in parts if isinstance(p, LineString)]
    longest = max(lines, key=lambda p: p.length, default=None)
    return longest if longest is not None and longest.length >= SHORTEST_BORDER_M else None


def _by_areas(
    at: Floats, is_second: NDArray[np.bool_], first: BaseGeometry, second: BaseGeometry
) -> tuple[Floats, Floats, NDArray[np.bool_], float]:
    border = shared_border(first, second)
    if border is None:
        text = "the two areas do not share a border."
        given = f"{first.distance(second):.0f} m apart"
        allowed = f"at most {MOST_GAP_M:g} m apart along at least {SHORTEST_BORDER_M:g} m"
        raise InputError([problem(text, file="border_areas.geojson", given=given, allowed=allowed)])
    points = shapely.points(at)
    along = np.atleast_1d(shapely.line_locate_point(border, points))
    depth = np.where(is_second, 1.0, -1.0) * np.atleast_1d(shapely.distance(points, border))
    own = np.where(is_second, shapely.distance(points, second), shapely.distance(points, first))
    beside = (along > 0.0) & (along < border.length) & (own <= MOST_OVERLAP_M)
    return along, depth, beside, float(first.distance(second))
