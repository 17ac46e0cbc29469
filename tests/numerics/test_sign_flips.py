"""Meeting in the middle counts what a plain walk over all patterns counts, ties included."""

from fractions import Fraction
from itertools import product
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.numerics.sign_flips import (
    block_options,
    count_weights,
    counted_flip_test,
    option_test,
    sign_flip_test,
)

small_whole = st.integers(-6, 6)


def walk(differences, weight=lambda signs: 1):
    """Count by walking over all patterns in whole numbers."""
    observed = abs(sum(differences))
    extreme = total = 0
    for signs in product((-1, 1), repeat=len(differences)):
        w = weight(signs)
        total += w
        extreme += w * (abs(sum(s * d for s, d in zip(signs, differences, strict=True))) >= observed)
    return extreme, total


@settings(max_examples=60, deadline=None)
@given(st.lists(small_whole, min_size=1, max_size=9), st.integers(0, 3))
def test_all_patterns_equal_the_walk_with_ties(d, places):
    test = sign_flip_test([x / 10**places for x in d])
    assert (test.extreme, test.total) == walk(d)
    assert test.in_integers
    assert test.p_value == test.extreme / test.total


@settings(max_examples=40, deadline=None)
@given(st.lists(small_whole, min_size=1, max_size=9))
def test_tolerance_counts_ties_of_thirds(d):
    # Thirds have no decimal form, so this goes through floating point and the 2 n eps sum|d| rule.
    test = sign_flip_test(np.array(d) / 3 * np.sqrt(2))
    assert (test.extreme, test.total) == walk(d)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_counted_patterns_equal_the_walk(data):
    n = data.draw(st.integers(1, 8))
    e = data.draw(st.lists(small_whole, min_size=n, max_size=n))
    signs = data.draw(st.lists(st.sampled_from([-1, 1]), min_size=n, max_size=n))
    weights = data.draw(st.lists(st.integers(0, 3), min_size=n + 1, max_size=n + 1))
    weights[signs.count(1)] = 2
    test = counted_flip_test(e, signs, weights)
    observed = abs(sum(s * x for s, x in zip(signs, e, strict=True)))
    extreme = sum(
        weights[p.count(1)]
        for p in product((-1, 1), repeat=n)
        if abs(sum(s * x for s, x in zip(p, e, strict=True))) >= observed
    )
    assert test.extreme == extreme
    assert test.total == sum(w * comb(n, c) for c, w in enumerate(weights))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(small_whole, min_size=1, max_size=4), min_size=1, max_size=5), st.data())
def test_options_equal_the_walk(options, data):
    drawn = [data.draw(st.integers(0, len(block) - 1)) for block in options]
    test = option_test([np.array(b) / 10 for b in options], drawn)
    observed = abs(sum(b[i] for b, i in zip(options, drawn, strict=True)))
    sums = [abs(sum(way)) for way in product(*options)]
    assert (test.extreme, test.total) == (sum(s >= observed for s in sums), len(sums))


def test_signs_are_the_simplest_options():
    d = np.array([1.2, -0.7, 3.1, 0.4, 2.2])
    by_options = option_test([(x, -x) for x in d], [0] * 5)
    by_signs = sign_flip_test(d)
    assert (by_options.extreme, by_options.total) == (by_signs.extreme, by_signs.total)
    assert by_options.smallest_p == by_signs.smallest_p == 2 / 32


def test_block_with_two_strips_of_each_method():
    options, observed = block_options([1.0, 2.0, 4.0, 8.0], [2, 3])
    assert len(options) == 6
    assert options[observed] == pytest.approx(6 - 1.5)
    assert np.sort(options) == pytest.approx(-np.sort(options)[::-1])
    one = option_test([options], [observed])
    assert (one.extreme, one.total, one.smallest_p) == (2, 6, 2 / 6)


def test_naive_floats_would_miscount_these_decimals():
    rng = np.random.default_rng(0)
    first, second = rng.integers(80, 140, 12), rng.integers(80, 140, 12)
    exact, total = walk((first - second).tolist())
    floats = first / 10 - second / 10
    patterns = np.array(list(product((-1, 1), repeat=12)))
    naive = int((np.abs(patterns @ floats) >= abs(floats.sum())).sum())
    assert naive != exact, "the example no longer shows the trap"
    test = sign_flip_test(floats)
    assert (test.extreme, test.total) == (exact, total)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(-400, 400), min_size=2, max_size=12), st.randoms(use_true_random=False))
