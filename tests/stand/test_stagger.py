"""The stagger achieved, on lines of known truth."""

import math

import numpy as np
import pytest

from evenground.stand.stagger import phases, stagger

FIRST = [20 * i for i in range(40)]


def line(shift, scatter=0.0, seed=3, spacing=20.0):
    rng = np.random.default_rng(seed)
    return [float(round(v, 2)) for v in np.sort(np.arange(39) * spacing + shift + rng.normal(0, scatter, 39))]


def test_phases_by_hand():
    assert phases([0, 10, 20], [5, 14, 26], 10) == (0.5, 0.4)


def test_a_plant_on_a_plant_has_phase_nought():
    assert phases([0, 10, 20], [10], 10) == (0.0,)


def test_misses_and_doubles_are_left_out():
    # gap 3 is a double, 17 a miss of a target of 10
    assert phases([0, 3, 20, 30], [1, 12, 25], 10) == (0.5,)


def test_perfect_stagger():
    got = stagger(FIRST, line(10), 20)
    assert got is not None
    assert (got.mean_phase, got.resultant, got.stagger) == pytest.approx((0.5, 1.0, 1.0), abs=1e-12)
    assert got.words.startswith("well staggered")


def test_side_by_side():
    got = stagger(FIRST, line(0.0), 20)
    assert got.stagger == pytest.approx(-1.0)
    assert "side by side" in got.words


@pytest.mark.parametrize("shift", [4.0, 8.0, 13.0])
def test_a_known_shift_is_found(shift):
    got = stagger(FIRST, line(shift, scatter=2.0), 20)
    # 39 plants with a scatter of 0.1 gap: standard error 0.016 of a gap; three of them
    assert got.mean_phase == pytest.approx(shift / 20, abs=0.05)
    low, high = got.phase_interval
    assert low < shift / 20 < high
    # a normal scatter with SD s shortens the resultant to exp(-(2 pi s)^2 / 2)
    assert got.resultant == pytest.approx(math.exp(-((math.tau * 0.1) ** 2) / 2), abs=0.06)


def test_lines_without_relation_claim_nothing():
    # spacing of the second line differs, so that the phase goes all the way round several times
    got = stagger(FIRST, line(0.0, spacing=20 * 1.077), 20)
    low, high = got.stagger_interval
    assert low < 0 < high
    assert "no stagger can be told" in got.words


def test_the_interval_holds_its_level():
    # 200 runs of lines with a scatter of 0.2 gap round the middle; truth exp(-(0.4 pi)^2 / 2) = 0.454
    truth = math.exp(-((math.tau * 0.2) ** 2) / 2)
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(200):
        found = stagger(FIRST, sorted(np.arange(39) * 20 + 10 + rng.normal(0, 4.0, 39)), 20)
        held += found.stagger_interval[0] <= truth <= found.stagger_interval[1]
    # 90 % of 200 with a binomial SD of 4.2; four of them
    assert 163 <= held <= 197


def test_too_few_plants_say_nothing():
    assert stagger(FIRST[:4], [10, 30, 50], 20) is None


def test_entries_are_plain():
    assert stagger(FIRST, line(10), 20).as_dict()["plants"] == 39
