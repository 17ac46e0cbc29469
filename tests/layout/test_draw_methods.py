"""The draw: uniform over the allowed orders, the same set again from the stored record, counts as published."""

from collections import Counter
from datetime import UTC, datetime
from itertools import permutations, product
from math import comb, factorial

import numpy as np
import pytest
from scipy.special import gammaincc
from tests import small_trial as small
from tests.layout import fields

from evenground.basis.strip import AppliedLimit
from evenground.layout.draw import allowed_set, draw_methods, pair_patterns_of
from evenground.layout.laid_out import lay_out, make_draw
from evenground.layout.limits import fix_limits, limits_again
from evenground.numerics.orders import OrderPlan
from evenground.numerics.reference_sets import listed_test

FIELD = fields.field(fields.rectangle(150, 200))


def drawn(letters="AB", *, seed=1, **wishes):
    plan = fields.plan(letters, heading_deg=0.0, **wishes)
    return make_draw(
        plan, lay_out(plan, FIELD), seed=seed, drawn_at=datetime(2025, 3, 1, tzinfo=UTC), plan_hash="0", version="0"
    )


def rows(orders):
    return {tuple(row) for row in orders.tolist()}


# Pairs with equal numbers of AB and BA: comb(n, n/2) of 2^n orders, computed counts of restricted randomisation
# (8 pairs 70, min p 0.0286; 10 pairs 252, min p 0.0079). Whole numbers, so no tolerance. Eight pairs would pass 5 % but
# leave no reserve (1 %), so they are balanced less: 238 orders have at least two pairs of either kind.
@pytest.mark.parametrize(("blocks", "orders", "most_apart"), [(8, 256 - 2 * (1 + 8), 4), (10, 252, 0), (12, 924, 0)])
def test_equal_numbers_of_ab_and_ba(blocks, orders, most_apart):
    got = draw_methods(fields.plan(limits=["equal_orders"]), blocks, np.random.default_rng(1))
    assert (got.allowed_orders, got.listed, got.can_reject) == (orders, True, True)
    assert got.smallest_p == pytest.approx(2 / orders, rel=1e-12)
    assert got.limits[0].bound == most_apart


def test_six_pairs_are_not_forced_into_equal_numbers():
    # 20 of 64 orders would leave p = 0.10; four to two at most leaves 50 orders and p = 0.04.
    got = draw_methods(fields.plan(limits=["equal_orders"]), 6, np.random.default_rng(1))
    assert (got.allowed_orders, got.limits[0].bound) == (50, 2.0)
    assert got.smallest_p == pytest.approx(0.04)
    assert "at least 2 of 6 blocks" in got.limits[0].reason


@pytest.mark.parametrize(("blocks", "smallest"), [(3, 0.25), (4, 0.125), (5, 0.0625), (6, 0.03125), (8, 0.0078125)])
def test_smallest_p_of_free_pairs(blocks, smallest):
    # 2 / 2^n: published table of sign flips.
    got = draw_methods(fields.plan(limits=[]), blocks, np.random.default_rng(1))
    assert got.smallest_p == smallest
    assert got.can_reject == (blocks >= 6)


@pytest.mark.parametrize("letters", ["AB", "ABC"])
def test_every_allowed_order_is_equally_likely(letters):
    plan = fields.plan(letters, limits=["equal_orders", "linear_trend"])
    blocks = {"AB": 6, "ABC": 2}[letters]
    rng = np.random.default_rng(20250301)
    allowed = draw_methods(plan, blocks, rng).allowed_orders
    # Twenty draws an order: chi-square is then a good approximation.
    counts = Counter(draw_methods(plan, blocks, rng).letters for _ in range(20 * allowed))
    assert len(counts) == allowed
    expected = sum(counts.values()) / allowed
    chi2 = sum((n - expected) ** 2 for n in counts.values()) / expected
    # Upper tail of chi-square; the seed is fixed, so this is decided once. One in a thousand would be a bad draw.
    assert gammaincc((allowed - 1) / 2, chi2 / 2) > 0.001


def test_limits_do_not_depend_on_the_draw():
    plan = fields.plan("ABC")
    first, second = (draw_methods(plan, 9, np.random.default_rng(seed)) for seed in (1, 2))
    assert first.letters != second.letters
    assert first.limits == second.limits


@pytest.mark.parametrize("letters", ["AB", "ABC"])
def test_the_stored_draw_gives_the_same_set_again(letters):
    draw = drawn(letters, blocks=6)
    whole = allowed_set(draw)
    assert whole.strips == tuple(range(1, len(draw.strips) + 1))
    assert [whole.letters[code] for code in whole.order] == [strip.method for strip in draw.strips]
    listed = whole.listed()
    assert len(listed) == draw.allowed_orders
    assert tuple(whole.order.tolist()) in rows(listed)


@pytest.mark.parametrize("letters", ["AB", "ABC"])
def test_the_set_is_closed_under_swapping_methods(letters):
    listed = allowed_set(drawn(letters, blocks=6)).listed()
    before = rows(listed)
    for names in permutations(range(len(letters))):
        assert rows(np.array(names)[listed]) == before


