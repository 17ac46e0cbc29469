"""Are the plants spaced right? Misses, doubles and the evenness of the rest, from the gaps of one line.

Screen words: spaced right, miss, double. The standard's terms beside them: quality of feed, miss, multiple.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

Exact = Fraction | float | int
CLASS_ENDS = (Fraction(1, 2), Fraction(3, 2), Fraction(5, 2), Fraction(7, 2))
"""Upper ends of classes I to IV in target gaps, each end belonging to the class below it; class V has none."""


@dataclass(frozen=True)
class Shares:
    """The three shares of one way of counting; they sum to 1.

    Attributes
    ----------
    multiples : float
        Share of doubles [1].
    quality_of_feed : float
        Share spaced right [1].
    misses : float
        Share of misses [1].
    """

    multiples: float
    quality_of_feed: float
    misses: float


@dataclass(frozen=True)
class Spacing:
    """What the gaps of one or several lines say.

    Attributes
    ----------
    target_m : float
        Gap the machine was set to [m].
    gaps : int
        Number of gaps [1].
    classes : tuple of int
        Gaps in classes I to V [1].
    by_gaps : Shares
        Shares of the gaps found.
    by_places : Shares or None
        Shares of the places a seed was due; None where the counting of places breaks down (half of the gaps and
        more are doubles).
    precision : float or None
        SD (n - 1) of the gaps of class II over the target [1]; None with fewer than two of them.
    mean_m : float
        Mean of all gaps [m].
    sd_m : float or None
        SD (n - 1) of all gaps [m]; misses dominate it, so it does not tell how evenly seeds were placed. None with
        one gap.
    """

    target_m: float
    gaps: int
    classes: tuple[int, int, int, int, int]
    by_gaps: Shares
    by_places: Shares | None
    precision: float | None
    mean_m: float
    sd_m: float | None

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of ``spacing --json``."""
        places = self.by_places
        return {
            "target_m": self.target_m,
            "gaps": self.gaps,
            "classes": list(self.classes),
            "by_gaps": dict(self.by_gaps.__dict__),
            "by_places": None if places is None else dict(places.__dict__),
            "precision": self.precision,
            "mean_m": self.mean_m,
            "sd_m": self.sd_m,
        }


def exact(value: Exact) -> Fraction:
    """Return the decimal number that was written, not its nearest binary neighbour.

    A gap of 15.0 against a target of 10.0 lies on the border and stays a single; in binary, differences of tape
    readings would fall on either side of it by chance.

    Examples
    --------
    >>> exact(0.15) - exact(0.1) == Fraction(1, 20)
    True
    """
    return Fraction(value) if isinstance(value, Fraction | int) else Fraction(repr(float(value)))


def gaps_of(positions: Iterable[Exact]) -> tuple[Fraction, ...]:
    """Turn positions along the line into gaps [same unit].

    Raises
    ------
    ValueError
        If a position lies before the one in front of it.

    Examples
    --------
    >>> [float(g) for g in gaps_of([0.0, 14.9, 30.1])]
    [14.9, 15.2]
    """
    found = tuple(exact(b) - exact(a) for a, b in pairwise(positions))
    if any(g < 0 for g in found):
        raise ValueError("positions along a line must rise")
    return found


def spacing_class(gap: Exact, target: Exact) -> int:
    """Return the class of a gap: 1 double, 2 spaced right, 3 one plant missing, 4 two, 5 three or more.

    Parameters
    ----------
    gap, target : Fraction or float
        Gap found and gap the machine was set to [same unit].

    Source: Kachman & Smith, Trans. ASAE 38 (1995) 379-387, after ISO 7256-1; wording of the borders as in Bracy &
    Parish (HortTechnology): up to half the target a multiple, more than one and a half a miss.

    Examples
    --------
    >>> [spacing_class(g, 10) for g in (5.0, 5.1, 15.0, 15.1, 31, 42)]
    [1, 2, 2, 3, 4, 5]
    """
    ratio = exact(gap) / exact(target)
    return 1 + sum(ratio > end for end in CLASS_ENDS)


def spacing(gaps_m: Sequence[Exact], target_m: Exact) -> Spacing:
    """Say how the plants of a line are spaced.

    Parameters
    ----------
    gaps_m : sequence of Fraction or float, shape (gaps,)
        From plant to plant [m], zero where two stand in one place.
    target_m : Fraction or float
        Gap the machine was set to [m].

    Returns
    -------
    Spacing

    Raises
    ------
    ValueError
        If there is no gap, a gap is negative or not finite, or the target is not above zero.

    Source
    ------
    ISO 7256-1:1984 and Kachman & Smith, Trans. ASAE 38 (1995) 379-387. By places: with class counts c1 .. c5 there
    were c2 + 2 c3 + 3 c4 + 4 c5 places, c1 of them took two seeds and c3 + 2 c4 + 3 c5 none (from memory; the sum of
    the three shares is an identity and is tested).
    """
    _check(gaps_m, target_m)
    gaps, target = [exact(g) for g in gaps_m], exact(target_m)
    found = [spacing_class(g, target) for g in gaps]
    classes = (found.count(1), found.count(2), found.count(3), found.count(4), found.count(5))
    singles = [g for g, c in zip(gaps, found, strict=True) if c == 2]
    spread = _sd(singles)
    return Spacing(
        target_m=float(target),
        gaps=len(gaps),
        classes=classes,
        by_gaps=_by_gaps(classes),
        by_places=_by_places(classes),
        precision=None if spread is None else spread / float(target),
        mean_m=float(sum(gaps, Fraction(0)) / len(gaps)),
        sd_m=_sd(gaps),
    )


def _check(gaps: Sequence[Exact], target: Exact) -> None:
    if not gaps:
        raise ValueError("no gaps given")
    if not all(math.isfinite(g) and g >= 0 for g in gaps):
        raise ValueError("every gap must be a finite number, zero or above")
    if not (math.isfinite(target) and target > 0):
        raise ValueError(f"the target gap must be above zero, not {target}")


def _by_gaps(classes: tuple[int, int, int, int, int]) -> Shares:
    total = sum(classes)
    return Shares(classes[0] / total, classes[1] / total, sum(classes[2:]) / total)


def _by_places(classes: tuple[int, int, int, int, int]) -> Shares | None:
    c1, c2, c3, c4, c5 = classes
    places = c2 + 2 * c3 + 3 * c4 + 4 * c5
    empty = c3 + 2 * c4 + 3 * c5
    singles = sum(classes) - 2 * c1
    if places == 0 or singles < 0:
        return None
    return Shares(c1 / places, singles / places, empty / places)


def _sd(values: Sequence[Fraction]) -> float | None:
    """Return the SD (n - 1), summed without rounding; None with fewer than two values."""
    if len(values) < 2:
        return None
    mean = sum(values, Fraction(0)) / len(values)
    return math.sqrt(sum(((v - mean) ** 2 for v in values), Fraction(0)) / (len(values) - 1))
