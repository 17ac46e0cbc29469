"""The gain at equal plants/m2, beside the plain one and never instead of it.

Plants/m2 is part of what a method does: a gain adjusted for it answers "what if both had stood equally thick", not
"what does the method do". The draw protects the plain gain only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenground.compare.values import StripValues, codes
from evenground.numerics.linear import independent_columns
from evenground.numerics.t_distribution import quantile

FEWEST_DF = 2
# Differences in plants/m2 below this are not told apart by counting. Judgement.
SAME_PLANTS = 0.05
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AdjustedGain:
    """Gain of a method over the baseline, plain and at equal plants/m2, from the same strips with fixed blocks.

    Attributes
    ----------
    method, baseline : str
        Method minus baseline.
    strips : int
        Strips with both a yield and a count [1].
    plain_gain : float
        As sown, from these strips [outcome unit].
    adjusted_gain : float
        At equal plants/m2 [outcome unit].
    standard_error : float
        Of the adjusted gain [outcome unit].
    interval : tuple of float
        Of the adjusted gain [outcome unit].
    level : float
        Level of the interval [1].
    df : int
        Degrees of freedom left [1].
    slope : float
        Outcome for one plant/m2 more, within blocks and methods [outcome unit x m2].
    plants_apart : float
        How many plants/m2 more the method had than the baseline, within blocks [1/m2].
    words : str
        What the two figures are.
    """

    method: str
    baseline: str
    strips: int
    plain_gain: float
    adjusted_gain: float
    standard_error: float
    interval: tuple[float, float]
    level: float
    df: int
    slope: float
    plants_apart: float
    words: str

    def as_dict(self) -> dict[str, Any]:
        """Return the plain data of this gain."""
        return dict(self.__dict__)


def adjusted_gains(
    values: StripValues, plants: StripValues, baseline: str, level: float = 0.9, per_ha: str = "t/ha"
) -> tuple[AdjustedGain, ...]:
    """Adjust every method's gain to equal plants/m2, by analysis of covariance with fixed blocks and one slope.

    Parameters
    ----------
    values : StripValues
        Outcome by strip [outcome unit].
    plants : StripValues
        Plants by strip [1/m2]; strips are matched by name.
    baseline : str
        The method the others are compared with.
    level : float
        Level of the intervals [1].
    per_ha : str
        Unit of the outcome, for the words.

    Returns
    -------
    tuple of AdjustedGain
        In the order of the methods' first appearance; empty where fewer than two degrees of freedom remain, the
        plants do not differ within blocks and methods, or blocks do not join the methods.

    Source
    ------
    Analysis of covariance: Snedecor & Cochran, Statistical Methods (1967), chapter 14.
    """
    counted = dict(zip(plants.strips, plants.outcome, strict=True))
    kept = [i for i, s in enumerate(values.strips) if s in counted]
    methods = tuple(dict.fromkeys(values.methods[i] for i in kept))
    if baseline not in methods:
        return ()
    design = _design([values.methods[i] for i in kept], [values.blocks[i] for i in kept], methods)
    y = values.y[kept]
    x = np.array([counted[values.strips[i]] for i in kept])
    fit = _covariance(design, x, y)
    if fit is None:
        return ()
    contrasts = {m: _contrast(design, methods.index(m), methods.index(baseline)) for m in methods if m != baseline}
    return tuple(
        _gain(m, baseline, c, fit, (x, y), (level, per_ha))
        for m, c in contrasts.items()
        if c is not None and fit.df >= FEWEST_DF
    )


@dataclass(frozen=True)
class _Fit:
    """Slope, what is left over, and the plants' own variation within blocks and methods."""

    slope: float
    mean_square: float
    plants_squares: float
    df: int


def _design(methods: list[str], blocks: list[str], order: tuple[str, ...]) -> Floats:
    block_order = tuple(dict.fromkeys(blocks))
    method_columns = codes(methods, order)[:, None] == np.arange(len(order))
    block_columns = codes(blocks, block_order)[:, None] == np.arange(1, len(block_order))
    return np.hstack([method_columns, block_columns]).astype(np.float64)


def _covariance(design: Floats, x: Floats, y: Floats) -> _Fit | None:
    """Regress what methods and blocks leave of y on what they leave of x; None where they leave nothing of x."""
    q = np.linalg.qr(design[:, independent_columns(design)])[0]
    x_left, y_left = x - q @ (q.T @ x), y - q @ (q.T @ y)
    squares = float(x_left @ x_left)
    df = len(y) - q.shape[1] - 1
    if df < 1 or squares <= 1e-12 * max(1.0, float(x @ x)):
        return None
    slope = float(x_left @ y_left) / squares
    left = y_left - slope * x_left
    return _Fit(slope, float(left @ left) / df, squares, df)


def _contrast(design: Floats, method: int, baseline: int) -> Floats | None:
    """Return the weights of the strips in a gain, shape (strips,); None where the blocks do not tell it."""
    wanted = np.zeros(design.shape[1])
    wanted[method], wanted[baseline] = 1.0, -1.0
    weights: Floats = np.linalg.pinv(design).T @ wanted
    return weights if np.abs(design.T @ weights - wanted).max() < 1e-8 else None


def _gain(
    method: str, baseline: str, weights: Floats, fit: _Fit, data: tuple[Floats, Floats], said: tuple[float, str]
) -> AdjustedGain:
    (x, y), (level, per_ha) = data, said
    apart, plain = float(weights @ x), float(weights @ y)
    adjusted = plain - fit.slope * apart
    variance = fit.mean_square * (float(weights @ weights) + apart**2 / fit.plants_squares)
    error = math.sqrt(variance)
    half = quantile(0.5 + level / 2.0, fit.df) * error
    ends = (adjusted - half, adjusted + half)
    words = _words(method, baseline, (plain, adjusted), apart, per_ha)
    return AdjustedGain(method, baseline, len(y), plain, adjusted, error, ends, level, fit.df, fit.slope, apart, words)


def _words(method: str, baseline: str, gains: tuple[float, float], apart: float, per_ha: str) -> str:
    plain, adjusted = gains
    if abs(apart) < SAME_PLANTS:
        had = f"{method} had as many plants/m2 as {baseline}, to the nearest {SAME_PLANTS:g}."
    else:
        had = f"{method} had {abs(apart):.2g} plants/m2 {'more' if apart > 0 else 'fewer'} than {baseline}."
    return (
        f"{had} As sown its extra yield is {plain:+.2f} {per_ha}; at equal plants/m2 it would be {adjusted:+.2f} "
        f"{per_ha}. The draw protects the first figure; the second rests on the assumption that yield and plants go "
        "together in the same straight line for all methods."
    )
