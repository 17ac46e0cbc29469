"""Centres with charges for their gaps: against trying every choice, and what a charge does and does not do."""

from itertools import combinations, pairwise

import numpy as np
import pytest

from evenground.numerics.chosen_centres import Offers, greedy_centres
from evenground.numerics.spaced_centres import Charges, respaced, worth_of

FREE = ([0.0, 1.0], [0.0, 0.0])


def offers_of(table, places=None):
    """Offers from a table, candidates by items; 0 is no offer."""
    table = np.asarray(table, np.float32)
    items = [np.flatnonzero(row) for row in table]
    starts = np.cumsum([0, *map(len, items)])
    worth = np.concatenate([row[i] for row, i in zip(table, items, strict=True)])
    places = np.arange(len(table), dtype=float) if places is None else np.asarray(places, float)
    return Offers(starts, np.concatenate(items).astype(np.int32), worth, places)


def charges_of(n, centre=0.5, gaps=FREE, least=0.0, line=None):
    return Charges(
        np.full(n, centre),
        np.zeros(n, dtype=np.int64) if line is None else np.asarray(line),
        np.asarray(gaps[0]),
        np.asarray(gaps[1]),
        np.full(n, least),
    )


def plain(table, chosen, charges, places):
    """The worth of a choice, written out."""
    total = table[list(chosen)].max(axis=0).sum() if chosen else 0.0
    total -= sum(charges.centre[c] for c in chosen)
    for line in set(charges.line):
        own = sorted(places[c] for c in chosen if charges.line[c] == line)
        total -= sum(np.interp(b - a, charges.gaps, charges.gap) for a, b in pairwise(own))
    return total


@pytest.mark.parametrize("seed", range(12))
def test_never_worse_and_near_the_best_of_all_choices(seed):
    rng = np.random.default_rng(seed)
    # items lie along the line too, so that only neighbours explain the same
    places = np.arange(9.0)
    table = np.exp(-0.5 * ((places[:, None] - rng.uniform(-0.5, 8.5, 40)) / 0.8) ** 2)
    table[table < 0.05] = 0.0
    charges = charges_of(9, 2.0, ([0.0, 3.0, 6.0], [2.0, 0.0, 2.0]), line=rng.integers(0, 2, 9))
    start = greedy_centres(offers_of(table, places), 40, 2.0)[0]
    got = respaced(offers_of(table, places), 40, start, charges, 1.0, 5.0)
    every = (s for n in range(1, 10) for s in combinations(range(9), n))
    best = max(plain(table, s, charges, places) for s in every)
    mine = plain(table, got, charges, places)
    # worth is kept in single precision
    assert worth_of(offers_of(table, places), 40, got, charges) == pytest.approx(mine, rel=1e-5)
    assert mine >= plain(table, start, charges, places) - 1e-5
    # a search by single steps: it may stop short of the best, not far from it
    assert mine >= best - 0.1 * abs(best)


def test_a_centre_in_an_unlikely_gap_is_put_in_on_less():
    # the middle candidate adds 0.3 to the others and costs 0.5
    table = [[2, 0.7, 0, 0], [0, 0.8, 0.2, 0], [0, 0.7, 0, 2]]
    offers = offers_of(table, [0.0, 2.0, 4.0])
    assert respaced(offers, 4, [0, 2], charges_of(3), 0.5, 5.0) == [0, 2]
    twice = ([0.0, 2.0, 4.0], [0.5, 0.0, 0.5])  # 4 apart is unlikely, 2 apart is not
    assert respaced(offers, 4, [0, 2], charges_of(3, gaps=twice), 0.5, 5.0) == [0, 1, 2]


def test_no_gap_makes_a_centre_of_nothing():
    table = [[2, 0.7, 0, 0], [0, 0.7, 0, 0], [0, 0.7, 0, 2]]
    offers = offers_of(table, [0.0, 2.0, 4.0])
    wide = ([0.0, 2.0, 4.0], [0.9, 0.0, 0.9])
    assert respaced(offers, 4, [0, 2], charges_of(3, gaps=wide), 0.5, 5.0) == [0, 1, 2]
    assert respaced(offers, 4, [0, 2], charges_of(3, gaps=wide, least=0.1), 0.5, 5.0) == [0, 2]


def test_a_centre_too_close_goes_where_it_hardly_adds():
    table = [[2, 1, 0.0], [1.5, 1.2, 0.6], [0, 0.0, 2.0]]
    offers = offers_of(table, [0.0, 1.0, 6.0])
    assert respaced(offers, 3, [0, 1, 2], charges_of(3, 0.1), 0.5, 9.0) == [0, 1, 2]
    close = ([0.0, 1.0, 3.0, 9.0], [2.0, 2.0, 0.0, 0.0])
    assert respaced(offers, 3, [0, 1, 2], charges_of(3, 0.1, close), 1.5, 9.0) == [0, 2]


def test_gaps_count_within_a_line_only():
    table = np.eye(2)
    close = ([0.0, 1.0, 3.0], [9.0, 9.0, 0.0])
    assert respaced(offers_of(table), 2, [0, 1], charges_of(2, 0.1, close, line=[0, 1]), 0.5, 5.0) == [0, 1]
    assert len(respaced(offers_of(table), 2, [0, 1], charges_of(2, 0.1, close), 0.5, 5.0)) == 1


def test_nothing_chosen_stays_nothing():
    assert respaced(offers_of(np.eye(2)), 2, [], charges_of(2), 1.0, 5.0) == []
