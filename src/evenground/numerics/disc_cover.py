"""How much of the ground lies within a radius of the nearest point."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray


def area_within(corners: FloatArray, radius: npt.ArrayLike) -> FloatArray:
    """Return the area of a cell that lies within a radius of its point.

    The triangle under each edge is cut by the circle: what of the edge is inside gives a triangle, the rest a sector.

    Parameters
    ----------
    corners : ndarray, shape (corners, 2)
        Corners of the cell in turning order, seen from its point, which lies inside [length].
    radius : array_like, shape (radii,)
        Radii, not negative [length].

    Returns
    -------
    ndarray, shape (radii,)
        [length squared].

    Raises
    ------
    ValueError
        If a radius is negative or not finite.

    Source: plane geometry.

    Examples
    --------
    >>> square = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
    >>> area_within(square, [1.0, 2.0]).round(12).tolist()
    [3.14159265359, 4.0]
    """
    r = np.atleast_1d(np.asarray(radius, dtype=np.float64))[:, None]
    if not (np.isfinite(r) & (r >= 0.0)).all():
        raise ValueError("radius: every radius must be a finite number, not negative")
    side = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(side[:, 0], side[:, 1])
    height = (corners[:, 0] * side[:, 1] - corners[:, 1] * side[:, 0]) / length
    begin = (corners * side).sum(axis=1) / length
    return np.asarray((_up_to(begin + length, height, r) - _up_to(begin, height, r)).sum(axis=1))


def _up_to(t: FloatArray, height: FloatArray, r: FloatArray) -> FloatArray:
    """Return the area between the foot of the height on an edge and the place ``t`` on it, cut by the circle."""
    half = np.sqrt(np.maximum(r * r - height * height, 0.0))
    inside = np.minimum(np.abs(t), half)
    sector = np.arctan2(np.abs(t), height) - np.arctan2(inside, height)
    return np.asarray(np.sign(t) * (height * inside + r * r * sector) / 2.0)


def share_within(cells: Sequence[FloatArray], radius: npt.ArrayLike) -> FloatArray:
    """Return the share of the ground that lies within a radius of a point.

    Parameters
    ----------
    cells : sequence of ndarray, shape (corners, 2)
        All cells of the ground, each seen from its point [length].
    radius : array_like, shape (radii,)
        Radii [length].

    Returns
    -------
    ndarray, shape (radii,)
        Between 0 and 1 [1].

    Raises
    ------
    ValueError
        As ``area_within``.

    Source: a place lies within the radius of some point if and only if it does so for the point whose cell it is in.
    """
    covered = np.sum([area_within(cell, radius) for cell in cells], axis=0)
    whole = sum(_area(cell) for cell in cells)
    return np.asarray(np.minimum(covered / whole, 1.0))


def farthest(cells: Sequence[FloatArray]) -> float:
    """Return how far the ground farthest from any point is from the nearest one [length]; it is a corner of a cell."""
    return max(float(np.hypot(cell[:, 0], cell[:, 1]).max()) for cell in cells)


def _area(corners: FloatArray) -> float:
    x, y = corners.T
    return math.fsum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2.0
