"""Ways side by side, lost passes, and what limits change in the expected error."""

from math import sqrt

import pytest
from shapely.geometry import MultiPolygon
from tests import small_trial as small
from tests.layout import fields

from evenground.basis.field import LocalPlane
from evenground.layout.detectable import detectable_of, place_of
from evenground.layout.ground import ground_of
from evenground.layout.laid_out import lay_out, rasters_of
from evenground.layout.outlook import draw_errors, fewer_passes, outlook
from evenground.layout.second_field import second_layout

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


def on_two(plan):
    return outlook(plan, DRAW, 48_000.0).ways[-1]


def test_without_a_second_field_its_likeness_is_named_as_assumed():
    assert "is assumed" in on_two(PLAN).fooled_by
    assert on_two(PLAN).standard_error_percent == pytest.approx(
        outlook(PLAN, DRAW, 48_000.0).ways[3].standard_error_percent
    )


def test_a_second_field_is_laid_out_by_itself():
    plan = small.plan(second_field={"name": "Hill", "area_ha": 3.0, "length_m": 300.0})
    other = second_layout(plan, rasters_of(plan))
    # The same as laying the trial out on a rectangle of 100 x 300 m that is drawn as a field.
    there = lay_out(plan, fields.field(fields.rectangle(100, 300))).chosen
    assert other.blocks == there.blocks == 10
    assert other.longest_m == pytest.approx(there.longest_m, rel=1e-4)
    # Through the globe and back lengths are true to a part in a million; the search may land a row further.
    assert sqrt(2 * other.variance) / 10 == pytest.approx(there.standard_error_percent, rel=1e-3)
    both = on_two(plan)
    assert both.name == "This layout and 10 blocks on Hill (3 ha, 300 m long)"
    assert "assumed" not in both.fooled_by
    # Variance of a mean over 8 + 10 pairs: twice the sum of their variances over 18 squared.
    total = place_of(plan, DRAW).variance + other.variance
    assert both.standard_error_percent == pytest.approx(sqrt(2 * total) / 18, rel=1e-9)
    assert both.detectable_t_per_ha < outlook(PLAN, DRAW, 48_000.0).ways[2].detectable_t_per_ha


def test_a_second_field_may_be_drawn_and_lies_where_it_likes():
    """A drawn rectangle gives what its area and longest side give; an outline goes before them."""
    away = LocalPlane(9.6, 51.4)
    outline = MultiPolygon([away.to_degrees(fields.rectangle(100, 300))])
    said = small.plan(second_field={"name": "Hill", "area_ha": 3.0, "length_m": 300.0})
    drawn = second_layout(small.plan(), rasters_of(said), outline)
    told = second_layout(said, rasters_of(said))
    assert drawn.name == "a second field (3.0 ha, as drawn)"
    assert drawn.blocks == told.blocks
    assert drawn.variance == pytest.approx(told.variance, rel=1e-3)
    ways = outlook(small.plan(second_field={"area_ha": 1.0, "length_m": 200.0}), DRAW, 48_000.0, outline).ways
    assert ways[-1].name == "This layout and 10 blocks on a second field (3.0 ha, as drawn)"
    thin = MultiPolygon([away.to_degrees(fields.rectangle(30, 300))])
    assert second_layout(said, rasters_of(said), thin).blocks == 0


def test_a_larger_second_field_never_sees_less():
    gains = [
        on_two(small.plan(second_field={"area_ha": area, "length_m": 300.0})).detectable_t_per_ha
        for area in (2.0, 3.0, 5.0, 9.0)
    ]
    assert gains == sorted(gains, reverse=True)


@pytest.mark.parametrize(("area_ha", "length_m"), [(0.5, 140.0), (0.1, 33.0)])
def test_a_second_field_without_room_is_said(area_ha, length_m):
    plan = small.plan(second_field={"area_ha": area_ha, "length_m": length_m})
    assert "no room for one block" in on_two(plan).fooled_by
    assert on_two(plan).detectable_t_per_ha == pytest.approx(detectable_of(plan, DRAW).t_per_ha)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"area_ha": 3.0}, "needs both"),
        ({"length_m": 300.0}, "needs both"),
        ({"area_ha": 6.0, "length_m": 100.0}, "at least 245 m"),
    ],
)
def test_what_cannot_be_of_a_second_field_is_refused(said, words):
    with pytest.raises(ValueError, match=words):
        small.plan(second_field=said)


def test_fewer_passes_keep_whole_blocks():
    fewer = outlook(PLAN, DRAW, 48_000.0).fewer
    # Strips of 6 m with a planter of 3 m: two passes a strip.
    assert [(one.blocks, one.passes) for one in fewer] == [(b, 2 * b) for b in range(7, 1, -1)]
    gains = [one.detectable_t_per_ha for one in fewer]
    assert gains == sorted(gains)
    assert [one.smallest_p for one in fewer] == [2 / 2**b for b in range(7, 1, -1)]


def test_a_machine_that_sows_two_new_methods_needs_the_passes_of_both():
    """Methods B and C on one new machine of 3 m, strips of 6 m: four passes a block, not two."""
    drawn = small.draw(("ABC", "ACB", "BAC"))
    plan = small.plan(methods=[small.method("A"), *(small.method(x, machine="pairs") for x in "BC")])
    assert [(one.blocks, one.passes) for one in fewer_passes(plan, drawn)] == [(2, 8)]


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