def test_order_sign_and_unit_do_not_matter(d, random):
    shuffled = d[:]
    random.shuffle(shuffled)
    counts = {sign_flip_test(x).extreme for x in (d, shuffled, [-v for v in d], [v / 8 for v in d], [v / 7 for v in d])}
    assert len(counts) == 1


def test_halves_and_sums_by_value_agree_beyond_the_walk():
    rng = np.random.default_rng(5)
    d = rng.integers(-30, 31, 44)
    longer = np.concatenate((d, [0]))  # a pair without difference doubles every count, and takes the other way
    assert sign_flip_test(longer).extreme == 2 * sign_flip_test(d[:44]).extreme


def test_forty_pairs_equal_whole_number_counting():
    rng = np.random.default_rng(6)
    d = rng.integers(-90, 91, 40)
    # Outside the method: number of patterns of each sum, by polynomial multiplication in Python whole numbers.
    counts = {0: 1}
    for v in d.tolist():
        after = {}
        for s, c in counts.items():
            after[s + v] = after.get(s + v, 0) + c
            after[s - v] = after.get(s - v, 0) + c
        counts = after
    expected = sum(c for s, c in counts.items() if abs(s) >= abs(int(d.sum())))
    test = sign_flip_test(d / 100)
    assert (test.extreme, test.total) == (expected, 2**40)


def test_forty_pairs_equal_counts_equal_whole_number_counting():
    rng = np.random.default_rng(7)
    e = rng.integers(-40, 41, 40)
    signs = rng.permutation(np.repeat([-1, 1], 20))
    counts = {(0, 0): 1}
    for v in e.tolist():
        after = {}
        for (plus, s), c in counts.items():
            for sign in (-1, 1):
                key = (plus + (sign > 0), s + sign * v)
                after[key] = after.get(key, 0) + c
        counts = after
    observed = abs(int((signs * e).sum()))
    expected = sum(c for (plus, s), c in counts.items() if plus == 20 and abs(s) >= observed)
    test = counted_flip_test(e / 10, signs, count_weights(40, [20]))
    assert (test.extreme, test.total) == (expected, comb(40, 20))


@pytest.mark.parametrize(("pairs", "plus", "broken"), [(8, [4], 1), (8, [4], 3), (7, [3, 4], 2), (5, [2, 3], 0)])
def test_projected_weights_keep_every_drawn_order(pairs, plus, broken):
    weights = count_weights(pairs, plus, broken=broken)
    assert sum(w * comb(pairs - broken, c) for c, w in enumerate(weights)) == sum(comb(pairs, k) for k in plus)


def test_smallest_p_of_counted_sets():
    signs = [1, 1, 1, -1, -1, -1]
    assert counted_flip_test(range(1, 7), signs, count_weights(6, [3])).smallest_p == pytest.approx(2 / 20)
    # Seven of eight pairs left: 70 drawn orders, each of the 35 + 35 remaining ones once, mirrors included.
    seven = counted_flip_test(range(1, 8), [*signs, 1], count_weights(8, [4], broken=1))
    assert seven.smallest_p == pytest.approx(2 / 70)


def test_no_difference_at_all_gives_one():
    test = sign_flip_test([0.0, 0.0, 0.0])
    assert test.p_value == 1.0
    assert Fraction(test.extreme, test.total) == 1


@pytest.mark.parametrize(
    "call",
    [
        lambda: sign_flip_test([]),
        lambda: sign_flip_test([1.0, np.nan]),
        lambda: sign_flip_test([[1.0], [2.0]]),
        lambda: sign_flip_test(np.sqrt(np.arange(1.0, 46.0))),
        lambda: counted_flip_test([1.0, 2.0], [1, 0], [1, 1, 1]),
        lambda: counted_flip_test([1.0, 2.0], [1, 1], [0, 1, 0]),
        lambda: counted_flip_test([1.0, 2.0], [1, -1], [0, 1]),
        lambda: counted_flip_test([1.0, 2.0], [1, -1], [0, 1, -1]),
        lambda: count_weights(4, [5]),
        lambda: count_weights(4, [2], broken=4),
        lambda: option_test([[1.0]], [0, 1]),
        lambda: option_test([], []),
        lambda: option_test([list(range(4000))] * 4, [0] * 4),
        lambda: block_options([1.0, 2.0], [0, 1]),
        lambda: block_options([1.0, 2.0], [2]),
    ],
)
def test_bad_input_is_refused(call):
    with pytest.raises(ValueError):
        call()
