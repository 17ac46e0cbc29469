"""Gains, Kenward-Roger covariance and degrees of freedom with random blocks, in closed form, for many ratios at once.

With one random factor every matrix needed is a power of H = I + g ZZ', and H acts on a block of k rows as 1 + g k on
its mean and as 1 on what is left, so that X'H^-aX = R - N' diag((1 - w^a) / k) N with w = 1 / (1 + g k). All is in
units of the residual variance; `mixed` and `kenward_roger` do the same for any model; the tests hold the two together.

Source: Kenward & Roger, Biometrics 53 (1997) 983-997; Harville, JASA 72 (1977) 320-340 (information).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenground.numerics.arrays import FloatArray
from evenground.numerics.one_variance import Canonical


@dataclass(frozen=True)
class RandomBlocks:
    """Results for each data set; leading axis counts data sets."""

    means: FloatArray
    gains: FloatArray
    gain_covariance: FloatArray
    df: FloatArray
    df_satterthwaite: FloatArray
    residual_variance: FloatArray


def random_blocks(
    incidence: FloatArray,
    contrasts: FloatArray,
    totals: tuple[FloatArray, FloatArray],
    canonical: Canonical,
    ratio: FloatArray,
) -> RandomBlocks:
    """Estimate treatment means and gains with random blocks at given variance ratios.

    Parameters
    ----------
    incidence : ndarray, shape (blocks, treatments)
        Rows of each treatment in each block [-].
    contrasts : ndarray, shape (gains, treatments)
        Treatment minus baseline [-].
    totals : tuple of ndarray, shapes (sets, blocks) and (sets, treatments)
        Sums of the outcome by block and by treatment [unit of the outcome].
    canonical : Canonical
        The same data sets in canonical form.
    ratio : ndarray, shape (sets,)
        Block variance over residual variance [-], above zero.

    Returns
    -------
    RandomBlocks

    Source
    ------
    Kenward & Roger (1997).
    """
    sizes = incidence.sum(1)
    by_block, by_treatment = totals
    weight = 1.0 / (1.0 + ratio[:, None] * sizes)
    plain = np.asarray(np.linalg.inv(_power(incidence, weight, 1)), dtype=np.float64)
    adjusted_totals = by_treatment - ((1.0 - weight) / sizes * by_block) @ incidence
    means = (plain @ adjusted_totals[:, :, None])[:, :, 0]
    spread = 1.0 + ratio[:, None] * canonical.eigenvalues
    variance = (canonical.residual + (canonical.squares / spread).sum(1)) / canonical.df
    expected, observed = _information(canonical, spread, variance)
    first: FloatArray = np.stack([_blocks(incidence, weight**2), _power(incidence, weight, 2)], axis=1)
    slopes = contrasts @ plain[:, None] @ first @ plain[:, None] @ contrasts.T
    slopes = np.einsum("spll->slp", slopes)
    covariance = _adjusted(incidence, weight, plain, first, expected)
    plain_variance = np.einsum("la,sab,lb->sl", contrasts, plain, contrasts)
    return RandomBlocks(
        means,
        means @ contrasts.T,
        variance[:, None, None] * (contrasts @ covariance @ contrasts.T),
        2.0 * plain_variance**2 / _quadratic(slopes, expected),
        2.0 * plain_variance**2 / _quadratic(slopes, observed),
        variance,
    )


def _blocks(incidence: FloatArray, weight: FloatArray) -> FloatArray:
    """N' diag(weight) N for every data set."""
    return np.asarray(incidence.T @ (weight[:, :, None] * incidence))


def _power(incidence: FloatArray, weight: FloatArray, power: int) -> FloatArray:
    """X'H^-power X for every data set."""
    sizes = incidence.sum(1)
    return np.diag(incidence.sum(0)) - _blocks(incidence, (1.0 - weight**power) / sizes)


def _adjusted(
    incidence: FloatArray, weight: FloatArray, plain: FloatArray, first: FloatArray, expected: FloatArray
) -> FloatArray:
    """Kenward and Roger's covariance, residual variance taken out."""
    cubed = weight**3
    mixed = _blocks(incidence, cubed)
    second = [[_blocks(incidence, incidence.sum(1) * cubed), mixed], [mixed, _power(incidence, weight, 3)]]
    inverse = np.linalg.inv(expected)
    middle = np.zeros_like(plain)
    for i in range(2):
        for j in range(2):
            middle += inverse[:, i, j, None, None] * (second[i][j] - first[:, i] @ plain @ first[:, j])
    return plain + 2.0 * plain @ (0.5 * (middle + middle.transpose(0, 2, 1))) @ plain


def _information(canonical: Canonical, spread: FloatArray, variance: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return expected and observed information on block and residual variance, in units of the residual variance."""
    values, squares = canonical.eigenvalues, canonical.squares / spread**3
    inverse = 1.0 / spread**2
    both, residual = (values * inverse).sum(1), canonical.residual_df + inverse.sum(1)
    half = 0.5 * _symmetric((values**2 * inverse).sum(1), both, residual)
    seen = _symmetric((values**2 * squares).sum(1), (values * squares).sum(1), canonical.residual + squares.sum(1))
    return half, seen / variance[:, None, None] - half


def _symmetric(top: FloatArray, side: FloatArray, bottom: FloatArray) -> FloatArray:
    return np.stack([np.stack([top, side], -1), np.stack([side, bottom], -1)], -2)


def _quadratic(slopes: FloatArray, information: FloatArray) -> FloatArray:
    """Variance of the plain variance of each gain: slopes' information^-1 slopes."""
    solved = np.linalg.solve(information, slopes.transpose(0, 2, 1)).transpose(0, 2, 1)
    return np.asarray((slopes * solved).sum(-1))
