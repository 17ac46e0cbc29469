"""Voronoi cells of many points: the ground nearer to each point than to any other.

On a rectangle the cells are cut at its sides, so that their areas sum to it; on a torus (a pattern that repeats) there
are no sides. Time grows with the number of points; points that stand in lines along y are fastest.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray, IntArray, finite
from evenground.numerics.cell_wrapping import Rectangle, Wrapped, wrap
from evenground.numerics.point_strips import PointStrips, sort_into_strips

FIRST_REACH = (1, 2)  # strips on either side, points up and down: enough for most plants of a stand in rows
SECOND_REACH = (2, 3)
FIRST_MARGIN = 4.0  # copies of a repeating pattern are laid round it this many mean spacings wide
BATCH = 50_000  # numbers per working array: a few such arrays fit the processor's cache
MOST_ROUNDS = 40
SAMPLE, ENOUGH = 500, 0.6  # points tried, and the share for which a reach must be enough to start with it

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Cells:
    """One Voronoi cell per point, in the order the points were given.

    Attributes
    ----------
    area, perimeter : ndarray, shape (points,)
        Of each cell [length squared; length].
    nearest : ndarray, shape (points,)
        Distance to the nearest other point [length]; infinite for a lone point on a rectangle.
    edges : ndarray of int, shape (points,)
        Edges of the cell [1].
    interior : ndarray of bool, shape (points,)
        Whether no side of the rectangle cuts the cell; always true on a torus.
    """

    area: FloatArray
    perimeter: FloatArray
    nearest: FloatArray
    edges: IntArray
    interior: BoolArray

    @property
    def compactness(self) -> FloatArray:
        """Area over that of a circle of the same outline, 4 pi area / perimeter^2 [1]."""
        return 4.0 * math.pi * self.area / self.perimeter**2

    @property
    def edge_distance(self) -> FloatArray:
        """Distance from each point to the nearest edge it shares with another point: half the way there [length]."""
        return self.nearest / 2.0


def cells_in_rectangle(points: npt.ArrayLike, width: float, height: float, progress: Progress | None = None) -> Cells:
    """Say which ground of a rectangle is nearest to each point.

    Parameters
    ----------
    points : array_like, shape (points, 2)
        x from 0 to ``width`` and y from 0 to ``height`` [length].
    width, height : float
        Sides of the rectangle [length].
    progress : callable or None
        Called with the share of points done [1].

    Returns
    -------
    Cells

    Raises
    ------
    ValueError
        If a point lies outside or on a side, two points are in the same place, or a number is not finite.

    Source: the definition of the Voronoi diagram; own algorithm, see ``cell_wrapping``.

    Examples
    --------
    >>> cells_in_rectangle([[1.0, 1.0], [3.0, 1.0]], 4.0, 2.0).area.tolist()
    [4.0, 4.0]
    """
    x, y = _checked(points, width, height)
    if not ((x > 0.0) & (x < width) & (y > 0.0) & (y < height)).all():
        raise ValueError("points: every point must lie inside the rectangle, not outside or on its sides")
    cells, spacing = _Filling(len(x), progress), math.sqrt(width * height / len(x))
    strips, ground = sort_into_strips(x, y, spacing), (0.0, width, 0.0, height)
    reaches = _good_reaches(strips)
    left = cells.fill(strips, np.arange(len(x)), reaches[0], ground, mirrors=False)
    for reach in reaches[1:]:
        if not len(left):
            break
        left = cells.fill(strips, left, reach, ground, mirrors=True)
    return cells.result(left)


def cells_on_torus(points: npt.ArrayLike, width: float, height: float, progress: Progress | None = None) -> Cells:
    """Say which ground is nearest to each point of a pattern that repeats in both directions.

    Parameters
    ----------
    points : array_like, shape (points, 2)
        One copy of the pattern; coordinates are taken modulo ``width`` and ``height`` [length].
    width, height : float
        After which the pattern repeats along x and y [length].
    progress : callable or None
        Called with the share of points done [1].

    Returns
    -------
    Cells
        Areas sum to ``width * height``. A copy of the point itself may be its nearest neighbour.

    Raises
    ------
    ValueError
        If two points are in the same place, or a number is not finite.

    Source: the definition of the Voronoi diagram; own algorithm, see ``cell_wrapping``.

    Examples
    --------
    >>> cell = cells_on_torus([[0.0, 0.0]], 3.0, 2.0)
    >>> float(cell.area[0]), float(cell.perimeter[0]), float(cell.nearest[0])
    (6.0, 10.0, 2.0)
    """
    x, y = _checked(points, width, height)
    x, y = np.mod(x, width), np.mod(y, height)
    cells = _Filling(len(x), progress)
    left, margin, strips = np.arange(len(x)), 0.0, None
    for number, reach in enumerate(_reaches()):
        wanted = FIRST_MARGIN * 2 ** max(0, number - 1)
        if strips is None or wanted > margin:
            todo = left if strips is None else strips.owner[left]
            strips, margin = tiled(x, y, width, height, wanted), wanted
            left = np.flatnonzero(np.isin(strips.owner, todo))
        left = cells.fill(strips, left, reach, None, mirrors=False)
        if not len(left):
            break
    return cells.result(left)


def tiled(x: FloatArray, y: FloatArray, width: float, height: float, margin: float) -> PointStrips:
    """Return a repeating pattern with copies round it; copies have owners from ``len(x)`` on.

    Parameters
    ----------
    x, y : ndarray, shape (points,)
        One copy, within 0 to ``width`` and 0 to ``height`` [length].
    width, height : float
        After which it repeats [length].
    margin : float
        Width of the rim of copies [mean spacings].
    """
    spacing = math.sqrt(width * height / len(x))
    rim = margin * spacing
    across, along = math.ceil(rim / width), math.ceil(rim / height)
    all_x, all_y = [x], [y]
    for i in range(-across, across + 1):
        for j in range(-along, along + 1):
            if i or j:
                tx, ty = x + i * width, y + j * height
                near = (tx >= -rim) & (tx <= width + rim) & (ty >= -rim) & (ty <= height + rim)
                all_x.append(tx[near])
                all_y.append(ty[near])
    limits = (-rim, width + rim), (-rim, height + rim)
    return sort_into_strips(np.concatenate(all_x), np.concatenate(all_y), spacing, *limits)


def corners_on_torus(points: npt.ArrayLike, width: float, height: float) -> list[FloatArray]:
    """Return the outline of each cell of a repeating pattern of few points, for drawing and measuring.

    Parameters
    ----------
    points : array_like, shape (points, 2)
        One copy of the pattern [length].
    width, height : float
        After which the pattern repeats along x and y [length].

    Returns
    -------
    list of ndarray, shape (corners, 2)
        Corners in turning order, seen from the point [length].

    Raises
    ------
    ValueError
        As ``cells_on_torus``.

    Examples
    --------
    >>> sorted(corners_on_torus([[0.0, 0.0]], 3.0, 2.0)[0].tolist())
    [[-1.5, -1.0], [-1.5, 1.0], [1.5, -1.0], [1.5, 1.0]]
    """
    x, y = _checked(points, width, height)
    x, y = np.mod(x, width), np.mod(y, height)
    margin = FIRST_MARGIN
    for reach in _reaches()[1:]:
        strips = tiled(x, y, width, height, margin)
        who = np.argsort(strips.owner)[: len(x)]
        found = wrap(strips, who, _at_most(reach, strips), keep_corners=True)
        if found.sure.all():
            return [_distinct(own) for own in np.array(found.corners).transpose(2, 0, 1)]
        margin *= 2.0
    raise ArithmeticError("a cell could not be closed")


def _distinct(corners: FloatArray) -> FloatArray:
    """Leave out what follows the last corner, and corners that coincide because four points share a circle."""
    own = corners[np.isfinite(corners[:, 0])]
    apart = np.hypot(*(own - np.roll(own, 1, axis=0)).T)
    return np.asarray(own[apart > 1e-9 * apart.max()])


def _checked(points: npt.ArrayLike, width: float, height: float) -> tuple[FloatArray, FloatArray]:
    """Return x and y of checked points."""
    if not (0.0 < width < math.inf and 0.0 < height < math.inf):
        raise ValueError(f"width and height must be finite and above 0, not {width} and {height}")
    array = finite(points, "points", 2)
    if array.shape[1] != 2:
        raise ValueError(f"points: two coordinates a point expected, {array.shape[1]} given")
    return np.ascontiguousarray(array[:, 0]), np.ascontiguousarray(array[:, 1])


def _reaches() -> list[tuple[int, int]]:
    """Return how far to look in the second and later rounds."""
    return [FIRST_REACH, SECOND_REACH, *((3 * 2**k, 6 * 2**k) for k in range(MOST_ROUNDS))]


def _at_most(reach: tuple[int, int], strips: PointStrips) -> tuple[int, int]:
    """Return a reach that looks no further than there are strips and points."""
    return min(reach[0], len(strips.left)), min(reach[1], int(np.diff(strips.first).max()))


def _good_reaches(strips: PointStrips) -> list[tuple[int, int]]:
    """Return the reaches from the first that is enough for most points of a sample."""
    reaches = _reaches()
    sample = np.unique(np.linspace(0, len(strips.x) - 1, SAMPLE).astype(np.int64))
    for k, reach in enumerate(reaches[:3]):
        if wrap(strips, sample, _at_most(reach, strips)).sure.mean() > ENOUGH:
            return reaches[k:]
    return reaches


class _Filling:
    """Results as they come in, batch after batch."""

    def __init__(self, count: int, progress: Progress | None) -> None:
        area, perimeter, nearest = np.zeros((3, count))
        self.cells = Cells(area, perimeter, nearest, np.zeros(count, np.int64), np.zeros(count, dtype=bool))
        self.progress, self.done = progress, 0

    def fill(
        self, strips: PointStrips, who: IntArray, reach: tuple[int, int], ground: Rectangle | None, mirrors: bool
    ) -> IntArray:
        """Wrap the cells of some places in batches; return the places for which that reach was not enough."""
        reach = _at_most(reach, strips)
        size = max(16, BATCH // (2 * reach[1] * (2 * reach[0] + 1)))
        left = []
        for begin in range(0, len(who), size):
            batch = who[begin : begin + size]
            found = wrap(strips, batch, reach, ground, mirrors)
            known = found.sure & (found.inside | mirrors | (ground is None))
            self._store(strips.owner[batch[known]], found, known)
            left.append(batch[~known])
        return np.concatenate(left) if left else who

    def _store(self, owner: IntArray, found: Wrapped, known: BoolArray) -> None:
        for name in ("area", "perimeter", "nearest", "edges"):
            getattr(self.cells, name)[owner] = getattr(found, name)[known]
        self.cells.interior[owner] = found.inside[known]
        self.done += len(owner)
        if self.progress is not None:
            self.progress(self.done / len(self.cells.area))

    def result(self, left: IntArray) -> Cells:
        """Return the cells, all of them sure."""
        if len(left):
            raise ArithmeticError(f"{len(left)} cells could not be closed")
        return self.cells
