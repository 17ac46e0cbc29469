"""The usual rule as a peer: block variance by REML, Kenward-Roger always, blocks random even at zero.

Only the tables use it, to show what the rule of the comparison avoids. The eigenvectors are worked out here anew from
the design's matrices; the closed form of Kenward and Roger's covariance is shared with the comparison.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.block_moments import random_blocks
from evenground.numerics.one_variance import Canonical, negative_ratio, positive_ratio
from evenground.numerics.t_distribution import two_sided_p

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class PeerFit:
    """Chances and ratios, one a data set; NaN where the rule has no answer."""

    p: Floats
    ratio: Floats


def fit(y: Floats, treatments: Ints, blocks: Ints, *, bounded: bool) -> PeerFit:
    """Test treatment 1 against 0 in many data sets of one design.

    Parameters
    ----------
    y : ndarray, shape (sets, rows)
        Outcomes.
    treatments, blocks : ndarray of int, shape (rows,)
        Codes from 0.
    bounded : bool
        True: the block variance stops at zero. False: it may be negative; NaN where it has no estimate then.

    Source: Kenward & Roger, Biometrics 53 (1997) 983-997.
    """
    x = (treatments[:, None] == np.arange(treatments.max() + 1)).astype(np.float64)
    z = (blocks[:, None] == np.arange(blocks.max() + 1)).astype(np.float64)
    canonical = _canonical(y, x, z)
    ratio = positive_ratio(canonical)
    if not bounded:
        ratio = np.where(ratio > 0, ratio, negative_ratio(canonical, float(z.sum(0).max())))
    told = np.isfinite(ratio)
    data = Canonical(canonical.eigenvalues, canonical.squares[told], canonical.residual[told], canonical.residual_df)
    contrasts = np.delete(np.eye(x.shape[1]) - np.eye(x.shape[1])[0], 0, axis=0)
    moments = random_blocks(z.T @ x, contrasts, (y[told] @ z, y[told] @ x), data, ratio[told])
    p = np.full(len(y), np.nan)
    p[told] = two_sided_p(moments.gains[:, 0] / np.sqrt(moments.gain_covariance[:, 0, 0]), moments.df[:, 0])
    return PeerFit(p, ratio)


def _canonical(y: Floats, x: Floats, z: Floats) -> Canonical:
    swept = y - y @ x @ np.linalg.inv(x.T @ x) @ x.T
    gram = z.T @ z - z.T @ x @ np.linalg.inv(x.T @ x) @ x.T @ z
    values, vectors = np.linalg.eigh(gram)
    kept = values > 1e-9 * values.max()
    squares = (swept @ z @ vectors[:, kept]) ** 2 / values[kept]
    residual = (swept**2).sum(1) - squares.sum(1)
    return Canonical(values[kept], squares, residual, y.shape[1] - x.shape[1] - int(kept.sum()))
