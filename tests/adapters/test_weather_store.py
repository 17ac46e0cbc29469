from datetime import date, datetime

import numpy as np
from tests.season.invented_weather import weather

from evenground.adapters.record_table import read_records
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.adapters.weather_store import weather_records
from evenground.basis.observations import WeatherDay, current
from evenground.season.quality import doubts

FIRST = date(2025, 6, 1)
YEAR = (date(2025, 1, 1), date(2025, 12, 31))


def gauge(day, rain, n=1):
    return WeatherDay(id=f"G{day}-{n}", time=datetime(2025, 6, 1, 7), day=day, rain_mm=rain)


def test_new_days_become_records_once():
    days = weather(date(2024, 12, 30), 6)
    new = weather_records(days, YEAR, (), (), "w.csv")
    assert [w.day.isoformat() for w in new] == ["2025-01-01", "2025-01-02", "2025-01-03", "2025-01-04"]
    assert new[0].note == "from w.csv"
    assert weather_records(days, YEAR, new, (), "w.csv") == []


def test_the_own_gauge_stays_and_the_station_adds_to_it():
    own = gauge(FIRST, 9.0)
    new = weather_records(weather(FIRST, 2, rain=1.0), YEAR, [own], (), "w.csv")
    assert (new[0].replaces, new[0].rain_mm, new[0].temperature_max_c) == (own.id, 9.0, 22.0)
    assert new[1].replaces is None
    assert [w.rain_mm for w in current([own, *new])] == [9.0, 0.0]
    assert weather_records(weather(FIRST, 2), YEAR, [own, *new], (), "w.csv") == []


def test_what_no_record_can_hold_is_left_out_and_named():
    wild = weather(FIRST, 4)
    wild.values["rain_mm"][0] = 900.0
    wild.values["temperature_min_c"][1] = 30.0
    new = weather_records(wild, YEAR, (), doubts(wild), "w.csv")
    assert new[0].rain_mm is None
    assert "rain_mm 900: more than 150 mm" in new[0].note
    assert new[1].temperature_min_c is None
    assert "above" in new[1].note
    assert new[1].rain_mm == 0.0


def test_a_day_without_anything_is_no_record():
    empty = weather(FIRST, 3, low=np.nan, high=np.nan, rain=np.nan)
    empty.values["rain_mm"][:] = np.nan
    assert weather_records(empty, YEAR, (), (), "w.csv") == []


def test_all_columns_go_out_and_in():
    full = weather(
        FIRST, 2, humidity_percent=70.0, humidity_min_percent=50.0, humidity_max_percent=95.0, dew_point_c=9.0,
        wind_m_per_s=3.0, radiation_mj_per_m2=20.0, sunshine_h=9.0,
    )  # fmt: skip
    new = weather_records(full, YEAR, (), (), "w.csv")
    new[0] = new[0].model_copy(update={"checked": True})
    text = rows_text(new, canonical_columns("weather"))
    again = read_records(text.encode(), "weather", file="records/weather.csv")
    assert again.problems == ()
    assert list(again.records) == new


def test_days_outside_the_season_are_not_stored():
    assert weather_records(weather(date(2023, 6, 1), 20), YEAR, (), (), "w.csv") == []
