"""Greedy choice of centres: against trying every set, and moves and removals."""

from itertools import combinations

import numpy as np
import pytest

from evenground.numerics.chosen_centres import Offers, greedy_centres, settle_centres, settle_pairs


def offers_of(table, places=None):
    """Offers from a table, candidates by items; 0 is no offer."""
    table = np.asarray(table, np.float32)
    items = [np.flatnonzero(row) for row in table]
    starts = np.cumsum([0, *map(len, items)])
    worth = np.concatenate([row[i] for row, i in zip(table, items, strict=True)])
    places = np.arange(len(table), dtype=float) if places is None else np.asarray(places, float)
    return Offers(starts, np.concatenate(items).astype(np.int32), worth, places)


def value(table, chosen, cost):
    return table[list(chosen)].max(axis=0).sum() - cost * len(chosen) if chosen else 0.0


@pytest.mark.parametrize("seed", range(15))
def test_greedy_is_the_plain_greedy_and_near_the_best_set(seed):
    rng = np.random.default_rng(seed)
    table = rng.random((9, 30)) * (rng.random((9, 30)) < 0.4)
    chosen, added = greedy_centres(offers_of(table), 30, 1.0)
    # the plain form, everything computed again at each step
    best, plain = np.zeros(30), []
    while True:
        gains = np.maximum(table - best, 0).sum(axis=1)
        if gains.max() < 1.0:
            break
        plain.append(int(gains.argmax()))
        best = np.maximum(best, table[plain[-1]])
    assert chosen == plain
    assert sum(added) == pytest.approx(best.sum(), rel=1e-5)  # worth is kept in single precision
    # at least 1 - 1/e of the best set of as many (Nemhauser, Wolsey & Fisher, Math. Programming 14 (1978) 265-294)
    top = max(value(table, s, 0.0) for s in combinations(range(9), len(chosen)))
    assert best.sum() >= (1 - 1 / np.e) * top


def test_settling_moves_a_centre_to_the_better_place():
    table = [[1, 1, 0, 0], [1, 1, 1, 0.5], [0, 0, 1, 1]]
    assert settle_centres(offers_of(table), 4, [0], (0.5, 0.5), 1.5, 9.0)[0] == [1]


def test_settling_drops_what_others_explain_and_keeps_a_small_one_that_stands_alone():
    table = [[1, 1, 1, 1, 0], [0, 0, 1, 1.2, 0], [0, 0, 0, 0, 0.6]]
    centres, added = settle_centres(offers_of(table, [0, 5, 10]), 5, [0, 1, 2], (0.5, 1.0), 1.0, 20.0)
    assert centres == [0, 2]
    assert added == pytest.approx([4.0, 0.6])


def test_candidates_without_offers_are_never_chosen():
    assert greedy_centres(offers_of([[0, 0], [1, 1], [0, 0]]), 2, 0.5) == ([1], [2.0])


def test_a_pair_moves_where_neither_can_move_alone():
    # 0 and 3 together explain all four items best; but 0 shares an item with 2 and 3 one with 1, so neither goes first
    table = [[1.2, 1.2, 0, 0], [1, 0, 1, 0], [0, 1, 0, 1], [0, 0, 1.2, 1.2]]
    assert settle_centres(offers_of(table), 4, [1, 2], (0.1, 0.1), 1.5, 9.0)[0] == [1, 2]
    offers = offers_of(table)
    best = max(combinations(range(4), 2), key=lambda s: value(np.array(table), s, 0.0))
    assert settle_pairs(offers, 4, [1, 2], 1.5, 2.0) == list(best) == [0, 3]


def test_a_pair_far_apart_stays_and_so_does_one_that_cannot_do_better():
    table = np.eye(4)
    assert settle_pairs(offers_of(table, [0, 1, 8, 9]), 4, [0, 3], 1.5, 2.0) == [0, 3]
    assert settle_pairs(offers_of(table), 4, [2, 1], 1.5, 2.0) == [1, 2]


@pytest.mark.parametrize("seed", range(10))
def test_pairs_never_get_worse_and_two_alone_become_the_best_two(seed):
    rng = np.random.default_rng(seed)
    table = rng.random((8, 25)) * (rng.random((8, 25)) < 0.5)
    start = [int(c) for c in rng.choice(8, 2, replace=False)]
    got = settle_pairs(offers_of(table), 25, start, 9.0, 9.0)
    top = max(value(table, s, 0.0) for s in combinations(range(8), 2))
    # worth is kept in single precision
    assert value(table, got, 0.0) == pytest.approx(top, rel=1e-5)
