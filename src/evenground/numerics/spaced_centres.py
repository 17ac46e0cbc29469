"""Centres along lines, chosen to explain items where every centre costs something, and so does an unlikely gap.

A search that starts from a choice: centres are moved, put in and taken out as long as that pays. It ends where no such
step does, which need not be the best choice of all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray, IntArray
from evenground.numerics.chosen_centres import Offers

SETTLE_OVER_REACH, COMPARE_OVER_REACH = 0.6, 2.5
"""Centres so near to a change move with it, and so near are counted when two choices are compared."""
SETTLE_SWEEPS = 2
LEAST_BETTER = 1e-3


@dataclass(frozen=True)
class Charges:
    """What is charged for a choice, in the unit of `Offers.worth` summed.

    Attributes
    ----------
    centre : ndarray of float, shape (candidates,)
        For each candidate, if it is chosen.
    line : ndarray of int, shape (candidates,)
        Line each candidate stands on; gaps are counted within a line, and centres keep to theirs.
    gaps, gap : ndarray of float, shape (n,)
        Gaps from one centre to the next of its line, rising, in the unit of `Offers.places`, and what each is charged;
        straight lines in between, beyond the ends as at the ends.
    least : ndarray of float, shape (candidates,)
        What each must explain that no other centre does, however welcome it is in its gap.
    """

    centre: FloatArray
    line: IntArray
    gaps: FloatArray
    gap: FloatArray
    least: FloatArray

    def for_gaps(self, gaps: FloatArray) -> FloatArray:
        """Return what gaps are charged."""
        return np.interp(gaps, self.gaps, self.gap)


def respaced(
    offers: Offers, items: int, centres: list[int], charges: Charges, step: float, reach: float, sweeps: int = 3
) -> list[int]:
    """Move centres, put some in and take some out, as long as the choice gets better.

    A choice is worth what it explains, each item counting with the best of the centres, less all charges.

    Parameters
    ----------
    offers : Offers
        What each candidate explains; candidates in rising order of place.
    items : int
        Number of items [1].
    centres : list of int
        Centres to begin with.
    charges : Charges
        What centres and gaps are charged.
    step, reach : float
        How far a centre may move at a time, and how far apart two centres are that cannot explain the same item, in
        the unit of `Offers.places`.
    sweeps : int
        How often all places are looked at [1].

    Returns
    -------
    list of int
        Centres in order of place.
    """
    search = _Search(offers, charges, step, reach, np.zeros(items, dtype=np.float32))
    centres = sorted(centres)
    for _ in range(sweeps):
        before = list(centres)
        for centre in before:
            if centre in centres:
                centres = search.better(centres, [c for c in centres if c != centre], search.at(centre))
        for centre in before:
            new = search.best_after(centres, centre)
            if new is not None:
                centres = search.better(centres, [*centres, new], search.at(new))
        if centres == before:
            break
    return centres


def worth_of(offers: Offers, items: int, centres: list[int], charges: Charges) -> float:
    """Return what a choice is worth: what it explains less all charges, in the unit of `Offers.worth` summed.

    Parameters
    ----------
    offers : Offers
        What each candidate explains.
    items : int
        Number of items [1].
    centres : list of int
        The choice.
    charges : Charges
        What centres and gaps are charged.
    """
    return _Search(offers, charges, 0.0, 0.0, np.zeros(items, dtype=np.float32)).worth(centres)


@dataclass(frozen=True)
class _Search:
    """What every step of the search needs; `best` holds what centres explain of each item, 0 between steps."""

    offers: Offers
    charges: Charges
    step: float
    reach: float
    best: npt.NDArray[np.float32]

    def at(self, centre: int) -> float:
        return float(self.offers.places[centre])

    def worth(self, centres: list[int]) -> float:
        """Return what centres are worth together."""
        self._explain(centres)
        total = float(self.best.sum()) - float(self.charges.centre[centres].sum())
        self._forget(centres)
        for line in {int(self.charges.line[c]) for c in centres}:
            total -= float(self.charges.for_gaps(np.diff(self._on(centres, line))).sum())
        return total

    def better(self, centres: list[int], tried: list[int], place: float) -> list[int]:
        """Let a changed choice settle round a place; return it if it is worth more, else the one before."""
        tried = self._settled(tried, place)
        wide = COMPARE_OVER_REACH * self.reach
        before, after = (self.worth(self._near(choice, place, wide)) for choice in (centres, tried))
        return tried if after > before + LEAST_BETTER else centres

    def best_after(self, centres: list[int], centre: int) -> int | None:
        """Return the best candidate between a centre and the next of its line; None where there is none."""
        line, low = int(self.charges.line[centre]), self.at(centre) + self.step
        own = self._on(centres, line)
        later = own[own > self.at(centre)]
        high = float(later[0]) if later.size else self.at(centre) + self.reach
        return self._best_between(centres, low, high - self.step, line)

    def _settled(self, centres: list[int], place: float) -> list[int]:
        """Move the centres near a place, one after the other, to where they add most."""
        centres = sorted(centres)
        for _ in range(SETTLE_SWEEPS):
            before = list(centres)
            for centre in self._near(before, place, SETTLE_OVER_REACH * self.reach):
                others = [c for c in centres if c != centre]
                low, high = self.at(centre) - self.step, self.at(centre) + self.step
                moved = self._best_between(others, low, high, int(self.charges.line[centre]))
                centres = [*others, centre if moved is None else moved]
            centres.sort()
            if centres == before:
                break
        return centres

    def _best_between(self, centres: list[int], low: float, high: float, line: int) -> int | None:
        """Return the candidate of a line between two places that adds most to the centres; None if none adds enough."""
        first, last = np.searchsorted(self.offers.places, [low, high])
        there = np.arange(first, last)
        there = there[(self.charges.line[there] == line) & ~np.isin(there, centres)]
        if there.size == 0:
            return None
        touching = self._near(centres, 0.5 * (low + high), self.reach + 0.5 * (high - low))
        self._explain(touching)
        gains = np.array([self._gain(int(c)) for c in there])
        self._forget(touching)
        added = (
            gains - self.charges.centre[there] - self._gaps_added(self._on(centres, line), self.offers.places[there])
        )
        added[gains < self.charges.least[there]] = -np.inf
        top = int(np.argmax(added))
        return int(there[top]) if added[top] > -np.inf else None

    def _gaps_added(self, own: FloatArray, places: FloatArray) -> FloatArray:
        """Return how much more the gaps of a line are charged with one more centre at each place."""
        if own.size == 0:
            return np.zeros(places.size)
        after = np.searchsorted(own, places)
        has_left, has_right = after > 0, after < own.size
        left = places - own[np.maximum(after - 1, 0)]
        right = own[np.minimum(after, own.size - 1)] - places
        added = np.where(has_left, self.charges.for_gaps(left), 0.0)
        added += np.where(has_right, self.charges.for_gaps(right), 0.0)
        return added - np.where(has_left & has_right, self.charges.for_gaps(left + right), 0.0)

    def _on(self, centres: list[int], line: int) -> FloatArray:
        """Return the places of the centres on a line, rising."""
        return np.sort(self.offers.places[[c for c in centres if self.charges.line[c] == line]])

    def _near(self, centres: list[int], place: float, reach: float) -> list[int]:
        return [c for c in centres if abs(self.offers.places[c] - place) <= reach]

    def _explain(self, centres: list[int]) -> None:
        for centre in centres:
            where, worth = self.offers.of(centre)
            self.best[where] = np.maximum(self.best[where], worth)

    def _forget(self, centres: list[int]) -> None:
        for centre in centres:
            self.best[self.offers.of(centre)[0]] = 0.0

    def _gain(self, candidate: int) -> float:
        where, worth = self.offers.of(candidate)
        return float(np.maximum(worth - self.best[where], 0.0).sum())
