"""The covariance matrix of rows that share levels of random factors, never written out.

V = s2 I + sum v_k Z_k Z_k'. Solving with it costs as much as the number of levels, not of rows.

Source: Woodbury's identity, Golub & Van Loan, Matrix Computations (2013), 2.1.4.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray


@dataclass(frozen=True)
class FactorCovariance:
    """V for given variances; `loading` is [Z_1 Z_2 ...], `levels` how many columns each factor has."""

    loading: FloatArray
    levels: npt.NDArray[np.int64]
    variances: FloatArray
    residual_variance: float

    @cached_property
    def _inner(self) -> FloatArray:
        """G (I + A G)^-1 with A = Z'Z and G the ratios of the variances on the diagonal."""
        ratio = np.repeat(self.variances / self.residual_variance, self.levels)
        system = np.eye(len(ratio)) + (self.loading.T @ self.loading) * ratio
        return np.asarray(ratio[:, None] * np.linalg.inv(system))

    def solve(self, right: FloatArray) -> FloatArray:
        """V^-1 times the columns of `right`.

        Parameters
        ----------
        right : ndarray, shape (rows, any)
            Right-hand sides.

        Returns
        -------
        ndarray, same shape

        Source
        ------
        Golub & Van Loan (2013) eq. 2.1.4.
        """
        return (right - self.loading @ (self._inner @ (self.loading.T @ right))) / self.residual_variance

    def derivative(self, parameter: int, right: FloatArray) -> FloatArray:
        """Multiply the columns of `right` by V's slope in one variance: Z_k Z_k', for the last (residual) I.

        Parameters
        ----------
        parameter : int
            Number of the factor, or the number of factors for the residual.
        right : ndarray, shape (rows, any)
            Right-hand sides.

        Returns
        -------
        ndarray, same shape
        """
        if parameter == len(self.levels):
            return right
        start = int(self.levels[:parameter].sum())
        part = self.loading[:, start : start + int(self.levels[parameter])]
        return np.asarray(part @ (part.T @ right))
