"""Row units: a blocked or worn one is found, sound ones are left in peace."""

import math

import numpy as np
import pytest
from scipy import stats
from tests import small_trial as small

from evenground.basis.observations import Records
from evenground.stand.row_units import row_units

PLAN, DRAW = small.plan(), small.draw()


def records(plants, strips=(1, 4, 6), **more):
    """Every row unit of one pass (four rows) counted once in some strips of method A."""
    counts = [small.count(s, n, unit, row_unit=unit, **more) for s in strips for unit, n in plants.items()]
    return Records(stand_counts=counts)


def units(plants, **more):
    return row_units(PLAN, DRAW, records(plants, **more))


def test_like_units_are_alike():
    got = units({1: 92, 2: 94, 3: 93, 4: 95})
    assert [u.row_unit for u in got] == [1, 2, 3, 4]
    assert {u.state for u in got} == {"alike"}
    assert got[0].plants == 3 * 92
    assert got[0].plants_per_m2 == pytest.approx(9.2, rel=1e-4)
    assert got[0].ratio == pytest.approx(92 / 94)


def test_a_blocked_unit():
    got = units({1: 92, 2: 0, 3: 93, 4: 95})
    # a blocked unit does not make its sound neighbours look too good: it is left out of their mean
    assert [u.state for u in got] == ["alike", "blocked", "alike", "alike"]
    assert got[1].interval[0] == 0.0
    assert got[1].ratio == 0.0
    assert got[0].ratio == pytest.approx(92 / 94)


def test_two_odd_units_are_both_found_and_the_rest_left_in_peace():
    six = small.plan(
        machines=[{"id": n, "kind": "planter", "rows": 6, "row_spacing_m": 0.75} for n in ("four", "pairs")]
    )
    found = row_units(six, DRAW, records({1: 92, 2: 60, 3: 93, 4: 95, 5: 0, 6: 91}))
    assert [u.state for u in found] == ["alike", "fewer", "alike", "alike", "blocked", "alike"]
    assert found[1].ratio == pytest.approx(60 / ((92 + 93 + 95 + 91) / 4))


def test_of_two_units_neither_is_taken_for_the_sound_one():
    assert [u.state for u in units({1: 92, 2: 50})[:2]] == ["more", "fewer"]


def test_a_worn_unit():
    got = units({1: 92, 2: 60, 3: 93, 4: 95})
    assert got[1].state == "fewer"
    low, high = got[1].interval
    assert low < 60 / (280 / 3) < high < 1.0


def test_the_interval_is_the_exact_one():
    got = units({1: 92, 2: 80, 3: 93, 4: 95})[1]
    # four units, 90 % for all: 97.5 % each; share 80 of 360, the other three units have three times the row
    share = stats.binomtest(3 * 80, 3 * 360).proportion_ci(0.975, method="exact")
    wanted = [3 * p / (1 - p) for p in (share.low, share.high)]
    assert got.interval == pytest.approx(wanted, rel=1e-7)


def test_units_nobody_counted_are_named():
    got = units({1: 92, 2: 94})
    assert [u.state for u in got] == ["alike", "alike", "not counted", "not counted"]


def test_one_unit_cannot_be_compared():
    assert units({3: 92})[2].state == "cannot tell"
    assert units({1: 0, 2: 0})[0].state == "cannot tell"


def test_counts_while_emerging_or_of_several_rows_say_nothing_about_units():
    assert units({1: 40, 2: 10}, stage="emerging") == ()
    several = small.count(1, 300).model_copy(update={"rows": 4, "row_unit": 1})
    assert row_units(PLAN, DRAW, Records(stand_counts=[several])) == ()


def test_sound_planters_are_rarely_blamed():
    # 300 planters of four sound units, Poisson plants: any unit called odd in at most 10 % (exact intervals are wide:
    # fewer); binomial SD 1.7 %, three of them
    rng = np.random.default_rng(4)
    blamed = 0
    for _ in range(300):
        plants = dict(zip(range(1, 5), rng.poisson(90, 4).tolist(), strict=True))
        blamed += any(u.state != "alike" for u in units(plants, strips=(1,)) if u.state != "not counted")
    assert blamed / 300 <= 0.10 + 3 * math.sqrt(0.09 / 300)


def units_of(strips):
    return row_units(PLAN, DRAW, records({1: 92, 2: 94}, strips=strips))


def test_each_method_has_its_own_planter():
    assert {u.method for u in units_of((1, 2))} == {"A", "B"}
    assert units_of((1,))[0].as_dict()["method"] == "A"
