"""What a trial can see: power, detectable gain and number of blocks by the noncentral t distribution."""

from __future__ import annotations

import math

import numpy as np
from scipy.special import ndtr, ndtri, stdtrit


def power_of_gain(
    gain: float,
    *,
    sigma: float,
    variance_factor: float,
    residual_df: float,
    level: float = 0.05,
    common_variance: float = 0.0,
) -> float:
    """Return the probability that a two-sided t test sees a true gain.

    Parameters
    ----------
    gain : float
        True gain [outcome unit].
    sigma : float
        Strip error, standard deviation [outcome unit].
    variance_factor : float
        Variance of the gain per unit of strip variance [1]: 2 / n for n pairs or complete blocks; 1 / n where sigma is
        the standard deviation of the difference in a pair.
    residual_df : float
        Residual degrees of freedom [1]; infinite for a known sigma.
    level : float
        Level of the test [1].
    common_variance : float
        Variance of an error all blocks share [outcome unit squared].

    Returns
    -------
    float
        Power [1]; the level itself for a gain of zero. With a common variance the degrees of freedom are those of
        Satterthwaite for the whole variance, an approximation; without one the answer is exact.

    Raises
    ------
    ValueError
        If a number is out of range.

    Source: power of the t test, for example Cohen, Statistical Power Analysis (1988) (from memory).

    Examples
    --------
    >>> round(power_of_gain(1.5, sigma=1.0, variance_factor=1 / 6, residual_df=5), 7)
    0.8325293
    """
    error, df = _error(sigma, variance_factor, residual_df, level, common_variance)
    return _power(abs(gain) / error, df, level)


def detectable_gain(
    *,
    sigma: float,
    variance_factor: float,
    residual_df: float,
    level: float = 0.05,
    power: float = 0.8,
    common_variance: float = 0.0,
) -> float:
    """Return the smallest true gain that a two-sided t test sees with the given power.

    Answers: what can this layout see four times in five?

    Parameters
    ----------
    sigma, variance_factor, residual_df, level, common_variance
        As `power_of_gain`.
    power : float
        Probability to see it [1], above the level and below 1.

    Returns
    -------
    float
        Detectable gain [outcome unit].

    Raises
    ------
    ValueError
        If a number is out of range.

    Source: as `power_of_gain`, solved for the gain.

    Examples
    --------
    >>> round(detectable_gain(sigma=1.0, variance_factor=1 / 8, residual_df=7), 4)
    1.156
    """
    error, df = _error(sigma, variance_factor, residual_df, level, common_variance)
    if not level < power < 1:
        raise ValueError(f"power must lie between the level {level} and 1, got {power}")
    return error * _noncentrality(df, level, power)


def least_significant_difference(
    *, sigma: float, variance_factor: float, residual_df: float, level: float = 0.05
) -> float:
    """Return the smallest observed gain whose two-sided t test reaches the level.

    Parameters
    ----------
    sigma, variance_factor, residual_df, level
        As `power_of_gain`.

    Returns
    -------
    float
        Least significant difference [outcome unit].

    Raises
    ------
    ValueError
        If a number is out of range.

    Source: ``t * standard error``, any textbook on field experiments.

    Examples
    --------
    >>> round(least_significant_difference(sigma=1.0, variance_factor=1 / 6, residual_df=5), 4)
    1.0494
    """
    error, df = _error(sigma, variance_factor, residual_df, level, 0.0)
    return error * _critical(df, level)


def blocks_by_normal(cv: float, difference: float, *, level: float = 0.05, power: float = 0.8) -> float:
    """Return the number of strips per method by the textbook formula with normal quantiles.

    ``r = 2 (z_(level/2) + z_power)^2 (cv / difference)^2``, not rounded.

    Parameters
    ----------
    cv : float
        Strip error [percent of the mean, or the unit of the difference].
    difference : float
        Difference to be seen [same unit].
    level, power : float
        As `detectable_gain`.

    Returns
    -------
    float
        Strips per method [1].

    Raises
    ------
    ValueError
        If a number is out of range.

    Source: M. Rychlik, note "How many replications?"; a common textbook formula.

    Examples
    --------
    >>> round(blocks_by_normal(5, 10), 2)
    3.92
    """
    _check_replication(cv, difference, level, power)
    return 2 * float(ndtri(1 - level / 2) + ndtri(power)) ** 2 * (cv / difference) ** 2


