import json

import pytest
from tests import small_trial as small
from tests import split_trial as two_factors

from evenground.sowing.settings import cautions, differences, rate_sentence, settings

PLAN, DRAW = small.plan(), small.draw()


def test_one_entry_a_method_in_the_order_of_the_plan():
    assert [s.method for s in settings(PLAN, DRAW)] == ["A", "B"]


def test_twin_rows_have_double_spacing_and_double_metering_units():
    single, twin = settings(PLAN, DRAW)
    assert twin.in_line_spacing_m == pytest.approx(2 * single.in_line_spacing_m)
    assert (single.metering_units, twin.metering_units) == (4, 8)
    assert twin.kernels_per_second == pytest.approx(single.kernels_per_second / 2)
    assert twin.seeds_per_m_of_row == pytest.approx(single.seeds_per_m_of_row)
    assert twin.seeds_per_m_of_line == pytest.approx(single.seeds_per_m_of_line / 2)


@pytest.mark.parametrize("which", [0, 1])
def test_all_metering_units_together_sow_the_seed_rate(which):
    # law: units x kernels/s over the ground covered a second is seeds/m2
    s = settings(PLAN, DRAW)[which]
    ground = s.working_width_m * s.speed_km_per_h / 3.6
    assert s.metering_units * s.kernels_per_second / ground == pytest.approx(s.seeds_per_m2)


def test_what_to_buy():
    s = settings(PLAN, DRAW)[0]
    # 8 strips of 6 m x 300 m = 1.44 ha, 95 000 seeds/ha in units of 50 000 = 1.9 units/ha, 5 % reserve
    assert s.strips_area_m2 == pytest.approx(14_400)
    assert s.units_per_ha == pytest.approx(1.9)
    assert s.units_for_strips == pytest.approx(1.44 * 1.9 * 1.05)
    assert s.units_to_buy == 3
    assert s.passes_per_strip == 2
    assert s.hours == pytest.approx(1.44 / (8.0 * 3.0 * 0.6 / 10))
    assert s.expected_plants_per_m2 == pytest.approx(9.5 * 0.93)


def test_before_the_draw_no_amount_is_named():
    s = settings(PLAN, None)[0]
    assert (s.passes_per_strip, s.units_to_buy, s.hours, s.strips_area_m2) == (None, None, None, None)


def test_a_strip_that_is_not_whole_passes_is_said():
    notes = settings(PLAN, small.draw(width=7.5))[0].notes
    assert any("not whole passes" in n for n in notes)


def test_a_planter_with_other_rows_than_the_method_is_said():
    plan = small.plan(methods=[small.method("A"), small.method("B", row_pattern={"row_spacing_m": 0.5})])
    assert any("the method wants 0.5 m" in n for n in settings(plan, DRAW)[1].notes)


def asked(**changes):
    """Which settings differ from the baseline, and which of them belong to the question."""
    rate = changes.pop("rate", "same_rate")
    plan = small.plan(
        trial={"name": "t", "season": 2025, "rate_question": rate},
        methods=[small.method("A"), small.method("B", **changes)],
        machines=[{"id": name, "kind": "planter", "rows": 4, "row_spacing_m": 0.75} for name in ("four", "pairs")],
    )
    return {d.setting: d.part_of_question for d in differences(plan, plan.methods[1])}


TWIN = {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2}
QUESTIONS = [
    ({}, {}),
    ({"row_pattern": TWIN}, {"row pattern": True}),
    ({"row_pattern": TWIN, "machine": "pairs"}, {"row pattern": True, "machine": True}),
    ({"row_pattern": TWIN, "seeds_per_m2": 8.0}, {"row pattern": True, "seeds": False}),
    ({"row_pattern": TWIN, "seeds_per_m2": 8.0, "rate": "own_rate"}, {"row pattern": True, "seeds": True}),
    ({"seeds_per_m2": 8.0}, {"seeds": True}),
    ({"depth_cm": 7.0}, {"depth": True}),
    ({"depth_cm": 7.0, "speed_km_per_h": 12.0}, {"depth": False, "speed": False}),
    ({"starter_kg_per_ha": 100.0, "row_pattern": TWIN}, {"row pattern": True, "starter": False}),
    ({"machine": "pairs"}, {"machine": True}),
]


