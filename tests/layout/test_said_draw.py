"""A draw that was made elsewhere: its set of orders, counted by hand, and what tells it from a draw of our own."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from evenground.adapters.new_trial import template
from evenground.adapters.plan_file import read_plan
from evenground.basis.errors import InputError
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.said_draw import SaidStrip, said_draw

PAIRS = "ABBAABBA"


@pytest.fixture(scope="module")
def plan() -> Plan:
    plan = read_plan(template(2026).encode()).plan
    assert plan is not None
    return plan


def told(plan: Plan, letters: str, size: int = 2, how: str = "a coin for each pair") -> Draw:
    strips = [SaidStrip(i // size + 1, m, 6.0, 300.0) for i, m in enumerate(letters)]
    return said_draw(plan, strips, how=how, told_at=datetime(2026, 10, 1, tzinfo=UTC), plan_hash="x", version="1")


@pytest.mark.parametrize("pairs", [2, 3, 4, 6])
def test_a_coin_for_each_pair_allows_two_orders_a_pair(plan, pairs):
    """Counted by hand: each pair AB or BA, 2^pairs orders; the clearest result and its mirror image are 2 of them."""
    draw = told(plan, (PAIRS * 2)[: 2 * pairs])
    assert draw.allowed_orders == 2**pairs
    assert draw.smallest_p == pytest.approx(2 / 2**pairs)


def test_it_is_known_as_told(plan):
    draw = told(plan, PAIRS)
    assert draw.told
    assert draw.reason == "a coin for each pair"
    assert draw.limits == ()
    assert not draw.model_copy(update={"seed": 12345}).told, "a draw of our own has a seed"
    assert not draw.model_copy(update={"reason": ""}).told, "a first draw of our own has no reason"


def test_areas_are_those_told(plan):
    draw = told(plan, PAIRS)
    assert {s.cut_area_m2 for s in draw.strips} == {1800.0}
    assert [s.method for s in draw.strips] == list(PAIRS)


@pytest.mark.parametrize(
    ("letters", "how", "field"),
    [("AABB", "coin", "block"), ("AB", "coin", "block"), ("ABBA", " ", "how"), ("ABXA", "coin", "method")],
)
def test_what_was_no_draw_is_refused(plan, letters, how, field):
    with pytest.raises(InputError) as caught:
        told(plan, letters, how=how)
    assert field in {p.field for p in caught.value.problems}
