from datetime import date

import numpy as np
import pytest
from tests.season.invented_weather import weather

from evenground.basis.days import said_day
from evenground.basis.observations import WeatherDay
from evenground.season.daily import bridged, daily_of, gaps, merged
from evenground.season.quality import SAID, doubts, in_runs, runs, without

FIRST = date(2025, 6, 1)


def odd(name, place, value, n=12, **others):
    out = weather(FIRST, n, **others)
    out.values[name][place] = value
    return out


# value, where, what it is put to, word of the reason
CASES = [
    ("rain_mm", 3, 400.0, "more than 150 mm"),
    ("rain_mm", 3, -1.0, "negative"),
    ("temperature_min_c", 3, 25.0, "above the highest temperature"),
    ("temperature_max_c", 3, 49.0, "between night and day"),
    ("temperature_max_c", 3, 51.0, "between night and day"),
    ("temperature_max_c", slice(2, 8), 22.0, "stuck"),
    ("temperature_min_c", slice(2, 8), 10.0, "stuck"),
    ("rain_mm", slice(2, 5), 7.0, "the same rain"),
    ("wind_m_per_s", 3, 25.0, "km/h"),
    ("wind_m_per_s", 3, -2.0, "negative"),
    ("humidity_percent", 3, 0.0, "above 0"),
    ("humidity_percent", 3, 130.0, "at most at 100"),
    ("dew_point_c", 3, 30.0, "above the highest temperature"),
    ("radiation_mj_per_m2", 3, 44.0, "another place"),
    ("radiation_mj_per_m2", 3, -4.0, "negative"),
    ("sunshine_h", 3, 18.0, "minutes"),
    ("sunshine_h", 3, -1.0, "negative"),
]


@pytest.mark.parametrize(("name", "place", "value", "word"), CASES)
def test_each_doubt_has_its_reason(name, place, value, word):
    found = [d for d in doubts(odd(name, place, value), 51.0) if d.name == name]
    assert found
    assert word in found[0].reason
    shown = str(in_runs(found)[0])
    assert shown.startswith(said_day(found[0].day))
    assert name not in shown  # words, not keys
    assert SAID[name][0] in shown
    assert found[0].day.month == 6


def test_sound_weather_raises_no_doubt():
    sound = weather(
        FIRST, 60, humidity_percent=70.0, wind_m_per_s=3.0, radiation_mj_per_m2=20.0, sunshine_h=9.0, dew_point_c=8.0
    )
    assert doubts(sound, 51.0) == ()


def test_radiation_of_the_other_hemisphere_is_noticed():
    # a sunny June day of central Europe cannot be one of Patagonia, where the sun sends 8 to 10 MJ then
    sound = weather(FIRST, 10, radiation_mj_per_m2=25.0)
    assert doubts(sound, 51.0) == ()
    assert len(doubts(sound, -51.0)) == 10
    assert doubts(sound, None) == ()


def test_doubtful_values_are_taken_out_and_a_checked_day_stays():
    wild = odd("rain_mm", 3, 400.0)
    assert np.isnan(without(wild, doubts(wild))["rain_mm"][3])
    assert wild["rain_mm"][3] == 400.0
    record = WeatherDay(id="1", time="2025-06-01T08:00", day=FIRST, rain_mm=200.0)
    assert len(doubts(daily_of([record]))) == 1
    assert doubts(daily_of([record.model_copy(update={"checked": True})])) == ()


def test_fog_for_a_week_is_no_fault():
    assert doubts(odd("humidity_percent", slice(2, 9), 100.0)) == ()
    assert doubts(odd("humidity_percent", slice(2, 9), 71.0)) != ()


def test_runs():
    assert runs(np.array([np.nan] * 6), 3).tolist() == [False] * 6
    assert runs(np.array([1.0, 1.0, np.nan, 1.0, 1.0]), 3).tolist() == [False] * 5
    assert runs(np.zeros(0), 3).tolist() == []


def test_gaps_in_temperature_are_bridged_and_marked_rain_is_not():
    holed = weather(FIRST, 9)
    for name in ("temperature_min_c", "temperature_max_c", "rain_mm"):
        holed.values[name][4:6] = np.nan
    holed.values["temperature_max_c"][:] = [20.0, 20, 20, 20, np.nan, np.nan, 26, 26, 26]
    got = bridged(holed)
    assert got["temperature_max_c"][4:6] == pytest.approx([22.0, 24.0])
    assert got.filled["temperature_max_c"].sum() == 2
    assert np.isnan(got["rain_mm"]).sum() == 2
    assert gaps(np.isnan(holed["rain_mm"])) == ((4, 2),)


def test_nothing_is_added_at_the_ends():
    ends = weather(FIRST, 6)
    ends.values["temperature_min_c"][[0, 5]] = np.nan
    assert np.isnan(bridged(ends)["temperature_min_c"][[0, 5]]).all()
    single = weather(FIRST, 3)
    single.values["temperature_min_c"][1:] = np.nan
    assert np.isnan(bridged(single)["temperature_min_c"][1:]).all()


def test_the_farms_own_gauge_goes_before_the_station():
    gauge, station = weather(FIRST, 5, low=np.nan, high=np.nan, rain=9.0), weather(date(2025, 5, 30), 9, rain=1.0)
    got = merged(gauge, station)
    assert (got.first, got.last) == (date(2025, 5, 30), date(2025, 6, 7))
    assert got.part(FIRST, FIRST)["rain_mm"][0] == 9.0
    assert got["temperature_min_c"][2] == station["temperature_min_c"][2]
    assert merged(None, station) is station
    assert merged(gauge, None) is gauge
    assert merged(None, None) is None


def test_a_part_beyond_the_ends_is_empty():
    part = weather(FIRST, 3).part(date(2025, 5, 31), date(2025, 6, 5))
    assert np.isnan(part["temperature_min_c"]).tolist() == [True, False, False, False, True, True]
    with pytest.raises(ValueError, match="before the first"):
        part.part(FIRST, date(2025, 5, 1))


def test_a_stuck_sensor_is_one_line_and_hides_no_other_doubt():
    sound = weather(FIRST, 60)
    sound.values["humidity_percent"][:] = 60.0
    sound.values["rain_mm"][20] = 400.0
    sound.values["temperature_min_c"][30], sound.values["temperature_max_c"][30] = 20.0, 8.0
    found = in_runs(doubts(sound, 51.0))
    assert {"humidity_percent", "rain_mm", "temperature_max_c"} <= {r.name for r in found[:6]}
    assert "(60 days): humidity 60 %: the same value" in str(next(r for r in found if r.name == "humidity_percent"))
    assert sum(r.days for r in found) == len(doubts(sound, 51.0))


def test_each_reason_comes_once_before_any_comes_twice():
    sound = weather(FIRST, 60)
    for i in range(2, 40, 2):
        sound.values["rain_mm"][i] = 200.0
    sound.values["temperature_max_c"][50] = 99.0
    found = in_runs(doubts(sound, 51.0))
    assert [r.reason.split()[0:2] for r in found[:2]] == [["more", "than"], ["more", "than"]]
    assert {r.name for r in found[:4]} >= {"rain_mm", "temperature_max_c"}
    assert len({r.reason for r in found}) == 2
    rain = [r.first for r in found if r.name == "rain_mm"]
    assert rain == sorted(rain)
    assert len(rain) == 19
    assert in_runs(()) == ()
