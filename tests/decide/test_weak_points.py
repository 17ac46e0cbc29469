from dataclasses import replace
from types import SimpleNamespace

import pytest
from tests import small_trial as small

from evenground.compare.comparison import RandomisationTest
from evenground.decide.weak_points import Looked, weak_points
from evenground.fairness.check import Check
from evenground.harvest.strips import harvest

PLAN, DRAW = small.plan(), small.draw()
CLEAN = harvest(PLAN, DRAW, small.whole_season(DRAW))


def compared(**changes):
    test = RandomisationTest(0.03, True, 0.0, 0.0078, 256)
    base = {
        "method": "B", "baseline": "A", "standard_error": 0.3, "shared_sd": 0.0, "p": 0.02, "randomisation": test,
        "no_p_reason": "",
    }  # fmt: skip
    return SimpleNamespace(**{**base, **changes})


def check(item="sowing day", state="differs", bias=None, asked=False):
    return Check(item, state, "", f"{item} found", bias, "", "", "B", asked)


def points(*, checks=(), comparison=None, came_off=CLEAN, blocks=8, plan=PLAN):
    return weak_points(Looked(plan, came_off, comparison or compared(), tuple(checks), blocks))


def after(*events, samples=None):
    season = small.whole_season(DRAW)
    changed = small.replaced(season, events=[*season.events, *events])
    return harvest(PLAN, DRAW, small.replaced(changed, samples=samples) if samples else changed)


SHARED = harvest(
    PLAN,
    DRAW,
    small.replaced(
        small.whole_season(DRAW), samples=[small.sample("1+4", 33.0), *small.whole_season(DRAW).samples[4:]]
    ),
)
LARGE = RandomisationTest(0.3, True, 0.0, 0.0078, 256)
BLUNT = RandomisationTest(0.3, True, 0.0, 0.25, 8)

# what is looked at, how the first point begins
FIRST = [
    ({}, "starch was not measured"),
    ({"plan": small.plan(outcome={"product": "grain"})}, "it was one season"),
    ({"checks": [check(bias=(0.0, 0.04))]}, "starch was not measured"),
    ({"checks": [check(bias=(-0.4, 0.1))]}, "sowing day: sowing day found, which could have moved the result by -0.4"),
    ({"checks": [check(bias=(-0.1, 0.1)), check("plants counted", bias=(-0.9, 0.0))]}, "plants counted"),
    ({"checks": [check(bias=(-0.4, 0.1), asked=True)]}, "starch"),
    ({"checks": [check("depth")]}, "depth: depth found"),
    ({"checks": [check("depth", asked=True)]}, "starch"),
    ({"checks": [check("depth"), check(bias=(0.0, 0.1))]}, "sowing day"),
    ({"comparison": compared(no_p_reason="one figure serves all of B.")}, "one figure serves all of B"),
    ({"comparison": compared(shared_sd=0.2), "came_off": SHARED}, "strips 1 and 4 share dry-matter samples"),
    ({"comparison": compared(shared_sd=0.05), "came_off": SHARED}, "strips 2 and 3 gave no value"),
    ({"blocks": 5}, "only 5 blocks could be compared"),
    ({"blocks": 1}, "only 1 block could be compared"),
    ({"comparison": compared(randomisation=LARGE)}, "the two ways to judge chance do not agree"),
    ({"comparison": compared(randomisation=BLUNT)}, "starch"),  # a test that cannot reach 1 in 20 does not disagree
    ({"comparison": compared(p=None)}, "starch"),
    ({"came_off": after(small.event(3, "strip_lost"))}, "strip 3 gave no value"),
    ({"came_off": after(small.event(3, "sown", n=2, method="A"))}, "strip 3 was not sown as drawn"),
    ({"came_off": after(small.event("3+4", "sown", n=2, method="A"))}, "strip 3 was not sown as drawn"),
    (
        {"came_off": after(small.event(3, "sown", n=2, method="A"), small.event(4, "sown", n=2, method="B"))},
        "strips 3 and 4 were not sown as drawn",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("looked", "begins"), FIRST)
def test_the_weakest_point(looked, begins):
    assert points(**looked)[0].startswith(begins), points(**looked)


def test_there_is_always_a_weak_point():
    assert points(plan=small.plan(outcome={"product": "grain"})) == ("it was one season in one field",)


def test_what_was_not_recorded_is_listed_last_and_together():
    got = points(checks=[check("damage", "unknown"), check("treatments", "unknown")])
    assert got[-1] == "not recorded: damage, treatments"


def test_lost_strips_are_named_once():
    got = points(checks=[check("strips lost")], came_off=after(small.event(3, "strip_lost")))
    assert sum("strip" in p and "value" in p for p in got) == 1
    assert not any(p.startswith("strips lost") for p in got)


def test_a_shared_error_without_spread_is_no_division():
    assert points(comparison=compared(standard_error=0.0, shared_sd=0.1))[0].startswith("starch")


def test_alike_is_no_weak_point():
    alike = replace(check("depth"), state="alike")
    assert not any("depth" in p for p in points(checks=[alike]))


def test_what_could_move_next_to_nothing_stands_last_and_says_so():
    last = points(checks=[check(bias=(0.0, 0.04))])[-1]
    assert last.endswith("which could have moved the result by less than 0.05 t")
