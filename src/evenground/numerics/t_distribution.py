"""Student's t and Fisher's F: chances and quantiles, for any positive (also fractional) degrees of freedom.

Source: Abramowitz & Stegun, Handbook of Mathematical Functions (1964), 26.6 and 26.7.
"""

from __future__ import annotations

import math
from typing import overload

import numpy as np
from scipy.special import fdtrc, ndtr, ndtri, stdtr, stdtrit

from evenground.numerics.arrays import FloatArray


@overload
def two_sided_p(t: float, df: float) -> float: ...
@overload
def two_sided_p(t: FloatArray, df: FloatArray | float) -> FloatArray: ...
def two_sided_p(t: FloatArray | float, df: FloatArray | float) -> FloatArray | float:
    """How often a t value is at least this far from zero when there is no difference.

    Parameters
    ----------
    t : float or ndarray
        Observed t [-].
    df : float or ndarray
        Degrees of freedom [-], above zero; infinity gives the normal distribution.

    Returns
    -------
    float or ndarray
        Chance [-].

    Raises
    ------
    ValueError
        If a df is not above zero.

    Source
    ------
    Abramowitz & Stegun (1964) 26.7.1.
    """
    if not np.all(np.asarray(df) > 0):
        raise ValueError("degrees of freedom must be above zero")
    tail = -np.abs(t)
    chance = 2.0 * np.where(np.isinf(df), ndtr(tail), stdtr(np.where(np.isinf(df), 1.0, df), tail))
    return float(chance) if chance.ndim == 0 else chance


def quantile(chance: float, df: float) -> float:
    """Return the t value that is not exceeded with the given chance.

    Parameters
    ----------
    chance : float
        Lower-tail chance [-], between 0 and 1.
    df : float
        Degrees of freedom [-], above zero, may be infinite.

    Returns
    -------
    float
        t [-].

    Raises
    ------
    ValueError
        If the chance is not between 0 and 1 or the df is not above zero.

    Source
    ------
    Abramowitz & Stegun (1964) 26.7.

    Examples
    --------
    >>> round(quantile(0.975, 14), 3)  # table 26.10: 2.145
    2.145
    """
    if not 0.0 < chance < 1.0:
        raise ValueError(f"a chance lies between 0 and 1, {chance} given")
    if not df > 0:
        raise ValueError("degrees of freedom must be above zero")
    return float(ndtri(chance)) if math.isinf(df) else float(stdtrit(df, chance))


def f_upper_tail(f: float, df_numerator: float, df_denominator: float) -> float:
    """How often an F value is at least this large when there is no difference.

    Parameters
    ----------
    f : float
        Observed F [-].
    df_numerator, df_denominator : float
        Degrees of freedom [-], above zero.

    Returns
    -------
    float
        Chance [-].

    Raises
    ------
    ValueError
        If a df is not above zero.

    Source
    ------
    Abramowitz & Stegun (1964) 26.6.
    """
    if not (df_numerator > 0 and df_denominator > 0):
        raise ValueError("degrees of freedom must be above zero")
    return float(fdtrc(df_numerator, df_denominator, max(f, 0.0)))
