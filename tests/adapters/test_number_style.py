"""One number style per file: found, or asked; never guessed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenground.adapters.number_style import (
    STYLES,
    exact_number,
    find_date_style,
    find_style,
    format_number,
    iso_time,
    parse_number,
    style_named,
    words,
)


@pytest.mark.parametrize(
    ("cells", "name"),
    [
        (["12.5", "13"], "1234.5"),
        (["12,5", "13"], "1234,5"),
        (["1,234.5", "900"], "1,234.5"),
        (["9.500", "12,5"], "1.234,5"),
        (["1.234.567"], "1.234,5"),
        (["1 234,5"], "1 234,5"),
        (["1\u202f234,5", "2\u00a0000,25"], "1 234,5"),
        (["1 234.5"], "1 234.5"),
        (["1'234.5"], "1'234.5"),
        (["0.500", "9.500"], "1234.5"),
        (["7", "8", "text", ""], "1234.5"),
        (["−0,25"], "1234,5"),
        (["1e-3"], "1234.5"),
    ],
)
def test_a_style_that_the_cells_decide_is_found(cells, name):
    found = find_style(cells)
    assert found.style is not None
    assert found.style.name == name


@pytest.mark.parametrize("cells", [["9.500"], ["95.000", "88.000", "12"], ["9,500"], ["-1,234"]])
def test_a_style_left_open_is_not_guessed(cells):
    found = find_style(cells)
    assert found.style is None
    assert len(found.readings) == 2
    low, high = sorted(abs(value) for _, value in found.readings)
    assert high == 1000 * low


def test_both_readings_are_given_with_the_names_to_say_them():
    found = find_style(["9.500"])
    assert dict(found.readings) == {"1234.5": 9.5, "1.234,5": 9500.0}


def test_mixed_styles_take_the_one_of_most_cells():
    assert find_style(["12,5", "13,25", "12.5"]).style == STYLES["1234,5"]


@pytest.mark.parametrize(
    "text", ["nan", "NaN", "inf", "-Infinity", "12,5", "abc", "", "1.2.3", "1_000", "0x10", "1e9999"]
)
def test_what_is_no_finite_number_is_refused(text):
    with pytest.raises(ValueError, match="number"):
        parse_number(text)


@pytest.mark.parametrize("text", ["1" * 61, "1e999", "9" * 40 + "e300"])
def test_absurdly_large_numbers_are_refused(text):
    with pytest.raises(ValueError, match="number"):
        exact_number(text)


def test_exact_numbers_are_not_rounded():
    assert exact_number("0,1", style_named("1234,5")) == Fraction(1, 10)


@given(
    st.floats(allow_nan=False, allow_infinity=False, min_value=-1e200, max_value=1e200), st.sampled_from(list(STYLES))
)
def test_numbers_survive_writing_and_reading_in_every_style(value, name):
    text = format_number(value, STYLES[name])
    assert parse_number(text, STYLES[name]) == value


@given(st.floats(min_value=-1e6, max_value=1e6).map(lambda x: round(x, 3)), st.sampled_from(["1234.5", "1234,5"]))
def test_written_numbers_never_leave_their_reading_open(value, name):
    found = find_style([format_number(value, STYLES[name])])
    assert found.style is not None
    assert parse_number(format_number(value, STYLES[name]), found.style) == value


def test_an_unknown_style_names_the_known_ones():
    with pytest.raises(ValueError, match=r"1\.234,5"):
        style_named("german")


def test_numbers_in_words():
    assert [words(v) for v in (95000.0, 9.5, -1234567.25)] == ["95 000", "9.5", "-1 234 567.25"]


@pytest.mark.parametrize(
    ("cells", "style"),
    [
        (["2026-05-04"], "YYYY-MM-DD"),
        (["04.05.2026"], "DD.MM.YYYY"),
        (["04/05/2026 08:30", "23/05/2026 08:30"], "DD/MM/YYYY"),
        (["04/05/2026", "05/23/2026"], "MM/DD/YYYY"),
        (["05/05/2026"], "DD/MM/YYYY"),
        (["04/05/2026"], None),
        (["23/05/2026", "05/23/2026"], None),
    ],
)
def test_the_order_of_day_and_month_is_found_or_asked(cells, style):
    assert find_date_style(cells).style == style


@pytest.mark.parametrize(
    ("text", "style", "iso"),
    [
        ("04.05.2026", "DD.MM.YYYY", "2026-05-04"),
        ("04/05/2026", "MM/DD/YYYY", "2026-04-05"),
        ("04/05/2026 8:30", "DD/MM/YYYY", "2026-05-04T08:30:00"),
        ("31.02.2026", "DD.MM.YYYY", "31.02.2026"),
        ("2026-05-04T08:30:00+02:00", "DD.MM.YYYY", "2026-05-04T08:30:00+02:00"),
    ],
)
def test_dates_become_iso_or_stay_for_the_check_to_refuse(text, style, iso):
    assert iso_time(text, style) == iso


def test_a_number_too_large_decides_no_style():
    assert find_style(["1e308", "1,5"]).style.name == "1234,5"
