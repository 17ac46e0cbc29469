import json
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from tests import small_trial as small
from tests.season.invented_weather import day, weather, years

from evenground.basis.observations import Records
from evenground.season.sowings import first_sowing, sowing_days, sown_strips
from evenground.season.summary import season_days, season_summary

FIRST = date(2025, 4, 28)
HARVEST = datetime(2025, 9, 15, 9)
SOIL = {"texture": "loamy_sand"}
SEASON = {"earliness": "S 240", "earliness_group": "early", "altitude_m": 60.0}


def plan(**changes):
    return small.plan(**{"soil": SOIL, "season": SEASON, **changes})


def sown(later=0, harvest=True):
    """Two blocks, method B sown some days later."""
    second = small.DAY + timedelta(days=later)
    events = [small.event("1+4", "sown"), small.event("2+3", "sown", when=second)]
    return [*events, *([small.event("1+2+3+4", "harvested", when=HARVEST)] if harvest else [])]


DRAW = small.draw(("AB", "BA"))
DRY = weather(date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0)


def summary(events=None, long=DRY, latitude=51.0, the_plan=None):
    records = Records(events=sown() if events is None else events)
    return season_summary(the_plan or plan(), DRAW, records, latitude, long)


def test_a_dry_season_is_said_in_one_sentence():
    got = summary()
    assert len(got.water) == 2
    assert got.water[0].flowering_short_days > 0
    assert got.sentence.startswith(
        "From 28\xa0Apr\xa02025 to 15\xa0Sep\xa02025 the crop got 70 mm of rain; it was short of water on "
    )
    assert "around flowering" in got.sentence
    assert "no weather of earlier years" in got.sentence
    assert max(abs(w.balance.balance_error_mm) for w in got.water) < 0.01
    assert got.earliness == "S 240"


def test_a_wet_season_is_never_short():
    wet = weather(date(2025, 4, 1), 180, low=12.0, high=22.0, rain=12.0)
    assert summary(long=wet).sentence.startswith(
        "From 28\xa0Apr\xa02025 to 15\xa0Sep\xa02025 the crop got 840 mm of rain and was never short of water."
    )


def test_methods_sown_apart_have_their_own_water_and_heat():
    got = summary(sown(later=10))
    assert {w.strips.method: w.first for w in got.water} == {"A": FIRST, "B": day(10)}
    # ten days of (26 + 12) / 2 - 6 = 13, ripple of 0.05 aside
    assert got.heat["A"]["base_6"] - got.heat["B"]["base_6"] == pytest.approx(130.5, abs=0.5)
    assert got.same_heat[0].days_apart == 10
    assert got.leaves["A"] >= got.leaves["B"]


def test_irrigation_belongs_to_its_strips():
    event = small.event("2", "irrigated", when=datetime(2025, 7, 10, 6), water_mm=30.0)
    twice = small.event("2", "irrigated", n=2, when=datetime(2025, 7, 10, 20), water_mm=10.0)
    got = summary([*sown(), event, twice])
    by_strip = {s: w for w in got.water for s in w.strips.strips}
    assert by_strip[2].irrigation_mm == 40.0
    assert by_strip[3].irrigation_mm == 0.0
    assert by_strip[2].short_mm < by_strip[3].short_mm - 20.0
    assert "and 40 mm of irrigation" in by_strip[2].sentence


def test_soil_zones_hold_different_water():
    zones = {**SOIL, "zones": [{"zone": "hollow", "strips": [1], "texture": "loam"}]}
    got = summary(the_plan=plan(soil=zones))
    by_zone = {w.strips.zone: w for w in got.water if w.strips.method == "A"}
    assert set(by_zone) == {"", "hollow"}
    assert by_zone["hollow"].short_mm < by_zone[""].short_mm


def test_only_a_zone_is_said():
    zones = {"zones": [{"zone": "hollow", "strips": [1], "texture": "loam"}]}
    got = summary(the_plan=plan(soil=zones))
    assert [w.strips.strips for w in got.water] == [(1,)]


def test_earlier_years_say_how_unusual_it_was():
    long = years(2010, 2025)
    got = summary(long=long)
    assert sorted(got.earlier_short_mm) == list(range(2010, 2025))
    # every year is a little warmer than the one before, so the last one is short of most water
    assert "shorter than in 15 of 15 earlier years" in got.sentence


