"""Voronoi cells wrapped edge by edge round many points at once.

The walk starts at the nearest neighbour, whose edge of the cell is sure to exist, and turns left: along the edge
towards neighbour ``a`` the cell ends at the neighbour ``b`` whose bisector is met first. With the point in the origin
the edge lies on ``a/2 + t Ja`` (``J`` a quarter turn to the left), and ``b`` is met at
``t = (b.b - a.b) / (2 Ja.b)``, where ``Ja.b > 0``.

Only a few points near each point are tried. That they were enough is checked, not assumed: a cell is right if no point
lies nearer to one of its corners than the point itself, and the corners' circles must not reach to where points were
left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenground.numerics.arrays import BoolArray, FloatArray, IntArray
from evenground.numerics.point_strips import PointStrips

MOST_EDGES = 200
# Circles may not come nearer to untried points than this share of the mean spacing: far above rounding, far below
# anything that would be tried for nothing.
SLACK = 1e-9
NOWHERE = 1e9  # mean spacings from the point: stands for "nobody there"
TIDY_UP = 0.3  # share of closed cells in a batch from which they are taken out of it
Rectangle = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Wrapped:
    """Cells of some points.

    Attributes
    ----------
    area, perimeter : ndarray, shape (points,)
        Of each cell [length squared; length].
    nearest : ndarray, shape (points,)
        Distance to the nearest other point; infinite for a lone point [length].
    edges : ndarray of int, shape (points,)
        Edges of the cell [1].
    sure : ndarray of bool, shape (points,)
        Whether the points tried were enough; what stands in the other fields is the cell only if they were.
    inside : ndarray of bool, shape (points,)
        Whether all corners lie within the rectangle and no side of it is an edge of the cell.
    corners : list of ndarray, shape (2, points)
        Corners in turning order, seen from the point [length]; NaN after the last; empty unless asked for.
    """

    area: FloatArray
    perimeter: FloatArray
    nearest: FloatArray
    edges: IntArray
    sure: BoolArray
    inside: BoolArray
    corners: list[FloatArray]


Bound = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, slots=True)
class _Tried:
    """Points that are tried, seen from each point, and where points were left out.

    ``bounds`` has for each strip its left and right, and the y up to which all was tried below and above; ``sides``
    the x up to which all strips were tried.
    """

    x: FloatArray  # (tried, points)
    y: FloatArray
    bounds: list[Bound]
    sides: tuple[FloatArray, FloatArray]


def wrap(
    strips: PointStrips,
    who: IntArray,
    reach: tuple[int, int],
    rectangle: Rectangle | None = None,
    mirrors: bool = False,
    keep_corners: bool = False,
) -> Wrapped:
    """Wrap the cells of some points.

    Parameters
    ----------
    strips : PointStrips
        All points.
    who : ndarray of int, shape (points,)
        Places of the points whose cells are wanted.
    reach : tuple of (int, int)
        Strips tried on either side, and points tried up and down in each.
    rectangle : tuple of four floats or None
        Least x, largest x, least y, largest y of the ground [length]; None for ground without an end.
    mirrors : bool
        Whether the sides of the rectangle cut the cells; otherwise it only decides who is inside.
    keep_corners : bool
        Whether the corners are wanted.

    Returns
    -------
    Wrapped

    Raises
    ------
    ValueError
        If two points are in the same place.
    """
    tried = _gather(strips, who, reach)
    square = tried.x**2 + tried.y**2
    nearest = np.sqrt(square.min(axis=0))
    if not nearest.all():
        raise ValueError("points: two points are in the same place")
    nearest[nearest > 0.5 * NOWHERE * strips.spacing] = np.inf
    sides = None if rectangle is None else _seen_from(strips, who, rectangle)
    real = len(square)
    if mirrors and sides is not None:
        tried, square = _with_mirrors(tried, sides)
    walk = _Walk(tried, square, real, sides, SLACK * strips.spacing)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return walk.run(nearest, keep_corners)


def _gather(strips: PointStrips, who: IntArray, reach: tuple[int, int]) -> _Tried:
    """Collect the points to be tried, and per strip up to where that was all there is."""
    x0, y0 = strips.x[who], strips.y[who]
    around, along = reach
    last, strip_count = len(strips.x) - 1, len(strips.left)
    rows = (2 * around + 1) * 2 * along
    dx, dy = np.empty((rows, len(who))), np.empty((rows, len(who)))
    bounds, row = [], 0
    for on in range(-around, around + 1):
        place = strips.place(who, on)
        skip = 1 if on == 0 else 0  # the point itself is not its neighbour
        for step in (*range(-along, 0), *range(skip, along + skip)):
            at = np.clip(place + step, 0, last)
            np.subtract(strips.x[at], x0, out=dx[row])
            np.subtract(strips.y[at], y0, out=dy[row])
            dx[row][at == who] = NOWHERE * strips.spacing
            row += 1
        bounds.append(_bound(strips, strips.strip[who] + on, place - along - 1, place + along + skip, (x0, y0)))
    before, after = strips.strip[who] - around - 1, strips.strip[who] + around + 1
    low = np.where(before >= 0, strips.right[np.maximum(before, 0)], strips.known_x[0]) - x0
    high = np.where(after < strip_count, strips.left[np.minimum(after, strip_count - 1)], strips.known_x[1]) - x0
    return _Tried(dx, dy, bounds, (low, high))


def _bound(
    strips: PointStrips, strip: IntArray, below: IntArray, above: IntArray, origin: tuple[FloatArray, FloatArray]
) -> Bound:
    """Return a strip's left and right, and the y of its first points that were not tried, seen from the points."""
    x0, y0 = origin
    last = len(strips.x) - 1
    exists = (strip >= 0) & (strip < len(strips.left))
    strip = np.clip(strip, 0, len(strips.left) - 1)
    more_below, more_above = exists & (below >= strips.first[strip]), exists & (above < strips.first[strip + 1])
    low = np.where(more_below, strips.y[np.maximum(below, 0)], strips.known_y[0])
    high = np.where(more_above, strips.y[np.minimum(above, last)], strips.known_y[1])
    return strips.left[strip] - x0, strips.right[strip] - x0, low - y0, high - y0


