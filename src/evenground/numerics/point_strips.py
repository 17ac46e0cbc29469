"""Points of the plane sorted into strips, so that whoever stands near a point lies a few places away in memory."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenground.numerics.arrays import FloatArray, IntArray

# Where the sorted x leave a gap of this share of the mean spacing, a line ends; a strip is at most one spacing wide.
# Both only steer the speed: a point that was looked for in too few strips is noticed and looked for again.
LINE_GAP = 0.15
WIDEST_STRIP = 1.0


@dataclass(frozen=True, slots=True)
class PointStrips:
    """Points sorted by strip, then by y.

    Attributes
    ----------
    x, y : ndarray, shape (points,)
        Sorted coordinates [any length].
    owner : ndarray of int, shape (points,)
        Number of the point before sorting.
    strip : ndarray of int, shape (points,)
        Strip of each sorted point.
    first : ndarray of int, shape (strips + 1,)
        Place of the first point of each strip; the last entry is the number of points.
    left, right : ndarray, shape (strips,)
        Smallest and largest x in each strip [same].
    known_x, known_y : tuple of (float, float)
        Within these limits every point there is was given; infinite where none was left out [same].
    spacing : float
        Square root of the mean ground of a point [same].
    """

    x: FloatArray
    y: FloatArray
    owner: IntArray
    strip: IntArray
    first: IntArray
    left: FloatArray
    right: FloatArray
    known_x: tuple[float, float]
    known_y: tuple[float, float]
    spacing: float
    key: FloatArray
    span: float

    def place(self, of: IntArray, strips_on: int) -> IntArray:
        """Return the place, some strips further, of the first point that is not below each given point.

        Parameters
        ----------
        of : ndarray of int
            Places of sorted points.
        strips_on : int
            How many strips further; may be negative.
        """
        if strips_on == 0:
            return of
        target = np.clip(self.strip[of] + strips_on, -1, len(self.left))
        return np.searchsorted(self.key, self.key[of] + (target - self.strip[of]) * self.span).astype(np.int64)


def sort_into_strips(
    x: FloatArray,
    y: FloatArray,
    spacing: float,
    known_x: tuple[float, float] = (-np.inf, np.inf),
    known_y: tuple[float, float] = (-np.inf, np.inf),
) -> PointStrips:
    """Cut the plane into strips along y that follow the lines the points stand in, if they stand in lines.

    Parameters
    ----------
    x, y : ndarray, shape (points,)
        Coordinates [any length].
    spacing : float
        Square root of the mean ground of a point [same].
    known_x, known_y : tuple of (float, float)
        Limits within which no point is missing [same].

    Returns
    -------
    PointStrips
    """
    edges = _strip_edges(np.sort(x), spacing)
    strip = np.searchsorted(edges, x, side="right")
    low = float(y.min())
    # one number orders by strip and y at once; the margin keeps searches for neighbours out of other strips
    span = 2.0 * (float(y.max()) - low) + spacing
    key = strip * span + (y - low)
    order = np.argsort(key)
    strip, x = strip[order], x[order]
    first = np.searchsorted(strip, np.arange(len(edges) + 2))
    left, right = np.minimum.reduceat(x, first[:-1]), np.maximum.reduceat(x, first[:-1])
    return PointStrips(
        x, y[order], order, strip, first, left, right, known_x, known_y, spacing, np.ascontiguousarray(key[order]), span
    )


def _strip_edges(ordered: FloatArray, spacing: float) -> FloatArray:
    """Return where strips meet: in the gaps between lines, and inside whatever is wider than a strip may be."""
    gaps = np.flatnonzero(np.diff(ordered) > LINE_GAP * spacing)
    starts = ordered[np.r_[0, gaps + 1]]
    ends = ordered[np.r_[gaps, len(ordered) - 1]]
    pieces = np.maximum(1, np.ceil((ends - starts) / (WIDEST_STRIP * spacing))).astype(np.int64)
    cuts = [(ends[:-1] + starts[1:]) / 2.0]
    for wide in np.flatnonzero(pieces > 1):
        inside = np.linspace(starts[wide], ends[wide], pieces[wide] + 1)[1:-1]
        # an edge with no point between it and its neighbour would make an empty strip
        places = np.searchsorted(ordered, np.r_[starts[wide], inside, ends[wide]])
        cuts.append(inside[(np.diff(places)[:-1] > 0)])
    edges = np.sort(np.concatenate(cuts))
    return edges[np.diff(np.searchsorted(ordered, edges), prepend=0) > 0]
