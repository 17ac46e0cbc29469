"""How far the truth behind a count may lie: exact intervals for counts, shares and ratios of rates."""

from __future__ import annotations

import math

from scipy.special import betaincinv, chdtri

Interval = tuple[float, float]


def poisson_interval(count: int, level: float) -> Interval:
    """Return the exact interval of the mean of a Poisson count [1].

    Parameters
    ----------
    count : int
        What was counted [1].
    level : float
        Level of the interval [1].

    Raises
    ------
    ValueError
        If the count is negative or the level not between 0 and 1.

    Source: Garwood, Biometrika 28 (1936) 437-442.

    Examples
    --------
    >>> [round(v, 2) for v in poisson_interval(42, 0.95)]
    [30.27, 56.77]
    """
    tail = _tail(level)
    if count < 0:
        raise ValueError(f"a count is not negative, {count} given")
    low = float(chdtri(2 * count, 1.0 - tail)) / 2.0 if count else 0.0
    return low, float(chdtri(2 * (count + 1), tail)) / 2.0


def binomial_interval(count: int, total: int, level: float) -> Interval:
    """Return the exact interval of a share [1].

    Parameters
    ----------
    count, total : int
        How many of how many [1].
    level : float
        Level of the interval [1].

    Raises
    ------
    ValueError
        If the count is not between 0 and the total, the total not above 0, or the level not between 0 and 1.

    Source: Clopper & Pearson, Biometrika 26 (1934) 404-413.

    Examples
    --------
    >>> low, high = binomial_interval(0, 10, 0.95)  # 1 - 0.025^(1/10)
    >>> low, round(high, 4)
    (0.0, 0.3085)
    """
    tail = _tail(level)
    if not 0 <= count <= total or total <= 0:
        raise ValueError(f"a share needs 0 <= count <= total and a total above 0, {count} of {total} given")
    low = float(betaincinv(count, total - count + 1, tail)) if count else 0.0
    high = float(betaincinv(count + 1, total - count, 1.0 - tail)) if count < total else 1.0
    return low, high


def rate_ratio_interval(count: int, size: float, other_count: int, other_size: float, level: float) -> Interval:
    """Return the exact interval of the ratio of two Poisson rates [1].

    Given both counts together, the first is binomial with a share that the ratio of the rates fixes.

    Parameters
    ----------
    count, other_count : int
        Counts above and below the line of the ratio [1].
    size, other_size : float
        What each was counted on (length, area, time), above 0 [same unit].
    level : float
        Level of the interval [1].

    Returns
    -------
    (low, high)
        The upper end is infinite where the other count is 0.

    Raises
    ------
    ValueError
        If a size is not above 0, a count is negative or both are 0.

    Source: Przyborowski & Wilenski, Biometrika 31 (1940) 313-323.
    """
    if not (size > 0 and other_size > 0):
        raise ValueError("both sizes must be above 0")
    low, high = binomial_interval(count, count + other_count, level)
    ends = [(share / (1.0 - share) if share < 1.0 else math.inf) * other_size / size for share in (low, high)]
    return ends[0], ends[1]


def _tail(level: float) -> float:
    if not 0.0 < level < 1.0:
        raise ValueError(f"a level lies between 0 and 1, {level} given")
    return (1.0 - level) / 2.0
