"""What a calibration run says, against a spreader handbook's calibration chapter and plain geometry."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests import small_trial as small

from evenground.sowing.calibration_run import NEAR_ENOUGH, seed_run, starter_run
from evenground.sowing.settings import settings

A, B = settings(small.plan(), None)
# A spreader handbook's calibration chapter (p. 83): 8 km/h, 18 m and 300 kg/ha are 72 kg a minute.
HANDBOOK = replace(A, starter_kg_per_ha=300.0, speed_km_per_h=8.0, working_width_m=18.0)
# Four rows at 75 cm, 150 kg/ha: 20 turns of a wheel of 2 m on 3 m are 120 m2 and 1.8 kg (geometry).
FOUR_ROWS = replace(A, starter_kg_per_ha=150.0, speed_km_per_h=6.0, working_width_m=3.0)


def test_handbook_run_is_right_as_it_stands():
    got = starter_run(HANDBOOK, 72.0, 1.0, "minutes")
    assert got.found == pytest.approx(300.0)
    assert got.factor == pytest.approx(1.0)
    assert got.sentence == (
        "A, starter: 72 kg in 1 minute are 300 kg/ha; 300 kg/ha is wanted. Near enough: leave the setting, and run "
        "once more to be sure."
    )


@pytest.mark.parametrize(
    ("caught", "amount", "over"), [(4.5, 1.0, "minutes"), (4.5, 100.0, "metres"), (1.8, 20.0, "turns")]
)
def test_the_three_ways_of_catching_agree(caught, amount, over):
    # 150 kg/ha on 3 m: 4.5 kg a minute at 6 km/h, which is 100 m, and 1.8 kg in 20 turns of 2 m; 10 % less is caught
    got = starter_run(FOUR_ROWS, 0.9 * caught, amount, over, 2.0)
    assert (got.what, got.unit, got.wanted) == ("starter", "kg/ha", 150.0)
    assert got.found == pytest.approx(135.0)
    assert got.factor == pytest.approx(1 / 0.9)
    assert "10% too little: new setting = old setting x 1.111; then run again." in got.sentence


def test_seeds_dug_up():
    # seeds/m2 x 0.75 m are the seeds in a metre of row; a twin row shares them between two lines
    per_metre = A.seeds_per_m2 * 0.75
    one = seed_run(A, 40, 2.0, 3)
    assert one.found == pytest.approx(40 / 6)
    assert one.wanted == pytest.approx(per_metre)
    both = seed_run(B, 40, 2.0, 6)
    assert both.wanted == pytest.approx(per_metre / 2)
    assert both.factor == pytest.approx(one.factor)
    twice = seed_run(A, round(2 * per_metre * 100), 100.0)
    assert twice.factor == pytest.approx(0.5, abs=0.001)
    assert "100% too much" in twice.sentence


def test_what_cannot_be():
    for bad in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(ValueError, match="above 0"):
            starter_run(FOUR_ROWS, bad, 1.0, "minutes")
        with pytest.raises(ValueError, match="above 0"):
            starter_run(FOUR_ROWS, 1.0, bad, "metres")
        with pytest.raises(ValueError, match="above 0"):
            seed_run(A, 3, bad)
    with pytest.raises(ValueError, match="above 0"):
        seed_run(A, 0, 2.0)
    with pytest.raises(ValueError, match="above 0"):
        seed_run(A, 3, 2.0, 0)
    with pytest.raises(ValueError, match="one turn"):
        starter_run(FOUR_ROWS, 1.0, 20.0, "turns")
    with pytest.raises(ValueError, match="no starter"):
        starter_run(replace(A, starter_kg_per_ha=0.0), 1.0, 1.0, "minutes")


@given(st.floats(0.1, 10.0), st.floats(0.5, 200.0), st.sampled_from(["minutes", "metres", "turns"]))
def test_the_corrected_run_is_right(gives, amount, over):
    # A metering that gives in proportion to its setting is right after one correction, whichever way it was caught.
    first = starter_run(FOUR_ROWS, gives * amount, amount, over, 2.0)
    second = starter_run(FOUR_ROWS, first.factor * gives * amount, amount, over, 2.0)
    assert second.found == pytest.approx(second.wanted)
    assert ("Near enough" in first.sentence) == (abs(first.factor - 1) <= NEAR_ENOUGH)
