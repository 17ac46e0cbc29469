"""Limits say what they mean, and the moments behind the distance equal those of the whole list of orders."""

from itertools import combinations

import numpy as np
import pytest

from evenground.numerics.order_limits import (
    EqualOrdersLimit,
    LinearLimit,
    MahalanobisLimit,
    allowed,
    imbalance_left,
    mahalanobis_bound,
)
from evenground.numerics.orders import OrderPlan, list_orders

plan_of_pairs = OrderPlan.complete(2, 5)
covariates = tuple(map(tuple, np.random.default_rng(8).normal(size=(10, 2)).round(3).tolist()))


def test_linear_imbalance_by_hand():
    # ABBA at places 1..4: A has 1 + 4, B 2 + 3, the fair share is 5. AABB: A has 3, so 2 off.
    limit = LinearLimit("trend", (1.0, 2.0, 3.0, 4.0), 1.0)
    orders = np.array([[0, 1, 1, 0], [0, 0, 1, 1]], dtype=np.uint8)
    assert limit.imbalance(orders).tolist() == [0.0, 2.0]
    assert limit.allows(orders, ((0, 0, 1, 1),)).tolist() == [True, False]


def test_linear_limit_holds_for_every_method():
    plan = OrderPlan.complete(3, 2)
    limit = LinearLimit("edge", (1.0, 0, 0, 0, 0, 1.0), 0.7)
    kept = list_orders(plan, [limit])
    # A method on both ends has 2 - 2/3 too much; with two different ones on the ends the third lacks 2/3.
    assert len(kept) == 24
    assert (kept[:, 0] != kept[:, 5]).all()


def test_equal_orders_counts_blocks():
    orders = list_orders(plan_of_pairs, [EqualOrdersLimit(1)])
    ab = (orders[:, ::2] == 0).sum(axis=1)
    assert sorted(set(ab.tolist())) == [2, 3]
    assert len(orders) == 20
    assert len(list_orders(plan_of_pairs, [EqualOrdersLimit(0)])) == 0


def test_equal_orders_of_every_two_methods():
    plan = OrderPlan.complete(3, 2)
    for row in list_orders(plan, [EqualOrdersLimit()]).tolist():
        one, two = row[:3], row[3:]
        for a, b in combinations(range(3), 2):
            assert (one.index(a) < one.index(b)) != (two.index(a) < two.index(b))


def test_equal_mean_places_count_for_neither():
    plan = OrderPlan(((0, 1, 1, 0),))
    orders = np.array([[0, 1, 1, 0], [0, 1, 0, 1]], dtype=np.uint8)
    assert EqualOrdersLimit().allows(orders, plan.blocks).tolist() == [True, False]


@pytest.mark.parametrize(
    "plan",
    [plan_of_pairs, OrderPlan.one_block([5, 5]), OrderPlan(((0, 0, 1), (0, 1, 1, 1), (0, 1, 0)))],
)
def test_distance_has_the_mean_of_its_dimension(plan):
    # d' C^-1 d averages to the number of covariates exactly when C is the covariance of d over the whole list.
    limit = MahalanobisLimit("soil", covariates, 1.0)
    m = limit.distance(list_orders(plan), plan.blocks, 0, 1)
    assert m.mean() == pytest.approx(2.0, rel=1e-9)  # rounding of a mean over at most some hundred orders
    assert m.min() >= 0


def test_distance_equals_covariance_of_the_list():
    orders = list_orders(plan_of_pairs)
    x = np.array(covariates)
    d = ((orders == 1) @ x - (orders == 0) @ x) / 5
    c = np.cov(d.T, bias=True)
    expected = np.einsum("ij,jk,ik->i", d, np.linalg.inv(c), d)
    limit = MahalanobisLimit("soil", covariates, 1.0)
    assert limit.distance(orders, plan_of_pairs.blocks, 0, 1) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_bound_keeps_about_its_share_and_lowers_the_variance():
    rng = np.random.default_rng(9)
    plan = OrderPlan.one_block([8, 8])
    x = tuple(map(tuple, rng.normal(size=(16, 2)).tolist()))
    limit = MahalanobisLimit("soil", x, mahalanobis_bound(2, 0.1))
    orders = list_orders(plan)
    kept = limit.allows(orders, plan.blocks)
    # 12,870 orders of 16 slots are not quite normal: within 0.03 of the share of 0.10 is what can be expected.
    assert kept.mean() == pytest.approx(0.1, abs=0.03)
    m = limit.distance(orders, plan.blocks, 0, 1)
    assert m[kept].mean() / m.mean() == pytest.approx(imbalance_left(2, limit.bound), abs=0.02)


def test_limits_together_equal_limits_one_by_one():
    orders = list_orders(plan_of_pairs)
    limits = [EqualOrdersLimit(1), LinearLimit("trend", tuple(range(10)), 1.5), MahalanobisLimit("soil", covariates, 2)]
    apart = np.all([limit.allows(orders, plan_of_pairs.blocks) for limit in limits], axis=0)
    assert allowed(limits, orders, plan_of_pairs.blocks).tolist() == apart.tolist()
    assert allowed([], orders, plan_of_pairs.blocks).all()


@pytest.mark.parametrize(
    "call",
    [
        lambda o: LinearLimit("trend", (1.0, 2.0), 0).allows(o, plan_of_pairs.blocks),
        lambda o: MahalanobisLimit("soil", covariates[:3], 1).allows(o, plan_of_pairs.blocks),
        lambda o: MahalanobisLimit("soil", tuple((float(i), 2.0 * i) for i in range(10)), 1).allows(
            o, OrderPlan.one_block([5, 5]).blocks
        ),
        lambda o: mahalanobis_bound(0, 0.1),
        lambda o: mahalanobis_bound(2, 1.0),
        lambda o: imbalance_left(2, 0.0),
    ],
)
def test_bad_limits_are_refused(call):
    with pytest.raises(ValueError):
        call(list_orders(plan_of_pairs))
