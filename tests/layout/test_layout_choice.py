"""What a layout takes: loads by trailer size, products by what is carried, words beside the chosen one."""

import numpy as np
import pytest
from tests.layout import fields

from evenground.layout.choice import choice_of, fresh_t_per_ha
from evenground.layout.headings import Direction
from evenground.layout.laid_out import rasters_of
from evenground.layout.raster import Laid, Place

RASTER = rasters_of(fields.plan())[0]


def direction(heading, blocks, length):
    places = tuple(Place(1 + i // 2, 6.0 * i, 0.0, length) for i in range(2 * blocks))
    variance = blocks * float(RASTER.cost(*_ends(length)))
    return Direction(heading, RASTER, Laid(places, variance, float(RASTER.sight.quick_percent(variance, blocks)[0])))


def _ends(length):
    return np.zeros(2), np.full(2, length)


@pytest.mark.parametrize(("trailer", "loads"), [(16.0, 1), (4.0, 2), (2.0, 4)])
def test_a_strip_fills_as_many_trailers_as_its_mass_needs(trailer, loads):
    plan = fields.plan()
    plan = plan.model_copy(update={"effort": plan.effort.model_copy(update={"trailer_t": trailer})})
    # 4.5 m x 400 m at 39.4 t fresh a hectare: 7.09 t.
    one = choice_of(plan, direction(0.0, 6, 400.0), 50_000.0)
    assert one.tonnes_per_strip_t == pytest.approx(0.18 * 13 / 0.33)
    assert (one.trailers_per_strip, one.weighings) == (loads, 12 * loads)
    assert one.extra_minutes == 4.0 * 12 * loads
    assert one.area_share == pytest.approx(12 * 6 * 400 / 50_000)


def test_grain_is_carried_at_its_moisture():
    plan = fields.plan()
    update = {"product": "grain", "expected_t_per_ha": 10.0, "expected_dry_matter_percent": 70.0}
    grain = plan.model_copy(update={"outcome": plan.outcome.model_copy(update=update)})
    # 10 t at 15 % moisture hold 8.5 t dry matter: 12.14 t at 30 %.
    assert fresh_t_per_ha(grain) == pytest.approx(8.5 / 0.7)


def test_another_layout_is_told_from_the_chosen_one():
    plan = fields.plan()
    chosen = choice_of(plan, direction(0.0, 8, 200.0), 50_000.0)
    other = choice_of(plan, direction(40.0, 6, 200.0), 50_000.0, beside=chosen)
    assert "larger to be seen" in other.why
    assert "2 block(s) fewer" in other.why
    assert other.detectable_t_per_ha > chosen.detectable_t_per_ha
    assert (
        choice_of(plan, direction(40.0, 8, 200.0), 50_000.0, beside=chosen).why == "sees as small a gain as the first."
    )


def test_one_block_says_so():
    one = choice_of(fields.plan(), direction(0.0, 1, 200.0), 50_000.0)
    assert (one.detectable_t_per_ha, one.detectable_money_per_ha) == (None, None)
