"""Weather of earlier years beside a trial: what is kept comes back, nothing of the season itself, nothing lost."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.adapters.weather_years import MOST_YEARS, YEARS_FILE, read_years, years_of, years_text
from evenground.basis.errors import InputError
from evenground.season.daily import NAMES, empty

SEASON = date(2025, 1, 1)


def weather(first, days, **values):
    out = empty(first, days)
    for name, value in {"temperature_min_c": 8.0, "temperature_max_c": 21.5, "rain_mm": 1.25, **values}.items():
        out.values[name][:] = value
    return out


def back(text):
    return years_of(text.encode()).weather


def test_days_before_the_season_come_back_and_no_others():
    got = back(years_text(weather(date(2023, 6, 1), 900), SEASON))
    assert (got.first, got.last) == (date(2023, 6, 1), date(2024, 12, 31))
    assert got["rain_mm"] == pytest.approx(1.25)
    assert np.isnan(got["humidity_percent"]).all()


def test_a_file_of_this_season_alone_keeps_nothing():
    assert years_text(weather(SEASON, 200), SEASON) == ""


def test_what_is_kept_already_stays_and_gaps_are_filled():
    kept = weather(date(2023, 1, 1), 10, rain_mm=7.0)
    kept.values["rain_mm"][4] = np.nan
    got = back(years_text(weather(date(2023, 1, 1), 20, rain_mm=2.0), SEASON, kept))
    assert got["rain_mm"].tolist() == [7.0] * 4 + [2.0] + [7.0] * 5 + [2.0] * 10


def test_no_more_than_forty_years_are_kept():
    assert back(years_text(weather(date(1950, 1, 1), 27_000), SEASON)).first == date(2025 - MOST_YEARS, 1, 1)


def test_a_folder_without_the_file_has_none_and_one_that_cannot_be_read_is_said(tmp_path):
    assert read_years(tmp_path) is None
    (tmp_path / YEARS_FILE).write_text("nothing of the kind\n", encoding="utf-8")
    with pytest.raises(InputError, match=YEARS_FILE):
        read_years(tmp_path)


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_values_come_back_to_the_second_digit(data):
    days = data.draw(st.integers(2, 12))
    some = st.one_of(st.none(), st.floats(0.0, 40.0))
    drawn = {n: [data.draw(some) for _ in range(days)] for n in NAMES}
    out = empty(SEASON - timedelta(days=days), days)
    for name, values in drawn.items():
        out.values[name][:] = [np.nan if v is None else v for v in values]
    out.values["rain_mm"][0] = out.values["temperature_min_c"][0] = out.values["temperature_max_c"][0] = 1.0
    got = back(years_text(out, SEASON)).part(out.first, out.last)
    for name in NAMES:
        assert got[name] == pytest.approx(out[name], abs=6e-3, nan_ok=True)
