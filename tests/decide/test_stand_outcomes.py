"""Side outcomes of the stand, compared with the strip as unit."""

import math
import statistics

import pytest
from tests import small_trial as small

from evenground.basis.observations import Depth, Records, SpacingRun
from evenground.compare.compare import compare
from evenground.decide.stand_outcomes import stand_compared, stand_outcomes
from evenground.stand.summary import stand_summary

PLAN, DRAW = small.plan(), small.draw()


def summary(records):
    return stand_summary(PLAN, DRAW, records)


def test_only_what_was_measured_is_there():
    assert stand_outcomes(summary(Records())) == ()
    ((name, unit, plants),) = stand_outcomes(summary(Records(stand_counts=[small.count(1, 90), small.count(2, 92)])))
    assert (name, unit, plants.strips) == ("plants", "per m2", ("1", "2"))
    assert (plants.methods, plants.blocks) == (("A", "B"), ("1", "1"))


def test_every_outcome_by_strip():
    records = Records(
        stand_counts=[
            small.count(1, 90, 1, late_plants=9, lost_crows=3),
            small.count(1, 80, 2, stage="after_last_hoeing"),
        ],
        spacing_runs=[SpacingRun(id="R", time=small.DAY, strips="1", readings="0 14 28 58 72 86")],
        depths=[Depth(id="T", time=small.DAY, strips="1", depth_cm=4.5)],
    )
    got = {name: (values.outcome[0], unit) for name, unit, values in stand_outcomes(summary(records))}
    assert got["late plants"] == (pytest.approx(10.0), "%")
    assert got["plants after the last hoeing"] == (pytest.approx(8.0, rel=1e-4), "per m2")
    assert got["plants lost"] == (pytest.approx(0.3, rel=1e-4), "per m2")  # 3 of 13.333 m x 0.75 m
    assert got["spaced right"] == (pytest.approx(80.0), "%")
    assert got["misses"] == (pytest.approx(20.0), "%")
    assert (got["doubles"][0], got["precision"][0], got["depth"][0]) == (0.0, pytest.approx(0.0, abs=1e-9), 4.5)
    # of the four plants inside the line all have a neighbour 14 cm away; ground 14, 22, 22, 14 cm long, SD over mean
    assert got["distance to the nearest plant"] == (pytest.approx(14.0), "cm")
    room = [14.0, 22.0, 22.0, 14.0]
    assert got["spread of land per plant"][0] == pytest.approx(100 * statistics.stdev(room) / statistics.fmean(room))


def test_no_loss_written_down_is_no_outcome():
    names = [name for name, _, _ in stand_outcomes(summary(Records(stand_counts=[small.count(1, 90)])))]
    assert names == ["plants"]


def test_pairs_of_strips_are_compared_as_pairs():
    # several counts a strip change nothing: the unit is the strip, so the paired t of eight blocks comes out
    plants = {s.strip: 88 + (s.strip * 7) % 5 + 3 * (s.method == "B") for s in DRAW.strips}
    counts = [small.count(s, n, k) for s, n in plants.items() for k in range(3)]
    found = summary(Records(stand_counts=counts))
    (one,) = compare(stand_outcomes(found)[0][2], "A").comparisons
    blocks = [[s for s in DRAW.strips if s.block == b] for b in range(1, 9)]
    gains = [sum(plants[s.strip] / 9.99975 * (1 if s.method == "B" else -1) for s in pair) for pair in blocks]
    assert one.gain == pytest.approx(statistics.fmean(gains), rel=1e-9)
    assert one.standard_error == pytest.approx(statistics.stdev(gains) / math.sqrt(8), rel=1e-6)
    assert one.df == pytest.approx(7)
    (shown,) = stand_compared(found, PLAN, DRAW)
    assert (shown.outcome, shown.unit, shown.method, shown.baseline) == ("plants", "per m2", "B", "A")
    assert shown.difference == pytest.approx(one.gain)
    t_90 = 1.8945786  # two-sided 90 %, 7 degrees of freedom: any table of t
    assert shown.interval[1] - shown.difference == pytest.approx(t_90 * one.standard_error, rel=1e-6)


def test_one_method_counted_compares_nothing():
    assert stand_compared(summary(Records(stand_counts=[small.count(1, 90), small.count(1, 91, 1)])), PLAN, DRAW) == ()
