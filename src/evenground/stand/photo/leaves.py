"""Points on leaves, each with the direction its leaf runs in, and where the leaves together point at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray
from evenground.numerics.image_regions import in_relief, peaks, streaks
from evenground.stand.photo.green import Pixels

Progress = Callable[[float], None]

FINE_M, WIDE_M = 0.003, 0.005
"""Smoothing before slopes are taken and over which they are averaged: a fraction of a leaf's width."""
EVENED_M, DEPTH = 0.015, 3.5
"""Midribs and the edges of leaves lying on others show by their brightness, compared over so far; a third brighter
counts like the outline of the green. Tried on scenes."""
POINT_EVERY_M = 0.005
"""Points are taken on a net so fine."""
VOTE_CELL_M, VOTE_REACH_M, VOTE_FADE_M = 0.006, 0.15, 0.08
PEAK_APART_M = 0.025
_TILE = 1024


@dataclass(frozen=True)
class LeafPoints:
    """Points on green, on a net.

    Attributes
    ----------
    x_m, y_m : ndarray of float32, shape (n,)
        From the upper left corner to the right and down [m].
    angle : ndarray of float32, shape (n,)
        Direction the leaf runs in, from x towards y [rad].
    clear : ndarray of float32, shape (n,)
        How clear that direction is, 0 to 1 [1].
    """

    x_m: npt.NDArray[np.float32]
    y_m: npt.NDArray[np.float32]
    angle: npt.NDArray[np.float32]
    clear: npt.NDArray[np.float32]

    def some(self, which: BoolArray) -> LeafPoints:
        """Return some of the points.

        Parameters
        ----------
        which : ndarray of bool, shape (n,)
            True for those wanted.
        """
        return LeafPoints(self.x_m[which], self.y_m[which], self.angle[which], self.clear[which])


def leaf_points(mask: BoolArray, pixels: Pixels, pixel_m: float, progress: Progress) -> LeafPoints:
    """Take points on a net over the green, with the direction of the leaf at each.

    Parameters
    ----------
    mask : ndarray of bool, shape (rows, columns)
        True on plants.
    pixels : ndarray of uint8, shape (rows, columns, 3)
        Red, green, blue.
    pixel_m : float
        Side of a pixel on the ground [m].
    progress : callable
        Called with the share done [1].
    """
    step = max(1, round(POINT_EVERY_M / pixel_m))
    fine, wide = max(0.7, FINE_M / pixel_m), max(1.0, WIDE_M / pixel_m)
    margin = int(np.ceil(4 * (fine + wide + EVENED_M / pixel_m)))
    parts: list[npt.NDArray[np.float32]] = [np.empty((4, 0), dtype=np.float32)]
    corners = [(r, c) for r in range(0, mask.shape[0], _TILE) for c in range(0, mask.shape[1], _TILE)]
    for done, (row, column) in enumerate(corners):
        progress(done / len(corners))
        top, left = max(0, row - margin), max(0, column - margin)
        whole = slice(top, row + _TILE + margin), slice(left, column + _TILE + margin)
        tile = mask[whole]
        if not tile.any():
            continue
        rows, columns = np.nonzero(tile)
        own = (rows + top >= row) & (rows + top < row + _TILE) & (columns + left >= column)
        own &= (columns + left < column + _TILE) & ((rows + top) % step == 0) & ((columns + left) % step == 0)
        rows, columns = rows[own], columns[own]
        angle, clear = streaks(in_relief(tile, pixels[whole][..., 1], EVENED_M / pixel_m, DEPTH), fine, wide)
        x, y = (columns + left + 0.5) * pixel_m, (rows + top + 0.5) * pixel_m
        parts.append(np.stack([x, y, angle[rows, columns], clear[rows, columns]]).astype(np.float32))
    return LeafPoints(*np.concatenate(parts, axis=1))


def pointed_at(points: LeafPoints, width_m: float, height_m: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return places many leaves point at: near stems, and by chance elsewhere.

    Parameters
    ----------
    points : LeafPoints
        Points on leaves.
    width_m, height_m : float
        Size of the picture on the ground [m].

    Returns
    -------
    tuple of three ndarrays of float, shape (places,)
        x and y [m], and how much points there, any unit.
    """
    from scipy.ndimage import gaussian_filter

    shape = (int(height_m / VOTE_CELL_M) + 1, int(width_m / VOTE_CELL_M) + 1)
    votes = np.zeros(shape[0] * shape[1])
    along_x, along_y = np.cos(points.angle), np.sin(points.angle)
    for far in np.arange(-VOTE_REACH_M, VOTE_REACH_M, VOTE_CELL_M):
        column = ((points.x_m + far * along_x) / VOTE_CELL_M).astype(np.int64)
        row = ((points.y_m + far * along_y) / VOTE_CELL_M).astype(np.int64)
        inside = (column >= 0) & (column < shape[1]) & (row >= 0) & (row < shape[0])
        weight = points.clear[inside] * float(np.exp(-0.5 * (far / VOTE_FADE_M) ** 2))
        votes += np.bincount(row[inside] * shape[1] + column[inside], weight, votes.size)
    smooth = gaussian_filter(votes.reshape(shape), 1.2)
    floor = 0.15 * float(np.quantile(smooth[smooth > 0.0], 0.99)) if (smooth > 0.0).any() else 0.0
    rows, columns, heights = peaks(smooth, round(PEAK_APART_M / VOTE_CELL_M), floor)
    return (columns + np.float64(0.5)) * VOTE_CELL_M, (rows + np.float64(0.5)) * VOTE_CELL_M, heights
