"""The straight line that best divides two sets of points, such as the yields on both sides of a border."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray, finite

# Share of the points of each side that may lie across the line before it gives way; a receiver jumps now and then.
_STRAY = 0.02
_MOST_POINTS = 4000


@dataclass(frozen=True)
class DividingLine:
    """A line between two sets of points.

    Attributes
    ----------
    normal : ndarray, shape (2,)
        Unit vector from the first set to the second.
    offset : float
        Where the line cuts that vector [m].
    gap : float
        Width free of points between both sets, strays left out [m]; negative where they overlap.
    """

    normal: FloatArray
    offset: float
    gap: float

    def across(self, points: npt.ArrayLike) -> FloatArray:
        """Return the distance of points from the line, positive on the second set's side [m]."""
        return np.asarray(np.asarray(points, dtype=np.float64) @ self.normal - self.offset)

    def along(self, points: npt.ArrayLike) -> FloatArray:
        """Return how far along the line points lie [m]."""
        return np.asarray(np.asarray(points, dtype=np.float64) @ np.array([-self.normal[1], self.normal[0]]))


def dividing_line(first: npt.ArrayLike, second: npt.ArrayLike) -> DividingLine:
    """Return the straight line with the widest free gap between two sets of points.

    Parameters
    ----------
    first, second : array_like, shape (points, 2)
        Both sets [m].

    Returns
    -------
    DividingLine
        Searched in steps of 1, then 0.05 degrees; 2 % of each set may stray. Of very many points every n-th counts.

    Raises
    ------
    ValueError
        If a set is empty or a number is not finite.

    Source: the widest margin between two classes, Vapnik, The Nature of Statistical Learning Theory (1995), ch. 5.

    Examples
    --------
    >>> line = dividing_line([[0, 0], [0, 9]], [[4, 0], [4, 9]])
    >>> [round(float(v), 6) for v in (*line.normal, line.offset, line.gap)]
    [1.0, 0.0, 2.0, 4.0]
    """
    one, two = finite(first, "first", 2), finite(second, "second", 2)
    one, two = one[:: -(-len(one) // _MOST_POINTS)], two[:: -(-len(two) // _MOST_POINTS)]
    angle = _widest(one, two, np.deg2rad(np.arange(0.0, 360.0)))[0]
    angle, high, low = _widest(one, two, angle + np.deg2rad(np.arange(-20, 21) * 0.05))
    return DividingLine(np.array([np.cos(angle), np.sin(angle)]), (high + low) / 2.0, low - high)


def _widest(one: FloatArray, two: FloatArray, angles: FloatArray) -> tuple[float, float, float]:
    """Return the angle with the widest gap, the end of the first set and the begin of the second there."""
    normals = np.stack([np.cos(angles), np.sin(angles)])
    high = np.quantile(one @ normals, 1.0 - _STRAY, axis=0, method="higher")
    low = np.quantile(two @ normals, _STRAY, axis=0, method="lower")
    k = int(np.argmax(low - high))
    return float(angles[k]), float(high[k]), float(low[k])
