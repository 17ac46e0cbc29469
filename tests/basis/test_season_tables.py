"""The tables of soils and of maize against what their sources print, and what the plan may say about them."""

from itertools import pairwise

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.observations import Event, WeatherDay
from evenground.basis.season_plan import SeasonSection, SoilSection, SoilWater
from evenground.basis.season_tables import GROUPS, TEXTURES, earliness_groups, maize, soil_store, soil_textures

# FAO-56 Table 19 (p. 144): printed ranges of field capacity, wilting point and their difference.
TABLE_19 = {
    "sand": (0.07, 0.17, 0.02, 0.07, 0.05, 0.11), "loamy_sand": (0.11, 0.19, 0.03, 0.10, 0.06, 0.12),
    "sandy_loam": (0.18, 0.28, 0.06, 0.16, 0.11, 0.15), "loam": (0.20, 0.30, 0.07, 0.17, 0.13, 0.18),
    "silt_loam": (0.22, 0.36, 0.09, 0.21, 0.13, 0.19), "silt": (0.28, 0.36, 0.12, 0.22, 0.16, 0.20),
    "silty_clay_loam": (0.30, 0.37, 0.17, 0.24, 0.13, 0.18), "silty_clay": (0.30, 0.42, 0.17, 0.29, 0.13, 0.19),
    "clay": (0.32, 0.40, 0.20, 0.24, 0.12, 0.20),
}  # fmt: skip


def test_every_name_of_the_plan_has_its_row_and_its_source():
    assert tuple(soil_textures()) == TEXTURES
    assert tuple(earliness_groups()) == GROUPS
    assert all(r.source for r in (*soil_textures().values(), *earliness_groups().values()))


@pytest.mark.parametrize("texture", TEXTURES)
def test_the_soils_are_those_of_the_table(texture):
    row = soil_textures()[texture]
    assert (*row.field_capacity, *row.wilting_point, *row.difference) == TABLE_19[texture]
    store = soil_store(SoilWater(texture=texture))
    assert store.available == pytest.approx(500.0 * sum(row.difference))
    assert row.wilting_point[0] - 0.01 <= store.wilting_point <= row.wilting_point[1]
    # Eq. 73: TEW = 1000 (FC - WP / 2) 0.1; the printed ranges hold it within 2 mm
    tew = [100.0 * (fc - 0.5 * wp) for fc, wp in zip(row.field_capacity, row.wilting_point, strict=True)]
    assert row.totally_evaporable[0] - 2.0 <= tew[0]
    assert tew[1] <= row.totally_evaporable[1] + 2.0


def test_maize_of_the_published_tables():
    # FAO-56 Tables 12 (p. 111), 17 (p. 138), 22 (p. 164), 24 (p. 176)
    table = maize()
    assert (table["basal_initial"], table["basal_mid"], table["basal_end_moist"], table["basal_end_dry"]) == (
        0.15, 1.15, 0.50, 0.15,
    )  # fmt: skip
    assert (table["height"], table["depletion"], table["yield_response"]) == (2.0, 0.55, 1.25)
    # 100 and 120 deg F d to emergence, 82 and 50 a leaf
    got = [table[n] * 1.8 for n in ("emergence_heat_low", "emergence_heat_high", "leaf_heat", "later_leaf_heat")]
    assert got == pytest.approx([100.0, 120.0, 82.0, 50.0], abs=0.1)


def test_groups_need_more_heat_the_later_they_are():
    sums = [row.flowering + row.silage for row in earliness_groups().values()]
    assert all(a < b for s, t in pairwise(sums) for a, b in zip(s, t, strict=True))


def test_own_values_go_before_the_texture():
    own = soil_store(SoilWater(texture="clay", field_capacity_percent=20.0, wilting_point_percent=8.0))
    assert own.available == pytest.approx(120.0)
    assert own.totally_evaporable_mm == pytest.approx(16.0)
    assert own.source == "own values"
    assert soil_store(SoilWater()) is None
    assert not SoilWater().said


def test_strips_without_a_zone_have_the_soil_of_the_field():
    soil = SoilSection(texture="loam", zones=({"zone": "knoll", "strips": (3,), "texture": "sand"},))
    assert soil.of_strip(3)[1].texture == "sand"
    assert soil.of_strip(4) == ("", soil)


WRONG = [
    (SoilWater, {"field_capacity_percent": 20.0}, "go together"),
    (SoilWater, {"field_capacity_percent": 8.0, "wilting_point_percent": 20.0}, "swapped"),
    (SoilWater, {"texture": "gravel"}, "texture"),
    (SoilSection, {"zones": [{"zone": "a", "strips": [1], "texture": "sand"}] * 2}, "stands in two zones"),
    (SeasonSection, {"flowering_heat_sum": (900.0, 800.0)}, "lowest sum is above"),
    (SeasonSection, {"flowering_heat_sum": (800.0, 900.0), "silage_heat_sum": (850.0, 950.0)}, "more heat than"),
    (SeasonSection, {"altitude_m": 9000.0}, "altitude_m"),
]  # fmt: skip


@pytest.mark.parametrize(("section", "content", "words"), WRONG)
def test_what_cannot_be_is_refused(section, content, words):
    with pytest.raises(ValidationError, match=words):
        section.model_validate(content)


def test_irrigation_needs_its_millimetres():
    with pytest.raises(ValidationError, match="irrigated needs water_mm"):
        small.event(1, "irrigated")
    assert Event(id="1", time=small.DAY, strips="1", event="irrigated", water_mm=20.0).water_mm == 20.0


def test_weather_days_hold_what_a_station_measures():
    one = WeatherDay(id="1", time=small.DAY, day=small.DAY.date(), humidity_percent=80, dew_point_c=9, sunshine_h=8)
    assert one.wind_m_per_s is None
    with pytest.raises(ValidationError, match="swapped"):
        WeatherDay(id="1", time=small.DAY, day=small.DAY.date(), temperature_min_c=20, temperature_max_c=10)
