"""How many counts, and how many metres, are enough for a given error."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from evenground.basis.observations import Records, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.numerics.t_distribution import quantile
from evenground.stand.plants import row_length_m, stand_counts_of

MOST_COUNTS = 10_000
DEFAULT_ERROR = 0.05
SOURCE = (
    "simple random sampling: t x spread / square root of the number of counts (Cochran, Sampling Techniques, 1977, "
    "chapter 4; from memory)"
)


@dataclass(frozen=True)
class CountsNeeded:
    """How much counting a strip needs.

    Attributes
    ----------
    method : str
        For strips of this method.
    error_fraction : float
        Wanted: the strip's plants/m2 told within this share [1].
    level : float
        With this chance [1].
    cv : float
        Spread of single counts within a strip [1].
    cv_source : str
        Where it comes from.
    count_length_m : float
        Length of such a count [m].
    counts : int or None
        Counts needed in each strip [1]; None if more than 10,000.
    least_metres : float
        Metres of row in each strip below which even a perfect planter's stand cannot be told so well, since which seeds
        come up is chance [m].
    source : str
        Of the formula.
    """

    method: str
    error_fraction: float
    level: float
    cv: float
    cv_source: str
    count_length_m: float
    counts: int | None
    least_metres: float
    source: str = SOURCE

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``counts_needed`` of ``stand --json``."""
        return dict(self.__dict__)


def counts_for_error(cv: float, error_fraction: float, level: float = 0.9) -> int | None:
    """Return the smallest number of counts whose mean is within an error with the given chance [1].

    Parameters
    ----------
    cv : float
        SD of single counts over their mean [1].
    error_fraction : float
        Wanted half width of the interval over the mean [1].
    level : float
        Level of the interval [1].

    Returns
    -------
    int or None
        At least 2; None if more than 10,000.

    Raises
    ------
    ValueError
        If the spread is negative or the error not above 0.

    Source: smallest n with t(n - 1) cv / sqrt(n) <= error; Cochran, Sampling Techniques (1977), chapter 4, from memory.

    Examples
    --------
    >>> counts_for_error(0.10, 0.05), counts_for_error(0.10, 0.02)
    (13, 70)
    """
    if not (cv >= 0.0 and error_fraction > 0.0):
        raise ValueError(f"the spread must not be negative and the error above 0, not {cv}, {error_fraction}")
    chance = 0.5 + level / 2.0
    for n in range(2, MOST_COUNTS + 1):
        if quantile(chance, n - 1) * cv <= error_fraction * math.sqrt(n):
            return n
    return None


def least_metres(
    seeds_per_m_of_row: float, emergence_fraction: float, error_fraction: float, level: float = 0.9
) -> float:
    """Return the metres of row below which chance of emergence alone exceeds the error [m].

    Parameters
    ----------
    seeds_per_m_of_row : float
        Seeds in a metre of row, evenly set [1/m].
    emergence_fraction : float
        Share of seeds that become plants, each by its own chance [1].
    error_fraction : float
        Wanted half width of the interval over the mean [1].
    level : float
        Level of the interval [1].

    Raises
    ------
    ValueError
        If a value is not above 0 or the emergence above 1.

    Source: binomial spread of n seeds, sqrt((1 - e) / (e n)) of the mean, times the normal quantile.

    Examples
    --------
    >>> round(least_metres(7.125, 0.93, 0.05), 1)
    11.4
    """
    if not (seeds_per_m_of_row > 0.0 and 0.0 < emergence_fraction <= 1.0 and error_fraction > 0.0):
        given = f"{seeds_per_m_of_row}, {emergence_fraction}, {error_fraction}"
        raise ValueError(f"seeds, emergence (at most 1) and error must be above 0, not {given}")
    z = quantile(0.5 + level / 2.0, math.inf)
    seeds = z**2 * (1.0 - emergence_fraction) / (emergence_fraction * error_fraction**2)
    return seeds / seeds_per_m_of_row


def counts_needed(
    plan: Plan, draw: Draw, records: Records, error_fraction: float = DEFAULT_ERROR, level: float = 0.9
) -> tuple[CountsNeeded, ...]:
    """Say for every method how many counts a strip needs.

    The spread of single counts is taken from the trial's own counts where a strip has several; before that it is the
    spread that chance of emergence alone gives a count of a thousandth of a hectare, and says so.

    Parameters
    ----------
    plan : Plan
        Methods.
    draw : Draw
        The strips.
    records : Records
        Stand counts, corrections included.
    error_fraction : float
        Wanted half width over the mean [1].
    level : float
        Level of the interval [1].
    """
    own, usual_m = _own_spread(draw, records)
    out = []
    for m in plan.methods:
        spacing_m, emergence = m.row_pattern.row_spacing_m, m.expected_emergence_fraction
        length = usual_m if own is not None else row_length_m(spacing_m)
        seeds = m.seeds_per_m2 * spacing_m
        chance = math.sqrt((1.0 - emergence) / (emergence * seeds * length))
        cv, said = (own, "counts of this trial") if own is not None else (chance, "chance of emergence alone; assumed")
        counts = counts_for_error(cv, error_fraction, level)
        least = least_metres(seeds, emergence, error_fraction, level)
        out.append(CountsNeeded(m.letter, error_fraction, level, cv, said, length, counts, least))
    return tuple(out)


def _own_spread(draw: Draw, records: Records) -> tuple[float | None, float]:
    """Return the pooled spread of single counts within strips over their mean, and their usual length [1, m]."""
    counts = current(records.stand_counts)
    squares, df, lengths = 0.0, 0, []
    for strip in draw.strips:
        mine = stand_counts_of(counts, strip.strip)
        densities = [c.plants / (c.length_m * c.rows) for c in mine]
        if len(densities) > 1 and sum(densities) > 0:
            squares += (len(densities) - 1) * _cv(densities) ** 2
            df += len(densities) - 1
            lengths += [c.length_m * c.rows for c in mine]
    return (math.sqrt(squares / df), statistics.median(lengths)) if df else (None, 0.0)


def _cv(values: Sequence[float]) -> float:
    return statistics.stdev(values) / statistics.fmean(values)
