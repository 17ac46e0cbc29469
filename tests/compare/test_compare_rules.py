"""What the comparison must do whatever the data: laws, edges, shared errors, reference sets."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_trials import paired, sas_blocks, sim16, strips

from evenground.basis.errors import CannotCompareError
from evenground.compare.compare import compare
from evenground.compare.comparison import Priors
from evenground.compare.not_worse import not_worse
from evenground.compare.reference_set import ReferenceSet
from evenground.compare.values import SharedError, StripValues
from evenground.numerics.orders import OrderPlan
from evenground.numerics.reference_sets import pair_set, sampled_pair_set

RNG = np.random.default_rng(11)
FIRST = [round(float(x), 2) for x in 12 + RNG.normal(0, 0.5, 8)]
OTHER = [round(float(x), 2) for x in 11.6 + RNG.normal(0, 0.5, 8)]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.1, 50.0), st.floats(-20.0, 20.0))
def test_a_change_of_unit_changes_nothing_but_the_unit(seed, scale, shift):
    rng = np.random.default_rng(seed)
    rows = [(m, str(b), float(v)) for b in range(6) for m, v in zip("AB", rng.normal(10, 1, 2), strict=True)][:-1]
    here = compare(strips(rows), "A").comparisons[0]
    there = compare(strips([(m, b, scale * y + shift) for m, b, y in rows]), "A").comparisons[0]
    assert there.gain == pytest.approx(scale * here.gain, rel=1e-7, abs=1e-9)
    assert there.standard_error == pytest.approx(scale * here.standard_error, rel=1e-6)
    assert there.df == pytest.approx(here.df, rel=1e-5)


def test_swapping_the_baseline_turns_the_sign_only():
    one = compare(sim16(), "A").comparisons[0]
    other = compare(sim16(), "B").comparisons[0]
    assert other.gain == pytest.approx(-one.gain)
    assert other.interval == pytest.approx((-one.interval[1], -one.interval[0]))
    assert other.p == pytest.approx(one.p)
    assert other.randomisation == one.randomisation


def test_simultaneous_intervals_are_wider_with_several_methods_and_equal_with_one():
    one = compare(sim16(), "A").comparisons[0]
    assert one.interval_simultaneous == pytest.approx(one.interval)
    assert one.p_simultaneous == pytest.approx(one.p)
    for several in compare(sas_blocks(), "A").comparisons:
        assert several.interval_simultaneous[1] > several.interval[1]
        assert several.p < several.p_simultaneous < 2 * several.p


def test_plots_in_equal_number_are_their_means():
    plots = sim16()
    doubled = StripValues(
        tuple(s for s in plots.strips for _ in (0, 1)),
        tuple(m for m in plots.methods for _ in (0, 1)),
        tuple(b for b in plots.blocks for _ in (0, 1)),
        tuple(y + d for y in plots.outcome for d in (-0.3, 0.3)),
    )
    assert compare(doubled, "A").comparisons[0].gain == pytest.approx(compare(plots, "A").comparisons[0].gain)
    assert compare(doubled, "A").comparisons[0].df == pytest.approx(compare(plots, "A").comparisons[0].df)


def test_plots_in_unequal_number_keep_the_strip_as_the_unit():
    rng = np.random.default_rng(5)
    rows, names = [], []
    for b in range(6):
        ground = rng.normal(0, 0.8)
        for m in "AB":
            strip = rng.normal(0, 0.5)
            for _ in range(int(rng.integers(2, 6))):
                rows.append((m, str(b), float(10 + ground + strip + rng.normal(0, 0.1))))
                names.append(f"{b}{m}")
    values = dataclasses.replace(strips(rows), strips=tuple(names))
    result = compare(values, "A")
    assert result.strips == 12
    assert "random factor" in result.notes[0]
    assert result.comparisons[0].df < 12  # strips, not plots
    naive = compare(strips(rows), "A").comparisons[0]
    assert naive.standard_error < result.comparisons[0].standard_error


def test_a_figure_shared_by_all_strips_of_a_method_enters_once_and_takes_the_p_value():
    values = paired(FIRST, OTHER)
    sd = 0.36
    shared = tuple(
        SharedError(tuple(s for s, m in zip(values.strips, values.methods, strict=True) if m == name), (sd,) * 8, "DM")
        for name in "AB"
    )
    plain = compare(values, "A").comparisons[0]
    with_it = compare(dataclasses.replace(values, shared=shared), "A").comparisons[0]
    assert with_it.shared_sd == pytest.approx(sd * math.sqrt(2))  # two independent figures, never averaged over blocks
    assert with_it.standard_error == pytest.approx(math.hypot(plain.standard_error, sd * math.sqrt(2)))
    assert with_it.p is None
    assert with_it.randomisation is None
    assert "no p-value" in with_it.no_p_reason
    assert with_it.posterior.theta.sd > plain.posterior.theta.sd
    as_json = compare(dataclasses.replace(values, shared=shared), "A").as_dict()["comparisons"][0]
    assert (as_json["p"], as_json["p_randomisation"], as_json["p_simultaneous"]) == (None, None, None)


def test_a_figure_shared_by_two_strips_counts_as_much_as_they_do():
    values = paired(FIRST, OTHER)
    two = SharedError(("1", "3"), (0.4, 0.4), "sample 5")  # both of the method, two of eight blocks
    pair = SharedError(("1", "2"), (0.4, 0.4), "sample 6")  # both of one block: cancels
    one = compare(dataclasses.replace(values, shared=(two, pair)), "A").comparisons[0]
    assert one.shared_sd == pytest.approx(2 * 0.4 / 8)
    assert one.p is not None


def layout_of_eight(limits=()):
    plan = OrderPlan.complete(2, 8)
    drawn = [0, 1] * 4 + [1, 0] * 4
    return plan, drawn, pair_set(plan, list(limits), drawn, 0, 1)


def as_drawn(drawn):
    values = {0: iter(OTHER), 1: iter(FIRST)}
    rows = [("AB"[code], str(i // 2 + 1), next(values[code])) for i, code in enumerate(drawn)]
    return strips(rows)


def test_the_reference_set_is_what_the_draw_could_have_given():
    _, drawn, pairs = layout_of_eight()
    reference = ReferenceSet(pairs, tuple(str(i + 1) for i in range(16)), tuple("AB"[c] for c in drawn))
    values = as_drawn(drawn)
    free = compare(values, "A").comparisons[0].randomisation
    listed = compare(values, "A", reference={"B": reference}).comparisons[0].randomisation
    assert listed == free  # without limits both are all 256 orders


def test_a_block_sown_otherwise_leaves_the_randomisation_test_only():
    _, drawn, pairs = layout_of_eight()
    names = tuple(str(i + 1) for i in range(16))
    reference = ReferenceSet(pairs, names, tuple("AB"[c] for c in drawn))
    values = as_drawn(drawn)
    methods = list(values.methods)
    methods[0], methods[1] = methods[1], methods[0]
    swapped = dataclasses.replace(values, methods=tuple(methods))
    result = compare(swapped, "A", reference={"B": reference})
    assert result.blocks == 8  # the model uses what was sown
    test = result.comparisons[0].randomisation
    # the set is projected: 256 orders, each of the 128 left counted twice
    assert (test.size, test.smallest) == (256, 2 / 128)
    lost = StripValues(names[1:], values.methods[1:], values.blocks[1:], values.outcome[1:])
    assert compare(lost, "A", reference={"B": reference}).comparisons[0].randomisation.smallest == 2 / 128


def test_a_method_without_a_set_gets_no_randomisation_test():
    assert compare(sim16(), "A", reference={}).comparisons[0].randomisation is None


def test_a_sampled_set_says_so():
    plan, drawn, _ = layout_of_eight()
    sample = sampled_pair_set(plan, [], drawn, 0, 1, rng=np.random.default_rng(3), draws=5_000)
    reference = ReferenceSet(sample, tuple(str(i + 1) for i in range(16)), tuple("AB"[c] for c in drawn), listed=False)
    values = as_drawn(drawn)
    test = compare(values, "A", reference={"B": reference}).comparisons[0].randomisation
    exact = compare(values, "A").comparisons[0].randomisation
    assert not test.exact
    assert test.size is None
    assert test.p == pytest.approx(exact.p, abs=4 * test.error + 1e-3)


def test_more_pairs_than_can_be_counted_are_sampled_with_their_error():
    rng = np.random.default_rng(8)
    first, other = np.exp(rng.normal(2.3, 0.1, 50)), np.exp(rng.normal(2.32, 0.1, 50))
    test = compare(paired(first.tolist(), other.tolist()), "A", seed=4).comparisons[0].randomisation
    assert not test.exact
    assert 0 < test.error < 0.002
    assert test.size == 2**50
    assert test.p == pytest.approx(compare(paired(first.tolist(), other.tolist()), "A").comparisons[0].p, abs=0.02)


def test_unequal_numbers_in_a_block_are_counted_over_all_ways():
    # block 1: B in one of three strips; block 2: a pair; 3 x 2 orders
    rows = [("B", "1", 9.0), ("A", "1", 7.0), ("A", "1", 7.5), ("B", "2", 8.0), ("A", "2", 7.8), ("A", "3", 7.0)]
    rows += [("B", "3", 7.9)]
    test = compare(strips(rows), "A").comparisons[0].randomisation
    assert test.size == 12

    # by hand: fixed-block gain is proportional to sum of y in B minus its block mean, over all 12 orders
    def statistic(picks):
        blocks = [[9.0, 7.0, 7.5], [8.0, 7.8], [7.9, 7.0]]
        return sum(b[i] - sum(b) / len(b) for b, i in zip(blocks, picks, strict=True))

    seen = abs(statistic((0, 0, 0)))
    count = sum(abs(statistic((i, j, k))) >= seen - 1e-12 for i in range(3) for j in range(2) for k in range(2))
    assert test.p == count / 12


def test_priors_pull_and_are_echoed():
    priors = Priors(gain_mean=0.0, gain_sd=0.1, season_sd=0.2, strip_error_median=0.4, strip_error_log_sd=0.5)
    flat = compare(sim16(), "A").comparisons[0].posterior
    result = compare(sim16(), "A", priors=priors)
    sceptical = result.comparisons[0].posterior
    assert 0 < sceptical.mu.mean < sceptical.theta.mean < flat.theta.mean
    assert sceptical.next_season.sd > sceptical.theta.sd
    assert result.as_dict()["prior"]["gain"] == {"mean": 0.0, "sd": 0.1}
    assert compare(sim16(), "A").as_dict()["prior"]["gain"] == "flat"


def test_not_worse_is_a_question_of_its_own():
    one = compare(sim16(), "A").comparisons[0]
    assert not_worse(one, -one.interval[0] + 0.01).shown
    assert not not_worse(one, -one.interval[0] - 0.001).shown
    with pytest.raises(ValueError, match="above zero"):
        not_worse(one, 0.0)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([], "no strip has a value yet"),
        ([("B", "1", 1.0), ("B", "2", 2.0)], "baseline A has no strip"),
        ([("A", "1", 1.0), ("A", "2", 2.0)], "at least two strips each"),
        ([("A", "1", 1.0), ("A", "2", 2.0), ("B", "1", 2.0)], "at least two strips each"),
        ([("A", "1", 1.0), ("A", "1", 2.0), ("B", "1", 2.0), ("B", "1", 2.5)], "two blocks"),
        ([("A", "1", 1.0), ("B", "1", 2.0), ("A", "2", 3.0), ("B", "2", 4.0)], "without a prior the strip error"),
        ([("A", "1", 1.0), ("A", "1", 2.0), ("B", "2", 3.0), ("B", "2", 4.0)], "cannot be compared"),
    ],
)
def test_what_cannot_be_compared_is_said(rows, says):
    with pytest.raises(CannotCompareError, match=says):
        compare(strips(rows), "A")


def test_a_third_method_with_one_strip_is_left_out_and_named():
    rows = [(m, str(b), 10 + b + (m == "B") + 0.1 * ((b * 7 + ord(m)) % 5)) for b in range(5) for m in "AB"]
    result = compare(strips([*rows, ("C", "4", 12.0)]), "A")
    assert [c.method for c in result.comparisons] == ["B"]
    assert any("Method C has one strip" in text for text in result.notes)


def test_blocks_without_the_baseline_are_named():
    result = compare(sim16((2,)), "A")
    assert any("Block 1 has no strip of the baseline A" in text for text in result.notes)


def test_a_strip_far_off_and_a_block_that_carries_the_result_are_named():
    first = [v + 8.0 * (i == 4) for i, v in enumerate(FIRST)]
    words = " ".join(compare(paired(first, OTHER), "A").notes)
    assert "Block 5 (strips 9 and 10) is out of line" in words
    assert "Without block 5" in words


def test_values_are_checked():
    with pytest.raises(CannotCompareError, match="finite"):
        StripValues(("1",), ("A",), ("1",), (float("nan"),))
    with pytest.raises(CannotCompareError, match="length"):
        StripValues(("1",), ("A", "B"), ("1",), (1.0,))
    with pytest.raises(CannotCompareError, match="level"):
        compare(sim16(), "A", level=1.0)
