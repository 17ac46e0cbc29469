"""Which few centres explain many items best, when every centre costs something: greedy choice, moves, removals."""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray, IntArray


@dataclass(frozen=True)
class Offers:
    """How well each candidate explains the items it can explain at all.

    Attributes
    ----------
    starts : ndarray of int, shape (candidates + 1,)
        Where each candidate's stretch in the other two arrays begins and ends.
    items : ndarray of int, shape (offers,)
        Items, in rising order within a candidate.
    worth : ndarray of float, shape (offers,)
        How well the item is explained [1], 0 or above.
    places : ndarray of float, shape (candidates,)
        Where the candidate stands, any unit.
    """

    starts: IntArray
    items: npt.NDArray[np.int32]
    worth: npt.NDArray[np.float32]
    places: FloatArray

    def of(self, candidate: int) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.float32]]:
        """Return the items of one candidate and how well it explains them."""
        stretch = slice(self.starts[candidate], self.starts[candidate + 1])
        return self.items[stretch], self.worth[stretch]


def greedy_centres(offers: Offers, items: int, cost: float) -> tuple[list[int], list[float]]:
    """Choose centres one by one, always the one that adds most, until the next would add less than it costs.

    Each item counts with the best of the centres chosen.

    Parameters
    ----------
    offers : Offers
        What each candidate explains.
    items : int
        Number of items [1].
    cost : float
        What a centre must add at least, in the unit of `Offers.worth` summed.

    Returns
    -------
    tuple of (list of int, list of float)
        Candidates chosen, in that order, and what each added.

    Notes
    -----
    What a candidate adds never grows as others are chosen, so an old figure is an upper limit and most need not be
    computed again: Minoux, in Optimization Techniques, Lecture Notes in Control 7 (1978) 234-243; from memory.
    """
    best = np.zeros(items, dtype=np.float32)
    sums = np.add.reduceat(np.append(offers.worth, np.float32(0.0)), offers.starts[:-1])
    first = np.where(np.diff(offers.starts) > 0, sums, 0.0)
    queue = [(-float(value), candidate) for candidate, value in enumerate(first) if value >= cost]
    heapq.heapify(queue)
    chosen: list[int] = []
    added: list[float] = []
    while queue:
        _, candidate = heapq.heappop(queue)
        where, worth = offers.of(candidate)
        gain = float(np.maximum(worth - best[where], 0.0).sum())
        if gain < cost:
            continue
        if queue and gain < -queue[0][0]:
            heapq.heappush(queue, (-gain, candidate))
            continue
        best[where] = np.maximum(best[where], worth)
        chosen.append(candidate)
        added.append(gain)
    return chosen, added


def settle_centres(
    offers: Offers,
    items: int,
    chosen: list[int],
    costs: tuple[float, float],
    step: float,
    reach: float,
    alone: float = 0.8,
    sweeps: int = 3,
) -> tuple[list[int], list[float]]:
    """Move each centre to the best place near it, and drop those that no longer add what they cost.

    Parameters
    ----------
    offers : Offers
        What each candidate explains; candidates in rising order of place.
    items : int
        Number of items [1].
    chosen : list of int
        Centres to begin with.
    costs : tuple of float
        What a centre must add at least if it stands alone, and what if others explain some of the same items.
    step, reach : float
        How far a centre may move at a time, and how far apart two centres are that cannot explain the same item, in
        the unit of `Offers.places`.
    alone : float
        A centre stands alone if so much of what it explains is explained by no other [1].
    sweeps : int
        How often all centres are looked at [1].

    Returns
    -------
    tuple of (list of int, list of float)
        Centres in order of place, and what each adds beside all others.
    """
    best = np.zeros(items, dtype=np.float32)
    centres = sorted(chosen)
    added: list[float] = []
    for last in [False] * sweeps + [True]:
        before, added = list(centres), []
        for centre in before:
            others = _near(offers, centres, centre, reach)
            touched = [offers.of(other) for other in others]
            for where, worth in touched:
                best[where] = np.maximum(best[where], worth)
            low, high = np.searchsorted(offers.places, offers.places[centre] + np.array([-step, step]))
            there = [centre] if last else [c for c in range(int(low), int(high)) if c not in others]
            gains = [_gain(offers, candidate, best) for candidate in there]
            for where, _ in touched:
                best[where] = 0.0
            centres.remove(centre)
            top = int(np.argmax(gains))
            whole = float(offers.of(there[top])[1].sum())
            if gains[top] >= costs[0 if gains[top] >= alone * whole else 1]:
                centres.append(there[top])
                added.append(gains[top])
        centres.sort()
        if not last and centres == before:
            continue
    return centres, added


