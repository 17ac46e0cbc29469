"""Rows of a photograph as spacing runs: once, and corrected when the photograph is read again."""

from dataclasses import replace
from datetime import datetime

import pytest

from evenground.stand.photo.found import Found, Plant
from evenground.stand.photo.rows import Line, Rows
from evenground.stand.photo.run_records import RowTaken, run_records

AT = datetime(2026, 5, 25, 10, 0)


@pytest.fixture
def found():
    """A twin row whose second line begins before the row, and a row with one plant."""
    rows = Rows(0.0, ((Line(0.3, 0.0, 0.0, 3.0), Line(0.5, 0.0, 0.0, 3.0)), (Line(1.2, 0.0, 0.0, 3.0),)))
    places = [(1, 1, 0.2), (1, 1, 0.5123), (1, 2, -0.03), (1, 2, 0.66), (2, 1, 1.0)]
    plants = tuple(Plant(r, n, x, x / 0.002, 0.0) for r, n, x in places)
    return Found(plants, rows, 0.002, (1500, 1000), 0.05, 0.0, 0.2, 0.1, 0.07)


def records(found, stored=(), strip=7, who="a"):
    taken = [RowTaken(1, strip, 2), RowTaken(2, strip, None)]
    return run_records(found, taken, stored, key="photo-1", at=AT, who=who, note="from a photograph")


def test_one_run_a_line_with_a_tape_that_has_no_reading_below_its_start(found):
    first, second = records(found)
    assert (first.id, first.run, first.line, first.strips, first.row_unit) == ("photo-1-1-1", "photo-1-1", 1, (7,), 2)
    assert first.readings == (20.0, 51.2)
    assert (second.line, second.offset_cm, second.readings) == (2, -3.0, (0.0, 69.0))


def test_the_same_again_gives_nothing_new_whoever_sends_it(found):
    assert records(found, records(found), who="b") == []


def test_a_correction_replaces_the_earlier_run_and_a_second_one_the_first(found):
    kept = records(found)
    fewer = replace(found, plants=(*found.plants[:2], replace(found.plants[2], position_m=0.1), *found.plants[3:]))
    (one,) = records(fewer, kept)
    assert (one.id, one.replaces, one.readings) == ("photo-1-1-2-2", "photo-1-1-2", (10.0, 66.0))
    assert records(fewer, [*kept, one]) == []
    (two,) = records(found, [*kept, one])
    assert (two.id, two.replaces) == ("photo-1-1-2-3", "photo-1-1-2-2")


def test_a_correction_by_another_hand_is_followed(found):
    kept = records(found)
    by_hand = kept[0].model_copy(update={"id": "X1", "replaces": "photo-1-1-1", "readings": (20.0, 40.0)})
    assert [(r.id, r.replaces) for r in records(found, [*kept, by_hand])] == [("photo-1-1-1-2", "X1")]


def test_another_strip_is_a_correction_too(found):
    assert [r.replaces for r in records(found, records(found), strip=8)] == ["photo-1-1-1", "photo-1-1-2"]
