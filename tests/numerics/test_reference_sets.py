"""Reference sets: what the draw could have given, before and after a mishap, and the test over it."""

from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.numerics.order_limits import EqualOrdersLimit, LinearLimit
from evenground.numerics.orders import OrderPlan, draw_order, list_orders
from evenground.numerics.reference_sets import PairSet, listed_test, pair_set, sampled_pair_set, sampled_test
from evenground.numerics.sign_flips import (
    block_options,
    count_weights,
    counted_flip_test,
    option_test,
    sign_flip_test,
)

tenths = st.integers(60, 140)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(tenths, tenths), min_size=1, max_size=8))
def test_free_pairs_equal_sign_flips(pairs):
    plan = OrderPlan.complete(2, len(pairs))
    order = [0, 1] * len(pairs)
    y = np.array(pairs).ravel() / 10
    listed = listed_test(pair_set(plan, [], order, 0, 1), y)
    flips = sign_flip_test(y[1::2] - y[::2])
    assert listed == flips


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(tenths, tenths), min_size=6, max_size=6), st.integers(0, 10**6), st.integers(0, 3))
def test_equal_counts_after_a_mishap_equal_counted_flips(pairs, seed, broken):
    plan, limits = OrderPlan.complete(2, 6), [EqualOrdersLimit()]
    order = draw_order(plan, limits, np.random.default_rng(seed)).order
    y = np.array(pairs)[broken:].ravel() / 10
    listed = listed_test(pair_set(plan, limits, order, 0, 1).without_blocks(range(broken)), y)
    signs = np.where(order[1::2] == 1, 1, -1)[broken:]
    counted = counted_flip_test(y[1::2] - y[::2], signs, count_weights(6, [3], broken=broken))
    assert listed == counted


def test_projection_keeps_every_order_as_often_as_it_arises():
    plan, limits = OrderPlan.complete(2, 6), [EqualOrdersLimit()]
    full = pair_set(plan, limits, [0, 1, 1, 0] * 3, 0, 1)
    left = full.without_blocks([5])
    assert len(full.rows) == len(left.rows) == 20
    _, counts = np.unique(left.signs(), axis=0, return_counts=True)
    assert counts.sum() == 20
    # The five pairs left had two or three AB, each order once; its mirror has three or two.
    assert left.smallest_p() == pytest.approx(2 / 20)
    two_lost = full.without_blocks([4, 5])
    _, counts = np.unique(two_lost.signs(), axis=0, return_counts=True)
    assert sorted(counts.tolist()) == [1] * 8 + [2] * 6
    assert two_lost.smallest_p() == pytest.approx(2 / 20)


def test_other_methods_stay_where_they_are():
    plan = OrderPlan.complete(3, 4)
    limits = [LinearLimit("trend", tuple(range(12)), 3.0)]
    order = draw_order(plan, limits, np.random.default_rng(2)).order
    reference = pair_set(plan, limits, order, 0, 2)
    every = list_orders(plan, limits)
    same_place = every[((every == 1) == (order == 1)).all(axis=1)]
    assert len(reference.rows) == len(same_place)
    assert reference.slots.tolist() == np.flatnonzero(order != 1).tolist()
    expected = {tuple(row) for row in np.where(same_place[:, order != 1] == 2, 1, -1).tolist()}
    assert {tuple(row) for row in reference.rows.tolist()} == expected


def test_several_strips_of_a_method_in_a_block_equal_the_option_lists():
    plan = OrderPlan(((0, 0, 1), (0, 0, 1), (0, 0, 1)))
    order = [0, 1, 0, 1, 0, 0, 0, 0, 1]
    y = np.array([5.1, 6.0, 5.5, 6.2, 5.8, 5.9, 5.0, 4.9, 5.7])
    listed = listed_test(pair_set(plan, [], order, 0, 1), y)
    blocks = [block_options(y[3 * b : 3 * b + 3], [slot]) for b, slot in enumerate((1, 0, 2))]
    # Mean differences times two are whole tenths, so the option lists are counted exactly too.
    by_options = option_test([2 * gains for gains, _ in blocks], [drawn for _, drawn in blocks])
    assert (listed.extreme, listed.total) == (by_options.extreme, by_options.total)
    assert listed.smallest_p == by_options.smallest_p == 1 / 27


def test_gain_of_blocks_of_different_shape_is_that_of_least_squares():
    plan = OrderPlan(((0, 1), (0, 0, 1), (0, 1, 1, 1), (0, 0)))
    order = np.array([1, 0, 0, 1, 0, 1, 1, 0, 1, 0, 0])
    y = np.random.default_rng(3).normal(10, 1, 11).round(2)
    reference = pair_set(plan, [], order, 0, 1)
    X = np.column_stack([(order == 1).astype(float), *(plan.block_of_slot == b for b in range(4))]).astype(float)
    gains = []
    for way in list_orders(plan):
        X[:, 0] = way == 1
        gains.append(np.linalg.lstsq(X, y, rcond=None)[0][0])
    statistic = reference.rows @ y[reference.slots]
    ratio = statistic / np.array(gains)
    assert ratio == pytest.approx(np.full(len(ratio), ratio[0]), rel=1e-8)  # least squares on 11 rows: 1e-12, with room
    assert reference.slots.tolist() == list(range(9))  # the last block holds one method only