@pytest.mark.parametrize(("changes", "expected"), QUESTIONS)
def test_what_differs_besides_the_question_is_marked(changes, expected):
    assert asked(**dict(changes)) == expected


def with_bands(baseline, other, rates=(100.0, 100.0)):
    """What differs for two planters whose starter bands lie (beside, below, hoses)."""
    keys = ("starter_beside_cm", "starter_below_cm", "starter_hoses")
    machines = [
        {"id": name, "kind": "planter", "rows": 4, "row_spacing_m": 0.75, **dict(zip(keys, band, strict=True))}
        for name, band in (("four", baseline), ("pairs", other))
    ]
    methods = [
        small.method("A", starter_kg_per_ha=rates[0]),
        small.method("B", machine="pairs", row_pattern=TWIN, starter_kg_per_ha=rates[1]),
    ]
    plan = small.plan(methods=methods, machines=machines)
    return {d.setting: d.part_of_question for d in differences(plan, plan.methods[1])}


def test_a_starter_band_in_another_place_is_marked():
    assert "starter place" not in with_bands((5, 5, None), (5, 5, 4))
    assert with_bands((5, 5, None), (5, 3, None))["starter place"] is False
    assert with_bands((5, 5, 4), (5, 5, 8))["starter place"] is False
    assert with_bands((5, 5, None), (None, 5, None))["starter place"] is False
    assert "starter place" not in with_bands((5, 5, None), (5, 3, None), rates=(100.0, 0.0))


def test_the_baseline_differs_from_itself_in_nothing():
    assert differences(PLAN, PLAN.baseline) == ()


def test_sentences_name_both_values():
    (difference,) = [d for d in differences(PLAN, PLAN.methods[1]) if d.setting == "row pattern"]
    assert "staggered twin rows, lines 20 cm apart" in difference.sentence
    assert "single rows at 75 cm" in difference.sentence
    assert "(part of the question)" in difference.sentence


def test_cautions_defer_to_local_rules_and_name_starter_only_where_used():
    assert any("local rules" in c for c in cautions(PLAN))
    assert not any("Starter" in c for c in cautions(PLAN))
    with_starter = small.plan(methods=[small.method("A", starter_kg_per_ha=100.0), small.method("B")])
    assert any("Starter" in c for c in cautions(with_starter))


def test_json_can_be_written():
    text = json.dumps([s.as_dict() for s in settings(PLAN, DRAW)], allow_nan=False)
    assert '"part_of_question": true' in text


def test_plants_wanted_are_held_against_the_seeds_set():
    # the seed breeder's table (see test_seed_spacing): 9 plants/m2 at 95 % emergence need 9.5 kernels/m2
    for seeds, noted in ((9.0 / 0.95, False), (8.5, True)):
        method = small.method("A", target_plants_per_m2=9.0, expected_emergence_fraction=0.95, seeds_per_m2=seeds)
        found = settings(small.plan(methods=[method, small.method("B")]), None)[0]
        assert found.seeds_for_target_per_m2 == pytest.approx(9.5, abs=0.0501)  # half of the digit printed
        assert any("plants/m2 at 95 % emergence need 9.5" in n for n in found.notes) is noted
    assert settings(PLAN, None)[0].seeds_for_target_per_m2 is None


def limited(limit):
    machine = {"id": "four", "kind": "planter", "rows": 4, "row_spacing_m": 0.75, "metering_limit_per_s": limit}
    methods = [small.method("A", seeds_per_m2=10.0), small.method("B")]
    return settings(small.plan(machines=[machine], methods=methods), None)[0]


