from datetime import date, datetime

import pytest
from tests import small_trial as small

from evenground.basis.observations import Records, WeatherDay
from evenground.season.daily import daily_of
from evenground.season.weather import growing_span, longest_dry_spell, season_weather

# by hand
SPELLS = [
    ([], 0), ([0.0], 1), ([5.0], 0), ([4.99, 5.0, 0.0, 0.0], 2), ([0.0, None, 0.0], 1), ([None], 0),
    ([0.0] * 31 + [12.0] + [0.0] * 30, 31),
]  # fmt: skip


@pytest.mark.parametrize(("rain", "days"), SPELLS)
def test_longest_dry_spell(rain, days):
    assert longest_dry_spell(rain) == days


def season(rain, first=date(2025, 4, 28), harvest=datetime(2025, 5, 2, 9)):
    events = [small.event(1, "sown"), small.event(1, "harvested", when=harvest)]
    return Records(events=events, weather=small.weather(first, rain))


def test_only_days_between_sowing_and_harvest_count():
    got = season_weather(season([1.0, 2.0, 8.0, 4.0, 5.0, 99.0, 99.0]))
    assert (got.rain_mm, got.days, got.days_missing, got.longest_dry_days) == (20.0, 5, 0, 2)
    assert got.sentence == (
        "Rain from sowing to harvest 20 mm; longest spell without 5 mm in a day: 2 days; 0 days of 30 degrees and more."
    )


def test_days_without_a_record_are_named():
    got = season_weather(season([1.0, 2.0]))
    assert got.days_missing == 3
    assert "without 3 of 5 days" in got.sentence


def test_hot_days_need_temperatures():
    days = [
        WeatherDay(id=f"H{i}", time=small.DAY, day=date(2025, 4, 28 + i), rain_mm=0.0, temperature_max_c=t)
        for i, t in enumerate((29.9, 30.0))
    ]
    assert season_weather(small.replaced(season([0.0]), weather=days)).hot_days == 1
    bare = [d.model_copy(update={"temperature_max_c": None}) for d in days]
    got = season_weather(small.replaced(season([0.0]), weather=bare))
    assert got.hot_days is None
    assert "degrees" not in got.sentence


def test_nothing_is_said_without_weather_sowing_or_harvest():
    full = season([1.0, 2.0])
    assert season_weather(small.replaced(full, weather=[])) is None
    assert season_weather(small.replaced(full, events=[])) is None
    dry = [d.model_copy(update={"rain_mm": None}) for d in full.weather]
    assert season_weather(small.replaced(full, weather=dry)) is None


def test_the_last_load_stands_for_a_harvest_that_was_not_written_down():
    records = Records(events=[small.event(1, "sown")], loads=[small.load(1)])
    assert growing_span(records) == (date(2025, 4, 28), date(2025, 9, 9))


def test_harvest_before_sowing_is_no_season():
    records = Records(events=[small.event(1, "sown", when=small.AUTUMN), small.event(1, "harvested")])
    assert growing_span(records) is None


def test_a_corrected_day_counts_once():
    wrong = small.weather(date(2025, 4, 28), [300.0])[0]
    right = wrong.model_copy(update={"id": "new", "rain_mm": 3.0, "replaces": wrong.id})
    assert season_weather(small.replaced(season([]), weather=[wrong, right])).rain_mm == 3.0


def test_a_doubtful_value_counts_as_not_recorded_until_somebody_stands_by_it():
    # 160 mm lies above the 150 mm believed without asking.
    records = season([3.0, 160.0, 4.0], harvest=datetime(2025, 4, 30, 9))
    got = season_weather(records)
    assert (got.rain_mm, got.days_missing, got.days_doubtful, got.longest_dry_days) == (7.0, 1, 1, 1)
    assert "without 1 of 3 days whose record is doubtful" in got.sentence
    checked = [w.model_copy(update={"checked": w.rain_mm == 160.0}) for w in records.weather]
    assert season_weather(small.replaced(records, weather=checked)).rain_mm == 167.0


def test_days_without_a_record_and_doubtful_days_are_told_apart():
    got = season_weather(season([3.0, 160.0, 4.0]))
    assert (got.days_missing, got.days_doubtful) == (3, 1)
    assert "without 3 of 5 days that have no record or, 1 of them, a doubtful one" in got.sentence


def test_a_doubtful_temperature_is_no_hot_day():
    day = WeatherDay(
        id="H", time=small.DAY, day=date(2025, 4, 28), rain_mm=0.0, temperature_min_c=-8.0, temperature_max_c=34.0
    )
    mild = WeatherDay(
        id="M", time=small.DAY, day=date(2025, 4, 29), rain_mm=0.0, temperature_min_c=8.0, temperature_max_c=24.0
    )
    assert season_weather(small.replaced(season([0.0]), weather=[day, mild])).hot_days == 0


def test_a_crop_that_still_stands_has_its_rain_so_far():
    full = season([1.0, 2.0, 0.5, 0.0])
    got = season_weather(small.replaced(full, events=full.events[:1]))
    assert (got.rain_mm, got.last, got.harvested) == (3.5, date(2025, 5, 1), False)
    assert got.sentence.startswith("Rain from sowing to 1\xa0May\xa02025 4 mm")
    bare = [d.model_copy(update={"rain_mm": None}) for d in full.weather]
    assert season_weather(small.replaced(full, events=full.events[:1], weather=bare)) is None


def test_a_stations_file_is_summed_up_too():
    full = season([1.0, 2.0, 0.5, 0.0, 3.0])
    every = daily_of(full.weather)
    assert season_weather(small.replaced(full, weather=[]), given=every) == season_weather(full)
