"""Do the two lines of a twin row really stand in gaps of each other? The stagger achieved, from both lines' positions.

A plant of the second line stands at a phase within the gap of the first line beside it: 0 beside the plant before,
0.5 in the middle, near 1 beside the next. Phases lie on a circle, so they are averaged as directions.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from evenground.numerics.circular import directions
from evenground.numerics.t_distribution import quantile
from evenground.stand.spacing import Exact, exact, spacing_class

FEWEST_PHASES = 5


@dataclass(frozen=True)
class Stagger:
    """How the second line stands to the first.

    Attributes
    ----------
    plants : int
        Plants of the second line that stand in a gap spaced right of the first [1].
    left_out : int
        Plants of the second line beside a miss, a double or no gap of the first [1].
    mean_phase : float
        Mean phase [1]: 0.5 is a perfect stagger, 0 and 1 are side by side.
    phase_interval : tuple of float or None
        Interval of the mean phase [1]; None where the phases do not agree on any.
    resultant : float
        How closely the phases agree [1]: 1 all alike, 0 not at all.
    stagger : float
        Mean of -cos(2 pi phase) [1]: 1 every plant in the middle, 0 no relation between the lines, -1 side by side.
    stagger_interval : tuple of float
        Its interval [1].
    level : float
        Level of both intervals [1].
    words : str
        The same in words.
    """

    plants: int
    left_out: int
    mean_phase: float
    phase_interval: tuple[float, float] | None
    resultant: float
    stagger: float
    stagger_interval: tuple[float, float]
    level: float
    words: str

    def as_dict(self) -> dict[str, Any]:
        """Return the key ``stagger`` of ``spacing --json``."""
        return dict(self.__dict__)


def phases(first: Sequence[Exact], second: Sequence[Exact], target: Exact) -> tuple[float, ...]:
    """Return the phase of each plant of the second line that stands in a gap spaced right of the first [1].

    Gaps that are misses or doubles are left out: in them "the middle" means nothing.

    Parameters
    ----------
    first, second : sequence of Fraction or float
        Positions along the row, rising, both from the same start [same unit].
    target : Fraction or float
        Gap within a line the machine was set to [same unit].

    Examples
    --------
    >>> phases([0, 10, 20], [5, 14, 26], 10)
    (0.5, 0.4)
    """
    there = [exact(p) for p in first]
    out = []
    for plant in map(exact, second):
        i = bisect_right(there, plant) - 1
        if 0 <= i < len(there) - 1:
            gap = there[i + 1] - there[i]
            if spacing_class(gap, target) == 2:
                out.append(float((plant - there[i]) / gap))
    return tuple(out)


def stagger(first: Sequence[Exact], second: Sequence[Exact], target: Exact, level: float = 0.9) -> Stagger | None:
    """Say how well the two lines of a twin row are staggered.

    Parameters
    ----------
    first, second : sequence of Fraction or float
        Positions along the row, rising, both from the same start [same unit].
    target : Fraction or float
        Gap within a line the machine was set to [same unit].
    level : float
        Level of the intervals [1].

    Returns
    -------
    Stagger or None
        None with fewer than five plants in gaps spaced right.

    Source
    ------
    Circular mean and its standard error: `evenground.numerics.circular`. The mean of -cos is the component of the
    resultant that points to the middle of the gap; its standard error is that of a mean. Neighbouring plants are taken
    as independent, so the intervals are on the narrow side where the lines drift slowly against each other.
    """
    found = phases(first, second, target)
    if len(found) < FEWEST_PHASES:
        return None
    around = directions([math.tau * u for u in found])
    half = around.half_width(level)
    mean = around.mean / math.tau
    interval = None if half is None else (mean - half / math.tau, mean + half / math.tau)
    value, low, high = _middle_share(found, level)
    words = _words(mean, low, high)
    return Stagger(
        len(found), len(second) - len(found), mean, interval, around.resultant, value, (low, high), level, words
    )


def _middle_share(found: Sequence[float], level: float) -> tuple[float, float, float]:
    """Return the mean of -cos(2 pi phase) and the ends of its t interval, cut at -1 and 1 [1]."""
    values = [-math.cos(math.tau * u) for u in found]
    mean = math.fsum(values) / len(values)
    variance = math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1)
    half = quantile(0.5 + level / 2.0, len(values) - 1) * math.sqrt(variance / len(values))
    return mean, max(-1.0, mean - half), min(1.0, mean + half)


def _words(mean: float, low: float, high: float) -> str:
    if low <= 0.0 <= high:
        return "no stagger can be told: the second line stands anywhere beside the first"
    if high < 0.0:
        return "the plants of the two lines stand side by side more often than in gaps"
    off = abs(mean - 0.5)
    kind = "well" if low > 0.5 else "partly"
    return f"{kind} staggered; on average {100 * off:.0f} % of a gap off the middle"
