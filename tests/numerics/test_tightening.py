"""Limits are tightened as far as the test can bear, and what was dropped is said."""

import numpy as np
import pytest

from evenground.numerics.order_limits import EqualOrdersLimit, LinearLimit
from evenground.numerics.orders import OrderPlan, draw_order, list_orders
from evenground.numerics.reference_sets import pair_set
from evenground.numerics.tightening import ladder_of_shares, tighten


def trend(plan, *bounds):
    return [LinearLimit("trend", tuple(np.arange(plan.slots, dtype=float)), b) for b in bounds]


def test_six_pairs_give_up_equal_orders():
    # 6 pairs with equal AB and BA: 20 orders, smallest p 0.10; at most two apart: 50 orders, 0.04.
    plan = OrderPlan.complete(2, 6)
    chosen = tighten(plan, [[EqualOrdersLimit(0), EqualOrdersLimit(2)]], np.random.default_rng(1))
    assert chosen.rungs == (1,)
    assert (chosen.orders, chosen.exact) == (50, True)
    assert chosen.smallest_p == pytest.approx(2 / 50)
    assert chosen.can_reject
    only_strict = tighten(plan, [[EqualOrdersLimit(0)]], np.random.default_rng(1))
    assert only_strict.limits == ()
    assert only_strict.dropped == ("equal numbers of AB and BA",)
    assert only_strict.smallest_p == pytest.approx(2 / 64)


def test_eight_pairs_keep_equal_orders_and_loosen_the_trend():
    plan = OrderPlan.complete(2, 8)
    ladders = [[EqualOrdersLimit(0)], [LinearLimit("bend", tuple(np.arange(16.0) ** 2), b) for b in (0, 20, 30, 99)]]
    chosen = tighten(plan, ladders, np.random.default_rng(1))
    assert chosen.rungs[0] == 0
    assert chosen.rungs[1] not in (0, None)  # rung 0 leaves 8 orders, smallest p 0.25
    assert chosen.smallest_p <= 0.05
    stricter = [chosen.limits[0], ladders[1][chosen.rungs[1] - 1]]
    assert 2 / len(list_orders(plan, stricter)) > 0.05
    assert chosen.smallest_p == pytest.approx(2 / len(list_orders(plan, chosen.limits)))


def test_importance_decides_who_is_kept():
    plan = OrderPlan.complete(2, 6)
    one, other = [EqualOrdersLimit(2)], [LinearLimit("bend", tuple(np.arange(12.0) ** 2), 22)]
    first = tighten(plan, [one, other], np.random.default_rng(1))
    second = tighten(plan, [other, one], np.random.default_rng(1))
    assert first.limits[0] == one[0]
    assert second.limits[0] == other[0]


@pytest.mark.parametrize("pairs", [3, 4, 5])
def test_too_few_blocks_are_told_beforehand(pairs):
    plan = OrderPlan.complete(2, pairs)
    chosen = tighten(plan, [trend(plan, 0.5, 1.5, 5)], np.random.default_rng(1))
    assert not chosen.can_reject
    assert chosen.smallest_p > 0.05
    assert chosen.orders >= 8


def test_three_methods_are_judged_by_the_orders_that_leave_the_third():
    plan = OrderPlan.complete(3, 8)
    chosen = tighten(plan, [trend(plan, 2, 6, 12, 100)], np.random.default_rng(5))
    assert chosen.can_reject
    assert chosen.rungs[0] is not None
    assert chosen.share_can_reject >= 0.9
    assert not chosen.exact
    rng = np.random.default_rng(6)
    reach = []
    for _ in range(20):
        order = draw_order(plan, chosen.limits, rng).order
        reach.append(max(pair_set(plan, chosen.limits, order, 0, m).smallest_p() for m in (1, 2)) <= 0.05)
    assert sum(reach) >= 14  # at share 0.9 fewer than 14 of 20 has probability 0.002 (binomial)


def test_large_sets_are_estimated():
    plan = OrderPlan.complete(2, 24)
    chosen = tighten(plan, [[EqualOrdersLimit(0)]], np.random.default_rng(2))
    # comb(24, 12) = 2,704,156 of 2^24; 20,000 sampled orders, share 0.16: relative error 1.6 %, four of them.
    assert chosen.orders == pytest.approx(2_704_156, rel=0.065)
    assert not chosen.exact
    assert chosen.smallest_p < 1e-5


def test_no_ladders_and_empty_ladders_keep_the_free_draw():
    plan = OrderPlan.complete(2, 6)
    for ladders in ([], [[]]):
        chosen = tighten(plan, ladders, np.random.default_rng(1))
        assert chosen.limits == ()
        assert chosen.orders == 64


def test_impossible_limits_are_dropped():
    plan = OrderPlan.complete(2, 7)
    chosen = tighten(plan, [[EqualOrdersLimit(0)]], np.random.default_rng(1))
    assert chosen.rungs == (None,)


def test_ladder_keeps_ties_whole():
    plan = OrderPlan.complete(2, 8)
    limit = LinearLimit("bend", tuple(np.arange(16.0) ** 2), 0)
    imbalance = limit.imbalance(list_orders(plan))
    bounds = ladder_of_shares(imbalance, [0.1, 0.25, 1.0])
    assert all((imbalance <= b).mean() >= s for b, s in zip(bounds, (0.1, 0.25, 1.0), strict=True))
    assert (imbalance < bounds[0]).mean() < 0.1


@pytest.mark.parametrize(
    "call",
    [
        lambda: tighten(OrderPlan.complete(2, 4), [], np.random.default_rng(1), baseline=7),
        lambda: tighten(OrderPlan(((0, 0),)), [], np.random.default_rng(1)),
        lambda: ladder_of_shares([], [0.5]),
        lambda: ladder_of_shares([1.0], [0.0]),
    ],
)
def test_bad_requests_are_refused(call):
    with pytest.raises(ValueError):
        call()