def settle_pairs(
    offers: Offers, items: int, centres: list[int], step: float, reach: float, sweeps: int = 2
) -> list[int]:
    """Move neighbouring centres together: where two share items, neither finds its best place while the other stays.

    Parameters
    ----------
    offers : Offers
        What each candidate explains; candidates in rising order of place.
    items : int
        Number of items [1].
    centres : list of int
        Centres to begin with.
    step, reach : float
        How far each of the two may move, and how far apart two centres are that are not tried together, in the unit of
        `Offers.places`.
    sweeps : int
        How often all pairs are looked at [1].

    Returns
    -------
    list of int
        As many centres or fewer, in order of place: two that came to the same place are one.
    """
    centres = sorted(centres)
    for _ in range(sweeps):
        before = list(centres)
        for first in range(len(centres) - 1):
            pair = centres[first], centres[first + 1]
            if offers.places[pair[1]] - offers.places[pair[0]] <= reach:
                centres[first : first + 2] = _best_pair(offers, items, centres, pair, step, 2.0 * reach)
        centres = sorted(set(centres))
        if centres == before:
            break
    return centres


def _best_pair(
    offers: Offers, items: int, centres: list[int], pair: tuple[int, int], step: float, reach: float
) -> tuple[int, int]:
    """Try every place near the first with every place near the second; the pair stays where none is better."""
    best = np.zeros(items, dtype=np.float32)
    for other in _near(offers, centres, pair[0], reach):
        if other != pair[1]:
            where, worth = offers.of(other)
            best[where] = np.maximum(best[where], worth)
    tried = []
    for centre in pair:
        low, high = np.searchsorted(offers.places, offers.places[centre] + np.array([-step, step]))
        tried.append([centre, *(c for c in range(int(low), int(high)) if c != centre)])
    touched = np.unique(np.concatenate([offers.of(c)[0] for c in (*tried[0], *tried[1])]))
    number = np.zeros(items, dtype=np.intp)
    number[touched] = np.arange(touched.size)
    first, second = (np.tile(best[touched], (len(candidates), 1)) for candidates in tried)
    for values, candidates in ((first, tried[0]), (second, tried[1])):
        for row, candidate in zip(values, candidates, strict=True):
            where, worth = offers.of(candidate)
            row[number[where]] = np.maximum(row[number[where]], worth)
    sums = np.array([np.maximum(row, second).sum(axis=1) for row in first])
    top = np.unravel_index(int(np.argmax(sums)), sums.shape)
    if sums[top] <= sums[0, 0] * (1.0 + 1e-6):
        return pair
    chosen = sorted((tried[0][top[0]], tried[1][top[1]]))
    return chosen[0], chosen[1]


def _gain(offers: Offers, candidate: int, best: npt.NDArray[np.float32]) -> float:
    where, worth = offers.of(candidate)
    return float(np.maximum(worth - best[where], 0.0).sum())


def _near(offers: Offers, centres: list[int], centre: int, reach: float) -> list[int]:
    place = offers.places[centre]
    return [c for c in centres if c != centre and abs(offers.places[c] - place) <= reach]
