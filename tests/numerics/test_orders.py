"""Lists and draws of orders: complete, without repeats, uniform."""

from collections import Counter
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.numerics.order_limits import EqualOrdersLimit, LinearLimit
from evenground.numerics.orders import OrderPlan, draw_order, list_orders, sample_allowed, sample_orders

plans = st.lists(st.lists(st.integers(0, 2), min_size=1, max_size=4).map(tuple), min_size=1, max_size=3).map(
    lambda blocks: OrderPlan(tuple(blocks))
)


@settings(max_examples=40, deadline=None)
@given(plans)
def test_list_is_every_distinct_arrangement_once(plan):
    listed = [tuple(row) for row in list_orders(plan).tolist()]
    expected = [()]
    for block in plan.blocks:
        expected = [head + tail for head in expected for tail in sorted(set(permutations(block)))]
    assert listed == expected
    assert len(listed) == plan.count()


@settings(max_examples=40, deadline=None)
@given(plans, st.integers(0, 1000))
def test_a_drawn_order_is_one_of_the_plan(plan, seed):
    orders = sample_orders(plan, np.random.default_rng(seed), 5)
    assert all(plan.holds(row) for row in orders)


def test_plan_knows_its_slots():
    plan = OrderPlan(((0, 1, 2), (0, 1)))
    assert plan.slots == 5
    assert plan.methods == (0, 1, 2)
    assert plan.block_of_slot.tolist() == [0, 0, 0, 1, 1]
    assert not plan.holds([0, 1, 2, 0, 0])
    assert not plan.holds([0, 1, 2])


def test_draw_is_uniform_over_the_allowed_orders():
    plan = OrderPlan.complete(2, 4)
    limits = [EqualOrdersLimit()]
    orders, tries = sample_allowed(plan, limits, np.random.default_rng(11), 6000)
    counts = Counter(map(tuple, orders.tolist()))
    assert len(counts) == 6
    # Chi-square with 5 df stays below 20.5 with probability 0.999 (table value).
    assert sum((c - 1000) ** 2 / 1000 for c in counts.values()) < 20.5
    # 6 of 16 orders are kept: tries are 16000 with a standard deviation of 163 (negative binomial); five of them.
    assert abs(tries - 16_000) < 5 * 163


def test_same_generator_same_order():
    plan = OrderPlan.complete(3, 5)
    limits = [LinearLimit("trend", tuple(range(15)), 8.0)]
    one = draw_order(plan, limits, np.random.default_rng(4))
    two = draw_order(plan, limits, np.random.default_rng(4))
    assert one.order.tolist() == two.order.tolist()
    assert one.tries == two.tries >= 1
    assert limits[0].allows(one.order[np.newaxis], plan.blocks).all()


def test_swapping_methods_of_equal_number_stays_inside():
    plan = OrderPlan.complete(3, 3)
    limits = [EqualOrdersLimit(1), LinearLimit("trend", tuple(range(9)), 2.0)]
    orders = list_orders(plan, limits)
    assert 0 < len(orders) < plan.count()
    kept = set(map(tuple, orders.tolist()))
    for swap in permutations(range(3)):
        assert {tuple(swap[m] for m in row) for row in kept} == kept


@pytest.mark.parametrize(
    "call",
    [
        lambda: OrderPlan(()),
        lambda: OrderPlan(((0, 1), ())),
        lambda: OrderPlan(((0, 256),)),
        lambda: list_orders(OrderPlan.complete(2, 30)),
        lambda: draw_order(OrderPlan.complete(2, 3), [EqualOrdersLimit()], np.random.default_rng(1), most_tries=200),
    ],
)
def test_impossible_plans_and_limits_are_refused(call):
    with pytest.raises(ValueError):
        call()
