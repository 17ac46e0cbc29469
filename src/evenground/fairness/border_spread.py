"""How large a step between neighbouring pieces sown alike can be: from published fields and the field's own yields."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenground.fairness.border_sides import Sides
from evenground.numerics.border_step import border_step, cells_near

# How sure the plan's figure is: as a spread found in so many pieces. With 8 % and 4 of them a field's own spread lies
# between 5.2 and 19.0 % nine times in ten; own computation on open uniformity trials found 3.6 to 20.9 %.
PRIOR_DF = 4.0
SPREAD_PERCENT = 8.0
SPREAD_SOURCE = "own computation on open uniformity trials: steps of 3.6 to 20.9 % (docs/border.md)"
# Means of whole areas lie farther apart than steps at a border: 4.5 to 15.7 % by field in the same trials, 11.5 %
# over all (root mean squares, each field counting once).
MEANS_PERCENT = 11.5
MEANS_SOURCE = (
    "own computation on open uniformity trials: means of neighbouring pieces 4.5 to 15.7 % apart (docs/border.md)"
)
# Lines drawn inside one side, in bandwidths from the border: far enough not to share points with each other.
_OFFSETS = (-4.0, -2.0, 2.0, 4.0)
_FEWEST_POINTS = 12


@dataclass(frozen=True)
class PlaceboStep:
    """A step where both sides were sown alike.

    Attributes
    ----------
    layer : str
        Which yields: an earlier layer, or "this season" for a line inside one side.
    from_border_m : float
        Distance of the line from the border, positive on the method's side [m].
    percent : float
        Step, percent of that layer's mean [%].
    """

    layer: str
    from_border_m: float
    percent: float


@dataclass(frozen=True)
class Spread:
    """Spread of steps between neighbouring pieces sown alike.

    Attributes
    ----------
    percent : float
        Standard deviation, percent of the mean [%].
    df : float
        How many pieces it is worth [1].
    own : tuple of PlaceboStep
        Steps found in this field.
    source : str
        Where it comes from.
    """

    percent: float
    df: float
    own: tuple[PlaceboStep, ...]
    source: str


def spread_of(
    sides: Sides, bandwidth_m: float | None, percent: float = SPREAD_PERCENT, source: str = SPREAD_SOURCE
) -> Spread:
    """Put what is known of other fields together with the steps of this one.

    Parameters
    ----------
    sides : Sides
        Both sides with earlier yields, if known.
    bandwidth_m : float or None
        Distance from the border up to which points count [m]; None for weights alone.
    percent : float
        Spread in other fields, worth 4 pieces [%].
    source : str
        Where that comes from.

    Returns
    -------
    Spread
        Mean square of both, each weighted by the pieces it is worth; the layers of one line count as one piece.

    Source: a scaled inverse chi-squared spread updated by steps around zero, Gelman et al., Bayesian Data Analysis
    (2013), section 2.6.

    Examples
    --------
    >>> spread_of(Sides("A", "B", np.array([1.0, 2.0]), np.array([False, True])), None).percent
    8.0
    """
    own = () if bandwidth_m is None else tuple(_own(sides, bandwidth_m))
    lines: dict[float, list[float]] = {}
    for one in own:
        lines.setdefault(one.from_border_m, []).append(one.percent**2)
    squares = math.fsum(math.fsum(found) / len(found) for found in lines.values())
    df = PRIOR_DF + len(lines)
    whole = math.sqrt((PRIOR_DF * percent**2 + squares) / df)
    said = f"{source}; worth {PRIOR_DF:g} pieces"
    if lines:
        said += f", together with {len(lines)} in this field's own yields"
    return Spread(whole, df, own, said)


def _own(sides: Sides, bandwidth: float) -> list[PlaceboStep]:
    """Find steps where both sides were alike: at the border in earlier years, inside one side also this season."""
    out = []
    for name, values in {"this season": sides.value, **sides.earlier}.items():
        for factor in (0.0, *_OFFSETS):
            if factor == 0.0 and name == "this season":
                continue  # that one is the question
            percent = _step_percent(sides, values, factor * bandwidth, bandwidth)
            if percent is not None:
                out.append(PlaceboStep(name, factor * bandwidth, percent))
    return out


def _step_percent(sides: Sides, values: NDArray[np.float64], offset: float, bandwidth: float) -> float | None:
    """Return the step at a line, percent of the mean; None where there are too few points on a side of it."""
    if sides.along is None or sides.depth is None:
        return None
    depth = sides.depth - offset
    near = np.isfinite(values) & (np.abs(depth) <= bandwidth)
    mean = float(values[near].mean()) if near.any() else 0.0
    if min(int((near & (depth <= 0)).sum()), int((near & (depth > 0)).sum())) < _FEWEST_POINTS or mean <= 0.0:
        return None
    try:
        cells = cells_near(sides.along[near], depth[near], values[near, None], bandwidth)
        return 100.0 * border_step(cells, bandwidth).step / mean
    except ValueError:
        return None
