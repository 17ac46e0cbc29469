"""The cab card: the right rows in the right order, figures that can be redone on paper, every caution."""

from __future__ import annotations

from itertools import pairwise

import pytest
from tests import small_trial as small
from tests.report import fixture_verdict as fixture

from evenground.basis.record import with_changes
from evenground.report.cab_card import INVENTED, cab_cards
from evenground.report.driven_passes import driven_passes
from evenground.sowing.seed_lot import lot_of_strips
from evenground.sowing.settings import settings

VERDICT, FIELD = fixture.verdict(), fixture.field()
DRAW = VERDICT.draw
BANDS = {"starter_beside_cm": 5.0, "starter_below_cm": 5.0}


def plan(side="left", edge="ditch", **changes):
    layout = {**dict(VERDICT.plan.layout), "fixed_edge": edge, "fixed_edge_side": side}
    return with_changes(VERDICT.plan, layout=layout, **changes)


def cards(the_plan=None, draw=DRAW, field=FIELD):
    the_plan = the_plan or plan()
    driven = driven_passes(the_plan, draw, field)
    return cab_cards(the_plan, draw, settings(the_plan, draw, driven.areas if driven else None), driven)


def test_rows_from_the_ditch():
    # By hand: the field edge is 18 m (24 rows of 75 cm) left of strip 1, every strip has 8 rows: strip k ends at row
    # 24 + 8 k, so strip 2 is "rows 33 to 40 from the ditch".
    driven = driven_passes(plan(), DRAW, FIELD)
    assert driven.counted_from == "the ditch"
    for passes in driven.passes.values():
        for one in passes:
            assert (one.first_row, one.last_row) == (24 + 8 * one.strip - 7, 24 + 8 * one.strip)


def test_rows_from_the_other_side_run_the_other_way():
    # 22 m from strip 16 to the right edge hold 29 whole rows
    driven = driven_passes(plan("right"), DRAW, FIELD)
    for passes in driven.passes.values():
        for one in passes:
            assert one.first_row == 29 + 8 * (16 - one.strip) + 1


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_passes_of_all_methods_sow_every_row_once(side):
    four = [{"id": m.id, "kind": "planter", "rows": 4, "row_spacing_m": 0.75} for m in VERDICT.plan.machines]
    driven = driven_passes(plan(side, machines=four), DRAW, FIELD)
    rows = [r for passes in driven.passes.values() for p in passes for r in range(p.first_row, p.last_row + 1)]
    assert sorted(rows) == list(range(min(rows), min(rows) + 16 * 8))
    for letter, passes in driven.passes.items():
        assert [p.number for p in passes] == list(range(1, len(passes) + 1))
        mine = [s.strip for s in DRAW.strips if s.method == letter]
        assert sorted(p.strip for p in passes) == sorted(2 * mine)
        assert all(DRAW.strip(p.strip).block == p.block for p in passes)
    assert sum(m2 for areas in driven.areas.values() for _, m2 in areas) == pytest.approx(
        sum(s.area_m2 for s in DRAW.strips),
        rel=1e-3,  # outlines rounded on the globe, boxed in the plane
    )


def test_one_card_a_method_with_its_strips_only():
    found = cards()
    assert [c.letter for c in found] == [m.letter for m in VERDICT.plan.methods]
    for card in found:
        assert {int(p.strip) for p in card.passes} == {s.strip for s in DRAW.strips if s.method == card.letter}


def test_settings_of_the_twin_rows_by_hand():
    # 9 seeds/m2, 75 cm, two lines: 2 / (9 x 0.75) = 29.6 cm; 8 km/h over 29.6 cm are 7.5 kernels a second
    twin = {f.label: (f.value, f.unit) for f in cards()[1].settings}
    assert twin["Seed to seed in each line"] == ("29.6", "cm")
    assert twin["Kernels a second, each unit"] == ("7.5", "")
    assert twin["Seeds a metre in each line"] == ("3.38", "")
    assert twin["Speed"] == ("8.0", "km/h")
    assert twin["Starter"] == ("none", "")


def starter_plan(**machine):
    machines = [{**dict(m), **BANDS, **machine} for m in VERDICT.plan.machines]
    methods = [{**dict(m), "starter_kg_per_ha": 150.0, "speed_km_per_h": 6.0} for m in VERDICT.plan.methods]
    return plan(machines=machines, methods=methods)


def test_starter_by_hand():
    # 150 kg/ha x 6 m x 6 km/h / 600 = 9 kg/min, on 8 hoses 1.125; 100 m x 6 m x 150 kg/ha = 9 kg; 20 turns of 2 m 3.6
    card = cards(starter_plan(wheel_circumference_m=2.0))[0]
    said = {f.label: f.value for f in card.settings}
    assert (said["Starter at this speed"], said["Each of 8 hoses"]) == ("9.00", "1.125")
    (box,) = [b for b in card.boxes if b.name == "Starter"]
    assert box.wanted == "9.00 kg a minute, 9.00 kg a 100 m, 3.60 kg in 20 turns"
    assert "old × wanted / caught" in box.how
    assert any("8 hoses, band 5.0 cm beside and 5.0 cm below" in c for c in card.checks)


