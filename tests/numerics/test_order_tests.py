"""The test finds the quickest exact way, and every way gives the same answer."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.numerics.order_limits import EqualOrdersLimit, LinearLimit
from evenground.numerics.order_tests import order_test
from evenground.numerics.orders import OrderPlan, draw_order, list_orders
from evenground.numerics.reference_sets import listed_test, pair_set
from evenground.numerics.sign_flips import count_weights, counted_flip_test

rng = np.random.default_rng(50)


def yields(plan):
    return rng.normal(9.0, 1.0, plan.slots).round(2)


@settings(max_examples=25, deadline=None)
@given(st.integers(3, 8), st.integers(0, 2), st.booleans(), st.integers(0, 10**6))
def test_halves_equal_the_list(pairs, lost, equal, seed):
    plan = OrderPlan.complete(2, pairs)
    limits = [EqualOrdersLimit(pairs % 2)] if equal else []
    own = np.random.default_rng(seed)
    order = draw_order(plan, limits, own).order
    y = own.normal(9.0, 1.0, plan.slots).round(1)
    broken = own.choice(pairs, lost, replace=False).tolist()
    y[np.isin(plan.block_of_slot, broken)] = np.nan
    test = order_test(plan, limits, order, y, first=0, second=1, rng=own, broken=broken)
    reference = pair_set(plan, limits, order, 0, 1).without_blocks(broken)
    listed = listed_test(reference, y[reference.slots])
    assert test.how == "halves"
    assert test.exact
    assert test.standard_error == 0
    assert test.p_value == listed.p_value
    assert test.smallest_p == pytest.approx(listed.smallest_p)
    assert test.extreme * listed.total == listed.extreme * test.orders


def test_other_limits_are_listed():
    plan = OrderPlan.complete(2, 8)
    limits = [EqualOrdersLimit(), LinearLimit("bend", tuple(np.arange(16.0) ** 2), 30)]
    order = draw_order(plan, limits, np.random.default_rng(1)).order
    test = order_test(plan, limits, order, yields(plan), first=0, second=1, rng=rng)
    assert test.how == "list"
    assert test.orders == len(list_orders(plan, limits))


def test_two_of_three_methods_use_halves_when_the_draw_was_free():
    plan = OrderPlan.complete(3, 6)
    order = draw_order(plan, [], np.random.default_rng(2)).order
    y = yields(plan)
    y[order == 1] = np.nan
    test = order_test(plan, [], order, y, first=0, second=2, rng=rng)
    assert (test.how, test.orders) == ("halves", 64)
    limited = order_test(plan, [EqualOrdersLimit(6)], order, y, first=0, second=2, rng=rng)
    assert (limited.how, limited.p_value) == ("list", test.p_value)


def test_several_strips_of_a_method_in_a_block_are_listed():
    plan = OrderPlan(((0, 0, 1), (0, 1), (0, 0, 1)))
    order = [0, 1, 0, 1, 0, 0, 0, 1]
    test = order_test(plan, [], order, yields(plan), first=0, second=1, rng=rng)
    assert (test.how, test.orders) == ("list", 18)


def test_too_large_a_set_is_sampled_and_agrees():
    plan = OrderPlan.complete(2, 12)
    limits = [LinearLimit("trend", tuple(range(24)), 2.0)]
    order = draw_order(plan, limits, np.random.default_rng(3)).order
    y = yields(plan)
    listed = order_test(plan, limits, order, y, first=0, second=1, rng=rng)
    sampled = order_test(plan, limits, order, y, first=0, second=1, rng=np.random.default_rng(4), draws=5000, most=1000)
    assert listed.how == "list"
    assert (sampled.how, sampled.orders, sampled.exact) == ("sample", 5000, False)
    assert abs(sampled.p_value - listed.p_value) < 4 * sampled.standard_error  # fixed seed


def test_the_drawn_order_decides_the_sign_not_the_p():
    plan = OrderPlan.complete(2, 7)
    order = np.array([0, 1, 1, 0, 0, 1, 0, 1, 1, 0, 1, 0, 0, 1])
    y = yields(plan)
    one = order_test(plan, [], order, y, first=0, second=1, rng=rng)
    other = order_test(plan, [], order, y, first=1, second=0, rng=rng)
    assert one == other


@pytest.mark.parametrize(
    "change",
    [
        {"order": [0, 0, 1, 1, 0, 1]},
        {"limits": [EqualOrdersLimit()]},
        {"values": [1.0] * 5},
        {"values": [np.nan] * 6},
        {"broken": [0, 1, 2]},
        {"second": 3},
    ],
)
def test_bad_requests_are_refused(change):
    ask = {"order": [0, 1] * 3, "limits": [], "values": [1.0, 2.0] * 3, "broken": (), "second": 1} | change
    with pytest.raises(ValueError):
        order_test(
            OrderPlan.complete(2, 3),
            ask["limits"],
            ask["order"],
            ask["values"],
            first=0,
            second=ask["second"],
            rng=np.random.default_rng(1),
            broken=ask["broken"],
        )


def share_rejected(plan, limits, y, level, **lost):
    """Return the share of all orders the draw can give whose test rejects, the yields staying with their slots."""
    orders = list_orders(plan, limits)
    own = np.random.default_rng(1)
    p = [order_test(plan, limits, row, y, first=0, second=1, rng=own, **lost).p_value for row in orders]
    return float(np.mean(np.array(p) <= level))


@pytest.mark.parametrize("pairs", [6, 8])
@pytest.mark.parametrize("level", [0.05, 0.1, 0.2])
def test_projection_keeps_the_level_exactly(pairs, level):
    # Every drawn order in turn, block 2 lost whatever was drawn: an exact test never rejects more often than its level.
    plan, limits = OrderPlan.complete(2, pairs), [EqualOrdersLimit()]
    for seed in range(3):
        y = np.random.default_rng(seed).normal(9.0, 1.0, plan.slots).round(2)
        assert share_rejected(plan, limits, y, level, broken=[2]) <= level + 1e-12


def test_full_set_for_a_swapped_block_breaks_the_level_and_the_projection_does_not():
    # The project's statistical contract, section 3: a block sown the wrong way round, tested as sown over the full set,
    # rejects too often (7.9 %); projected 2.8 %. Here six and eight pairs, normal yields, 4,000 draws, standard error
    # at most 0.4 %.
    own = np.random.default_rng(60)
    rejected = {}
    for pairs in (6, 8):
        plan, limits = OrderPlan.complete(2, pairs), [EqualOrdersLimit()]
        signs = np.where(list_orders(plan, limits)[:, 1::2] == 1, 1, -1)
        lost_counts = count_weights(pairs, [pairs // 2], broken=1)
        full = projected = 0
        for _ in range(4000):
            drawn, d = signs[own.integers(len(signs))], own.normal(size=pairs)
            sown = drawn * np.where(np.arange(pairs) == 0, -1, 1)
            full += bool(np.mean(np.abs(signs @ d) >= abs(sown @ d) - 1e-9) <= 0.05)
            projected += counted_flip_test(d[1:], drawn[1:], lost_counts).p_value <= 0.05
        rejected[pairs] = (full / 4000, projected / 4000)
    assert rejected[6][0] > 0.06
    assert rejected[6][1] == 0.0  # 20 orders: smallest p 0.10
    assert rejected[8][1] == pytest.approx(0.0286, abs=0.011)  # 2 of 70 is attainable, four standard errors


def test_two_alike_methods_are_found_different_no_more_than_the_level_beside_a_third_that_differs():
    # The third method yields 3 more wherever it stands; it must not disturb the test of the other two.
    plan = OrderPlan.complete(3, 6)
    own = np.random.default_rng(61)
    rejected = 0
    for _ in range(1500):
        order = draw_order(plan, [], own).order
        y = own.normal(9.0, 1.0, plan.slots) + 3.0 * (order == 2)
        rejected += order_test(plan, [], order, y, first=0, second=1, rng=own).p_value <= 0.05
    assert rejected / 1500 == pytest.approx(2 / 64, abs=0.018)  # attainable level 0.031; four standard errors
