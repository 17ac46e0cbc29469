"""From a log of known truth to entries that can be kept."""

from dataclasses import replace

import pytest
from tests import driven
from tests import small_trial as small

from evenground.adapters.planter_log import read_trial_log
from evenground.basis.observations import Records
from evenground.sowing.as_sown import as_sown, readings_in_strips, speed_over_places
from evenground.sowing.log_entries import log_entries, seen_before
from evenground.sowing.sown_strips import sown_strips, with_log

PLAN, DRAW = small.plan(), small.draw()
FOUR = PLAN.machine("four")


@pytest.fixture
def read(tmp_path):
    def reading(*passes, method="A", **how):
        path = tmp_path / "log.csv"
        path.write_text(driven.table(*passes, **how))
        return read_trial_log(path, method, FOUR, DRAW, 2025)

    return reading


def entries(log, digest="0123456789abcdef" * 4):
    return {e.strips[0]: e for e in log_entries(log, as_sown(log, DRAW), digest)}


def test_a_strip_sown_as_drawn(read):
    log = read(*driven.strip_passes(1))
    (got,) = entries(log).values()
    # the first reading in the strip is 20 m / 2 m/s after the start
    assert (got.time - driven.START).total_seconds() == pytest.approx(10, abs=1)
    assert (got.event, got.method, got.stops, got.rows_off) == ("sown", "A", 0, 0)
    assert got.speed_km_per_h == pytest.approx(7.2, abs=0.01)
    assert got.id == "log-0123456789abcdef-1"


def test_stop_row_off_lifting_and_overlap(read):
    left = driven.standing(driven.rows_closed(driven.drive(7.5), first_m=100, last_m=150), at_m=60)
    right = driven.rows_closed(driven.drive(10.0), first_m=200, last_m=230, rows=4.0)  # half a metre too near
    log = read(left, right)
    (found,) = [s for s in as_sown(log, DRAW) if s.strip == 1]
    # readings every 2 m: each end of a stretch is known to a reading
    assert (found.stops, found.rows_off) == (1, 1)
    assert found.rows_off_m == pytest.approx(50.0, abs=2.5)
    assert found.lifted_m == pytest.approx(30.0, abs=2.5)
    assert found.overlap_m2 == pytest.approx(0.5 * 270.0, rel=0.03)
    got = entries(log)[1]
    assert (got.stops, got.rows_off) == (1, 1)
    for words in ("m of single row left out", "m driven lifted", "m2 sown twice"):
        assert words in got.note


def test_the_wrong_strip_becomes_an_entry_with_the_method_really_sown(read):
    got = entries(read(*driven.strip_passes(2)))
    assert (got[2].event, got[2].method, DRAW.strip(2).method) == ("sown", "A", "B")


def test_a_third_of_another_methods_strip_does_not_change_its_method(read):
    log = read(*driven.strip_passes(1), driven.drive(13.5, end=200.0))
    got = entries(log)[2]
    assert (got.event, got.method) == ("other", None)
    assert "33 % of it, drawn B, was sown by A's planter" in got.note
    kept = Records(events=tuple(entries(log).values()))
    assert next(s for s in sown_strips(PLAN, DRAW, kept) if s.strip == 2).sown == "B"


def test_less_than_half_of_its_own_strip_is_said(read):
    got = entries(read(driven.drive(7.5, end=100.0)))[1]
    # one pass of two, its last reading at 98 of 300 m: 16.3 %
    assert (got.method, got.note) == ("A", "only 16 % of it was sown by A's planter")


def test_the_same_log_gives_the_same_entries(read):
    log = read(*driven.strip_passes(1), *driven.strip_passes(4))
    assert entries(log) == entries(log)
    assert {e.id for e in entries(log, "f" * 64).values()}.isdisjoint(e.id for e in entries(log).values())


def test_a_log_without_dates_cannot_be_kept(read):
    log = read(*driven.strip_passes(1), clock=False)
    assert log.start is None
    with pytest.raises(ValueError, match="without dates"):
        entries(log)
    assert with_log(sown_strips(PLAN, DRAW, Records()), log, as_sown(log, DRAW))[0].first is None


def test_kept_and_looked_at_the_log_says_the_same(read):
    log = read(*driven.strip_passes(1))
    kept = sown_strips(PLAN, DRAW, Records(events=tuple(entries(log).values())))[0]
    seen = with_log(sown_strips(PLAN, DRAW, Records()), log, as_sown(log, DRAW))[0]
    assert (kept.sown, kept.first, kept.stops, kept.rows_off) == (seen.sown, seen.first, seen.stops, seen.rows_off)
    assert kept.speed_km_per_h == pytest.approx(seen.speed_km_per_h, abs=0.005)  # kept with two decimals


def test_entry_and_log_that_disagree_are_named_and_the_entry_counts(read):
    log = read(*driven.strip_passes(2))
    hand = Records(events=(small.event(2, "sown", method="B"),))
    got = with_log(sown_strips(PLAN, DRAW, hand), log, as_sown(log, DRAW))[1]
    assert got.sown == "B"
    assert "the entry for strip 2 says B, the log A" in got.notes


def test_a_crop_counted_before_it_was_sown(read):
    got = entries(read(*driven.strip_passes(1), start=small.AUTUMN)).values()
    counted = Records(stand_counts=(small.count(1, 90), small.count(2, 90)))
    assert list(seen_before(got, counted)) == [1]
    assert seen_before(entries(read(*driven.strip_passes(1))).values(), counted) == {}


def test_one_log_of_a_planter_that_sowed_two_methods(tmp_path):
    lines = driven.table(*driven.strip_passes(1), *driven.strip_passes(2)).splitlines()
    half = 1 + (len(lines) - 1) // 2
    letters = ["method"] + ["A"] * (half - 1) + ["B"] * (len(lines) - half)
    path = tmp_path / "both.csv"
    path.write_text("\n".join(f"{line},{letter}" for line, letter in zip(lines, letters, strict=True)))
    for letter, strip in (("A", 1), ("B", 2)):
        found = as_sown(read_trial_log(path, letter, FOUR, DRAW, 2025), DRAW)
        assert [(s.strip, s.state) for s in found if s.state != "not in this log"] == [(strip, "as drawn")]


def test_where_the_readings_lie_and_how_fast(read):
    log = read(*driven.strip_passes(1))
    assert readings_in_strips(log, DRAW) == pytest.approx(300, abs=3)  # two passes of 300 m, a reading every 2 m
    assert readings_in_strips(log, DRAW, swapped=True) == 0
    # the strips are laid out with 70 and 111 km a degree, the globe has 70.2 and 111.3: 0.3 %
    assert speed_over_places(log) == pytest.approx(1.0, abs=0.005)
    assert speed_over_places(replace(log, speed_m_per_s=3.6 * log.speed_m_per_s)) == pytest.approx(3.6, abs=0.02)