def test_a_gap_over_flowering_leaves_these_weeks_open():
    holed = weather(date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0)
    for name in ("temperature_min_c", "temperature_max_c", "rain_mm"):
        holed.values[name][100:108] = np.nan
    got = summary(long=holed).water[0]
    assert got.flowering_short_mm is None
    assert any("missing around flowering" in n for n in got.notes)
    assert any("bridged on 8 days" in n for n in got.notes)
    assert summary(long=holed).missing["rain_mm"] == 8
    short = weather(date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0)
    short.values["temperature_min_c"][100:102] = np.nan
    assert summary(long=short).water[0].flowering_short_mm is not None


def test_temperatures_without_rain_say_nothing_of_water():
    dry = weather(date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0)
    dry.values["rain_mm"][:] = np.nan
    got = summary(long=dry)
    assert (got.water, got.sentence) == ((), "")
    assert "rain is recorded on 0 of 141 days only: nothing is said about water" in got.notes
    assert got.heat  # heat needs no rain


@pytest.mark.parametrize(("missing", "said"), [(20, True), (60, False)])
def test_days_without_a_rain_record_stand_in_the_sentence(missing, said):
    holed = weather(date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0)
    holed.values["rain_mm"][30 : 30 + missing] = np.nan
    sentence = summary(long=holed).sentence
    assert (f"({missing} days without a usable record counted as dry)" in sentence) == said
    assert bool(sentence) == said


def test_a_rain_gauge_only():
    records = Records(
        events=sown(), weather=small.replaced(Records(), weather=small.weather(FIRST, [3.0, 0.0] * 10)).weather
    )
    gauge = [w.model_copy(update={"temperature_max_c": None}) for w in records.weather]
    got = season_summary(plan(), DRAW, small.replaced(records, weather=gauge), 51.0)
    assert got.weather.rain_mm == 30.0
    assert got.heat == {}
    assert got.stages == ()
    assert got.water == ()
    assert any("no temperatures of 2025" in n for n in got.notes)
    json.dumps(got.as_dict(), allow_nan=False)


@pytest.mark.parametrize("latitude", [0.0, 70.0, -35.0])
def test_any_latitude(latitude):
    got = summary(latitude=latitude)
    assert np.isfinite(got.water[0].short_mm)
    json.dumps(got.as_dict(), allow_nan=False)


def test_what_is_missing_is_named():
    assert any("no field outline" in n for n in summary(latitude=None).notes)
    assert any("what the soil is like" in n for n in summary(the_plan=plan(soil={})).notes)
    assert any("how early the hybrid is" in n for n in summary(the_plan=plan(season={})).notes)
    assert any("100 m taken" in n for n in summary(the_plan=plan(season={})).notes)
    late = DRY.part(date(2025, 6, 1), date(2025, 9, 1))
    assert any("do not reach back to sowing" in n for n in summary(long=late).notes)
    assert summary(events=[]).notes == ("no strip is recorded as sown",)
    assert summary(long=None).notes == ("no weather is recorded",)


def test_doubtful_days_are_listed_and_left_out():
    wild = weather(date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0)
    wild.values["rain_mm"][90] = 390.0
    wild.values["rain_mm"][5] = 390.0  # before sowing: of no interest
    got = summary(long=wild)
    assert [d.day for d in got.doubts] == [date(2025, 6, 30)]
    assert got.water[0].rain_mm == pytest.approx(69.0)
    assert any("without a rain record counted as dry" in n for n in got.water[0].notes)


def test_before_harvest_the_rest_is_forecast():
    half = DRY.part(DRY.first, date(2025, 6, 20))
    got = summary(sown(harvest=False), long=half)
    states = {s.stage: s.state for s in got.stages if s.method == "A"}
    assert states == {"emergence": "passed", "three_leaves": "passed", "flowering": "ahead", "silage": "ahead"}
    assert "not over yet" in " ".join(got.water[0].notes)
    assert all(t.first for t in got.agenda)


def test_sowing_days_follow_the_events():
    events = [
        *sown(later=3),
        small.event("1", "strip_lost", when=HARVEST),
        small.event("2", "sown", n=2, when=small.DAY + timedelta(days=9), method="A"),
    ]
    assert sowing_days(DRAW, events) == {2: ("A", day(9)), 3: ("B", day(3)), 4: ("A", FIRST)}
    assert first_sowing(DRAW, events) == {"A": FIRST, "B": day(3)}
    assert [g.strips for g in sown_strips(plan(), DRAW, Records(events=events))] == [(4,), (2,), (3,)]


