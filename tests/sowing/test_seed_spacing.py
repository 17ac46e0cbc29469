import pytest

from evenground.basis.pace import field_capacity_ha_per_h
from evenground.sowing.seed_spacing import (
    in_line_spacing_m,
    kernels_per_second,
    seeds_for_plants,
    units_per_ha,
)

# A Swiss seed breeder's seed-rate page: 95 % emergence, 75 cm rows, units of 50 000. Columns: plants/m2, kernels/m2,
# cm between seeds at 75 cm, the same at 37.5 cm (which is the line of a twin row on 75 cm), units/ha. Kernels are not
# rounded in between; tolerance is half of the last digit printed (plus a hair for digits that end in 5).
TABLE = [
    (6, 6.3, 21.1, 42.2, 1.26), (6.5, 6.8, 19.5, 39.0, 1.37), (7, 7.4, 18.1, 36.2, 1.47), (7.5, 7.9, 16.9, 33.8, 1.58),
    (8, 8.4, 15.8, 31.7, 1.68), (8.5, 8.9, 14.9, 29.8, 1.79), (9, 9.5, 14.1, 28.1, 1.89), (9.5, 10.0, 13.3, 26.7, 2.00),
    (10, 10.5, 12.7, 25.3, 2.11), (10.5, 11.1, 12.1, 24.1, 2.21), (11, 11.6, 11.5, 23.0, 2.32),
    (11.5, 12.1, 11.0, 22.0, 2.42), (12, 12.6, 10.6, 21.1, 2.53),
]  # fmt: skip


@pytest.mark.parametrize(("plants", "kernels", "single_cm", "half_cm", "units"), TABLE)
def test_published_seed_rate_table(plants, kernels, single_cm, half_cm, units):
    seeds = seeds_for_plants(plants, 0.95)
    assert seeds == pytest.approx(kernels, abs=0.0501)
    assert 100 * in_line_spacing_m(seeds, 0.75) == pytest.approx(single_cm, abs=0.0501)
    assert 100 * in_line_spacing_m(seeds, 0.375) == pytest.approx(half_cm, abs=0.0501)
    assert 100 * in_line_spacing_m(seeds, 0.75, lines_per_row=2) == pytest.approx(half_cm, abs=0.0501)
    assert units_per_ha(seeds, 50_000) == pytest.approx(units, abs=0.00501)


def test_75_cm_and_13_5_cm_are_about_ten_kernels():
    # a farm page says about 10 kernels/m2; exactly 98 765 per hectare
    assert in_line_spacing_m(9.8765, 0.75) == pytest.approx(0.135, abs=7e-7)  # the count is printed to the kernel


# kernels/ha, row m, km/h, kernels/s: worked from speed over spacing. The last line is 30 000 per acre at 30 in and
# 6 mph, which a seed counter's manual prints as 15 (exactly 15.15).
PACE = [(100_000, 0.75, 6, 12.50), (100_000, 0.75, 8, 16.67), (95_000, 0.75, 5, 9.90), (105_000, 0.75, 9, 19.69)]


@pytest.mark.parametrize(("per_ha", "row_m", "speed", "expected"), PACE)
def test_kernels_per_second(per_ha, row_m, speed, expected):
    # half of the last digit shown
    assert kernels_per_second(in_line_spacing_m(per_ha / 1e4, row_m), speed) == pytest.approx(expected, abs=0.0051)


def test_kernels_per_second_in_acres_and_miles():
    per_m2, row, speed = 30_000 / 4046.8564, 30 * 0.0254, 6 * 1.609344
    assert kernels_per_second(in_line_spacing_m(per_m2, row), speed) == pytest.approx(15.15, abs=0.005)
    # a dealer's page says 1.6 a second for 28 000 per acre at 4 mph; the right figure is 9.43
    wrong = kernels_per_second(in_line_spacing_m(28_000 / 4046.8564, row), 4 * 1.609344)
    assert wrong == pytest.approx(9.43, abs=0.005)


def test_twin_rows_halve_the_pace_of_a_metering_unit():
    single, twin = in_line_spacing_m(10.0, 0.75), in_line_spacing_m(10.0, 0.75, 2)
    assert kernels_per_second(twin, 8.0) == pytest.approx(kernels_per_second(single, 8.0) / 2)


# miles/h, ft, efficiency, acres/h: Progressive Forage (first three) and Iowa State A3-24 table 1; half a last digit
CAPACITY = [(5, 30, 1.0, 18.2), (5, 30, 0.8, 14.5), (5, 30, 0.6, 10.9), (6, 40, 0.7, 20.4), (6, 60, 0.68, 29.7),
            (12, 60, 0.68, 59.3), (5, 10, 0.63, 3.8)]  # fmt: skip


@pytest.mark.parametrize(("mph", "feet", "efficiency", "acres"), CAPACITY)
def test_field_capacity(mph, feet, efficiency, acres):
    got = field_capacity_ha_per_h(mph * 1.609344, feet * 0.3048, efficiency) / 0.40468564
    assert got == pytest.approx(acres, abs=0.06)  # their divisor 8.25 is exact; they round 14.55 down to 14.5


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_nothing_is_computed_from_nothing(bad):
    for call in (
        lambda: seeds_for_plants(bad, 0.9),
        lambda: seeds_for_plants(9.0, bad),
        lambda: in_line_spacing_m(bad, 0.75),
        lambda: in_line_spacing_m(9.0, bad),
        lambda: kernels_per_second(0.15, bad),
        lambda: units_per_ha(9.0, bad),
        lambda: field_capacity_ha_per_h(bad, 3.0, 0.6),
    ):
        with pytest.raises(ValueError, match="must be above 0"):
            call()
