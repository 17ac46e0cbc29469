"""A new machine that comes for half a day: fewer strips of it in every block."""

from datetime import UTC, datetime
from math import sqrt

import numpy as np
import pytest
from scipy.stats import nct
from scipy.stats import t as student
from tests.layout import fields

from evenground.layout.detectable import detectable_of
from evenground.layout.draw import allowed_set, draw_methods, pair_patterns_of
from evenground.layout.laid_out import lay_out, make_draw
from evenground.layout.outlook import draw_errors, outlook

BASE = fields.plan(heading_deg=0.0, blocks=6)
TWICE = BASE.methods[0].model_copy(update={"strips_per_block": 2})
PLAN = BASE.model_copy(update={"methods": (TWICE, BASE.methods[1])})
FIELD = fields.field(fields.rectangle(150, 200))


def drawn(plan=PLAN):
    laid = lay_out(plan, FIELD)
    return make_draw(
        plan, laid, seed=3, drawn_at=datetime(2025, 3, 1, tzinfo=UTC), plan_hash="0" * 64, version="0", number=1
    )


def test_every_block_holds_two_of_the_baseline_and_one_of_the_other():
    draw = drawn()
    for block in range(1, 7):
        assert sorted(s.method for s in draw.strips if s.block == block) == ["A", "A", "B"]


def test_the_set_is_all_orders_with_those_numbers_that_keep_the_limits():
    free = draw_methods(
        PLAN.model_copy(update={"layout": PLAN.layout.model_copy(update={"limits": ()})}), 6, np.random.default_rng(1)
    )
    # Three places for B in each of six blocks; no mirror image, so the smallest p is one order of them all.
    assert free.allowed_orders == 3**6
    assert free.smallest_p == pytest.approx(1 / 3**6)
    draw = drawn()
    whole = allowed_set(draw)
    assert len(whole.listed()) == draw.allowed_orders
    assert whole.order.tolist() in whole.listed().tolist()
    assert pair_patterns_of(draw, "B", "A").smallest_p() == pytest.approx(draw.smallest_p)
    assert draw.smallest_p <= 0.05


def test_the_detectable_gain_counts_strips_not_blocks():
    gain = detectable_of(PLAN, drawn())
    # 12 strips of A, 6 of B: variance (1/12 + 1/6) of the strip error's square, 18 - 6 - 1 = 11 degrees of freedom.
    error = sqrt(1 / 12 + 1 / 6) * gain.strip_error_percent / 100 * 13
    critical = student.ppf(0.975, 11)
    # scipy's noncentral t is the outside judge: power 0.8 at the gain named, to four digits.
    power = nct.sf(critical, 11, gain.t_per_ha / error) + nct.cdf(-critical, 11, gain.t_per_ha / error)
    assert power == pytest.approx(0.8, abs=1e-4)


def test_errors_and_lost_passes_are_said():
    draw = drawn()
    free, limited = draw_errors(PLAN, draw)
    assert limited == pytest.approx(free, rel=0.1)
    # Eight rows, 6 m: one pass a strip, one strip of B a block.
    most = outlook(PLAN, draw, 30_000.0).fewer[0]
    assert (most.blocks, most.passes) == (5, 5)
