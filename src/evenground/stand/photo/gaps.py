"""The gap usual in a picture, and how unlikely that makes others: a doubt, never more than that.

Where leaves hide a stem, the plants to the left and right say that one may stand there. What may be learnt is the gap
usual in this picture, not the distance that was sown; and it only lowers or raises what a plant must explain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from evenground.numerics.arrays import FloatArray

FEWEST_GAPS = 8
"""Fewer gaps say nothing of what is usual."""
USUAL_FROM, USUAL_TO = 0.55, 1.5
"""Gaps that count for the usual one, over it: neither doubles nor misses."""
LEAST_SPREAD, MOST_SPREAD = 0.2, 0.6
"""Spread of the gaps over the usual one [1]: no machine is trusted to sow more evenly than the first; at the second
nothing is unusual any more."""
MISS, TWO_MISSES, DOUBLE, ANY = 0.06, 0.01, 0.15, 0.01
"""Shares of the gaps thought to have one plant missing, or two, of those up to half the usual gap, and of any kind up
to twice it. Doubles are more than a machine makes: they are what a run is to show, so they are doubted less. Tried on
scenes."""
_FINE, _LONGEST = 0.02, 4.0


@dataclass(frozen=True)
class UsualGap:
    """What is usual in a picture.

    Attributes
    ----------
    gap_m : float
        Mean of the gaps that are neither double nor miss [m].
    spread : float
        Standard deviation of gaps over that [1].
    """

    gap_m: float
    spread: float


def usual_gap(gaps_m: FloatArray) -> UsualGap | None:
    """Return what is usual among gaps; None where there are too few.

    Parameters
    ----------
    gaps_m : ndarray of float, shape (n,)
        Gaps from plant to plant in the line [m].
    """
    if gaps_m.size < FEWEST_GAPS:
        return None
    usual = float(np.median(gaps_m))
    for _ in range(3):
        some = gaps_m[(gaps_m > USUAL_FROM * usual) & (gaps_m < USUAL_TO * usual)]
        usual = float(some.mean()) if some.size else usual
    low, high = np.quantile(gaps_m, [0.25, 0.75])
    # half of a normal distribution lies within 0.674 standard deviations of its middle
    spread = float(high - low) / (2.0 * 0.6745) / usual
    return UsualGap(usual, min(MOST_SPREAD, max(LEAST_SPREAD, spread)))


def unlikeliness(usual: UsualGap) -> tuple[FloatArray, FloatArray]:
    """Return gaps and how unlikely each is: logarithm of its density below that of the likeliest.

    Parameters
    ----------
    usual : UsualGap
        What is usual in the picture.

    Returns
    -------
    tuple of two ndarrays of float, shape (n,)
        Gaps, rising [m]; logarithm of the largest density over that of the gap [1], 0 or above.
    """
    over = np.arange(0.0, _LONGEST + _FINE / 2.0, _FINE)
    density = (1.0 - MISS - TWO_MISSES - DOUBLE - ANY) * _normal(over, 1.0, usual.spread)
    # a gap with plants missing is the sum of several, so it spreads more
    for plants, share in ((2, MISS), (3, TWO_MISSES)):
        density += share * _normal(over, float(plants), usual.spread * math.sqrt(plants))
    density += DOUBLE * (over < 0.5) / 0.5 + ANY / 2.0
    return over * usual.gap_m, np.log(density.max() / density)


def _normal(x: FloatArray, mean: float, sd: float) -> FloatArray:
    density: FloatArray = np.exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))
    return density
