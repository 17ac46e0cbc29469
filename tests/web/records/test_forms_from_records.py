"""Forms made from the record classes: each field has its control, whatever is typed is a record or a problem."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Annotated, ClassVar, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field

from evenground.basis.observations import RECORD_KINDS, OfStrips, StandCount, WeatherDay
from evenground.web.forms_from_records import Row, correction_row, empty_row, entries, read_rows
from evenground.web.record_words import choice_words, field_words, kind_words, unit_words

NOW = datetime(2026, 9, 20, 10, 0)


def row(kind: str, **values: str) -> Row:
    return empty_row(kind, "row0", now=NOW, values=values)


def of(kind: str, name: str):
    return next(e for e in entries(kind) if e.name == name)


def test_controls_follow_the_types():
    assert of("weighings", "gross_kg").how == "number"
    assert of("weighings", "cumulative").how == "yes"
    assert of("loads", "order").how == "whole"
    assert of("loads", "time").how == "moment"
    assert of("weather", "day").how == "day"
    assert of("spacing_runs", "readings").how == "long"
    assert [v for v, _ in of("loads", "part").choices] == ["cut", "headland", "opening"]
    assert of("loads", "part").default == "cut"


def test_limits_and_units_are_said():
    assert of("stubble", "height_cm").limits == "above 0, at most 150"
    assert of("stubble", "height_cm").unit == "cm"
    assert of("weather", "temperature_min_c").unit == "°C"
    assert of("weather", "sunshine_h").unit == "h"


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_every_kind_in_words(kind):
    assert str(kind_words(kind))[0].isupper()
    for entry in entries(kind):
        assert "_" not in str(entry.label)
        assert all("_" not in str(words) for _, words in entry.choices)


class WeedScore(OfStrips):
    """A kind nobody has thought of yet."""

    kind: ClassVar[str] = "weed_scores"
    weed_cover_percent: Annotated[float, Field(ge=0.0, le=100.0)]
    seen_from: Literal["the_path", "the_row"] = "the_row"


def test_a_new_kind_needs_no_work_here(monkeypatch):
    monkeypatch.setitem(RECORD_KINDS, "weed_scores", WeedScore)
    assert str(kind_words("weed_scores")) == "Weed scores"
    assert (str(field_words("weed_cover_percent")), str(unit_words("weed_cover_percent"))) == ("Weed cover", "%")
    assert str(choice_words("the_path")) == "the path"
    (record,) = read_rows([row("weed_scores", strips="1+2", weed_cover_percent="12,5")])
    assert (record.strips, record.weed_cover_percent, record.seen_from) == ((1, 2), 12.5, "the_row")


def test_what_is_left_open_keeps_its_default():
    (record,) = read_rows([row("stand_counts", strips="3", length_m="13,3", plants="98", late_plants="")])
    assert record == StandCount(id=record.id, time=NOW, strips=(3,), length_m=13.3, plants=98, rows=1, late_plants=None)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("9500", 9500.0),
        ("9500.5", 9500.5),
        ("9500,5", 9500.5),
        ("11 640", 11640.0),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
    ],
)
def test_numbers_as_people_write_them(typed, value):
    one = row("weighings", trailer="1", gross_kg=typed)
    (record,) = read_rows([one])
    assert record.gross_kg == value


@pytest.mark.parametrize("typed", ["9.500", "9,500", "ten", "NaN", "inf", "1e400", "--3"])
def test_numbers_that_are_none_or_two(typed):
    one = row("weighings", trailer="1", gross_kg=typed)
    assert read_rows([one]) == []
    assert {p.field for p in one.problems} == {"gross_kg"}


def test_rows_do_not_spoil_one_another():
    bad, good = row("stubble", strips="x", height_cm="1"), row("stubble", strips="2", height_cm="18")
    (record,) = read_rows([bad, good])
    assert record.strips == (2,)
    assert bad.problems
    assert good.problems == []


def test_several_faults_are_said_at_once():
    one = row("stand_counts", strips="", length_m="-1", plants="2.5")
    read_rows([one])
    assert {p.field for p in one.problems} == {"strips", "length_m", "plants"}


def test_a_correction_keeps_every_value():
    old = WeatherDay(id="a", time=datetime(2026, 5, 1, 7, 8, 9), day="2026-05-01", rain_mm=1.125, checked=True)
    one = correction_row(old, "row0")
    (new,) = read_rows([one])
    assert new.replaces == "a"
    assert new.model_dump(exclude={"id", "replaces"}) == old.model_dump(exclude={"id", "replaces"})


TYPED = st.one_of(
    st.text(max_size=40),
    st.floats().map(str),
    st.integers(-(10**12), 10**12).map(str),
    st.sampled_from(["7+8", "0", "-0", "1e5", "=1+1", "<b>", "\x00", "2026-02-30", "true", '"', ";", ",", "ü", "7\n8"]),
)


@given(st.data())
def test_whatever_is_typed_is_a_record_or_a_problem(data):
    kind = data.draw(st.sampled_from(sorted(RECORD_KINDS)))
    names = [e.name for e in entries(kind)]
    one = Row(kind, "row0", {"id": "x", "replaces": "", **{n: data.draw(TYPED) for n in names}})
    found = read_rows([one])
    assert bool(found) != bool(one.problems)
    for record in found:
        json.dumps(record.model_dump(mode="json"), allow_nan=False)
