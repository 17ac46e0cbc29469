"""Counting orders by halves that meet in the middle: published counts, and the full list wherever it can be made."""

from math import comb, factorial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.numerics.order_counts import count_allowed
from evenground.numerics.order_limits import EqualOrdersLimit, LinearLimit, MahalanobisLimit, mahalanobis_bound
from evenground.numerics.orders import OrderPlan, list_orders


def place(slots):
    return tuple(float(i) for i in range(1, slots + 1))


def linear(slots, bound=0.0):
    return LinearLimit("trend", place(slots), bound)


def quadratic(slots, bound=0.0):
    return LinearLimit("hollow", tuple(p * p for p in place(slots)), bound)


@pytest.mark.parametrize(("pairs", "orders"), [(4, 6), (6, 20), (8, 70), (10, 252)])
def test_pairs_with_equal_numbers_of_ab_and_ba(pairs, orders):
    """Source: counts computed independently of this code for the project's collection of checks; exact."""
    assert count_allowed(OrderPlan.complete(2, pairs), [EqualOrdersLimit()]) == orders


@pytest.mark.parametrize("pairs", range(2, 21, 2))
def test_equal_orders_are_a_binomial_number(pairs):
    """Source: half of the pairs are AB: n choose n / 2, a textbook count; twenty pairs are 1,048,576 orders."""
    assert count_allowed(OrderPlan.complete(2, pairs), [EqualOrdersLimit()]) == comb(pairs, pairs // 2)


def test_a_trend_across_pairs_is_a_count_of_subset_sums():
    """In pairs AB adds +1 and BA -1 to twice the balance, whichever pair: within 2 of even, of 20 pairs, by hand."""
    allowed = sum(comb(20, k) for k in (9, 10, 11))
    assert count_allowed(OrderPlan.complete(2, 20), [linear(40, 1.0)]) == allowed


@pytest.mark.parametrize(("methods", "blocks"), [(2, 20), (3, 7), (4, 4)])
def test_without_limits_every_order_counts(methods, blocks):
    assert count_allowed(OrderPlan.complete(methods, blocks), []) == factorial(methods) ** blocks


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from([(0, 1), (0, 0, 1), (0, 1, 2), (0, 1, 1, 2)]), min_size=1, max_size=6),
    st.integers(0, 2),
    st.floats(0.0, 6.0),
    st.floats(0.1, 0.9),
    st.integers(0, 2**32 - 1),
)
def test_counting_is_listing(blocks, apart, bound, share, seed):
    """Every kind of limit alone and all together, on blocks of different sizes and unequal numbers."""
    plan = OrderPlan(tuple(blocks))
    if len(plan.methods) < 2 or plan.count() > 30_000:
        return
    rng = np.random.default_rng(seed)
    soil = tuple(tuple(row) for row in rng.normal(size=(plan.slots, 2)).tolist())
    limits = [
        EqualOrdersLimit(apart),
        linear(plan.slots, bound),
        quadratic(plan.slots, 4 * bound),
        LinearLimit("few", tuple(rng.integers(0, 2, plan.slots).astype(float).tolist()), 0.5),
    ]
    if len(blocks) > 2:
        limits.append(MahalanobisLimit("soil", soil, mahalanobis_bound(2, share)))
    for one in [*([limit] for limit in limits), limits, limits[::-1]]:
        assert count_allowed(plan, one) == len(list_orders(plan, one))


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 4))
def test_the_figures_of_two_halves_add_up_to_those_of_the_whole(seed, cut):
    plan, rng = OrderPlan(((0, 1), (0, 1, 2), (2, 1), (0, 0, 2), (1, 0))), np.random.default_rng(seed)
    orders = list_orders(plan)[rng.integers(0, plan.count(), 50)]
    soil = tuple(tuple(row) for row in rng.normal(size=(plan.slots, 2)).tolist())
    at = sum(map(len, plan.blocks[:cut]))
    for limit in (EqualOrdersLimit(1), linear(plan.slots, 3.0), MahalanobisLimit("soil", soil, 2.0)):
        whole = limit.sums(orders, plan.blocks, 0)
        left, right = limit.sums(orders[:, :at], plan.blocks, 0), limit.sums(orders[:, at:], plan.blocks, cut)
        for all_, one, two in zip(whole, left, right, strict=True):
            # sums of a dozen numbers of size one
            assert one + two == pytest.approx(all_, abs=1e-11)
        assert (limit.keeps(whole) == limit.allows(orders, plan.blocks)).all()


def test_orders_of_ten_blocks_of_two_by_two_are_counted_as_they_are_listed():
    """The set of a split plot: 1,048,576 orders of strips within twenty whole plots, all limits at once."""
    plan, rng = OrderPlan.complete(2, 20), np.random.default_rng(7)
    signs = tuple((float(s * at),) for s in rng.choice([-1, 1], 20) for at in (-0.5, 0.5))
    limits = [
        EqualOrdersLimit(2),
        linear(40, 3.0),
        quadratic(40, 60.0),
        LinearLimit("both_together", tuple(w for (w,) in signs), 4.0),
    ]
    assert count_allowed(plan, limits) == len(list_orders(plan, limits))


def test_too_many_orders_are_refused():
    with pytest.raises(ValueError, match="too many to count"):
        count_allowed(OrderPlan.complete(2, 30), [EqualOrdersLimit()])
    with pytest.raises(ValueError, match="plan has"):
        count_allowed(OrderPlan.complete(2, 4), [linear(6)])