def test_no_allowed_order_breaks_a_limit_and_none_is_left_out():
    draw = drawn(blocks=9, limits=["equal_orders", "quadratic_trend"])
    bound = {limit.name: limit.bound for limit in draw.limits if limit.applied}
    assert set(bound) == {"equal_orders", "quadratic_trend"}
    place = np.arange(18) - 8.5
    by_hand = set()
    for flips in product((0, 1), repeat=9):
        order = np.array([code for flip in flips for code in ((1, 0) if flip else (0, 1))])
        ridge = abs((order == 0) @ (place**2 - (place**2).mean()))
        if abs(2 * sum(flips) - 9) <= bound["equal_orders"] and ridge <= bound["quadratic_trend"] + 1e-9:
            by_hand.add(tuple(order.tolist()))
    assert rows(allowed_set(draw).listed()) == by_hand


def test_two_methods_are_tested_over_the_whole_set():
    draw = drawn(blocks=9, limits=["equal_orders"])
    pairs = pair_patterns_of(draw, "B", "A")
    # Nine pairs: five of one kind and four of the other.
    assert len(pairs.rows) == draw.allowed_orders == 2 * comb(9, 4)
    assert (pairs.rows == pairs.observed).all(axis=1).sum() == 1
    assert [1 if strip.method == "B" else -1 for strip in draw.strips] == pairs.observed.tolist()
    assert pairs.smallest_p() == pytest.approx(draw.smallest_p)


def test_the_largest_gain_reaches_the_smallest_p_and_its_sign_is_the_methods():
    draw = drawn(blocks=9, limits=["equal_orders"])
    pairs = pair_patterns_of(draw, "B", "A")
    yields = np.array([10.0 + (strip.method == "B") * (1 + strip.block / 7) for strip in draw.strips])
    assert pairs.observed @ yields[pairs.slots] > 0
    assert listed_test(pairs, yields[pairs.slots]).p_value == pytest.approx(2 / 252)


def test_broken_blocks_leave_the_test_and_orders_keep_their_number():
    draw = drawn(blocks=9, limits=["equal_orders"])
    left = pair_patterns_of(draw, "B", "A", usable_blocks=[1, 2, 4, 5, 6, 7, 8, 9])
    assert left.rows.shape == (252, 16)
    # Of the other eight: four of each kind twice (the lost one may be either), five to three once.
    assert Counter(Counter(map(tuple, left.rows.tolist())).values()) == {2: comb(8, 4), 1: 2 * comb(8, 3)}


def test_with_three_methods_the_third_stays_where_it_is():
    draw = drawn("ABC", blocks=6, limits=[])
    pairs = pair_patterns_of(draw, "C", "A")
    assert pairs.rows.shape == (2**6, 12)
    assert {draw.strips[slot].method for slot in pairs.slots} == {"A", "C"}


def test_letters_that_were_not_drawn_are_refused():
    with pytest.raises(ValueError, match="method Z is not in the draw; it holds A, B"):
        pair_patterns_of(small.draw(), "Z", "A")


def test_a_block_torn_apart_is_refused():
    draw = small.draw()
    strips = (draw.strips[0], draw.strips[2], draw.strips[1], *draw.strips[3:])
    torn = [s.model_copy(update={"strip": i}) for i, s in enumerate(strips, start=1)]
    with pytest.raises(ValueError, match="neighbouring numbers"):
        allowed_set(draw.model_copy(update={"strips": tuple(torn)}))


def test_an_unrestricted_set_counts_every_order():
    draw = small.draw()
    assert len(allowed_set(draw).listed()) == factorial(2) ** 8


@pytest.mark.parametrize(("methods", "blocks"), [(3, 5), (4, 4), (3, 2)])
def test_too_few_blocks_of_many_methods_are_drawn_freely(methods, blocks):
    fixed = fix_limits(OrderPlan.complete(methods, blocks), ("equal_orders", "linear_trend"), 0)
    assert fixed.limits == ()
    assert not fixed.cost.can_reject
    assert all("cannot reach 5 % in any case" in one.reason for one in fixed.applied)


def test_limits_are_kept_in_their_order_and_dropped_in_words():
    fixed = fix_limits(OrderPlan.complete(2, 9), ("equal_orders", "linear_trend", "edge", "quadratic_trend"), 0)
    assert [(one.name, one.applied) for one in fixed.applied] == [
        ("equal_orders", True), ("linear_trend", True), ("edge", False), ("quadratic_trend", True),
    ]  # fmt: skip
    assert all(one.reason.endswith(".") for one in fixed.applied)
    assert limits_again(fixed.applied, 18) == fixed.limits


def test_limits_that_cannot_be_read_back_are_refused():
    with pytest.raises(ValueError, match="there is no limit moon"):
        limits_again([AppliedLimit(name="moon", bound=1.0, applied=True)], 8)
    with pytest.raises(ValueError, match="linear_trend has no bound"):
        limits_again([AppliedLimit(name="linear_trend", applied=True)], 8)