def test_in_the_south_the_season_begins_the_year_before():
    spring = datetime(2024, 10, 20, 9)
    events = [
        small.event("1+2+3+4", "sown", when=spring),
        small.event("1+2+3+4", "harvested", when=datetime(2025, 3, 10, 9)),
    ]
    long = years(2015, 2025, low=12.0, high=26.0, rain=1.0)
    got = summary(events, long=long, latitude=-35.0)
    assert (got.water[0].first, got.water[0].last) == (date(2024, 10, 20), date(2025, 3, 10))
    # 2014/15 is not whole in this file, so nine earlier seasons are left of ten
    assert sorted(got.earlier_short_mm) == list(range(2016, 2025))
    assert season_days(2025, {"A": date(2024, 10, 20)}) == (date(2024, 1, 1), date(2025, 12, 31))
    assert season_days(2025, {}) == (date(2025, 1, 1), date(2025, 12, 31))


def test_a_short_day_is_one_on_which_half_a_millimetre_was_missed():
    got = summary().water[0]
    missed = got.balance.short_mm
    assert got.short_days == int((missed >= 0.5).sum()) < int((got.balance.stress < 0.99).sum())
    assert got.short_mm == pytest.approx(missed.sum())


def test_methods_with_other_cover_have_other_water():
    records = Records(events=sown())
    covers = {"B": {day(45): 0.7}}
    plain, seen = (season_summary(plan(), DRAW, records, 51.0, DRY, c) for c in (None, covers))
    by_method = {w.strips.method: w for w in seen.water}
    assert by_method["A"].short_mm == pytest.approx(plain.water[0].short_mm)
    # on dry ground more leaves earlier want more than there is
    assert by_method["B"].short_mm > by_method["A"].short_mm + 5.0
    assert abs(by_method["B"].balance.balance_error_mm) < 0.01


def test_two_ways_to_the_reference_that_differ_are_said():
    calm = weather(
        date(2025, 4, 1), 180, low=12.0, high=26.0, rain=1.0, humidity_percent=88.0, wind_m_per_s=0.6, sunshine_h=4.0
    )
    got = summary(long=calm).water[0]
    assert got.hargreaves_mm > 1.15 * got.reference_mm
    assert any("from temperatures alone" in n for n in got.notes)
    plain = summary().water[0]
    assert plain.hargreaves_mm == pytest.approx(plain.reference_mm, rel=0.15)
    assert not any("from temperatures alone" in n for n in plain.notes)


def test_the_season_goes_into_json_whole():
    got = json.loads(json.dumps(summary(sown(later=7), long=years(2018, 2025)).as_dict(), allow_nan=False))
    assert set(got) == {
        "earliness", "sentence", "weather", "known", "missing_days", "doubts", "sown", "heat", "leaves", "stages",
        "same_heat", "water", "earlier_short_mm", "agenda", "notes",
    }  # fmt: skip
    one = got["water"][0]
    came = one["rain_mm"] + one["irrigation_mm"]
    assert came == pytest.approx(one["crop_et_mm"] + one["drainage_mm"] + one["storage_change_mm"], abs=0.01)
    days = (date.fromisoformat(one["last"]) - date.fromisoformat(one["first"])).days + 1
    assert {len(v) for v in one["days"].values()} == {days}
    assert set(got["heat"]["A"]) == {"base_6", "base_8", "base_10_30", "crop_heat_units"}


def test_no_temperatures_after_the_last_day_known():
    # the station stopped in July, harvest was in September: the balance ends with the station and says so
    got = summary(long=DRY.part(DRY.first, date(2025, 7, 20)))
    assert got.water[0].last == date(2025, 7, 20)
    assert {s.state for s in got.stages if s.stage == "silage"} == {"not reached"}
    assert "temperatures end on 20\xa0Jul\xa02025, before harvest on 15\xa0Sep\xa02025" in got.notes


def test_half_filled_soil_at_sowing_is_short_sooner():
    half = summary(the_plan=plan(soil={**SOIL, "start_fraction": 0.4})).water[0]
    full = summary().water[0]
    assert half.short_mm > full.short_mm
    assert abs(half.balance.balance_error_mm) < 0.01


def test_grain_dries_down_and_uses_less_at_the_end():
    grain = summary(the_plan=plan(outcome={"product": "grain"})).water[0]
    assert grain.balance.unstressed_et_mm[-20:].sum() < summary().water[0].balance.unstressed_et_mm[-20:].sum()
    assert "harvest" not in {t.key for t in summary(the_plan=plan(outcome={"product": "grain"})).agenda}
