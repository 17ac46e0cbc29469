"""Plants cut by hand: shares worked out by hand, protocols kept apart, ripeness before the harvest."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.days import said_day
from evenground.basis.observations import CutPlants
from evenground.decide.verdict import verdict
from evenground.harvest.cut_plants import RIPENESS_POINTS, cut_plants, ripeness, ripeness_note
from evenground.harvest.strips import harvest

DRAW = small.draw()
WEEK_BEFORE = small.AUTUMN - timedelta(days=7)


def row(strip, n=1, when=WEEK_BEFORE, **changes):
    return CutPlants(id=f"P{strip}-{n}", time=when, strips=str(strip), **changes)


def figures(records, harvested=small.AUTUMN):
    return {f.name: f.by_strip for f in cut_plants(records, harvested)}


def test_cob_share_fresh_and_dry_by_hand():
    # 10 plants of 6.0 kg at 30 % dry matter: 1.8 kg dry. Their cobs 2.1 kg at 50 %: 1.05 kg dry.
    # fresh 2.1 / 6.0 = 35 %, within the 35 to 40 % wanted and above the 30 % that is low (read in a published source
    # whose address is not kept, so a plausibility only); dry 1.05 / 1.8 = 58.3 %
    found = figures(
        [row(1, whole_fresh_g=6000, whole_dry_matter_percent=30, cobs_fresh_g=2100, cobs_dry_matter_percent=50)]
    )
    assert found["cob share, fresh, cobs without husk"] == {1: pytest.approx(35.0)}
    assert found["cob share, dry, cobs without husk"] == {1: pytest.approx(100 * 1.05 / 1.8)}


def test_dried_masses_say_the_same_as_percentages():
    dried = figures([row(1, whole_fresh_g=6000, whole_dry_g=1800, cobs_fresh_g=2100, cobs_dry_g=1050)])
    percent = figures(
        [row(1, whole_fresh_g=6000, whole_dry_matter_percent=30, cobs_fresh_g=2100, cobs_dry_matter_percent=50)]
    )
    assert dried == {name: {1: pytest.approx(v[1])} for name, v in percent.items()}


def test_two_rows_of_a_strip_are_added_and_then_divided():
    rows = [row(1, cobs=12, cobless_plants=0), row(1, n=2, plants=5, cobs=3, cobless_plants=2)]
    found = figures(rows)
    assert found["cobs per plant"] == {1: 1.0}
    assert found["cobless plants"] == {1: pytest.approx(100 * 2 / 15)}


def test_cobs_with_husks_are_another_figure():
    masses = {"whole_fresh_g": 6000, "cobs_fresh_g": 2100}
    found = figures([row(1, **masses), row(2, **masses, husk="with")])
    assert found["cob share, fresh, cobs without husk"].keys() == {1}
    assert found["cob share, fresh, cobs with husk"].keys() == {2}


def test_a_corrected_row_counts_once_and_nothing_measured_is_nothing():
    assert figures([row(1, cobs=1), row(1, n=2, cobs=9, replaces="P1-1")])["cobs per plant"] == {1: 0.9}
    assert figures([]) == {}


def test_ripeness_is_that_of_the_last_days_before_the_harvest():
    earlier = WEEK_BEFORE - timedelta(days=14)
    rows = [
        row(1, when=earlier, whole_dry_matter_percent=22),
        row(1, n=2, whole_dry_matter_percent=29),
        row(2, when=WEEK_BEFORE - timedelta(days=1), whole_dry_matter_percent=31),
        row(2, n=2, when=small.AUTUMN + timedelta(days=1), whole_dry_matter_percent=40),
    ]
    when, found = ripeness(rows, small.AUTUMN)
    assert when == WEEK_BEFORE.date()
    assert found == {1: pytest.approx(29.0), 2: pytest.approx(31.0)}
    assert ripeness([], small.AUTUMN) is None


@pytest.mark.parametrize(("points", "warned"), [(1.9, False), (2.0, False), (2.1, True), (-3.0, True)])
def test_more_than_two_points_apart_is_said(points, warned):
    # two points: common practice, no source
    assert RIPENESS_POINTS == 2.0
    found = ripeness_note((date(2025, 9, 2), {1: 30.0, 2: 30.0 + points}), {1: "A", 2: "B"})
    assert bool(found) is warned
    if warned:
        assert "not equally ripe" in found
        assert f"A 30.0 %, B {30 + points:.1f} %" in found


def test_one_method_alone_says_nothing():
    assert ripeness_note((date(2025, 9, 2), {1: 30.0}), {1: "A"}) == ""
    assert ripeness_note(None, {}) == ""


def season(records):
    return small.replaced(small.whole_season(DRAW), cut_plants=records)


def test_the_verdict_has_them_beside_it_and_the_harvest_says_who_was_riper():
    rows = [
        row(
            s.strip,
            cobs=10,
            cobless_plants=1 + (s.method == "B") + s.strip % 2,
            whole_fresh_g=6000,
            cobs_fresh_g=2000 + 10 * s.strip,
            whole_dry_matter_percent=29.0 + 0.1 * (s.strip % 3) + (3.0 if s.method == "B" else 0.0),
        )
        for s in DRAW.strips
    ]
    got = verdict(small.stored(records=season(rows)), today=date(2025, 12, 1), version="0")
    sides = {s.outcome: s for s in got.side_results}
    assert sides["cobless plants"].difference > 0
    assert sides["cobless plants"].unit == "%"
    assert f"dry matter of whole plants on {said_day(WEEK_BEFORE)}" in sides
    assert any("not equally ripe" in point for point in got.weak_points)
    assert any("not equally ripe" in note for note in got.harvest.notes)
    assert not any("not equally ripe" in n for n in harvest(small.plan(), DRAW, season([])).notes)


@pytest.mark.parametrize(
    ("cells", "field"),
    [
        ({"plants": 10, "cobless_plants": 11}, "cobless_plants"),
        ({"whole_fresh_g": 1000, "whole_dry_g": 3000}, "whole_dry_g"),
        ({"cobs_fresh_g": 3000, "whole_fresh_g": 1000}, "cobs_fresh_g"),
        ({"cobs_fresh_g": 900, "cobs_dry_g": 950, "whole_fresh_g": 5000}, "cobs_dry_g"),
        ({"whole_fresh_g": 5000, "whole_dry_g": 1500, "whole_dry_matter_percent": 30}, "whole_dry_matter_percent"),
        ({}, "cobs"),
    ],
)
def test_what_cannot_be_is_refused(cells, field):
    with pytest.raises(ValidationError) as caught:
        row(1, **cells)
    fault = caught.value.errors()[0]["ctx"]["error"].faults[0]
    assert fault[0] == field
    assert fault[3]


def test_a_row_of_a_strip_that_is_not_there_is_named():
    from evenground.basis.errors import InputError

    with pytest.raises(InputError, match="not laid out"):
        harvest(small.plan(), DRAW, season([row(99, cobs=10)]))


def test_times_of_day_do_not_matter_for_the_day():
    late = datetime.combine(WEEK_BEFORE.date(), datetime.max.time())
    rows = [row(1, whole_dry_matter_percent=30), row(2, when=late, whole_dry_matter_percent=31)]
    assert ripeness(rows, small.AUTUMN)[1] == {1: 30.0, 2: 31.0}
