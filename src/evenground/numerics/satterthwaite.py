"""Satterthwaite's degrees of freedom for REML fits, from the observed information on the variances.

Source: Satterthwaite, Biometrics Bulletin 2 (1946) 110-114; for mixed models Giesbrecht & Burns, Biometrics 41 (1985)
477-486; several combinations together: Fai & Cornelius, J. Stat. Comput. Simul. 54 (1996) 363-378.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray
from evenground.numerics.kenward_roger import FTest, derivatives, weight_rows
from evenground.numerics.linear import Contrast, t_contrast
from evenground.numerics.mixed import MixedFit
from evenground.numerics.t_distribution import f_upper_tail


def contrast(fit: MixedFit, weights: npt.ArrayLike) -> Contrast:
    """Estimate and test one combination of coefficients with the unadjusted standard error.

    Parameters
    ----------
    fit : MixedFit
        REML fit.
    weights : array_like, shape (p,)
        Weight of each coefficient [-].

    Returns
    -------
    Contrast
        df is NaN (and p with it) where the observed information is not positive definite.

    Raises
    ------
    ValueError
        If the weights are all zero or not finite.

    Source
    ------
    Giesbrecht & Burns (1985).
    """
    row = weight_rows(weights, len(fit.coefficients))[0]
    df = _degrees_of_freedom(fit, row[None])[0]
    result = t_contrast(float(row @ fit.coefficients), float(row @ fit.covariance @ row), df if df > 0 else 1.0)
    if df > 0:
        return result
    return Contrast(result.estimate, result.standard_error, float("nan"), result.t, float("nan"))


def f_test(fit: MixedFit, weights: npt.ArrayLike) -> FTest:
    """Test several combinations of coefficients together.

    Parameters
    ----------
    fit : MixedFit
        REML fit.
    weights : array_like, shape (combinations, p)
        Weights, independent rows [-].

    Returns
    -------
    FTest
        Not scaled. The denominator df matches the mean of F to the mean of the squared t values of the combinations
        turned until they are uncorrelated.

    Raises
    ------
    ValueError
        If rows depend on each other, or the observed information is not positive definite.

    Source
    ------
    Fai & Cornelius (1996).
    """
    rows = weight_rows(weights, len(fit.coefficients))
    values, vectors = np.linalg.eigh(rows @ fit.covariance @ rows.T)
    turned = vectors.T @ rows
    freedom = _degrees_of_freedom(fit, turned)
    if not (freedom > 0).all():
        raise ValueError("the observed information on the variances is not positive definite")
    f = float(np.mean((turned @ fit.coefficients) ** 2 / values))
    df = _joint(freedom)
    return FTest(f, len(rows), df, f_upper_tail(f, len(rows), df), 1.0)


def _joint(freedom: FloatArray) -> float:
    """Denominator df whose F has the mean of the average of squared t values with these df."""
    if np.ptp(freedom) <= 1e-8 * freedom[0]:
        return float(freedom.mean())
    if (freedom <= 2).any():
        return 2.0
    total = float((freedom / (freedom - 2.0)).sum())
    return 2.0 * total / (total - len(freedom))


def _degrees_of_freedom(fit: MixedFit, rows: FloatArray) -> FloatArray:
    """2 (l'Phi l)^2 / (g'A g) for every row, NaN where A is not positive definite."""
    information = fit.information_observed
    scale = np.sqrt(np.abs(np.diag(information))) + np.finfo(float).tiny
    scaled = information / np.outer(scale, scale)
    if np.linalg.eigvalsh(scaled)[0] <= 1e-13:
        return np.full(len(rows), np.nan)
    slopes = fit.covariance @ derivatives(fit)[0] @ fit.covariance
    gradient = np.einsum("la,kab,lb->lk", rows, slopes, rows)
    variance = np.einsum("lk,kl->l", gradient / scale, np.linalg.solve(scaled, (gradient / scale).T))
    return np.asarray(2.0 * np.einsum("la,ab,lb->l", rows, fit.covariance, rows) ** 2 / variance)
