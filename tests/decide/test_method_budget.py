import math

import pytest
from tests import small_trial as small

from evenground.decide.budget import access_cost_per_ha, budget, ownership_per_year, value_after_carrying
from evenground.decide.partial_budget import capital_recovery_per_year

OWN = {
    "method": "B", "way": "own", "purchase_price": 40_000, "salvage_value": 10_000, "years": 10,
    "interest_fraction": 0.05, "upkeep_fraction": 0.01, "running_cost_per_ha": 30, "area_ha_per_year": 60,
}  # fmt: skip
SHARED = {**OWN, "way": "shared", "area_ha_per_year": 200}
HIRE_A = {"method": "A", "way": "hire", "price_per_ha": 60}
HIRE_B = {"method": "B", "way": "hire", "price_per_ha": 85}


def of(money=None, *, outcome=None, **changes):
    plan = small.plan(
        methods=[small.method("A"), small.method("B", **changes)], money=money or {}, outcome=outcome or {}
    )
    return budget(plan, plan.methods[1])


def test_nothing_changed_costs_nothing():
    got = of()
    assert got.chosen.extra_cost_per_ha == 0.0
    assert got.chosen.worthwhile_gain == 0.0
    assert [w.way for w in got.ways] == ["hire"]


@pytest.mark.parametrize(("seeds", "cost"), [(9.5, 0.0), (10.5, 22.0), (8.5, -22.0)])
def test_seed_cost_follows_the_units(seeds, cost):
    # 1 seed/m2 = 10 000 seeds/ha = 0.2 units of 50 000 at 110
    assert of(seeds_per_m2=seeds).chosen.extra_cost_per_ha == pytest.approx(cost)


def test_all_ways_stand_side_by_side_against_the_baseline_as_now():
    got = of({"machine_access": [HIRE_A, HIRE_B, OWN, SHARED], "access": "shared"})
    yearly = capital_recovery_per_year(40_000, 10_000, 10, 0.05) + 400
    costs = {w.way: w.extra_cost_per_ha for w in got.ways}
    assert costs == pytest.approx({"hire": 25.0, "own": yearly / 60 + 30 - 60, "shared": yearly / 200 + 30 - 60})
    assert got.chosen.way == "shared"


def test_break_even_area_is_where_own_and_hire_meet():
    got = of({"machine_access": [HIRE_A, HIRE_B, OWN]})
    hire, own = got.ways
    assert hire.break_even_ha is None
    at = {**OWN, "area_ha_per_year": own.break_even_ha}
    again = of({"machine_access": [HIRE_A, HIRE_B, at]})
    assert again.ways[1].extra_cost_per_ha == pytest.approx(again.ways[0].extra_cost_per_ha)


def test_owning_that_never_pays_has_no_break_even():
    got = of({"machine_access": [HIRE_A, HIRE_B, {**OWN, "running_cost_per_ha": 90}]})
    assert got.ways[1].break_even_ha is None


def test_the_way_counted_falls_back_to_the_one_named():
    assert of({"machine_access": [HIRE_A, OWN], "access": "hire"}).chosen.way == "own"


def test_an_unpriced_baseline_is_said():
    line = of({"machine_access": [HIRE_B]}).chosen.lines[1]
    assert "baseline's machine not priced" in line.item
    assert line.per_ha == 85.0


def test_lines_add_up():
    got = of({"machine_access": [HIRE_A, HIRE_B]}, seeds_per_m2=9.0, extra_cost_per_ha=12.0).chosen
    assert sum(line.per_ha for line in got.lines) == pytest.approx(got.extra_cost_per_ha)
    assert got.extra_cost_per_ha == pytest.approx(25.0 - 11.0 + 12.0)
    assert "less" in got.lines[0].item


def test_two_prices_of_a_tonne():
    got = of(
        {"value_short_year_per_t": 180, "value_full_year_per_t": 90, "chance_short_year": 0.4}, extra_cost_per_ha=63.0
    )
    assert got.value_per_t == pytest.approx(126.0)
    assert got.chosen.worthwhile_gain == pytest.approx(0.5)
    assert got.chosen.worthwhile_gain_short_year == pytest.approx(0.35)
    assert got.chosen.worthwhile_gain_full_year == pytest.approx(0.7)


def test_a_tonne_worth_nothing_in_a_full_year_has_no_worthwhile_gain_there():
    got = of({"value_full_year_per_t": 0, "chance_short_year": 0.0}, extra_cost_per_ha=20.0).chosen
    assert got.worthwhile_gain_full_year is None
    assert got.worthwhile_gain == math.inf
    assert got.worthwhile_gain_short_year == pytest.approx(20 / 180)


def test_carrying_is_taken_off_the_value():
    # at 33 % dry matter a tonne of dry matter is 3.03 t to carry
    plan = small.plan(money={"harvest_cost_per_t_fresh": 10.0})
    assert value_after_carrying(plan, 126.0) == pytest.approx(126.0 - 10.0 / 0.33)
    grain = small.plan(
        money={"harvest_cost_per_t_fresh": 10.0},
        outcome={"product": "grain", "expected_dry_matter_percent": 68.0, "standard_moisture_percent": 15.0},
    )
    assert value_after_carrying(grain, 150.0) == pytest.approx(150.0 - 10.0 * 0.85 / 0.68)


def test_hire_has_no_ownership():
    plan = small.plan(money={"machine_access": [HIRE_B, OWN]})
    hire, own = plan.money.machine_access
    assert ownership_per_year(hire) == 0.0
    assert access_cost_per_ha(hire) == 85.0
    assert ownership_per_year(own) > 3_000.0
