"""No water appears or is lost, whatever the weather, soil and crop."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.season.invented_weather import weather

from evenground.basis.season_tables import SoilStore, soil_textures
from evenground.season.crop_coefficient import crop_curve
from evenground.season.reference_water import Place, ReferenceWater, reference_water
from evenground.season.water_balance import water_balance

PLACE = Place(51.0)


def air(et, n):
    ones = np.ones(n)
    return ReferenceWater(et * ones, et * ones, 2.0 * ones, 45.0 * ones, {})


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.sampled_from(sorted(soil_textures())),
    st.floats(0.3, 2.0),
    st.floats(0.0, 1.0),
    st.floats(0.0, 9.0),
    st.booleans(),
)
def test_the_balance_closes(seed, texture, depth, start, et, dry):
    rng = np.random.default_rng(seed)
    row = soil_textures()[texture]
    soil = SoilStore(row.field_capacity[1], row.wilting_point[0], 6.0, 18.0, depth, start)
    n = 140
    rain = rng.gamma(0.4, 9.0, n) * (rng.random(n) < 0.3)
    irrigation = 25.0 * (rng.random(n) < 0.02)
    crop = crop_curve(n, (25, 40, 45, 30), depth, dry_harvest=dry)
    got = water_balance(air(et, n), rain, irrigation, crop, soil)
    # asked for: 0.01 mm over a season; only rounding is left
    assert abs(got.balance_error_mm) < 1e-9
    assert (got.available_mm >= -1e-9).all()
    assert (got.available_mm <= soil.available * depth + 1e-9).all()
    assert ((got.stress >= 0) & (got.stress <= 1)).all()
    assert (got.drainage_mm >= 0).all()
    assert (got.short_mm >= -1e-9).all()


def test_each_day_closes_too():
    soil = SoilStore(0.15, 0.06, 6.0, 11.0, 1.0, 0.5)
    crop = crop_curve(120, (25, 40, 45, 30), 1.0, dry_harvest=False)
    rain = np.where(np.arange(120) % 9 == 0, 22.0, 0.0)
    whole = water_balance(air(4.0, 120), rain, np.zeros(120), crop, soil)
    part = water_balance(
        air(4.0, 60), rain[:60], np.zeros(60), crop_curve(60, (25, 40, 45, 30), 1.0, dry_harvest=False), soil
    )
    assert whole.et_mm[:60] == pytest.approx(part.et_mm)
    assert abs(part.balance_error_mm) < 1e-9


def test_heavy_rain_fills_the_profile_and_the_rest_drains():
    # by hand: 0.5 m of ground below seedling roots of 0.3 m and above 1.0 m ... start empty, TAW 90 mm/m
    soil = SoilStore(0.15, 0.06, 6.0, 11.0, 1.0, 0.0)
    crop = crop_curve(1, (25, 40, 45, 30), 1.0, dry_harvest=False)
    got = water_balance(air(0.0, 1), np.array([100.0]), np.zeros(1), crop, soil)
    assert got.drainage_mm[0] == pytest.approx(10.0)  # 100 mm into 90 mm of room
    assert got.storage_change_mm == pytest.approx(90.0)
    assert got.available_mm[0] == pytest.approx(27.0)
    assert got.available_fraction[0] == pytest.approx(1.0)


def test_a_wet_season_is_never_short_and_a_dry_one_is():
    soil = SoilStore(0.15, 0.06, 6.0, 11.0, 1.0, 1.0)
    crop = crop_curve(100, (25, 40, 45, 30), 1.0, dry_harvest=False)
    wet = water_balance(air(4.0, 100), np.full(100, 8.0), np.zeros(100), crop, soil)
    assert wet.short_mm.sum() == pytest.approx(0.0, abs=1e-9)
    dry = water_balance(air(4.0, 100), np.zeros(100), np.zeros(100), crop, soil)
    # it cannot take up more than the soil held
    assert dry.et_mm.sum() <= 90.0 + 1e-9
    assert dry.stress[-1] < 0.1
    watered = water_balance(air(4.0, 100), np.zeros(100), np.where(np.arange(100) == 60, 40.0, 0.0), crop, soil)
    # most of the water given under stress is used by the crop; some evaporates
    assert 20.0 < dry.short_mm.sum() - watered.short_mm.sum() <= 40.0


def test_what_cannot_be_followed_is_refused():
    soil = SoilStore(0.15, 0.06, 6.0, 11.0)
    crop = crop_curve(3, (25, 40, 45, 30), 1.0, dry_harvest=False)
    with pytest.raises(ValueError, match="evapotranspiration of a day is missing"):
        water_balance(air(np.nan, 3), np.zeros(3), np.zeros(3), crop, soil)
    with pytest.raises(ValueError, match="same days"):
        water_balance(air(1.0, 3), np.zeros(2), np.zeros(3), crop, soil)


def test_missing_air_is_replaced_and_counted():
    bare = reference_water(weather(date(2025, 6, 1), 10), PLACE)
    assert bare.replaced == {"humidity": 10, "wind": 10, "radiation": 10}
    assert "humidity on 10 days" in bare.sentence
    measured = weather(
        date(2025, 6, 1), 10, humidity_percent=70.0, wind_m_per_s=3.0, radiation_mj_per_m2=20.0, sunshine_h=9.0
    )
    full = reference_water(measured, PLACE)
    assert full.replaced == {"humidity": 0, "wind": 0, "radiation": 0}
    assert full.sentence == ""
    # both ways of a June day in central Europe; estimated from temperature it may be off by a quarter
    assert bare.et_mm == pytest.approx(full.et_mm, rel=0.25)


def test_the_day_of_example_18_through_the_whole_path():
    # FAO-56 Example 18 (pp. 72-73): 3.880 mm unrounded
    one = weather(
        date(2025, 7, 6), 1, low=12.3, high=21.5, humidity_min_percent=63.0, humidity_max_percent=84.0,
        wind_m_per_s=10 / 3.6, sunshine_h=9.25,
    )  # fmt: skip
    got = reference_water(one, Place(50.8, 100.0, wind_height_m=10.0))
    assert got.et_mm[0] == pytest.approx(3.880, abs=1e-3)


def test_dew_point_goes_before_humidity():
    both = weather(date(2025, 7, 6), 2, dew_point_c=9.0, humidity_percent=99.0)
    dew = weather(date(2025, 7, 6), 2, dew_point_c=9.0)
    assert reference_water(both, PLACE).et_mm == pytest.approx(reference_water(dew, PLACE).et_mm)


# A second opinion on whole seasons: pyfao56 1.4.3, Model(..., K_adj=True) with Parameters(Kcbini=0.15, Kcbmid=1.15,
# Kcbend=0.50, Lini=30, Ldev=40, Lmid=50, Lend=30, hini=0.05, hmax=2.0, thetaFC=0.15, thetaWP=0.06, theta0=0.15,
# Zrini=0.3, Zrmax=1.0, pbase=0.55, Ze=0.1, REW=6.0) on the invented days below.
# Rain every so many days [d], of so much [mm]; then use, water short, drainage of the season [mm].
SECOND_OPINION = [(12, 15.0, 256.8, 334.9, 8.4), (6, 15.0, 428.5, 231.9, 11.6), (5, 30.0, 685.1, 0.0, 214.9)]


@pytest.mark.parametrize(("every", "rain", "used", "short", "drained"), SECOND_OPINION)
def test_a_reference_library_agrees_on_whole_seasons(every, rain, used, short, drained):
    i = np.arange(150)
    et = np.round(3.5 + 1.5 * np.sin(i / 150 * np.pi) + 0.8 * np.sin(i * 1.7), 2)
    wind, humid = np.round(2.0 + np.sin(i * 0.9), 2), np.round(45 + 15 * np.sin(i * 1.1), 1)
    water = np.where(i % every == every - 1, rain, 0.0)
    crop = crop_curve(150, (30, 40, 50, 30), 1.0, dry_harvest=False)
    soil = SoilStore(0.15, 0.06, 6.0, 12.0, 1.0, 1.0)
    got = water_balance(ReferenceWater(et, et, wind, humid, {}), water, np.zeros(150), crop, soil)
    # It starts with a dry surface in a full profile, here the surface is full too: up to its 12 mm evaporate besides.
    # It lets rain arrive after the day's use, here before it, which moves a few millimetres between use and drainage.
    assert 0.0 <= float(got.et_mm.sum()) - used <= 12.0 + 5.0
    assert float(got.short_mm.sum()) == pytest.approx(short, abs=3.0)
    assert 0.0 <= drained - float(got.drainage_mm.sum()) <= 12.0
