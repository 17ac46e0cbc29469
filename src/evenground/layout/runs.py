"""Straight runs: where a slot of full width lies inside the workable area, for many slots at once."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

Floats = NDArray[np.float64]
# An outline that enters a slot by no more than a millimetre only touches it.
TOUCH_M = 1e-3
_BEYOND = 1e12


@dataclass(frozen=True, slots=True)
class Frame:
    """The field turned so that the strips run straight up: ``across`` to the right, ``along`` the heading.

    Attributes
    ----------
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    """

    heading_deg: float

    @property
    def turn(self) -> Floats:
        """Matrix from (east, north) to (across, along), both [m]; its transpose turns back."""
        # Exact at quarter turns, so that a field along the compass stays on whole numbers.
        quarter, rest = divmod(self.heading_deg, 90.0)
        c, s = (cos(radians(self.heading_deg)), sin(radians(self.heading_deg)))
        if rest == 0.0:
            c, s = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)][int(quarter) % 4]
        return np.array([[c, -s], [s, c]])

    def edges(self, segments: Floats) -> Floats:
        """Turn outline segments into the frame.

        Parameters
        ----------
        segments : ndarray, shape (n, 2, 2)
            Start and end (east, north) of each side of the outline [m].

        Returns
        -------
        ndarray, shape (n, 2, 2)
            The same as (across, along) [m].
        """
        turned: Floats = segments @ self.turn.T
        return turned

    def rectangle(self, left_m: float, right_m: float, low_m: float, high_m: float) -> Polygon:
        """Return a rectangle of the frame in the metric plane, corners from its left foot, counter-clockwise [m]."""
        corners = np.array([[left_m, low_m], [right_m, low_m], [right_m, high_m], [left_m, high_m]])
        return Polygon(corners @ self.turn)


def outline_segments(shape: Polygon | MultiPolygon) -> Floats:
    """Return the sides of a shape's rings, holes included.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        In the metric plane [m].

    Returns
    -------
    ndarray, shape (sides, 2, 2)
        Start and end (east, north) of each side [m].

    Source: definition.
    """
    rings = [ring for part in shapely.get_parts(shape) for ring in (part.exterior, *part.interiors)]
    points = [shapely.get_coordinates(ring) for ring in rings]
    sides: Floats = np.concatenate([np.stack((p[:-1], p[1:]), axis=1) for p in points])
    return sides


def longest_runs(edges: Floats, left_m: Floats, width_m: float) -> tuple[Floats, Floats]:
    """Return the longest stretch over which each slot lies inside the area with its full width.

    Answers: from where to where could a strip be sown here? Every side of the outline that enters a slot blocks the
    stretch between the lowest and highest point it has there. What lies between blocked stretches is wholly inside or
    wholly outside: inside where the slot's middle line has crossed the outline an odd number of times.

    Parameters
    ----------
    edges : ndarray, shape (sides, 2, 2)
        Sides of the outline as (across, along) [m].
    left_m : ndarray, shape (slots,)
        Left edge of each slot [m].
    width_m : float
        Width of every slot [m].

    Returns
    -------
    low, high : ndarray, shape (slots,)
        Ends of the longest stretch, along the heading [m]; equal where there is none.

    Source: even-odd rule of point in polygon, applied to slots.
    """
    low, high, crosses = _blocked(edges, left_m[:, np.newaxis], width_m)
    order = np.argsort(low, axis=1)
    low, high = np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)
    inside = np.cumsum(np.take_along_axis(crosses, order, axis=1), axis=1) % 2 == 1
    reached = np.maximum.accumulate(high, axis=1)
    gap = np.where(inside[:, :-1], low[:, 1:] - reached[:, :-1], -1.0)
    best = np.argmax(gap, axis=1)[:, np.newaxis]
    start = np.take_along_axis(reached, best, axis=1)[:, 0]
    length = np.maximum(np.take_along_axis(gap, best, axis=1)[:, 0], 0.0)
    return start, start + length


def _blocked(edges: Floats, left: Floats, width_m: float) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return for each slot and side the stretch it blocks, far beyond the field for none, and whether it is crossed."""
    x1, y1, x2, y2 = edges[:, 0, 0], edges[:, 0, 1], edges[:, 1, 0], edges[:, 1, 1]
    first, last = np.minimum(x1, x2), np.maximum(x1, x2)
    inner_left, inner_right, middle = left + TOUCH_M, left + (width_m - TOUCH_M), left + width_m / 2
    enters = (first < inner_right) & (last > inner_left)
    upright = x1 == x2
    slope = np.where(upright, 0.0, y2 - y1) / np.where(upright, 1.0, x2 - x1)
    lowest, highest = np.minimum(y1, y2), np.maximum(y1, y2)
    # A steep side may round to just beyond its own ends; a side along the slot blocks its whole length.
    one = np.clip(y1 + (np.clip(x1, inner_left, inner_right) - x1) * slope, lowest, highest)
    two = np.clip(y1 + (np.clip(x2, inner_left, inner_right) - x1) * slope, lowest, highest)
    low = np.where(upright, lowest, np.minimum(one, two))
    high = np.where(upright, highest, np.maximum(one, two))
    crosses = (first <= middle) & (last > middle)
    return np.where(enters, low, _BEYOND), np.where(enters, high, _BEYOND), crosses
