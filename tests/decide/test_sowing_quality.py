"""Precision, misses, doubles and emergence from the trial's own records."""

import numpy as np
import pytest
from tests import small_trial as small

from evenground.basis.observations import Records, SpacingRun
from evenground.decide.sowing_quality import WORST_PRECISION, sowing_quality
from evenground.sowing.stand_simulation import ASSUMED, SowingQuality, simulate_stand, stand_space
from evenground.stand.runs import target_gap_m
from evenground.stand.spacing import exact, spacing
from evenground.stand.summary import stand_summary

PLAN, DRAW = small.plan(), small.draw()
METHOD = PLAN.baseline
# Worked set of 20 gaps at a target of 10, from its definitions (ISO 7256-1:1984; Kachman & Smith 1995): 24 places,
# 3 doubles, 7 empty, precision 27.83 %. The figures were reckoned by hand from the definitions, not published.
WORKED = (10, 9, 11, 4, 7, 12, 20, 10, 8, 31, 10, 3, 9, 42, 10, 14.9, 15.0, 15.1, 5.0, 5.1)


def summary(*runs, **kinds):
    return stand_summary(PLAN, DRAW, Records(spacing_runs=list(runs), **kinds))


def run(strip, gaps):
    target_cm = 100 * target_gap_m(METHOD)
    readings = " ".join(f"{g * target_cm / 10:.9f}" for g in gaps)
    return SpacingRun(id=f"R{strip}", time=small.DAY, strips=str(strip), reads="gaps", readings=readings)


def strips_of(letter):
    return [s.strip for s in DRAW.strips if s.method == letter]


def test_the_worked_set_gives_its_own_figures():
    # The ends of classes, 5.0 and 15.0, move a hair into their class: the run is written in other centimetres.
    gaps = [{5.0: 4.99, 15.0: 14.99}.get(g, g) for g in WORKED]
    found = sowing_quality(summary(run(strips_of("A")[0], gaps)), METHOD)
    assert found.runs == 1
    assert found.quality.miss_share == pytest.approx(7 / 24)
    assert found.quality.double_share == pytest.approx(3 / 24)
    assert found.quality.precision == pytest.approx(0.2783, abs=2e-4)
    assert found.quality.emergence_fraction == 1.0
    assert "29 % of the places without a plant, 12 % with two, as measured in 1 strip" in found.words


def test_strips_weigh_alike_however_long_their_runs_are():
    one, two = strips_of("A")[:2]
    found = sowing_quality(summary(run(one, [10] * 30), run(two, [10, 20])), METHOD)
    assert found.quality.miss_share == pytest.approx((0 + 1 / 3) / 2)
    assert found.quality.precision == 0.0


def test_without_runs_it_is_assumed_and_said():
    planned = sowing_quality(summary(), METHOD)
    assert planned.quality == SowingQuality(emergence_fraction=METHOD.expected_emergence_fraction)
    assert "common practice, no source" in planned.words
    assert planned.words.endswith("as planned")
    strip = strips_of("A")[0]
    plants = round(0.5 * METHOD.seeds_per_m2 * 10)  # of 13.333 m of row at 75 cm, so half the seeds came up
    counted = sowing_quality(summary(stand_counts=[small.count(strip, plants)]), METHOD)
    assert counted.quality.emergence_fraction == pytest.approx(plants / 9.99975 / METHOD.seeds_per_m2)
    assert counted.words.endswith("as counted")


def test_a_run_of_doubles_only_tells_no_places():
    # every gap is below half the target: nobody can say how many places there were
    found = sowing_quality(summary(run(strips_of("A")[0], [1, 1, 1])), METHOD)
    assert (found.runs, found.quality.miss_share) == (0, ASSUMED.miss_share)


def test_a_run_as_bad_as_strewn_stays_possible():
    wild = [6, 14] * 10
    found = sowing_quality(summary(run(strips_of("A")[0], wild)), METHOD)
    assert found.quality.precision == WORST_PRECISION
    lone = sowing_quality(summary(run(strips_of("A")[0], [1, 60, 60, 60])), METHOD)
    assert lone.quality.precision == ASSUMED.precision  # no gap is spaced right
    assert lone.quality.miss_share == 0.5
    assert "(assumed)" in lone.words


def test_a_simulated_planter_is_found_again_and_gives_its_own_density():
    # A simulated single line with known misses and doubles is read as a run; what is found must simulate the same.
    made = SowingQuality(precision=0.1, miss_share=0.1, double_share=0.05, lateral_sd_m=0.0, emergence_fraction=0.9)
    rng = np.random.default_rng(20260507)
    stand = simulate_stand(METHOD.row_pattern, METHOD.seeds_per_m2, 8, 400.0, made, rng)
    records = []
    for strip, line in zip(strips_of("A"), range(8), strict=True):
        along = np.sort(stand.places_m[stand.line == line, 1])
        records.append(run(strip, np.diff(along)[:1500] / target_gap_m(METHOD) * 10))
    found = sowing_quality(summary(*records), METHOD)
    # 8 x 1500 gaps: a share of 0.2 is known to 0.004; what emerges is (0.9 of 0.9) per place, doubles half of that
    assert found.quality.precision == pytest.approx(0.1, abs=0.01)
    assert found.quality.miss_share == pytest.approx(1 - 0.9 * 0.9, abs=0.025)
    again = simulate_stand(METHOD.row_pattern, METHOD.seeds_per_m2, 8, 400.0, found.quality, rng)
    assert stand_space(again).plants_per_m2 == pytest.approx(stand_space(stand).plants_per_m2, rel=0.02)


def test_the_tape_and_the_places_agree():
    # the two denominators are never mixed: places, not gaps, go into the simulation
    target = exact(0.1)
    whole = spacing([exact(g) / 100 for g in WORKED], target)
    assert whole.by_places.misses == pytest.approx(7 / 24)
    assert whole.by_gaps.misses == pytest.approx(4 / 20)
