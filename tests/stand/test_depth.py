"""Depth readings by strip and method."""

import statistics

import pytest
from tests import small_trial as small

from evenground.basis.observations import Depth, Records
from evenground.stand.depth import depths

PLAN, DRAW = small.plan(), small.draw()  # both methods planned at 5 cm


def readings(strip, *values):
    return [Depth(id=f"T{strip}-{i}", time=small.DAY, strips=str(strip), depth_cm=v) for i, v in enumerate(values)]


def test_by_strip_and_method():
    records = Records(depths=[*readings(1, 4.0, 5.0, 6.0), *readings(4, 5.0, 7.0), *readings(2, 3.5)])
    strips, methods = depths(PLAN, DRAW, records)
    assert [(d.strip, d.readings) for d in strips] == [(1, 3), (2, 1), (4, 2)]
    assert strips[0].sd_cm == pytest.approx(1.0)
    a, b = methods
    assert (a.mean_cm, a.standard_error_cm) == pytest.approx((5.5, 0.5))  # strips 5.0 and 6.0
    # pooled within strips: (2 x 1 + 1 x 2) / 3
    assert a.sd_cm == pytest.approx((4 / 3) ** 0.5)
    assert a.outside_fraction == pytest.approx(1 / 5)
    assert (b.sd_cm, b.standard_error_cm, b.outside_fraction) == (None, None, 1.0)


@pytest.mark.parametrize(("depth", "outside"), [(6.0, 0.0), (4.0, 0.0), (6.1, 1.0), (3.9, 1.0)])
def test_one_centimetre_off_is_still_inside(depth, outside):
    strips, _ = depths(PLAN, DRAW, Records(depths=readings(1, depth)))
    assert strips[0].outside_fraction == outside


def test_one_strip_against_the_standard_library():
    values = [4.4, 5.1, 5.3, 6.2, 4.9]
    strips, methods = depths(PLAN, DRAW, Records(depths=readings(1, *values)))
    assert strips[0].mean_cm == pytest.approx(statistics.fmean(values))
    assert strips[0].sd_cm == pytest.approx(statistics.stdev(values)) == methods[0].sd_cm


def test_a_corrected_reading_counts_once():
    wrong = readings(1, 15.0)[0]
    right = Depth(id="T9", time=small.DAY, strips="1", depth_cm=5.0, replaces=wrong.id)
    assert depths(PLAN, DRAW, Records(depths=[wrong, right]))[0][0].mean_cm == 5.0


def test_no_readings():
    assert depths(PLAN, DRAW, Records()) == ((), ())
    both = Depth(id="T1", time=small.DAY, strips="1+2", depth_cm=5.0)
    assert depths(PLAN, DRAW, Records(depths=[both])) == ((), ())
