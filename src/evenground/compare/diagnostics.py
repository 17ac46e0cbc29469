"""What the residuals say: strips that stand out, blocks that carry the result, a slope along the field."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenground.compare.comparison import StripResidual
from evenground.compare.values import StripValues, codes
from evenground.numerics import linear

Floats = NDArray[np.float64]
STANDS_OUT = 3.0
"""Strips further out than this, judged by the spread of the others, are named; common practice, no source."""


@dataclass(frozen=True)
class Diagnostics:
    """Residuals and what they say.

    Attributes
    ----------
    residuals : tuple of StripResidual
        One a strip, from the fixed-block analysis.
    gain_with_position : dict of str to float
        Gain of each method with the position along the field as covariate [outcome unit]; empty where strips have
        no numbers or no degrees of freedom are left.
    words : tuple of str
        What a reader should know.
    """

    residuals: tuple[StripResidual, ...]
    gain_with_position: dict[str, float]
    words: tuple[str, ...]


def diagnose(strips: StripValues, baseline: str, gains: Sequence[float]) -> Diagnostics:
    """Look at the residuals of the fixed-block analysis.

    Parameters
    ----------
    strips : StripValues
        One row a strip [outcome unit].
    baseline : str
        Baseline method.
    gains : sequence of float
        Gains of the fixed-block analysis, in the order of the other methods [outcome unit].

    Returns
    -------
    Diagnostics

    Source: residuals judged by the other rows' spread, Cook & Weisberg, Residuals and Influence in Regression (1982).
    """
    others = [m for m in strips.method_order if m != baseline]
    design = _design(strips, strips.method_order)
    fitted, scaled = _residuals(strips.y, design)
    without = {block: _gain_without(strips, others[0], baseline, block) for block in strips.block_order}
    rows = tuple(
        StripResidual(s, m, b, float(f), float(y - f), without[b])
        for s, m, b, y, f in zip(strips.strips, strips.methods, strips.blocks, strips.outcome, fitted, strict=True)
    )
    with_position = _gain_with_position(strips, design, others, baseline)
    words = [*_outliers(strips, scaled), *_carriers(without, gains[0], others[0])]
    if others[0] in with_position and abs(with_position[others[0]] - gains[0]) > 0.25 * abs(gains[0]):
        words.append(
            f"A slope along the field would change the gain of {others[0]} from {gains[0]:.3g} to "
            f"{with_position[others[0]]:.3g}."
        )
    return Diagnostics(rows, with_position, tuple(words))


def _design(strips: StripValues, methods: Sequence[str]) -> Floats:
    """Columns for methods, then for blocks but the first."""
    method_columns = codes(strips.methods, methods)[:, None] == np.arange(len(methods))
    block_columns = codes(strips.blocks, strips.block_order)[:, None] == np.arange(1, len(strips.block_order))
    return np.hstack([method_columns, block_columns]).astype(np.float64)


def _residuals(y: Floats, design: Floats) -> tuple[Floats, Floats]:
    """Fitted values, and residuals judged by the spread of the other strips (0 where that does not exist)."""
    q = np.linalg.qr(design[:, linear.independent_columns(design)])[0]
    fitted = q @ (q.T @ y)
    residual = y - fitted
    df = len(y) - q.shape[1]
    free = 1.0 - (q**2).sum(axis=1)
    spread = np.sqrt(np.clip(free, 0.0, None) * (residual @ residual) / max(df, 1))
    scaled = np.divide(residual, spread, out=np.zeros_like(residual), where=(spread > 0) & (free > 1e-9))
    if df < 2:
        return fitted, np.zeros_like(residual)
    # The strip itself is left out of the spread: in eight pairs no strip could otherwise be 2.5 standard errors off.
    return fitted, scaled * np.sqrt((df - 1) / np.clip(df - scaled**2, 1e-9, None))


def _gain_without(strips: StripValues, method: str, baseline: str, block: str) -> float | None:
    """Return the gain of the pairs of the other blocks (fixed blocks), or None if it cannot be told [outcome unit]."""
    keep = [i for i, b in enumerate(strips.blocks) if b != block]
    left = StripValues(
        tuple(strips.strips[i] for i in keep),
        tuple(strips.methods[i] for i in keep),
        tuple(strips.blocks[i] for i in keep),
        tuple(strips.outcome[i] for i in keep),
    )
    if not {method, baseline} <= set(left.methods):
        return None
    order = left.method_order
    return _gain(left.y, _design(left, order), order.index(method), order.index(baseline))


def _gain(y: Floats, design: Floats, method: int, baseline: int) -> float | None:
    """Return the difference of two columns' coefficients, or None where the design does not tell it."""
    pinv = np.linalg.pinv(design)
    contrast = np.zeros(design.shape[1])
    contrast[method], contrast[baseline] = 1.0, -1.0
    if np.abs(contrast @ pinv @ design - contrast).max() > 1e-8:
        return None
    return float(contrast @ pinv @ y)


def _gain_with_position(strips: StripValues, design: Floats, others: Sequence[str], baseline: str) -> dict[str, float]:
    """Return the gains with strip number as covariate, where strips are numbered and two degrees of freedom remain."""
    if not all(s.isdigit() for s in strips.strips) or len(strips.strips) < design.shape[1] + 2:
        return {}
    position = np.array([float(s) for s in strips.strips])
    wider = np.column_stack([design, (position - position.mean()) / max(np.ptp(position), 1.0)])
    order = strips.method_order
    found = {m: _gain(strips.y, wider, order.index(m), order.index(baseline)) for m in others}
    return {m: g for m, g in found.items() if g is not None}


def _outliers(strips: StripValues, scaled: Floats) -> list[str]:
    """Name strips far off; in a pair both are equally far off, so the block is named."""
    words = []
    for block in strips.block_order:
        inside = [i for i, b in enumerate(strips.blocks) if b == block and abs(scaled[i]) > STANDS_OUT]
        if len(inside) > 1:
            names = " and ".join(strips.strips[i] for i in inside)
            far = abs(scaled[inside[0]])
            words.append(
                f"Block {block} (strips {names}) is out of line with the other blocks: {far:.1f} standard errors."
            )
        elif inside:
            name, far = strips.strips[inside[0]], scaled[inside[0]]
            side = "above" if far > 0 else "below"
            words.append(
                f"Strip {name} (block {block}) lies {abs(far):.1f} standard errors {side} what method and block say."
            )
    return words


def _carriers(without: dict[str, float | None], gain: float, method: str) -> list[str]:
    """Name blocks whose removal turns the sign of the gain or moves it by half."""
    words = []
    for block, left in without.items():
        if left is not None and abs(left - gain) > 0.5 * abs(gain):
            words.append(f"Without block {block} the gain of {method} would be {left:.3g} instead of {gain:.3g}.")
    return words
