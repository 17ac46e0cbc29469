"""How exactly an order of methods lets a difference be estimated when neighbours are alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import LinAlgError, cho_factor, cho_solve

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DifferenceError:
    """Standard errors of a difference between two methods in one order.

    Attributes
    ----------
    least_squares : float
        Of the plain difference of means [unit of the outcome].
    generalised : float
        Of generalised least squares with a mean and the methods [same].
    with_trend : float
        Of generalised least squares with a straight trend over the slots besides [same]; infinite where the methods and
        the trend cannot be told apart.
    """

    least_squares: float
    generalised: float
    with_trend: float


def ar1_covariance(slots: int, rho: float) -> Floats:
    """Return the covariance ``rho**|i - j|`` of slots with unit variance.

    Parameters
    ----------
    slots : int
        Number of slots [1].
    rho : float
        Correlation of neighbours, from 0 to below 1 [1].

    Returns
    -------
    ndarray, shape (slots, slots)

    Raises
    ------
    ValueError
        If rho or the number of slots is out of range.

    Source: definition of the first-order autoregressive process.
    """
    if not 0.0 <= rho < 1.0 or slots < 1:
        raise ValueError(f"rho must lie from 0 to below 1 and slots be at least 1, got {rho}, {slots}")
    place = np.arange(slots)
    out: Floats = float(rho) ** np.abs(place[:, None] - place[None, :])
    return out


def difference_error(covariance: ArrayLike, order: ArrayLike, first: int = 0, second: int = 1) -> DifferenceError:
    """Return the standard errors of second minus first in one order.

    Parameters
    ----------
    covariance : array_like, shape (slots, slots)
        Of the errors of the slots [unit of the outcome squared].
    order : array_like of int, shape (slots,)
        Method code of each slot.
    first, second : int
        The two methods.

    Returns
    -------
    DifferenceError

    Raises
    ------
    ValueError
        If a method is missing, shapes differ, or the covariance is not positive definite.

    Source: variance of a contrast ``c'Vc``; Aitken (1935), generalised least squares (from memory).
    """
    v, codes = np.asarray(covariance, dtype=np.float64), np.asarray(order)
    if v.shape != (len(codes), len(codes)) or not ({first, second} <= set(codes.tolist())):
        raise ValueError("the covariance must have a row and column for each slot, and both methods must occur")
    contrast = contrasts(codes[None, :], first, second)[0]
    methods = np.unique(codes)
    design = (codes[:, None] == methods[None, :]).astype(np.float64)
    wanted = (methods == second).astype(np.float64) - (methods == first)
    place = np.arange(len(codes)) - (len(codes) - 1) / 2
    trended = np.column_stack((design, place))
    generalised, with_trend = _gls(v, design, wanted), _gls(v, trended, np.append(wanted, 0.0))
    return DifferenceError(float(np.sqrt(contrast @ v @ contrast)), generalised, with_trend)


def contrasts(orders: NDArray[np.integer], first: int = 0, second: int = 1) -> Floats:
    """Return for each order (row) the weights that give the difference of means, second minus first.

    Parameters
    ----------
    orders : ndarray of int, shape (orders, slots)
        Method codes.
    first, second : int
        The two methods.

    Returns
    -------
    ndarray, shape (orders, slots)

    Source: definition.
    """
    one, two = orders == first, orders == second
    out: Floats = two / two.sum(axis=1, keepdims=True) - one / one.sum(axis=1, keepdims=True)
    return out


def mean_contrast_variance(covariance: ArrayLike, weights: ArrayLike) -> float:
    """Return the variance of a difference, averaged over orders that are equally likely.

    Answers: how large is the error of the gain if the order is drawn from these?

    Parameters
    ----------
    covariance : array_like, shape (slots, slots)
        Of the errors of the slots [unit of the outcome squared].
    weights : array_like, shape (orders, slots)
        One contrast a row.

    Returns
    -------
    float
        [unit of the outcome squared]

    Source: ``c'Vc``, averaged; exact for the randomisation variance, as every order gives an unbiased difference.
    """
    c = np.asarray(weights, dtype=np.float64)
    return float(np.einsum("ij,jk,ik->", c, np.asarray(covariance, dtype=np.float64), c, optimize=True) / len(c))


def _gls(v: Floats, design: Floats, wanted: Floats) -> float:
    try:
        information = design.T @ cho_solve(cho_factor(v), design)
    except LinAlgError as error:
        raise ValueError("the covariance is not positive definite") from error
    if np.linalg.matrix_rank(information, tol=1e-10 * float(np.abs(information).max())) < len(information):
        return float("inf")
    return float(np.sqrt(wanted @ np.linalg.solve(information, wanted)))
