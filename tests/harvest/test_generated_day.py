"""Loads joined to slips on invented days with known truth: right, or flagged; never silently wrong.

The judge is the generator (generated_day.py): it knows what lay on each trailer and what went wrong.
"""

import statistics

import pytest
from tests.harvest.generated_day import MISHAPS, TARES, WRONG_TRAILER, generated_day
from tests.harvest.many_days import DRAW, PLAN, a_day, judged

from evenground.harvest.strips import harvest

# Two loads a strip, each with a tare up to 2 x 25 kg off and two roundings of 5 kg: at most 2 x (2 x 50 + 10) kg.
# In an own tare per slip only the rounding is left.
NEAR_T = {"own": 0.03, "net": 0.03, "several": 0.23, "morning": 0.23}


@pytest.mark.parametrize("tares", TARES)
@pytest.mark.parametrize("seed", range(3))
def test_a_day_without_mishap_is_joined_right_in_full(tares, seed):
    day = generated_day(seed, mishaps=(), tares=tares)
    got = harvest(PLAN, DRAW, day.records)
    for s in got.strips:
        assert s.fresh_t == pytest.approx(day.truth_t[s.strip], abs=NEAR_T[tares]), (s.strip, s.notes)
        assert s.notes == ()
    assert len(got.joined.links) == len(day.records.loads)


@pytest.mark.parametrize("name", [*MISHAPS, WRONG_TRAILER])
def test_each_mishap_alone_is_never_silently_wrong(name):
    for seed in range(25):
        day = generated_day(seed, mishaps=(name,), rate=0.15)
        found, got = judged(day)
        assert found["silent"] == [], (seed, day.happened, got.notes)


@pytest.mark.parametrize("numbered", [True, False])
def test_all_mishaps_together_are_never_silently_wrong(numbered):
    used = []
    for seed in range(150):
        day = a_day(seed, numbered=numbered)
        found, got = judged(day)
        assert found["silent"] == [], (seed, day.happened, got.notes)
        used.append(len(found["right"]))
    # a rule that left everything open would be safe and useless: with some seven mishaps a day half are joined
    assert statistics.mean(used) >= 7.5


@pytest.mark.parametrize("seed", range(12))
def test_a_clock_an_hour_off_is_found_and_said(seed):
    day = generated_day(seed, mishaps=(), clock=True)
    found, got = judged(day)
    assert found["silent"] == []
    assert any("clock of scale bridge" in n for n in got.notes) or len(found["right"]) == 16, got.notes


@pytest.mark.parametrize("seed", range(6))
def test_small_hours_dated_with_the_evening_before_are_moved_and_said(seed):
    day = generated_day(seed, mishaps=(), midnight=True)
    found, got = judged(day)
    assert found["right"] == list(range(1, 17))
    late = any(r.time.hour < 5 for r in (*day.records.loads, *day.records.weighings))
    assert any("taken as the night after" in n for n in got.notes) is late
