"""Published and independently counted randomisation tests and sets of orders.

Sources stand beside each check. Counts are whole numbers and must agree exactly.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from evenground.numerics.order_limits import (
    EqualOrdersLimit,
    LinearLimit,
    imbalance_left,
    mahalanobis_bound,
)
from evenground.numerics.orders import OrderPlan, list_orders
from evenground.numerics.reference_sets import listed_test, pair_set
from evenground.numerics.sign_flips import count_weights, counted_flip_test, sign_flip_test

DATA = Path(__file__).parent / "data"


def darwin():
    """Darwin, Effects of Cross and Self Fertilisation (1876), p. 16: heights of 15 pairs of maize plants [inch]."""
    with (DATA / "HistData_ZeaMays.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return np.array([[float(row["self"]), float(row["cross"])] for row in rows])


def test_darwin_counts():
    # 863 of 32,768 patterns reach the sum: Fisher, The Design of Experiments (1935), section 21 (from memory), and full
    # enumeration; of these 28 tie with it.
    heights = darwin()
    differences = heights[:, 1] - heights[:, 0]
    assert (differences * 8).tolist() == [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]
    test = sign_flip_test(differences)
    assert (test.extreme, test.total) == (2 * 863, 32_768)
    assert test.p_value == pytest.approx(0.0526733, abs=5e-8)  # digits given
    listed = listed_test(pair_set(OrderPlan.complete(2, 15), [], [0, 1] * 15, 0, 1), heights.ravel())
    assert (listed.extreme, listed.total) == (1726, 32_768)


def test_darwin_ties_counted_apart():
    # 835 patterns lie above the sum, 28 on it: leaving the ties out would give 1,670.
    eighths = np.array([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48])
    patterns = 1 - 2 * (np.arange(2**15)[:, np.newaxis] >> np.arange(15) & 1)
    sums = patterns @ eighths
    assert ((sums > 314).sum(), (sums == 314).sum()) == (835, 28)
    assert sign_flip_test(eighths).extreme == 2 * (835 + 28)


def test_two_barleys_on_51_farms():
    # Student, Biometrika 15 (1923) 271-293, stones per acre, read in an open collection of field-trial data. No
    # published exact count was found: the reference is polynomial counting in Python whole numbers, and p lies near
    # that of t, 0.00026, as it must for 51 pairs.
    differences = [
        68,
        39,
        20,
        16,
        8,
        16,
        -20,
        51,
        -9,
        -1,
        -10,
        23,
        -5,
        29,
        -38,
        40,
        41,
        54,
        -26,
        7,
        27,
        -11,
        14,
        2,
        18,
        46,
    ]
    differences += [
        -23,
        10,
        -9,
        6,
        -20,
        19,
        27,
        25,
        50,
        0,
        -10,
        50,
        31,
        3,
        27,
        47,
        16,
        -15,
        -22,
        3,
        22,
        17,
        30,
        -17,
        16,
    ]
    assert len(differences) == 51
    counts = {0: 1}
    for d in differences:
        after = dict.fromkeys((s + sign * d for s in counts for sign in (1, -1)), 0)
        for s, c in counts.items():
            after[s + d] += c
            after[s - d] += c
        counts = after
    test = sign_flip_test(differences)
    assert test.extreme == sum(c for s, c in counts.items() if abs(s) >= sum(differences))
    assert test.total == 2**51
    assert 0.0001 < test.p_value < 0.0005


@pytest.mark.parametrize(("pairs", "smallest"), [(3, 0.25), (4, 0.125), (5, 0.0625), (6, 0.03125), (8, 0.0078125)])
def test_smallest_p_of_free_pairs(pairs, smallest):
    # Two of 2^n orders: counting. Fewer than six pairs can never reach 0.05.
    test = sign_flip_test(np.arange(1, pairs + 1))
    assert test.p_value == test.smallest_p == smallest
    assert pair_set(OrderPlan.complete(2, pairs), [], [0, 1] * pairs, 0, 1).smallest_p() == smallest


def test_smallest_p_of_four_against_four_strips():
    plan = OrderPlan.one_block([4, 4])
    assert plan.count() == 70
    assert pair_set(plan, [], [0, 0, 0, 0, 1, 1, 1, 1], 0, 1).smallest_p() == pytest.approx(2 / 70)


@pytest.mark.parametrize(
    ("order", "imbalance"),
    [
        ("ABABABAB", (1, 9, 76)),
        ("ABBAABBA", (0, -2, -27)),
        ("ABBABAAB", (0, 0, 12)),
        ("AABBAABB", (2, 18, 149)),
        ("AAAABBBB", (4, 36, 274)),
    ],
)
def test_orders_against_smooth_trends(order, imbalance):
    # Mean of B minus mean of A where the yield is x, x^2, x^3 at places 1 to 8: computed from the definition. The sums
    # the limits look at are twice the difference of means for four strips of each.
    row = np.array([["AB".index(c) for c in order]], dtype=np.uint8)
    x = np.arange(1.0, 9.0)
    for power, expected in zip((1, 2, 3), imbalance, strict=True):
        assert (x**power)[row[0] == 1].mean() - (x**power)[row[0] == 0].mean() == expected
        limit = LinearLimit("trend", tuple(x**power), 0.0)
        assert limit.imbalance(row)[0] == pytest.approx(2 * abs(expected), abs=1e-9)  # rounding of sums of 512 at most


def test_spread_of_free_pairs_over_a_trend():
    # SD of mean(B) - mean(A) per unit of slope: 1 / sqrt(n) within pairs, 1.7321 for 4 against 4 anywhere.
    for plan, sd in [
        (OrderPlan.complete(2, 4), 0.5),
        (OrderPlan.complete(2, 6), 0.4082),
        (OrderPlan.one_block([4, 4]), 1.7321),
    ]:
        orders, x = list_orders(plan), np.arange(plan.slots)
        difference = ((orders == 1) @ x - (orders == 0) @ x) / (plan.slots / 2)
        assert difference.mean() == pytest.approx(0, abs=1e-12)
        assert difference.std() == pytest.approx(sd, abs=5e-5)  # digits given


def test_balanced_orders_of_eight_and_twelve_strips():
    eight, places = OrderPlan.one_block([4, 4]), tuple(range(1, 9))
    equal_sums = LinearLimit("trend", places, 0)
    orders = list_orders(eight, [equal_sums])
    sets = {tuple(np.flatnonzero(row == 1) + 1) for row in orders}
    expected = ["1278", "1368", "1458", "1467", "2358", "2367", "2457", "3456"]
    assert sets == {tuple(int(c) for c in word) for word in expected}
    assert pair_set(eight, [equal_sums], orders[0], 0, 1).smallest_p() == 0.25
    both = [equal_sums, LinearLimit("bend", tuple(p**2 for p in places), 0)]
    left = list_orders(eight, both)
    assert {tuple(np.flatnonzero(row == 1) + 1) for row in left} == {(1, 4, 6, 7), (2, 3, 5, 8)}
    assert pair_set(eight, both, left[0], 0, 1).smallest_p() == 1.0
    twelve = OrderPlan.one_block([6, 6])
    assert twelve.count() == 924
    assert len(list_orders(twelve, [LinearLimit("trend", tuple(range(1, 13)), 0)])) == 58


@pytest.mark.parametrize(
    ("pairs", "kept", "smallest"), [(4, 6, 0.333), (6, 20, 0.10), (8, 70, 0.0286), (10, 252, 0.0079)]
)
def test_pairs_with_equal_numbers_of_both_orders(pairs, kept, smallest):
    plan, limits = OrderPlan.complete(2, pairs), [EqualOrdersLimit()]
    orders = list_orders(plan, limits)
    assert (len(orders), plan.count()) == (kept, 2**pairs)
    assert pair_set(plan, limits, orders[0], 0, 1).smallest_p() == pytest.approx(smallest, abs=5e-4)  # digits given
    signs = np.where(orders[0][1::2] == 1, 1, -1)
    counted = counted_flip_test(np.arange(1, pairs + 1), signs, count_weights(pairs, [pairs // 2]))
    assert counted.total == kept
    assert counted.smallest_p == pytest.approx(2 / kept)


def test_eight_pairs_under_tight_limits_cannot_reject():
    # The project's statistical contract: 0.056 when only the best tenth by curvature is kept (ties whole: 36 of 256),
    # 0.25 when both the numbers of AB and BA and their places are balanced (8 of 256).
    plan, places = OrderPlan.complete(2, 8), np.arange(1.0, 17.0)
    bend = LinearLimit("bend", tuple(places**2), 0)
    imbalance = bend.imbalance(list_orders(plan))
    tenth = np.sort(imbalance)[int(np.ceil(0.1 * 256)) - 1]
    best = [LinearLimit("bend", bend.weights, float(tenth))]
    orders = list_orders(plan, best)
    assert len(orders) == 36
    assert pair_set(plan, best, orders[0], 0, 1).smallest_p() == pytest.approx(0.056, abs=5e-4)
    balanced = [EqualOrdersLimit(), bend]
    orders = list_orders(plan, balanced)
    assert pair_set(plan, balanced, orders[0], 0, 1).smallest_p() == 0.25


@pytest.mark.parametrize(
    ("covariates", "share", "bound", "left"),
    [
        (1, 0.1, 0.0157908, 0.00525252),
        (2, 0.1, 0.2107210, 0.0517554),
        (5, 0.01, 0.5542981, 0.0777622),
        (10, 0.1, 4.8651821, 0.3766910),
        (10, 0.001, 1.4787435, 0.1209210),
    ],
)
def test_rerandomisation_table(covariates, share, bound, left):
    # Morgan & Rubin, Annals of Statistics 40 (2012) 1263-1282: formula from memory, numbers computed apart from this
    # code; the last row is the paper's example (a = 1.48, 88 % reduction; from memory).
    assert mahalanobis_bound(covariates, share) == pytest.approx(bound, abs=5e-8)  # digits given
    assert imbalance_left(covariates, bound) == pytest.approx(left, rel=2e-6)  # bound given to 7 decimals


def test_rerandomisation_lowers_the_variance_of_a_gain():
    # k = 10, share 0.001, R^2 = 0.5: 43.954 % lower (same source, computed).
    assert 100 * (1 - imbalance_left(10, mahalanobis_bound(10, 0.001))) * 0.5 == pytest.approx(43.954, abs=5e-4)
