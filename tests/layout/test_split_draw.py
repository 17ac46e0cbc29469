"""The draw of two factors: whole plots at random in blocks, rates at random within them, nothing else."""

from collections import Counter
from datetime import datetime
from itertools import groupby, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from shapely import unary_union
from shapely.geometry import Polygon
from tests import small_trial as small
from tests import split_trial as trial
from tests.layout import fields

from evenground.basis.strip import Draw
from evenground.layout.draw import allowed_set
from evenground.layout.exposure import Exposure
from evenground.layout.laid_out import lay_out, make_draw, workable_area_of
from evenground.layout.split_draw import draw_split, of_plots, together_bound, whole_set, within_set
from evenground.numerics.orders import list_orders


def plots(draw):
    strips = sorted(draw.strips, key=lambda s: s.strip)
    return [tuple(s.method for s in group) for _, group in groupby(strips, key=lambda s: s.whole_plot)]


@settings(max_examples=25, deadline=None)
@given(st.integers(2, 7), st.sampled_from([(8.0, 9.5), (7.0, 8.0, 9.5)]), st.integers(0, 2**32 - 1))
def test_every_block_holds_every_whole_plot_once_and_every_plot_every_rate(blocks, rates, seed):
    plan = trial.plan(rates)
    got = draw_split(plan, plan.grid, blocks, np.random.default_rng(seed)).methods.letters
    size = len(rates)
    groups = [got[i : i + size] for i in range(0, len(got), size)]
    assert all(sorted(group) in [sorted(row) for row in plan.grid.letters] for group in groups)
    for block in range(blocks):
        assert sorted(got[2 * size * block : 2 * size * (block + 1)]) == sorted(plan.letters)


