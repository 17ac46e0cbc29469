"""Ways side by side, lost passes, and what limits change in the expected error."""

from math import sqrt

import pytest
from tests import small_trial as small

from evenground.layout.detectable import detectable_of, place_of
from evenground.layout.ground import ground_of
from evenground.layout.outlook import draw_errors, outlook

DRAW = small.draw()
PLAN = small.plan()


def test_five_ways_and_what_could_fool_each():
    seen = outlook(PLAN, DRAW, 48_000.0)
    names = [way.name for way in seen.ways]
    assert names == ["Two halves of this field", "Two fields", "This layout", "This layout for two years",
                     "This layout on two fields of the farm"]  # fmt: skip
    assert all(way.fooled_by for way in seen.ways)
    halves, two_fields, here, years, _ = seen.ways
    assert not halves.measures_its_error
    assert here.detectable_t_per_ha == pytest.approx(detectable_of(PLAN, DRAW).t_per_ha)
    assert years.standard_error_percent == pytest.approx(here.standard_error_percent / sqrt(2))
    assert years.detectable_t_per_ha < here.detectable_t_per_ha < halves.detectable_t_per_ha
    # A known error: (1.95996 + 0.84162) standard errors, published quantiles of the normal distribution; the far
    # tail adds nothing at five digits.
    assert halves.detectable_t_per_ha == pytest.approx(2.80159 * halves.standard_error_percent / 100 * 13, rel=1e-4)
    assert halves.standard_error_percent > PLAN.unevenness.border_step_percent
    assert two_fields.standard_error_percent == pytest.approx(sqrt(2) * halves.standard_error_percent)


def test_fewer_passes_keep_whole_blocks():
    fewer = outlook(PLAN, DRAW, 48_000.0).fewer
    # Strips of 6 m with a planter of 3 m: two passes a strip.
    assert [(one.blocks, one.passes) for one in fewer] == [(b, 2 * b) for b in range(7, 1, -1)]
    gains = [one.detectable_t_per_ha for one in fewer]
    assert gains == sorted(gains)
    assert [one.smallest_p for one in fewer] == [2 / 2**b for b in range(7, 1, -1)]


def test_a_free_draw_has_the_error_of_its_pairs():
    free, drawn = draw_errors(PLAN, DRAW)
    # No limit was applied to this draw, so listing all 256 orders must give the same as the formula for pairs.
    # Places come back through degrees, true to a part in 300.
    assert drawn == pytest.approx(free, rel=3e-3)
    assert free == pytest.approx(sqrt(2 * place_of(PLAN, DRAW).variance) / 8)


def test_strips_of_a_drawn_trial_lie_where_they_were_drawn():
    here = place_of(PLAN, DRAW)
    assert here.high_m - here.low_m == pytest.approx([300.0] * 16)
    # The invented outlines use 70 km to a degree of longitude; at 51 degrees it is 69.98.
    assert here.left_m[1] - here.left_m[0] == pytest.approx(6.0, rel=2e-3)
    one = float(ground_of(PLAN).within_blocks(here.low_m[:2], here.high_m[:2], 6.0, 4.5))
    assert here.variance == pytest.approx(8 * one, rel=1e-6)
