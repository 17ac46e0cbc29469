"""The result of a randomisation test."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class RandomisationTest:
    """Result of the randomisation test of one method against the baseline.

    Attributes
    ----------
    p : float
        Share of allowed orders at least as extreme as the one drawn [1].
    exact : bool
        Whether all orders were counted.
    error : float
        Monte Carlo standard error of p [1]; 0 where exact.
    smallest : float
        Smallest p this set can give [1].
    size : int or None
        Number of orders in the set [1]; None where it is too large to list.
    """

    p: float
    exact: bool
    error: float
    smallest: float
    size: int | None


def none_if_nan(value: float | None) -> float | None:
    """Return None for NaN or infinity, which JSON cannot carry; other values unchanged [any unit].

    Examples
    --------
    >>> none_if_nan(float("nan")) is None, none_if_nan(0.5)
    (True, 0.5)
    """
    return value if value is not None and math.isfinite(value) else None