def test_the_seed_box_holds_enough_seeds_to_count():
    # single rows: 6.75 seeds a metre, 3 m are 20.2; twin rows: 3.375 a metre and line, 5 m are 16.9
    single, twin = ({b.name: b.wanted for b in c.boxes} for c in cards())
    assert single["Seed"] == "20.2 seeds in 3 m of line"
    assert twin["Seed"] == "16.9 seeds in 5 m of line"
    assert twin["Speed"] == "45.0 s"  # 360 / 8 km/h


def test_checks_after_the_first_metres():
    twin = " ".join(cards()[1].checks)
    for needed in ("16 metering units", "Ten gaps in one line: 296 cm", "75 cm from row to row", "wrong strip", "time"):
        assert needed in twin


def test_every_caution_of_the_sowing_day_is_on_every_card():
    for card in cards(starter_plan()):
        text = " ".join(card.cautions)
        for needed in (
            "gloves", "do not throw bags", "dust", "spills", "before lifting", "labelled bag", "road", "power shaft",
            "hydraulics", "Wind limits", "permitted machines", "entry times", "local rules", "salt", "fertiliser plan",
        ):  # fmt: skip
            assert needed in text, needed


def test_what_is_wrong_stands_in_a_box_of_its_own():
    alike = cards()
    assert all(card.warnings == () for card in alike)
    methods = [dict(m) for m in VERDICT.plan.methods]
    methods[1]["depth_cm"] = 7.0
    machines = [{**dict(m), "metering_limit_per_s": 5.0} for m in VERDICT.plan.machines]
    single, twin = cards(plan(methods=methods, machines=machines, sowing={"soil_temperature_c": 5.0}))
    assert [w for w in twin.warnings if w.startswith("Depth: 7 cm against 5 cm")]
    for card in (single, twin):
        assert [w for w in card.warnings if w.startswith("TOO FAST for the metering")]
        assert [w for w in card.warnings if "TOO COLD" in w]
    close = cards(
        with_changes(starter_plan(starter_below_cm=0.0), starter={"nitrogen_percent": 18, "potash_percent": 0})
    )
    assert all(card.warnings[-1].startswith("TOO NEAR THE SEED") for card in close)


def test_fills_stand_at_the_pass_they_come_before():
    machines = [{**dict(m), "hopper": "central", "hopper_l": 10.0} for m in VERDICT.plan.machines]
    the_plan = plan(machines=machines, seed={"thousand_kernel_weight_g": 300.0})
    card = cards(the_plan)[0]
    marked = [p.number for p in card.passes if p.fill]
    assert marked[0] == "1"
    assert len(marked) > 1
    assert [f.split(":")[0] for f in card.fills] == [f"Before {n}" for n in marked]
    assert all("kg" in f and " l" in f for f in card.fills)


def test_before_the_draw_and_without_an_outline():
    undrawn = cards(draw=None)[0]
    assert (undrawn.passes, undrawn.fills, undrawn.way_note) == ((), (), "")
    assert undrawn.settings == cards()[0].settings
    no_outline = cards(field=None)[0]
    assert [p.rows for p in no_outline.passes] == ["–"] * 8
    assert "rows cannot be counted" in no_outline.rows_note


def test_rows_and_ways_are_explained():
    card = cards()[1]
    assert card.rows_note.startswith("Rows are counted from the ditch. A twin row counts as one row.")
    assert "18.0 m from the field edge" in card.rows_note
    assert card.way_note == "Out is towards north (20°); back is the other way."
    assert {p.way for p in card.passes} == {"out", "back"}


def test_an_invented_trial_says_so_and_a_real_one_does_not():
    assert cards()[0].banner == INVENTED
    assert cards(plan(trial={**dict(VERDICT.plan.trial), "invented": False}))[0].banner == ""


def test_small_trial_without_anything_extra_has_cards():
    driven = driven_passes(small.plan(), small.draw(), None)
    assert driven is None
    assert len(cab_cards(small.plan(), small.draw(), settings(small.plan(), small.draw()), driven)) == 2


def test_two_seed_lots_by_strip_and_how_often_the_order_would_change_them():
    seed = {"thousand_kernel_weight_g": 300.0, "lots": [{"lot": "L1"}, {"lot": "L2"}]}
    the_plan = plan(seed=seed, trial={**VERDICT.plan.trial.model_dump(), "seed_lots": 2})
    for card in cards(the_plan):
        lots = lot_of_strips(the_plan, DRAW)
        order = [lots[int(p.strip)] for p in card.passes]
        changes = sum(a != b for a, b in pairwise(order))
        assert card.lots[0].startswith("L1: strip")
        assert card.lots[1].startswith("L2: strip")
        assert any("the lot would change" in said for said in card.lots) == (changes > 1)
    assert all(card.lots == () for card in cards())
