"""Calibration runs: flow, rate, turns of the wheel, correction factor, against published handbook figures."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.sowing.calibration import (
    correction_factor,
    kg_per_ha_from_turns,
    kg_per_min,
    rate_per_ha,
    speed_for_rate_km_per_h,
    turns_for,
)

rates, speeds, widths = st.floats(1.0, 500.0), st.floats(1.0, 20.0), st.floats(0.5, 36.0)


def test_flow_of_a_published_calibration_chapter():
    # A spreader handbook's calibration chapter: 8 km/h x 18 m x 300 kg/ha / 600 = 72 kg/min. Exact.
    assert kg_per_min(300.0, 8.0, 18.0) == 72.0


def test_driving_a_tenth_faster_gives_a_tenth_less_by_the_same_chapter():
    # It says "10 % underfertilised"; exactly 1/1.1, 9.1 % less. The tolerance is the rounding of 9.1.
    less = 1.0 - rate_per_ha(72.0, 8.8, 18.0) / 300.0
    assert less == pytest.approx(0.091, abs=0.0005)


def test_rate_and_speed_of_a_published_slurry_example():
    # A slurry spreader's handbook, p. 185: 4850 l/min, 11.5 m, 9.6 km/h give 26 359 l/ha; for 20 000 l/ha 7.28 km/h is
    # printed from the formula upside down (9.6 x 20000/26359); for a fixed flow the speed goes the other way.
    assert rate_per_ha(4850.0, 9.6, 11.5) == pytest.approx(26_359, abs=0.5)  # printed to the litre
    assert 9.6 * 20_000 / rate_per_ha(4850.0, 9.6, 11.5) == pytest.approx(7.28, abs=0.005)
    speed = speed_for_rate_km_per_h(20_000.0, 4850.0, 11.5)
    assert speed == pytest.approx(9.6 * 26_359 / 20_000, rel=1e-4)
    assert rate_per_ha(4850.0, speed, 11.5) == pytest.approx(20_000)


def test_a_four_row_starter_box():
    # worked by hand from the same formula: 150 kg/ha, 3 m, 6 km/h: 4.5 kg/min, a row 1.125
    assert kg_per_min(150.0, 6.0, 3.0) == pytest.approx(4.5, abs=1e-12)
    assert kg_per_min(150.0, 6.0, 3.0) / 4 == pytest.approx(1.125, abs=1e-12)
    assert rate_per_ha(4.5, 6.0, 3.0) == pytest.approx(150.0)


def test_turns_of_the_wheel():
    # worked by hand: 20 turns of 2.00 m at 3 m width are 120 m2; 1.80 kg on them is 150 kg/ha
    assert kg_per_ha_from_turns(1.80, 20, 2.00, 3.0) == pytest.approx(150.0, abs=1e-9)
    assert turns_for(120.0, 2.0, 3.0) == pytest.approx(20.0)


def test_the_corrected_setting_gives_the_wanted_rate_of_a_proportional_metering():
    gives = 0.09  # kg for one step of the setting
    setting, wanted = 16.0, 1.8
    assert setting * correction_factor(wanted, setting * gives) * gives == pytest.approx(wanted)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_nothing_is_computed_from_nothing(bad):
    for call in (
        lambda: kg_per_min(100.0, bad, 3.0),
        lambda: rate_per_ha(bad, 6.0, 3.0),
        lambda: speed_for_rate_km_per_h(100.0, 4.0, bad),
        lambda: kg_per_ha_from_turns(1.0, bad, 2.0, 3.0),
        lambda: turns_for(100.0, bad, 3.0),
        lambda: correction_factor(1.0, bad),
    ):
        with pytest.raises(ValueError, match="must be above 0"):
            call()


@settings(max_examples=100, deadline=None, derandomize=True)
@given(rates, speeds, widths)
def test_flow_rate_and_speed_are_each_others_inverse(rate, speed, width):
    flow = kg_per_min(rate, speed, width)
    assert rate_per_ha(flow, speed, width) == pytest.approx(rate)
    assert speed_for_rate_km_per_h(rate, flow, width) == pytest.approx(speed)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(rates, speeds, widths, st.floats(0.5, 8.0))
def test_a_run_by_turns_and_a_run_by_the_watch_agree(rate, speed, width, circumference):
    # what comes out in a minute of driving, spread over the ground of the turns driven in that minute
    turns = speed / 0.06 / circumference
    caught = kg_per_min(rate, speed, width)
    assert kg_per_ha_from_turns(caught, turns, circumference, width) == pytest.approx(rate)
    assert turns_for(speed / 0.06 * width, circumference, width) == pytest.approx(turns)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(rates, rates, rates)
def test_corrections_one_after_the_other_multiply(wanted, first, second):
    assert correction_factor(wanted, first) * correction_factor(first, second) == pytest.approx(
        correction_factor(wanted, second)
    )