def test_strips_of_a_plot_lie_side_by_side_and_are_numbered():
    draw = trial.draw()
    assert [s.whole_plot for s in draw.strips] == [i // 2 + 1 for i in range(24)]
    assert all(sorted(one) in (["A", "B"], ["C", "D"]) for one in plots(draw))
    assert Draw.model_validate_json(draw.model_dump_json()) == draw


@pytest.mark.parametrize("shape", [fields.L_SHAPE, fields.rectangle(180, 260, 33)], ids=["L", "turned"])
def test_whole_plots_lie_together_inside_the_ground(shape):
    """Strips of a whole plot touch along most of their length, cover nothing twice, and stay in the workable area."""
    plan, field = trial.plan(shortest_strip_m=50, headland_m=9), fields.field(shape)
    found = lay_out(plan, field)
    draw = make_draw(plan, found, seed=1, drawn_at=datetime(2025, 3, 1), plan_hash="0", version="test")
    room = workable_area_of(plan, field).buffer(1e-3)
    plane = field.plane
    strips = {s.strip: plane.to_metres(Polygon(s.outline)) for s in draw.strips}
    assert all(room.covers(strip) for strip in strips.values())
    assert unary_union(list(strips.values())).area == pytest.approx(sum(s.area_m2 for s in draw.strips), rel=1e-5)
    for one, two in zip(draw.strips[::2], draw.strips[1::2], strict=True):
        assert (one.whole_plot, one.block) == (two.whole_plot, two.block)
        shared = strips[one.strip].buffer(0.01).intersection(strips[two.strip]).area / 0.01
        assert shared >= 0.5 * min(one.length_m, two.length_m)


def test_all_orders_of_a_small_free_draw_come_equally_often():
    """2 blocks: 2 orders of plots and 2 x 2 of rates in each, (2 x 4)^2 = 64 orders, each expected 50 times."""
    plan = trial.plan(limits=[])
    rng = np.random.default_rng(5)
    got = Counter(draw_split(plan, plan.grid, 2, rng).methods.letters for _ in range(3200))
    assert len(got) == 64
    chi_square = sum((n - 50) ** 2 / 50 for n in got.values())
    # 63 degrees of freedom: 0.9999 of the distribution lies below 114 (table value)
    assert chi_square < 114


def test_numbers_of_orders_multiply():
    plan = trial.plan(limits=[])
    got = draw_split(plan, plan.grid, 3, np.random.default_rng(1))
    assert (got.split.whole_orders, got.split.within_orders, got.methods.allowed_orders) == (8, 64, 512)
    assert (got.split.whole_smallest_p, got.split.within_smallest_p) == (2 / 8, 2 / 64)
    assert got.methods.smallest_p == 2 / 8


@pytest.mark.parametrize("blocks", [6, 8])
def test_the_order_of_rates_does_not_go_with_the_pattern(blocks):
    """Counted by hand on every draw: whole plots of the one pattern with low, high less those of the other."""
    plan, bound = trial.plan(), together_bound(blocks)
    for seed in range(20):
        got = draw_split(plan, plan.grid, blocks, np.random.default_rng(seed))
        pairs = Counter("".join(got.methods.letters[i : i + 2]) for i in range(0, 4 * blocks, 2))
        assert abs((pairs["CD"] - pairs["DC"]) - (pairs["AB"] - pairs["BA"])) <= 2 * bound
        assert got.split.limits[-1].name == got.methods.limits[-1].name == "both_together"
        assert got.split.whole_smallest_p <= 0.05


def test_the_bound_keeps_nine_in_ten_free_draws():
    """Binomial distribution by scipy as the reference library."""
    for blocks in range(2, 13):
        bound = together_bound(blocks)
        kept = [stats.binom.cdf(blocks + b, 2 * blocks, 0.5) - stats.binom.cdf(blocks - b - 1, 2 * blocks, 0.5)
                for b in (bound - 1, bound)]  # fmt: skip
        assert kept[0] < 0.9 <= kept[1]


def test_the_joint_limit_is_left_out_where_it_would_take_the_reach_away():
    """Seven blocks leave 42 orders of whole plots: fewer could not reach 5 %."""
    plan = trial.plan()
    got = draw_split(plan, plan.grid, 7, np.random.default_rng(1))
    assert "both_together" not in [limit.name for limit in got.split.limits]
    assert got.split.whole_smallest_p <= 0.05


def test_both_draws_given_the_other_are_uniform():
    """Four blocks with equal orders only: every pair that keeps the limits comes equally often."""
    plan = trial.plan(limits=["equal_orders"])
    rng = np.random.default_rng(8)
    draws = [draw_split(plan, plan.grid, 4, rng) for _ in range(1500)]
    one = draws[0]
    letters = one.methods.letters
    pattern = tuple(letters[i] in "CD" for i in range(0, 16, 2))
    same = [d for d in draws if tuple(d.methods.letters[i] in "CD" for i in range(0, 16, 2)) == pattern]
    # 14 orders of four blocks have AB and BA apart by two at the most; each is expected in 1500 / 14 = 107 draws,
    # standard error 10; 3.5 of them allowed
    assert abs(len(same) - 107) < 35
    seen = Counter(d.methods.letters for d in same)
    assert len(seen) <= one.split.within_orders


def test_both_sets_come_back_from_the_stored_draw():
    """Against a list made by hand: all sign patterns of 6 plots' order that keep the stored bounds."""
    draw = Draw.model_validate_json(trial.draw().model_dump_json())
    whole, within = whole_set(draw), within_set(draw)
    assert len(whole.listed()) == draw.split.whole_orders
    assert len(within.listed()) == draw.split.within_orders
    bounds = {limit.name: limit.bound for limit in draw.split.limits if limit.applied}
    turns = np.array([1 if members in (("A", "B"), ("C", "D")) else -1 for members in plots(draw)])
    by_hand = 0
    for flips in product((0, 1), repeat=6):
        order = np.array([code for flip in flips for code in ((0, 1), (1, 0))[flip]])
        place = np.arange(12) - 5.5
        ahead = abs(2 * sum(flips) - 6) <= bounds.get("equal_orders", 6)
        trend = abs(place[order == 1].sum() - place[order == 0].sum()) / 2
        alone = np.abs(turns[order == 1].sum() - turns[order == 0].sum()) / 2
        by_hand += ahead and trend <= bounds.get("linear_trend", 99) + 1e-9 and alone <= bounds["both_together"]
    if not {"quadratic_trend", "edge"} & bounds.keys():
        assert by_hand == draw.split.whole_orders
    assert any((row == whole.order).all() for row in whole.listed())
    assert any((row == within.order).all() for row in within.listed())


def test_the_limits_do_not_depend_on_the_seed():
    one, two = trial.draw(seed=1), trial.draw(seed=2)
    for first, second in ((one.limits, two.limits), (one.split.limits, two.split.limits)):
        assert [(x.name, x.bound, x.applied) for x in first] == [(x.name, x.bound, x.applied) for x in second]
    assert [s.method for s in one.strips] != [s.method for s in two.strips]


def test_whole_plots_are_exposed_to_what_their_strips_are():
    edge, lanes, soil = ((1.0,), (0.0,), (0.0,), (1.0,)), ((1.0,), (0.0,)) * 2, ((0.2,), (0.4,), (-1.0,), (0.0,))
    got = of_plots(Exposure(edge, lanes, soil), 2)
    assert got.edge == ((1.0,), (1.0,))
    assert got.tramline == ((1.0,), (1.0,))
    assert np.array(got.covariates) == pytest.approx(np.array([[0.3], [-0.5]]))
    assert not got.differs("edge")
    assert got.differs("covariates")


def test_a_set_of_single_strips_is_refused_where_two_factors_were_drawn():
    with pytest.raises(ValueError, match="two sets"):
        allowed_set(trial.draw())


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda s: s.model_copy(update={"whole_plot": None}), "no whole plot"),
        (lambda s: s.model_copy(update={"method": "A" if s.method != "A" else "B"}), "side by side once"),
    ],
)
def test_torn_whole_plots_are_refused(change, message):
    draw = trial.draw()
    torn = draw.model_copy(update={"strips": (change(draw.strips[0]), *draw.strips[1:])})
    for read in (whole_set, within_set):
        with pytest.raises(ValueError, match=message):
            read(torn)


def test_one_factor_has_no_whole_plots():
    with pytest.raises(ValueError, match="one factor"):
        whole_set(small.draw())


def test_listed_orders_of_plots_and_rates_are_those_of_the_plan():
    draw = trial.draw(limits=[])
    whole = whole_set(draw)
    assert len(list_orders(whole.order_plan)) == 2**6
