"""Side outcomes of the stand, compared with the strip as unit."""

import math
import statistics

import pytest
from tests import small_trial as small

from evenground.basis.observations import Depth, Records, SpacingRun
from evenground.compare.compare import compare
from evenground.decide.stand_outcomes import stand_outcomes
from evenground.stand.summary import stand_summary

PLAN, DRAW = small.plan(), small.draw()


def summary(records):
    return stand_summary(PLAN, DRAW, records)


def test_only_what_was_measured_is_there():
    assert stand_outcomes(summary(Records())) == {}
    counted = stand_outcomes(summary(Records(stand_counts=[small.count(1, 90), small.count(2, 92)])))
    assert list(counted) == ["plants/m2"]
    assert counted["plants/m2"].strips == ("1", "2")
    assert (counted["plants/m2"].methods, counted["plants/m2"].blocks) == (("A", "B"), ("1", "1"))


def test_every_outcome_by_strip():
    records = Records(
        stand_counts=[
            small.count(1, 90, 1, late_plants=9),
            small.count(1, 80, 2, stage="after_last_hoeing"),
        ],
        spacing_runs=[SpacingRun(id="R", time=small.DAY, strips="1", readings="0 14 28 58")],
        depths=[Depth(id="T", time=small.DAY, strips="1", depth_cm=4.5)],
    )
    got = {name: v.outcome[0] for name, v in stand_outcomes(summary(records)).items()}
    assert got["late plants [%]"] == pytest.approx(10.0)
    assert got["plants/m2 after the last hoeing"] == pytest.approx(8.0, rel=1e-4)
    assert got["spaced right [%]"] == pytest.approx(200 / 3)
    assert got["misses [%]"] == pytest.approx(100 / 3)
    assert (got["doubles [%]"], got["precision [%]"], got["depth [cm]"]) == (0.0, 0.0, 4.5)


def test_pairs_of_strips_are_compared_as_pairs():
    # several counts a strip change nothing: the unit is the strip, so the paired t of eight blocks comes out
    plants = {s.strip: 88 + (s.strip * 7) % 5 + 3 * (s.method == "B") for s in DRAW.strips}
    counts = [small.count(s, n, k) for s, n in plants.items() for k in range(3)]
    (one,) = compare(stand_outcomes(summary(Records(stand_counts=counts)))["plants/m2"], "A").comparisons
    blocks = [[s for s in DRAW.strips if s.block == b] for b in range(1, 9)]
    gains = [sum(plants[s.strip] / 9.99975 * (1 if s.method == "B" else -1) for s in pair) for pair in blocks]
    assert one.gain == pytest.approx(statistics.fmean(gains), rel=1e-9)
    assert one.standard_error == pytest.approx(statistics.stdev(gains) / math.sqrt(8), rel=1e-6)
    assert one.df == pytest.approx(7)
