from datetime import date

import numpy as np
import pytest

from evenground.season.heat import WAY_WORDS, WAYS, base_6, base_8, base_10_30, crop_heat_units, first_reaching


def c(fahrenheit):
    return (fahrenheit - 32.0) / 1.8


# Tmax, Tmin [deg F], degree days [deg F]: R.L. Nielsen (Purdue), "Heat unit concepts related to corn development";
# Karhoff (Ohio State, wfin.com 2023-06-12); wausharaargus.com 2018-04-25 (three days); the last three worked out from
# the rule. Exact arithmetic, so 1e-9.
FAHRENHEIT = [
    (80, 55, 17.5), (87, 63, 24.5), (90, 65, 25.5), (72, 46, 11.0), (63, 42, 6.5), (90, 48, 18.0), (45, 30, 0.0),
    (100, 90, 36.0),
]  # fmt: skip


@pytest.mark.parametrize(("high", "low", "days"), FAHRENHEIT)
def test_86_50_f(high, low, days):
    assert float(base_10_30(c(low), c(high))) * 1.8 == pytest.approx(days, abs=1e-9)


def test_the_published_three_days_together():
    low, high = np.array([65, 46, 42]), np.array([90, 72, 63])
    assert float(np.sum(base_10_30(c(low), c(high)))) * 1.8 == pytest.approx(43.0, abs=1e-9)


# Tmax, Tmin: base 6 with ceiling 30 (formula as the French seed trade publishes it), base 8, base 10 to 30; by hand
CELSIUS = [
    (34, 12, 15.0, 15.0, 11.0), (25, 15, 14.0, 12.0, 10.0), (20, 4, 6.0, 4.0, 5.0), (9, 1, 0.0, 0.0, 0.0),
]  # fmt: skip


@pytest.mark.parametrize(("high", "low", "six", "eight", "ten"), CELSIUS)
def test_celsius_ways(high, low, six, eight, ten):
    assert float(base_6(low, high)) == six
    assert float(base_8(low, high)) == eight
    assert float(base_10_30(low, high)) == ten


# by hand from the published formula: night 1.8 (Tmin - 4.4), day 3.33 (Tmax - 10) - 0.084 (Tmax - 10)^2
CHU = [
    (30.0, 14.4, (18.0 + 33.0) / 2), (20.0, 4.4, (33.3 - 8.4) / 2), (10.0, 0.0, 0.0), (5.0, 9.4, 9.0 / 2),
    (60.0, 4.4, 0.0),
]  # fmt: skip


@pytest.mark.parametrize(("high", "low", "units"), CHU)
def test_crop_heat_units(high, low, units):
    assert float(crop_heat_units(low, high)) == pytest.approx(units, abs=1e-9)


def test_crop_heat_units_peak_at_about_thirty_degrees():
    # published: development is fastest at about 30 deg C
    highs = np.arange(20.0, 40.0, 0.1)
    assert highs[np.argmax(crop_heat_units(10.0, highs))] == pytest.approx(30.0, abs=0.5)


def test_an_unknown_temperature_makes_an_unknown_day():
    for way in WAYS.values():
        assert np.isnan(way(np.array([np.nan, 10.0]), np.array([20.0, np.nan]))).all()
    assert set(WAYS) == set(WAY_WORDS)


def test_the_day_a_need_is_met():
    heat, first = np.array([5.0, 5.0, np.nan, 5.0]), date(2026, 5, 1)
    assert first_reaching(heat, first, 10.0) == date(2026, 5, 2)
    assert first_reaching(heat, first, 10.1) is None  # an unknown day hides what came after it
    assert first_reaching(heat[:0], first, 1.0) is None
