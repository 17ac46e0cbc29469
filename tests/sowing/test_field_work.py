"""Pace: timed run, metering limit, hours."""

import pytest

from evenground.sowing.field_work import hours_for, seconds_for, speed_at_limit_km_per_h, speed_from_timed_run_km_per_h
from evenground.sowing.seed_spacing import in_line_spacing_m, kernels_per_second


def test_speed_of_a_timed_run():
    # A spreader handbook: km/h = 360 / seconds for 100 m; 45 s are 8 km/h. Exact.
    assert speed_from_timed_run_km_per_h(45.0) == pytest.approx(8.0, abs=1e-12)
    assert seconds_for(8.0) == pytest.approx(45.0, abs=1e-12)


@pytest.mark.parametrize(
    ("per_ha", "row_m", "speed"), [(100_000, 0.75, 6.0), (105_000, 0.75, 9.0), (80_000, 0.5, 12.0)]
)
@pytest.mark.parametrize("lines", [1, 2])
def test_at_the_speed_of_the_limit_the_metering_gives_just_the_limit(per_ha, row_m, speed, lines):
    spacing = in_line_spacing_m(per_ha / 1e4, row_m, lines)
    assert speed_at_limit_km_per_h(spacing, kernels_per_second(spacing, speed)) == pytest.approx(speed)


def test_published_pace_gives_back_its_speed():
    # 100 000 kernels/ha in 75 cm rows at 12.50 a second is 6 km/h (speed over spacing); printed to a hundredth
    assert speed_at_limit_km_per_h(in_line_spacing_m(10.0, 0.75), 12.50) == pytest.approx(6.0, abs=0.005)


def test_hours():
    # 12 rows of 30 in at 5 mph and 60 %: 10.91 acres an hour (Progressive Forage prints 10.9), so 109.1 acres in 10 h
    acres = 109.1 * 0.40468564 * 10_000
    assert hours_for(acres, 5 * 1.609344, 30 * 0.3048, 0.6) == pytest.approx(10.0, abs=0.005)


# Feet, mph, efficiency, acres an hour as printed: a planter (Progressive Forage, "Farm field equipment efficiency
# versus capacity"); fertiliser and manure spreaders (Iowa State University, Ag Decision Maker A3-24, table 1).
PRINTED = [
    (30, 5, 1.00, 18.2), (30, 5, 0.80, 14.5), (30, 5, 0.60, 10.9),
    (40, 6, 0.70, 20.4), (60, 6, 0.68, 29.7), (60, 12, 0.68, 59.3), (10, 5, 0.63, 3.8),
]  # fmt: skip


@pytest.mark.parametrize(("feet", "mph", "efficiency", "acres"), PRINTED)
def test_published_paces(feet, mph, efficiency, acres):
    acre_m2 = 4046.8564224
    hours = hours_for(acre_m2, mph * 1.609344, feet * 0.3048, efficiency)
    assert 1.0 / hours == pytest.approx(acres, abs=0.05)  # half of the last printed digit


@pytest.mark.parametrize("bad", [0.0, -3.0, float("nan"), float("inf")])
def test_no_speed_no_answer(bad):
    for call in (
        lambda: speed_from_timed_run_km_per_h(bad),
        lambda: seconds_for(bad),
        lambda: speed_at_limit_km_per_h(0.15, bad),
        lambda: speed_at_limit_km_per_h(bad, 15.0),
        lambda: hours_for(bad, 8.0, 3.0, 0.6),
        lambda: hours_for(1000.0, bad, 3.0, 0.6),
    ):
        with pytest.raises(ValueError, match="must be above 0"):
            call()