def test_ties_of_decimals_in_a_listed_set_equal_whole_numbers():
    rng = np.random.default_rng(12)
    plan = OrderPlan.one_block([4, 4])
    whole = rng.integers(80, 99, 8)
    order = np.array([0, 1, 1, 0, 1, 0, 0, 1])
    test = listed_test(pair_set(plan, [], order, 0, 1), whole / 10)
    observed = abs(whole[order == 1].sum() - whole[order == 0].sum())
    ways = set(permutations([0] * 4 + [1] * 4))
    extreme = sum(abs(sum(v if m else -v for m, v in zip(p, whole.tolist(), strict=True))) >= observed for p in ways)
    assert (test.extreme, test.total, test.in_integers) == (extreme, 70, True)
    assert test.smallest_p == pytest.approx(2 / 70)


def test_p_values_of_all_possible_draws_keep_their_promise():
    # Fixed yields, every order in turn as the drawn one: P(p <= a) never exceeds a, the meaning of an exact test.
    plan, limits = OrderPlan.complete(2, 6), [EqualOrdersLimit()]
    y = np.random.default_rng(14).normal(9, 1, 12).round(2)
    orders = list_orders(plan, limits)
    p = np.array([listed_test(pair_set(plan, limits, row, 0, 1), y).p_value for row in orders])
    for level in np.unique(p):
        assert np.mean(p <= level) <= level + 1e-12
    assert p.min() == pytest.approx(0.10)


def test_sample_agrees_with_the_list():
    plan, limits = OrderPlan.complete(2, 10), [EqualOrdersLimit()]
    order = draw_order(plan, limits, np.random.default_rng(1)).order
    y = np.random.default_rng(15).normal(9, 1, 20).round(2) + 0.5 * (order == 1)
    exact = listed_test(pair_set(plan, limits, order, 0, 1), y)
    sample = sampled_pair_set(plan, limits, order, 0, 1, rng=np.random.default_rng(16), draws=4000)
    test = sampled_test(sample, y)
    assert test.draws == 4000
    assert test.p_value == (1 + test.extreme) / 4001
    assert test.smallest_p == 1 / 4001
    assert abs(test.p_value - exact.p_value) < 4 * test.standard_error  # four standard errors, fixed seed
    again = sampled_pair_set(plan, limits, order, 0, 1, rng=np.random.default_rng(16), draws=4000)
    assert (again.rows == sample.rows).all()


@pytest.mark.parametrize("slots", [12, 66, 140])
def test_smallest_p_counts_repeats_and_mirrors(slots):
    pairs = slots // 2
    signs = np.array(list(product((-1, 1), repeat=3)))[[0, 0, 1, 7, 7, 6, 3]]
    wide = np.ones((7, pairs), dtype=np.int16)
    wide[:, -3:] = signs
    wide[3:6, :-3] = -1
    rows = np.repeat(wide, 2, axis=1) * np.tile([-1, 1], pairs).astype(np.int16)
    reference = PairSet(rows, rows[0], np.arange(slots), np.arange(slots) // 2)
    # Rows 0 and 1 mirror 3 and 4, row 2 mirrors row 5, row 6 has no mirror: 1 of 7 is the least.
    assert reference.smallest_p() == pytest.approx(1 / 7)
    assert PairSet(rows[:6], rows[0], reference.slots, reference.block_of_slot).smallest_p() == pytest.approx(2 / 6)


def refused():
    plan = OrderPlan.complete(2, 4)
    order = [0, 1] * 4
    free = pair_set(plan, [], order, 0, 1)
    return [
        lambda: pair_set(plan, [], [0, 0] * 4, 0, 1),
        lambda: pair_set(plan, [EqualOrdersLimit()], order, 0, 1),
        lambda: pair_set(plan, [], order, 0, 3),
        lambda: pair_set(OrderPlan.complete(2, 30), [], [0, 1] * 30, 0, 1),
        lambda: free.without_blocks(range(4)),
        lambda: listed_test(free, [1.0] * 7),
        lambda: listed_test(free, [1.0] * 7 + [np.nan]),
        lambda: pair_set(OrderPlan.one_block([2, 2]), [], [0, 1, 1, 0], 0, 1).signs(),
        lambda: sampled_pair_set(
            plan,
            [LinearLimit("trend", (0, 1, 4, 16, 64, 256, 1024, 4096), 3000)],
            order,
            0,
            1,
            rng=np.random.default_rng(1),
            draws=10**6,
            most_tries=1000,
        ),
    ]


@pytest.mark.parametrize("call", refused())
def test_bad_sets_are_refused(call):
    with pytest.raises(ValueError):
        call()
