"""Unit factors against published ones, and their laws."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenground.basis.units import UNITS, ambiguous_ton, convert, other_names, split_name

# NIST Special Publication 811 (2008), appendix B.8 (factors in bold are exact there), and the yard and pound notice of
# 1959 (24 FR 5348). The acre of SP 811 (4.046 873 E+03 m2) is the US survey acre; ours is 4840 international square
# yards, 4046.856 422 4 m2, so the relative tolerance for acres is 1e-5, for the seven-digit entries 5e-7.
PUBLISHED = [
    ("lb", "kg", 0.45359237, 0.0),
    ("short_ton", "kg", 907.1847, 5e-7),
    ("long_ton", "kg", 1016.047, 5e-7),
    ("in", "m", 0.0254, 0.0),
    ("ft", "m", 0.3048, 0.0),
    ("yd", "m", 0.9144, 0.0),
    ("ft2", "m2", 0.09290304, 0.0),
    ("ac", "m2", 4046.873, 1e-5),
    ("lb_per_ac", "kg_per_ha", 1.120851, 1e-5),
    ("mi_per_h", "m_per_s", 0.44704, 0.0),
    ("f", "c", (1 - 32) / 1.8, 1e-15),
]


@pytest.mark.parametrize(("unit", "si", "factor", "tolerance"), PUBLISHED)
def test_factors_equal_the_published_ones(unit, si, factor, tolerance):
    assert float(convert(Fraction(1), UNITS[unit], UNITS[si])) == pytest.approx(factor, rel=tolerance, abs=0)


def test_a_bushel_an_acre_of_maize():
    # 56 lb on 4046.8564224 m2; the trade's rule of thumb is 1 t/ha = 15.93 bu/ac (four digits, from memory).
    assert float(convert(Fraction(1), UNITS["t_per_ha"], UNITS["bu_per_ac"])) == pytest.approx(15.93, abs=0.005)


@pytest.mark.parametrize(("c", "f"), [(-40, -40), (0, 32), (100, 212), (37, Fraction("98.6"))])
def test_temperatures_at_fixed_points(c, f):
    # By definition of the Fahrenheit scale: freezing 32, boiling 212.
    assert convert(Fraction(c), UNITS["c"], UNITS["f"]) == f


@given(st.sampled_from(list(UNITS)), st.data(), st.fractions(-1000, 1000))
def test_there_and_back_is_exact(suffix, data, value):
    unit = UNITS[suffix]
    other = data.draw(st.sampled_from([u for u in UNITS.values() if u.quantity == unit.quantity]))
    assert convert(convert(value, unit, other), other, unit) == value


def test_units_of_different_things_are_not_converted():
    with pytest.raises(ValueError, match="cannot"):
        convert(Fraction(1), UNITS["kg"], UNITS["m"])


@pytest.mark.parametrize(
    ("name", "others"),
    [
        ("gross_kg", {"gross_t", "gross_lb", "gross_short_ton", "gross_dt"}),
        ("seeds_per_m2", {"seeds_per_ha", "seeds_per_ac"}),
        ("expected_t_per_ha", {"expected_dt_per_ha", "expected_bu_per_ac", "expected_short_ton_per_ac"}),
        ("row_spacing_m", {"row_spacing_in", "row_spacing_cm"}),
        ("rain_mm", {"rain_in"}),
        ("temperature_max_c", {"temperature_max_f"}),
        ("dry_matter_percent", {"dry_matter_fraction", "dry_matter_g_per_kg"}),
        ("area_ha_per_year", {"area_ac_per_year"}),
        ("value_short_year_per_t", {"value_short_year_per_short_ton"}),
        ("speed_km_per_h", {"speed_mi_per_h"}),
    ],
)
def test_regional_names(name, others):
    assert others <= set(other_names(name))
    assert name not in other_names(name)


def test_names_without_a_unit():
    assert split_name("trailer") == ("trailer", None)
    assert other_names("kernels_per_unit") == {}


@pytest.mark.parametrize("name", ["gross_ton", "gross_tons", "yield_ton_per_ac"])
def test_a_ton_that_could_be_three_things_is_noticed(name):
    assert ambiguous_ton(name)
