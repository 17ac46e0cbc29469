"""Directions on a circle: mean, how closely they agree, and how sure the mean is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from evenground.numerics.arrays import finite


@dataclass(frozen=True)
class Directions:
    """What a set of directions says.

    Attributes
    ----------
    n : int
        Number of directions [1].
    mean : float
        Mean direction [rad], 0 to below 2 pi.
    resultant : float
        Mean resultant length [1]: 1 all alike, 0 no common direction.
    standard_error : float or None
        Of the mean direction [rad]; None where the directions have no common direction or there are fewer than two.
    """

    n: int
    mean: float
    resultant: float
    standard_error: float | None

    def half_width(self, level: float) -> float | None:
        """Return half the interval of the mean direction [rad], or None where the mean is not told within a quarter.

        Parameters
        ----------
        level : float
            Level of the interval [1].

        Source: Fisher, Statistical Analysis of Circular Data (1993), 4.4.4: arcsin(z times the standard error); from
        memory.
        """
        if self.standard_error is None:
            return None
        sine = float(ndtri(0.5 + level / 2.0)) * self.standard_error
        return math.asin(sine) if sine <= 1.0 else None


def directions(angles: npt.ArrayLike) -> Directions:
    """Say where directions point on average and how closely they agree.

    Parameters
    ----------
    angles : array_like, shape (n,)
        Directions [rad], any turn.

    Returns
    -------
    Directions

    Raises
    ------
    ValueError
        If there is no direction or one is not finite.

    Source
    ------
    Mean direction and resultant length: Fisher, Statistical Analysis of Circular Data (1993), 2.3.1. Standard error:
    the same, 4.4.4: square root of the circular dispersion (1 - second cosine moment about the mean) / (2 R^2) over n
    (sections from memory).

    Examples
    --------
    >>> found = directions([0.5, 1.5])
    >>> round(found.mean, 6), round(found.resultant, 6)  # cos(0.5)
    (1.0, 0.877583)
    """
    theta = finite(angles, "angles", 1)
    n = len(theta)
    x, y = float(np.cos(theta).mean()), float(np.sin(theta).mean())
    length = min(1.0, math.hypot(x, y))
    if length < 1e-12:
        return Directions(n, 0.0, 0.0, None)
    mean = math.atan2(y, x) % math.tau
    second = float(np.cos(2.0 * (theta - mean)).mean())
    dispersion = max(0.0, 1.0 - second) / (2.0 * length**2)
    return Directions(n, mean, length, math.sqrt(dispersion / n) if n > 1 else None)