def _seen_from(strips: PointStrips, who: IntArray, rectangle: Rectangle) -> FloatArray:
    """Return the four sides of the rectangle seen from each point, shape (4, points)."""
    x0, y0 = strips.x[who], strips.y[who]
    return np.array([rectangle[0] - x0, rectangle[1] - x0, rectangle[2] - y0, rectangle[3] - y0])


def _with_mirrors(tried: _Tried, sides: FloatArray) -> tuple[_Tried, FloatArray]:
    """Add each point's mirror images in the sides of the rectangle: their bisectors are those sides."""
    zero = np.zeros(sides.shape[1])
    x = np.vstack([tried.x, 2.0 * sides[0], 2.0 * sides[1], zero, zero])
    y = np.vstack([tried.y, zero, zero, 2.0 * sides[2], 2.0 * sides[3]])
    return _Tried(x, y, tried.bounds, tried.sides), x**2 + y**2


class _Walk:
    """The walk round all cells of one batch in step; closed cells are put aside now and then."""

    def __init__(
        self, tried: _Tried, square: FloatArray, real: int, rectangle: FloatArray | None, slack: float
    ) -> None:
        self.x, self.y, self.square = tried.x, tried.y, square
        self.bounds, self.sides, self.rectangle = tried.bounds, tried.sides, rectangle
        self.real, self.slack = real, slack
        self.start = self.at = square.argmin(axis=0)
        n = square.shape[1]
        self.walking = np.arange(n)  # number of each column still in the batch
        self.open, self.sure, self.inside = np.ones((3, n), dtype=bool)
        self.area, self.perimeter = np.zeros((2, n))
        self.edges = np.zeros(n, dtype=np.int64)
        self.first = self.last = np.zeros((2, n))
        self.space = np.empty((3, square.size))  # room for the sums of every step

    def run(self, nearest: FloatArray, keep_corners: bool) -> Wrapped:
        """Turn left at corner after corner until the first neighbour comes again."""
        n = len(nearest)
        done = Wrapped(
            np.zeros(n), np.zeros(n), nearest, np.zeros(n, np.int64), np.zeros(n, bool), np.zeros(n, bool), []
        )
        for step in range(MOST_EDGES):
            corner = self._step(step)
            if keep_corners:
                done.corners.append(np.full((2, n), np.nan))
                done.corners[-1][:, self.walking[self.open]] = corner[:, self.open]
            self._close(corner)
            self._put_aside(done)
            if not len(self.walking):
                break
        return done

    def _step(self, step: int) -> FloatArray:
        """Go to the next corner and note what it adds."""
        corner, then = self._next_corner()
        self.sure &= self._sure_at(corner) | ~self.open
        self.inside &= (then < self.real) | ~self.open
        if self.rectangle is not None:
            low_x, high_x, low_y, high_y = self.rectangle
            x, y = corner
            self.inside &= ((x >= low_x) & (x <= high_x) & (y >= low_y) & (y <= high_y)) | ~self.open
        if step == 0:
            self.first = corner
        else:
            self._add_side(self.last, corner, self.open)
        self.edges += self.open
        self.at, self.last = then, corner
        return corner

    def _next_corner(self) -> tuple[FloatArray, IntArray]:
        """Return where the present edge ends and which neighbour ends it."""
        n = len(self.at)
        flat = self.at * n + np.arange(n)
        ax, ay = self.x.ravel().take(flat), self.y.ravel().take(flat)
        turn, work, t = self.space[:, : self.x.size].reshape(3, *self.x.shape)
        np.multiply(ax, self.y, out=turn)
        np.multiply(ay, self.x, out=work)
        turn -= work
        np.multiply(ax, self.x, out=work)
        np.subtract(self.square, work, out=t)
        np.multiply(ay, self.y, out=work)
        t -= work
        t /= turn
        np.copyto(t, np.inf, where=turn <= 0.0)
        then = t.argmin(axis=0)
        reached = t.ravel().take(then * n + np.arange(n))
        return np.array([(ax - reached * ay) / 2.0, (ay + reached * ax) / 2.0]), then

    def _sure_at(self, corner: FloatArray) -> BoolArray:
        """Return whether the circles round the corners keep clear of where points were left out."""
        x, y = corner
        radius = np.sqrt(x * x + y * y) + self.slack
        square = radius * radius
        good = (x - radius >= self.sides[0]) & (x + radius <= self.sides[1])
        for left, right, low, high in self.bounds:
            aside = np.maximum(np.maximum(left - x, x - right), 0.0)
            half = np.sqrt(np.maximum(square - aside * aside, 0.0))
            good &= (aside >= radius) | ((y - half >= low) & (y + half <= high))
        return np.asarray(good)

    def _add_side(self, one: FloatArray, other: FloatArray, where: BoolArray) -> None:
        """Add the triangle under one edge of the cell, and its length."""
        twice = one[0] * other[1] - one[1] * other[0]
        dx, dy = other - one
        self.area += np.where(where, 0.5 * twice, 0.0)
        self.perimeter += np.where(where, np.sqrt(dx * dx + dy * dy), 0.0)

    def _close(self, corner: FloatArray) -> None:
        """Close the cells that came back to their first neighbour, give up those that were not tried enough."""
        closing = self.open & self.sure & (self.at == self.start)
        if closing.any():
            self._add_side(corner, self.first, closing)
        self.open &= self.sure & ~closing

    def _put_aside(self, done: Wrapped) -> None:
        """Write closed cells to the result and take them out of the batch, if they are many."""
        still = self.open
        if np.count_nonzero(still) > (1.0 - TIDY_UP) * len(still):
            return
        shut = ~still
        to = self.walking[shut]
        for name in ("area", "perimeter", "edges", "sure", "inside"):
            values = getattr(self, name)
            getattr(done, name)[to] = values[shut]
            setattr(self, name, values[still])
        for name in ("x", "y", "square", "first", "last"):
            setattr(self, name, np.ascontiguousarray(getattr(self, name)[:, still]))
        if self.rectangle is not None:
            self.rectangle = self.rectangle[:, still]
        for name in ("start", "at", "walking"):
            setattr(self, name, getattr(self, name)[still])
        self.bounds = [(a[still], b[still], c[still], d[still]) for a, b, c, d in self.bounds]
        self.sides = (self.sides[0][still], self.sides[1][still])
        self.open = still[still]