def test_the_speed_at_which_the_metering_reaches_its_limit():
    # 100 000/ha, 75 cm rows: 8 km/h are 16.67 kernels a second (speed over spacing), 6 km/h 12.50
    fast, slow = limited(12.5), limited(20.0)
    assert fast.speed_at_limit_km_per_h == pytest.approx(6.0, abs=0.005)
    assert any("TOO FAST" in n and "6.0 km/h" in n for n in fast.notes)
    assert not any("TOO FAST" in n for n in slow.notes)
    assert settings(PLAN, None)[0].speed_at_limit_km_per_h is None


def test_weights_need_a_thousand_kernel_weight():
    assert settings(PLAN, DRAW)[0].seed_kg_per_ha is None
    weighed = settings(small.plan(seed={"thousand_kernel_weight_g": 300.0}), DRAW)[0]
    assert weighed.seed_kg_per_ha == pytest.approx(28.5)  # 95 000 x 300 g
    assert weighed.seed_to_buy_kg == pytest.approx(3 * 15.0)


def test_own_pace_and_reserve_are_named_as_own():
    plan = small.plan(sowing={"efficiency_fraction": 0.5}, seed={"reserve_percent": 8.0})
    found = settings(plan, DRAW)[0]
    assert found.hours == pytest.approx(1.44 / (8.0 * 3.0 * 0.5 / 10))
    assert found.units_for_strips == pytest.approx(1.44 * 1.9 * 1.08)
    assert any("8 % seed reserve as the plan says" in n for n in found.notes)
    assert any("the farm's own figure" in n for n in found.notes)


def test_fills_follow_the_order_of_driving():
    machine = {"id": "four", "kind": "planter", "rows": 4, "row_spacing_m": 0.75, "hopper_l": 1.5}
    plan = small.plan(
        machines=[machine],
        methods=[small.method("A"), small.method("B")],
        seed={"thousand_kernel_weight_g": 300.0},
    )
    first = settings(plan, DRAW)[0].seed_fills[0]
    last = settings(plan, DRAW, {"A": [(16, 900.0), (1, 900.0)]})[0].seed_fills
    assert (first.before_strip, last[0].before_strip) == (1, 16)
    assert any("the planter also sows B" in n for n in settings(plan, DRAW)[0].notes)


def test_a_strip_that_takes_more_than_the_hopper_is_said():
    machine = {"id": "four", "kind": "planter", "rows": 4, "row_spacing_m": 0.75, "hopper_l": 1.0}
    methods = [small.method("A"), small.method("B")]
    plan = small.plan(machines=[machine], methods=methods, seed={"thousand_kernel_weight_g": 300.0})
    assert any("more seed than the machine holds" in n for n in settings(plan, DRAW)[0].notes)


def test_with_two_factors_both_are_the_question_and_nothing_else():
    plan = two_factors.plan(rates=(8.0, 9.5))
    found = {m.letter: {d.setting: d.part_of_question for d in differences(plan, m)} for m in plan.methods}
    assert found["B"] == {"seeds": True}
    assert found["C"] == {"row pattern": True, "machine": True}
    assert found["D"] == {"row pattern": True, "machine": True, "seeds": True}
    assert rate_sentence(plan) == (
        "The trial asks about the seed rate itself: 8 seeds/m2 and 9.5 seeds/m2, each with every row pattern."
    )


RATES = [
    ("same_rate", 9.5, "same seeds for all methods"),
    ("same_rate", 8.0, "make them alike"),
    ("own_rate", 8.0, "each method at its advised seed rate (A 9.5, B 8"),
]


@pytest.mark.parametrize(("question", "rate", "words"), RATES)
def test_the_question_about_the_rate_is_said(question, rate, words):
    plan = small.plan(
        trial={"name": "t", "season": 2025, "rate_question": question},
        methods=[small.method("A"), small.method("B", seeds_per_m2=rate)],
    )
    assert words in rate_sentence(plan)
