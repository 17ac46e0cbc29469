"""Kenward and Roger's small-sample covariance, degrees of freedom and F test for REML fits.

Source: Kenward & Roger, Biometrics 53 (1997) 983-997; covariance linear in its parameters, so that second derivatives
vanish; the form of the F scaling with its limits: Halekoh & Hojsgaard, J. Stat. Softw. 59(9) (2014).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray, finite
from evenground.numerics.linear import Contrast, t_contrast
from evenground.numerics.mixed import MixedFit
from evenground.numerics.t_distribution import f_upper_tail


@dataclass(frozen=True)
class FTest:
    """Several combinations of coefficients tested together against zero."""

    f: float
    """F, scaled where the method scales it."""
    df_numerator: int
    df_denominator: float
    p: float
    scaling: float


@dataclass(frozen=True)
class KenwardRoger:
    """A REML fit with the adjustment; arrays carry one leading axis per variance parameter, residual last."""

    coefficients: FloatArray
    plain: FloatArray
    covariance: FloatArray
    """Adjusted covariance of the coefficients."""
    slopes: FloatArray
    """d plain / d parameter = Phi X'V^-1 G_i V^-1 X Phi, shape (parameters, p, p)."""
    parameter_covariance: FloatArray
    """Inverse of the expected information."""

    def contrast(self, weights: npt.ArrayLike) -> Contrast:
        """Estimate and test one combination of coefficients.

        Parameters
        ----------
        weights : array_like, shape (p,)
            Weight of each coefficient [-].

        Returns
        -------
        Contrast

        Raises
        ------
        ValueError
            If the weights are all zero or not finite.

        Source
        ------
        Kenward & Roger (1997): with one combination the scaling is 1 and df = 2 (l'Phi l)^2 / var(l'Phi l).
        """
        row = weight_rows(weights, len(self.coefficients))[0]
        slope = np.einsum("a,kab,b->k", row, self.slopes, row)
        df = 2.0 * float(row @ self.plain @ row) ** 2 / float(slope @ self.parameter_covariance @ slope)
        return t_contrast(float(row @ self.coefficients), float(row @ self.covariance @ row), df)

    def f_test(self, weights: npt.ArrayLike) -> FTest:
        """Test several combinations of coefficients together.

        Parameters
        ----------
        weights : array_like, shape (combinations, p)
            Weights, independent rows [-].

        Returns
        -------
        FTest

        Raises
        ------
        ValueError
            If the rows depend on each other or are not finite.

        Source
        ------
        Kenward & Roger (1997); Halekoh & Hojsgaard (2014) for the limits where a factor of the scaling vanishes.
        """
        rows = weight_rows(weights, len(self.coefficients))
        combinations = len(rows)
        inverse = np.linalg.inv(rows @ self.plain @ rows.T)
        slopes = np.einsum("la,kab,mb,mn->kln", rows, self.slopes, rows, inverse)
        traces = np.einsum("kll->k", slopes)
        first = float(traces @ self.parameter_covariance @ traces)
        second = float(np.einsum("kl,kab,lba->", self.parameter_covariance, slopes, slopes))
        df, scaling = _match_moments(combinations, first, second)
        estimate = rows @ self.coefficients
        raw = float(estimate @ np.linalg.solve(rows @ self.covariance @ rows.T, estimate)) / combinations
        return FTest(scaling * raw, combinations, df, f_upper_tail(scaling * raw, combinations, df), scaling)


def adjust(fit: MixedFit) -> KenwardRoger:
    """Adjust the covariance of a REML fit for its variances having been estimated.

    Parameters
    ----------
    fit : MixedFit
        REML fit.

    Returns
    -------
    KenwardRoger

    Raises
    ------
    ValueError
        If the information on the variances is singular: the factors cannot be told apart.

    Source
    ------
    Kenward & Roger (1997), with the expected information.
    """
    first, second = derivatives(fit)
    information = fit.information_expected
    scale = np.sqrt(np.diag(information))
    if not (scale > 0).all() or np.linalg.cond(information / np.outer(scale, scale)) > 1e13:
        raise ValueError("the variances cannot be told apart: factors share their levels")
    inverse = np.linalg.inv(information / np.outer(scale, scale)) / np.outer(scale, scale)
    plain = fit.covariance
    spread = second - np.einsum("iab,bc,jcd->ijad", first, plain, first)
    middle = np.einsum("ij,ijab->ab", inverse, spread)
    adjusted = plain + 2.0 * plain @ (0.5 * (middle + middle.T)) @ plain
    return KenwardRoger(fit.coefficients, plain, adjusted, plain @ first @ plain, inverse)


def derivatives(fit: MixedFit) -> tuple[FloatArray, FloatArray]:
    """Return X'V^-1 G_i V^-1 X and X'V^-1 G_i V^-1 G_j V^-1 X for all variance parameters (minus P_i, and Q_ij).

    Parameters
    ----------
    fit : MixedFit
        REML fit.

    Returns
    -------
    tuple of ndarray, shapes (parameters, p, p) and (parameters, parameters, p, p)

    Source
    ------
    Kenward & Roger (1997), with the sign of P_i turned.
    """
    weighted = fit.row_covariance.solve(fit.design)
    count, columns = len(fit.parameters), fit.design.shape[1]
    pushed = np.stack([fit.row_covariance.derivative(k, weighted) for k in range(count)])
    wide = pushed.transpose(1, 0, 2).reshape(len(weighted), count * columns)
    second = (wide.T @ fit.row_covariance.solve(wide)).reshape(count, columns, count, columns)
    return weighted.T @ pushed, second.transpose(0, 2, 1, 3)


def _match_moments(combinations: int, first: float, second: float) -> tuple[float, float]:
    """Denominator df and scaling of the F whose mean and variance equal those of the scaled statistic."""
    q = combinations
    if q == 1:
        return 2.0 / second, 1.0
    b = (first + 6.0 * second) / (2.0 * q)
    g = ((q + 1.0) * first - (q + 4.0) * second) / ((q + 2.0) * second)
    divisor = 3.0 * q + 2.0 * (1.0 - g)
    top, low, lower = 1.0 + g / divisor * b, 1.0 - (q - g) / divisor * b, 1.0 - (q + 2.0 - g) / divisor * b
    top = 0.0 if abs(top) < 1e-10 else top
    shrink = 1.0 - second / q
    ratio = 1.0 if abs(shrink) < 1e-14 and abs(low) < 1e-14 else shrink / low
    df = 4.0 + (q + 2.0) / (ratio**2 * top / lower - 1.0)
    return df, 1.0 if abs(df - 2.0) < 0.01 else df * shrink / (df - 2.0)


def weight_rows(weights: npt.ArrayLike, columns: int) -> FloatArray:
    """Return weights of coefficients as independent rows, or say what is wrong with them.

    Parameters
    ----------
    weights : array_like, shape (columns,) or (combinations, columns)
        Weights [-].
    columns : int
        Number of coefficients [-].

    Returns
    -------
    ndarray, shape (combinations, columns)

    Raises
    ------
    ValueError
        If the number of weights is wrong, one is not finite, or the rows depend on each other.
    """
    rows = finite(np.atleast_2d(np.asarray(weights, dtype=np.float64)), "weights", 2)
    if rows.shape[1] != columns:
        raise ValueError(f"{columns} weights expected, {rows.shape[1]} given")
    if np.linalg.matrix_rank(rows) < len(rows):
        raise ValueError("the combinations of coefficients depend on each other")
    return rows