def blocks_by_t(cv: float, difference: float, *, level: float = 0.05, power: float = 0.8) -> int:
    """Return the number of complete blocks with t in place of normal quantiles, r - 1 degrees of freedom.

    The smallest r with ``r >= 2 (cv / difference)^2 (t_(level/2) + t_power)^2``.

    Parameters
    ----------
    cv, difference, level, power
        As `blocks_by_normal`.

    Returns
    -------
    int
        Blocks of two strips [1], at least 2.

    Raises
    ------
    ValueError
        If a number is out of range, or more than a million blocks would be needed.

    Source: Cochran & Cox, Experimental Designs (1957) (form from memory).

    Examples
    --------
    >>> blocks_by_t(3, 3)
    18
    """
    _check_replication(cv, difference, level, power)
    r = max(2, math.ceil(blocks_by_normal(cv, difference, level=level, power=power)))
    if r > 1_000_000:
        raise ValueError(f"{r} blocks would be needed; the difference is too small beside the strip error")
    # The requirement falls with r, so the first r that meets it is the smallest; t is never below the normal quantile.
    while r < 2 * (cv / difference) ** 2 * float(stdtrit(r - 1, 1 - level / 2) + stdtrit(r - 1, power)) ** 2:
        r += 1
    return r


def _error(
    sigma: float, variance_factor: float, residual_df: float, level: float, common_variance: float
) -> tuple[float, float]:
    """Return the standard error of the gain and its degrees of freedom."""
    if not (0 < sigma < math.inf and 0 < variance_factor < math.inf and residual_df > 0 and 0 < level < 1):
        raise ValueError(
            "sigma, variance factor and degrees of freedom must be above 0, the level between 0 and 1; given "
            f"{sigma}, {variance_factor}, {residual_df}, {level}"
        )
    if not 0 <= common_variance < math.inf:
        raise ValueError(f"the common variance must be at least 0, got {common_variance}")
    strips = variance_factor * sigma**2
    total = strips + common_variance
    # Satterthwaite: only the part from the strips is estimated, the common part is taken as known.
    return math.sqrt(total), residual_df * (total / strips) ** 2


def _critical(df: float, level: float) -> float:
    return float(ndtri(1 - level / 2) if math.isinf(df) else stdtrit(df, 1 - level / 2))


def _power(noncentrality: float, df: float, level: float) -> float:
    t = _critical(df, level)
    if math.isinf(df):
        return float(ndtr(noncentrality - t) + ndtr(-t - noncentrality))
    # Noncentral t: (Z + noncentrality) / W with df W^2 ~ chi-square(df), averaged over log W by the trapezoidal rule.
    # The library's own distribution function gives nan at scattered places (scipy 1.17: df 1, noncentrality 8).
    spread = 1 / math.sqrt(2 * df)
    step = min(0.1, 0.5 * spread, 0.25 / (1 + noncentrality))
    u = np.arange(-40 / df - 9 * spread, 9 * spread + step, step)
    weight = np.exp(df * (u + 0.5 - 0.5 * np.exp(2 * u)))
    reject = ndtr(noncentrality - t * np.exp(u)) + ndtr(-noncentrality - t * np.exp(u))
    return float(weight @ reject / weight.sum())


def _noncentrality(df: float, level: float, power: float) -> float:
    """Return the noncentrality at which the test has this power, by bisection."""
    low, high = 0.0, 1.0
    while _power(high, df, level) < power:
        low, high = high, 2 * high
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _power(middle, df, level) < power else (low, middle)
    return 0.5 * (low + high)


def _check_replication(cv: float, difference: float, level: float, power: float) -> None:
    if not (0 < cv < math.inf and 0 < difference < math.inf and 0 < level < power < 1):
        raise ValueError(
            f"cv and difference must be above 0, and 0 < level < power < 1; given {cv}, {difference}, {level}, {power}"
        )
