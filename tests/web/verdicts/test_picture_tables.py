"""Every picture's numbers as a table; numbers and dates as the reader's language writes them."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from django.utils import translation

from evenground.basis.thousands import THIN
from evenground.report.document import Column, Table
from evenground.report.pictures import (
    BeliefCurves,
    BlockLines,
    Curve,
    HeatLine,
    MapStrip,
    Residual,
    ResidualsAlong,
    SeasonDays,
    StripMap,
    TwentyDots,
    WaterLine,
)
from evenground.web.numbers import as_percent, day, moment, number, plain, signed, span
from evenground.web.picture_tables import numbers_of
from evenground.web.templatetags.document_parts import cells


@pytest.fixture(autouse=True)
def _english():
    with translation.override("en-gb"):
        yield


def test_twenty_dots():
    dots = TwentyDots(tuple(-0.5 + 0.1 * k for k in range(20)), 0.35, "B", "A", "t/ha")
    table = numbers_of(dots)
    assert len(table.rows) == 20
    assert [r[2] for r in table.rows].count("yes") == dots.paying
    assert table.rows[0][1] == "−0.50"


def test_strip_map_and_block_lines():
    strip = MapStrip(3, 2, "A", ((0.0, 0.0), (1.0, 0.0), (1.0, 9.0)), "12.4", True)
    shown = numbers_of(StripMap((strip,), (), (0.0, 1.0), (("A", "single rows"),), "t/ha"))
    assert shown.rows == (("3", "2", "A", "12.4"),)
    lines = numbers_of(BlockLines(("A", "B"), ((1, (12.0, None)),), "t/ha"))
    assert lines.rows == (("1", "12.00", "–"),)


def test_curves_and_residuals():
    grid = tuple(0.01 * k for k in range(201))
    curves = numbers_of(BeliefCurves(grid, (Curve("long run", grid),), 0.3, "t/ha"))
    assert len(curves.rows) == 11
    assert curves.rows[-1] == ("+2.00", "2.000")
    left = numbers_of(ResidualsAlong((Residual("7", "B", -0.126),), "t/ha"))
    assert left.rows == (("7", "B", "−0.13"),)


def test_a_season_ten_days_a_row_every_drop_counted():
    rain = tuple(None if k == 4 else float(k) for k in range(25))
    water = WaterLine(("A", "B"), date(2026, 5, 3), tuple(80.0 - k for k in range(23)))
    table = numbers_of(SeasonDays(date(2026, 5, 1), rain, (water,), (), None, None, ("A", "B")))
    assert [row[2] for row in table.rows] == ["41", "145", "110"]
    assert [row[3] for row in table.rows] == ["73", "63", "58"]
    assert table.rows[2][:2] == ("21\xa0May\xa02026", "25\xa0May\xa02026")


def test_heat_of_a_season_stands_beside_its_rain_on_the_last_of_ten_days():
    rain = (1.0,) * 25
    heat = HeatLine(("A", "B"), date(2026, 5, 3), tuple(12.0 * k for k in range(23)))
    table = numbers_of(SeasonDays(date(2026, 5, 1), rain, (), (), None, None, ("A", "B"), (heat,)))
    assert table.columns[3].unit == "°C d"
    assert [row[3] for row in table.rows] == ["84", "204", "264"]
    assert table.caption.startswith("Rain, heat and water")


def test_without_rain_records_a_row_says_so():
    table = numbers_of(SeasonDays(date(2026, 5, 1), (None,) * 10, (), (), None, None, ("A",)))
    assert table.rows[0][2] == "–"


def test_cells_know_their_side():
    table = Table("Strips", (Column("Strip", "", "right"), Column("Method")), (("1", "A"),))
    assert cells(table) == [[("1", "right"), ("A", "left")]]


def test_numbers_in_english_and_german():
    said = (
        number(12345.678, 1),
        signed(-0.04, 1),
        signed(0.26),
        span((-0.1, 1.3)),
        plain(11640.0),
        as_percent(0.339, 1),
    )
    assert tuple(t.replace(THIN, " ") for t in said) == ("12 345.7", "0.0", "+0.3", "−0.10 … +1.30", "11 640", "33.9")
    with translation.override("de"):
        assert (number(12345.678, 1).replace(THIN, " "), plain(0.125), signed(1.25, 2)) == (
            "12 345,7",
            "0,125",
            "+1,25",
        )


def test_a_dash_where_there_is_nothing():
    assert {
        number(None),
        signed(None),
        span(None),
        as_percent(None),
        day(None),
        moment(None),
        number(float("nan")),
    } == {"–"}


def test_dates_cannot_be_mixed_up():
    assert day(date(2026, 4, 5)) == "5\xa0Apr\xa02026"
    assert moment(datetime(2026, 4, 5, 6, 7) + timedelta(seconds=1)) == "5\xa0Apr\xa02026, 06:07"
