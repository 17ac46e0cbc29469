"""The page of sowing and stand, from a trial with known counts."""

from dataclasses import replace

import pytest
from tests import small_trial as small
from tests.report.fixture_verdict import verdict as invented

from evenground.basis.observations import Depth, Records, SpacingRun
from evenground.decide.sown_and_stood import sown_and_stood
from evenground.report.document import Bullets, Paragraph, Table
from evenground.report.stand_page import AS_DRAWN, stand_page

PLAN, DRAW = small.plan(), small.draw()


def page(records, plan=PLAN):
    found = replace(invented(), plan=plan, draws=(DRAW,), sown_and_stood=sown_and_stood(plan, DRAW, records))
    return stand_page(found)


def table(parts, caption):
    return next((p for p in parts if isinstance(p, Table) and caption in p.caption), None)


def counts(of_unit):
    return [small.count(s.strip, n, u, row_unit=u) for s in DRAW.strips for u, n in of_unit.items()]


def test_settings_stand_side_by_side():
    rows = {row[0]: row[1:] for row in table(page(Records()), "What each method was set to").rows}
    a, b = PLAN.methods
    assert rows["Seeds/m²"] == (f"{a.seeds_per_m2:.2f}", f"{b.seeds_per_m2:.2f}")
    assert rows["Lines in a row"] == ("1", "2")
    # 1 / (seeds/m2 x 0.75 m), twice that in each line of the twin row
    gap_cm = 100 / (a.seeds_per_m2 * 0.75)
    assert [float(v) for v in rows["Seed to seed in the line, cm"]] == pytest.approx([gap_cm, 2 * gap_cm], abs=0.05)


def test_the_stand_by_method_and_the_odd_row_unit():
    parts = page(Records(stand_counts=counts({1: 92, 2: 60, 3: 93, 4: 95})))
    stood = table(parts, "How the crop stood")
    assert [c.name for c in stood.columns] == ["Method", "Plants expected", "Counted"]
    assert [row[2] for row in stood.rows] == ["8.5", "8.5"]  # (92 + 60 + 93 + 95) / 40 m2
    said = [item for p in parts if isinstance(p, Bullets) for item in p.items]
    # 60 against the mean of 92, 93 and 95
    assert "A, row unit 2: fewer, −36 % against the others." in said
    assert len([s for s in said if "row unit" in s]) == 2
    assert table(parts, "the strip as the unit") is None  # strips without any scatter cannot be compared


def test_differences_with_the_strip_as_the_unit():
    plants = {s.strip: 90 + s.strip % 3 + 4 * (s.method == "B") for s in DRAW.strips}
    parts = page(Records(stand_counts=[small.count(s, n) for s, n in plants.items()]))
    blocks = [[s for s in DRAW.strips if s.block == b] for b in {s.block for s in DRAW.strips}]
    gains = [sum(plants[s.strip] * (1 if s.method == "B" else -1) for s in pair) / 9.99975 for pair in blocks]
    (row,) = table(parts, "the strip as the unit").rows
    assert row[0] == "Plants"
    assert float(row[2]) == pytest.approx(sum(gains) / len(gains), abs=0.005)


def test_sound_units_and_measured_columns():
    records = Records(
        stand_counts=counts({1: 92, 2: 93, 3: 93, 4: 95}),
        spacing_runs=[SpacingRun(id="R", time=small.DAY, strips="1", readings="0 14 28 58")],
        depths=[Depth(id="T", time=small.DAY, strips="1", depth_cm=4.5)],
    )
    parts = page(records)
    assert any(isinstance(p, Paragraph) and "8 row units were counted; none lies off" in p.text for p in parts)
    stood = table(parts, "How the crop stood")
    assert [c.name for c in stood.columns][3:] == ["Spaced right", "Misses", "Doubles", "Depth found"]
    assert stood.rows[0][3:] == ("67 %", "33 %", "0 %", "4.5")
    assert stood.rows[1][3:] == ("–", "–", "–", "–")


def test_what_was_really_sown():
    drawn = [small.event(s.strip, "sown", method=s.method) for s in DRAW.strips]
    assert any(isinstance(p, Paragraph) and p.text == AS_DRAWN for p in page(Records(events=drawn)))
    wrong = [small.event(1, "sown", method="B")]
    said = [item for p in page(Records(events=wrong)) if isinstance(p, Bullets) for item in p.items]
    assert said[0] == "Strip 1 was drawn A and sown B: it counts as B; its block (1) leaves the randomisation test."


def test_placeholders_are_not_shown_as_settings():
    plan = small.plan(trial={"name": "t", "season": 2025, "settings_told": False})
    assert page(Records(), plan) == ()
    parts = page(Records(stand_counts=counts({1: 92})), plan)
    assert table(parts, "What each method was set to") is None
    assert table(parts, "How the crop stood") is not None


def test_a_verdict_without_it_has_no_page():
    assert stand_page(invented()) == ()
