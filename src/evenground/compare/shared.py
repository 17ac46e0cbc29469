"""Errors that several strips share: how they enter the gain, once and never averaged over blocks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from evenground.compare.values import StripValues, codes

Floats = NDArray[np.float64]


def gain_weights(strips: StripValues, baseline: str, block_ratio: float | None) -> Floats:
    """Return how much each strip counts in each gain.

    Parameters
    ----------
    strips : StripValues
        One row a strip.
    baseline : str
        Baseline method.
    block_ratio : float or None
        Block variance over residual variance [1]; None for fixed blocks.

    Returns
    -------
    ndarray, shape (gains, strips)
        Gain = weights @ outcome [1].

    Source: (generalised) least squares, Aitken, Proc. R. Soc. Edinburgh 55 (1935) 42-48.
    """
    methods = strips.method_order
    columns = (codes(strips.methods, methods)[:, None] == np.arange(len(methods))).astype(np.float64)
    block_codes = codes(strips.blocks, strips.block_order)
    membership = (block_codes[:, None] == np.arange(len(strips.block_order))).astype(np.float64)
    if block_ratio is None:
        solve = np.linalg.pinv(np.hstack([columns, membership]))[: len(methods)]
    else:
        inverse = np.linalg.inv(np.eye(len(columns)) + block_ratio * membership @ membership.T)
        solve = np.linalg.solve(columns.T @ inverse @ columns, columns.T @ inverse)
    base = methods.index(baseline)
    return np.delete(solve - solve[base], base, axis=0)


def shared_covariance(strips: StripValues, weights: Floats) -> Floats:
    """Return the covariance that shared errors give the gains [outcome unit squared], shape (gains, gains).

    Parameters
    ----------
    strips : StripValues
        With the shared errors.
    weights : ndarray, shape (gains, strips)
        From `gain_weights`.

    Source: propagation of independent errors.
    """
    total = np.zeros((len(weights), len(weights)))
    place = {strip: i for i, strip in enumerate(strips.strips)}
    for error in strips.shared:
        effect = np.zeros(len(strips.strips))
        for strip, sd in zip(error.strips, error.effect_sd, strict=True):
            if strip in place:
                effect[place[strip]] = sd
        entry = weights @ effect
        total += np.outer(entry, entry)
    return total


def one_figure_reason(strips: StripValues, method: str, baseline: str) -> str:
    """Say why no p-value may be given, or return "".

    One dry-matter figure for all strips of a method is one replicate of that figure: the spread between blocks says
    nothing about its error, so a test would raise false alarms far above its level.

    Parameters
    ----------
    strips : StripValues
        With the shared errors.
    method, baseline : str
        Who is compared.

    Source: simulation in docs/truth.md (size 21, 40, 50 % with 4, 8, 12 blocks if ignored).
    """
    for name in (method, baseline):
        own = {s for s, m in zip(strips.strips, strips.methods, strict=True) if m == name}
        for error in strips.shared:
            if error.one_figure and len(own) > 1 and own <= set(error.strips):
                return f"all strips of {name} rest on one figure ({error.label}), so no p-value is given."
    return ""
