"""Packing blocks into slots, against trying every combination."""

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.layout.packing import SHARED_LENGTH, pack_blocks


def cost(low, high):
    return 1000.0 - (high - low).sum(axis=-1)


def by_trying(low, high, methods, shortest):
    """Least cost for every number of blocks, by every choice of first slots; a block costs 1000 less its metres."""
    n = len(low)
    good = {}
    for s in range(n - methods + 1):
        lengths = [high[i] - low[i] for i in range(s, s + methods)]
        shared = min(high[s : s + methods]) - max(low[s : s + methods])
        if shared >= max(shortest, SHARED_LENGTH * max(lengths)):
            good[s] = 1000.0 - sum(lengths)
    best = {0: 0.0}
    for k in range(1, n // methods + 1):
        for firsts in combinations(good, k):
            if all(b - a >= methods for a, b in pairwise(firsts)):
                best[k] = min(best.get(k, np.inf), sum(good[f] for f in firsts))
    return best


runs = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 200)), min_size=2, max_size=11)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(runs, st.integers(2, 4), st.integers(10, 90))
def test_the_best_packing_is_found(pieces, methods, shortest):
    low = np.array([float(a) for a, _ in pieces])
    high = low + np.array([float(b) for _, b in pieces])
    packing = pack_blocks(low[None], high[None], strips=methods, shortest_m=shortest, most=60, cost=cost)
    expected = by_trying(low, high, methods, shortest)
    for blocks, least in enumerate(packing.cost[0]):
        assert least == expected.get(blocks, np.inf)
        if np.isfinite(least):
            firsts = packing.first_slots(0, blocks)
            assert len(firsts) == blocks
            assert all(b - a >= methods for a, b in pairwise(firsts))
            taken = [i for f in firsts for i in range(f, f + methods)]
            assert 1000.0 * blocks - sum(high[i] - low[i] for i in taken) == least


def test_equal_slots_are_taken_without_gaps():
    low, high = np.zeros((1, 10)), np.full((1, 10), 100.0)
    # Differences far below a centimetre are rounding, not a reason to leave a gap.
    high[0] += np.array([0, 1, 0, 0, 1, 0, 1, 1, 0, 1]) * 1e-9
    packing = pack_blocks(low, high, strips=2, shortest_m=60, most=60, cost=cost)
    assert packing.first_slots(0, 3) == (0, 2, 4)


def test_strips_that_hardly_lie_side_by_side_make_no_block():
    low, high = np.array([[0.0, 70.0]]), np.array([[100.0, 170.0]])
    assert not np.isfinite(pack_blocks(low, high, strips=2, shortest_m=20, most=60, cost=cost).cost[0, 1])


def test_more_blocks_than_fit_are_refused():
    packing = pack_blocks(np.zeros((1, 4)), np.full((1, 4), 10.0), strips=2, shortest_m=60, most=60, cost=cost)
    with pytest.raises(ValueError, match="1 blocks do not fit"):
        packing.first_slots(0, 1)


def test_fewer_slots_than_methods_make_no_block():
    assert pack_blocks(
        np.zeros((1, 2)), np.full((1, 2), 99.0), strips=3, shortest_m=60, most=60, cost=cost
    ).cost.shape == (
        1,
        1,
    )
