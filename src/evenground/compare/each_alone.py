"""Every method against the baseline by itself: what can still be said where a method of two factors was lost whole."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from evenground.compare.estimates import Estimates, estimate
from evenground.compare.shared import gain_weights
from evenground.compare.values import StripValues

Floats = NDArray[np.float64]


def each_alone(rows: StripValues, strips: StripValues, baseline: str) -> Estimates:
    """Estimate each gain from the strips of that method and of the baseline only.

    A method stands once in a block and so does the baseline, so the differences of one pair scatter alike from block to
    block, whether the two lie in one whole plot or in two. Those of another pair scatter otherwise: each has a spread
    of its own. Gains are taken as unrelated, which makes simultaneous intervals wider than they need be.

    Parameters
    ----------
    rows : StripValues
        One row a strip or a plot [outcome unit].
    strips : StripValues
        The strip means of the same rows.
    baseline : str
        Baseline method.

    Returns
    -------
    Estimates
        Blocks count as random where they do in every pair; the variances are means over the pairs.

    Raises
    ------
    CannotCompareError
        If a method shares too few blocks with the baseline.

    Source: the paired comparison of `evenground.compare.estimates`.
    """
    plain = estimate(rows, strips, baseline)
    others = [m for m in plain.methods if m != baseline]
    pairs = [estimate(_of(rows, {baseline, m}), _of(strips, {baseline, m}), baseline) for m in others]
    weights = np.zeros((len(others), len(strips.strips)))
    for i, (method, pair) in enumerate(zip(others, pairs, strict=True)):
        two = _of(strips, {baseline, method})
        where = [strips.strips.index(name) for name in two.strips]
        weights[i, where] = gain_weights(two, baseline, _ratio(pair))[0]
    gains = np.array([float(pair.gains[0]) for pair in pairs])
    at = float(plain.means[plain.methods.index(baseline)])
    gain_of = dict(zip(others, gains.tolist(), strict=True))
    return Estimates(
        plain.methods,
        np.array([at + gain_of.get(m, 0.0) for m in plain.methods]),
        gains,
        np.diag([float(pair.covariance[0, 0]) for pair in pairs]),
        np.array([float(pair.df[0]) for pair in pairs]),
        np.array([float(pair.df_satterthwaite[0]) for pair in pairs]),
        "random" if all(pair.block_effects == "random" for pair in pairs) else "fixed",
        None,
        float(np.mean([pair.residual_variance for pair in pairs])),
        plain.fixed,
        weights=weights,
        likelihoods=tuple(pair.likelihood(0) for pair in pairs),
    )


def _ratio(pair: Estimates) -> float | None:
    """Block variance in strip variances; None where blocks are fixed."""
    if pair.block_effects == "random" and pair.block_variance is not None and pair.residual_variance > 0:
        return pair.block_variance / pair.residual_variance
    return None


def _of(values: StripValues, methods: set[str]) -> StripValues:
    keep = [i for i, m in enumerate(values.methods) if m in methods]
    return StripValues(
        tuple(values.strips[i] for i in keep),
        tuple(values.methods[i] for i in keep),
        tuple(values.blocks[i] for i in keep),
        tuple(values.outcome[i] for i in keep),
    )
