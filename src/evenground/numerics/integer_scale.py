"""Decimal measurements as whole numbers, so that sums can be compared without rounding."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

_POWERS = 10.0 ** np.arange(13)
# Whole numbers stay below this, so that sums of millions of them are exact in int64 and of thousands in float64.
_LARGEST = 2.0**31
# A difference of two readings carries the rounding of the readings, which may be thousands of times larger.
_NOISE = 2.0**-40


@dataclass(frozen=True, slots=True)
class ExactValues:
    """Values ready for exact comparison.

    Attributes
    ----------
    values : ndarray
        int64 whole numbers, or the float64 values themselves where no decimal scale fits.
    digits : int or None
        The values were multiplied by ``10**digits``; None when they stayed floating point.
    """

    values: NDArray[Any]
    digits: int | None

    def tie_tolerance(self) -> int | float:
        """Return how far two sums may lie apart and still count as tied: 0, or 2 n eps sum|d| for floating point."""
        if self.digits is not None:
            return 0
        return float(2 * self.values.size * np.finfo(np.float64).eps * np.abs(self.values).sum())


def exact_values(values: ArrayLike) -> ExactValues:
    """Return decimal data as whole numbers, other data unchanged.

    Answers: can ties between sums of these values be decided without rounding? The smallest number of decimal places
    (0 to 12) is taken at which every value is a whole number to within 2**-40 of the largest; the whole numbers must
    stay below 2**31. That finds 0.4 in 12.3 - 11.9 = 0.40000000000000036 but leaves thirds and logarithms as they are.

    Parameters
    ----------
    values : array_like
        Measurements or differences of measurements [any unit], any shape.

    Returns
    -------
    ExactValues
        Whole numbers and their decimal places, or the values in floating point.

    Raises
    ------
    ValueError
        If a value is not finite.

    Source: elementary; the limits are this project's choice and stand beside the constants.

    Examples
    --------
    >>> exact_values([12.3 - 11.9, 6.125]).values
    array([ 400, 6125])
    >>> exact_values([1 / 3]).digits is None
    True
    """
    given = np.asarray(values, dtype=np.float64)
    if not np.isfinite(given).all():
        raise ValueError("values must be finite numbers; a missing value or infinity was given")
    flat = given.ravel()
    largest = float(np.abs(flat).max(initial=0.0))
    scaled = np.multiply.outer(_POWERS[: _useful_powers(largest)], flat)
    whole = np.rint(scaled)
    off = np.abs(scaled - whole).max(axis=1, initial=0.0)
    fits = np.flatnonzero(off <= _NOISE * largest * _POWERS[: len(off)])
    if fits.size == 0:
        return ExactValues(given, None)
    digits = int(fits[0])
    return ExactValues(whole[digits].astype(np.int64).reshape(given.shape), digits)


def _useful_powers(largest: float) -> int:
    """Return how many powers of ten keep ``largest`` below the bound."""
    return int(np.count_nonzero(_POWERS * min(largest, _LARGEST) < _LARGEST))
