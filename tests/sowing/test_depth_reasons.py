"""Why this depth: the farm's reason, moisture, soil and temperature."""

import pytest
from tests import small_trial as small

from evenground.sowing.depth import depth_sentences


def said(depth=5.0, reason="", **sowing):
    plan = small.plan(
        methods=[small.method("A", depth_cm=depth, depth_reason=reason), small.method("B")], sowing=sowing
    )
    return " ".join(depth_sentences(plan, plan.methods[0]))


def test_the_farms_reason_comes_first():
    assert said(reason="moisture begins at 4 cm").startswith("5 cm deep: moisture begins at 4 cm.")
    assert "gives no reason" in said()


# Deutsches Maiskomitee: soil from 8 to 10 degrees at seed depth
@pytest.mark.parametrize(
    ("degrees", "words"),
    [(7.9, "TOO COLD"), (8.0, "barely"), (9.9, "barely"), (10.0, "warm enough"), (None, "not measured")],
)
def test_soil_temperature(degrees, words):
    assert words in said(soil_temperature_c=degrees)
    assert "8 to 10 °C" in said(soil_temperature_c=degrees)


def test_the_source_of_the_temperature_is_said():
    assert "(probe at 5 cm)" in said(soil_temperature_c=9, soil_temperature_source="probe at 5 cm")
    assert "(source not said)" in said(soil_temperature_c=9)


# German plant protection services' advice: at most 6 cm on light, 4 cm on heavy soil
@pytest.mark.parametrize(
    ("soil", "depth", "warned"),
    [("heavy", 4.0, False), ("heavy", 5.0, True), ("sandy", 6.0, False), ("sandy", 7.0, True)],
)
def test_deep_sowing_is_said(soil, depth, warned):
    assert ("Advised at most" in said(depth, soil=soil)) is warned


def test_without_a_soil_nothing_is_said_about_it():
    assert "Advised at most" not in said(12.0)


@pytest.mark.parametrize(("depth", "words"), [(4.0, "lies dry"), (5.0, "in moist soil")])
def test_seed_belongs_into_moist_soil(depth, words):
    assert words in said(depth, moist_from_cm=4.0)
