"""Unevenness from earlier yields: an invented surface found again, and what is refused."""

import numpy as np
import pytest
from shapely.geometry import box
from tests.layout import fields

from evenground.basis.errors import InputError
from evenground.basis.field import PointLayer
from evenground.layout.estimated import estimate_unevenness
from evenground.layout.ground import ground_of

FIELD = fields.field(box(0, 0, 200, 250))


def layer(x, y, value, name="yields"):
    lon, lat = fields.PLANE._proj(x, y, inverse=True)
    return PointLayer(name, tuple(lon), tuple(lat), tuple(value))


def test_the_strip_error_of_an_invented_surface_is_found_again():
    rng = np.random.default_rng(7)
    x, y = (v.ravel() for v in np.meshgrid(np.arange(3.0, 200, 6), np.arange(2.0, 250, 5)))
    apart = np.abs(x[:, None] - x[None]) / 20 + np.abs(y[:, None] - y[None]) / 20
    plan = fields.plan(strip_error_percent=4.0)
    truth = ground_of(plan)
    root = np.linalg.cholesky(truth.smooth * np.exp(-apart) + 1e-9 * np.eye(len(x)))
    found = [
        estimate_unevenness(plan, FIELD, layer(x, y, 9 * (1 + (root @ rng.normal(size=len(x))) / 100)))
        for _ in range(6)
    ]
    # The smooth part alone: sqrt((1 - 0.25) (16 - 0.25)) = 3.4 %. One field tells it to a quarter or so.
    assert np.mean([f.strip_error_percent for f in found]) == pytest.approx(3.44, rel=0.25)
    assert all(f.points == len(x) for f in found)


def test_points_outside_the_field_do_not_count():
    rng = np.random.default_rng(8)
    x, y, z = rng.uniform(0, 400, 300), rng.uniform(0, 250, 300), rng.uniform(5, 9, 300)
    assert estimate_unevenness(fields.plan(), FIELD, layer(x, y, z)).points == ((x < 200) & (x > 0)).sum()


@pytest.mark.parametrize(
    ("points", "value"), [(10, 5.0), (50, -1.0), (50, 5.0)], ids=["few", "negative", "all the same"]
)
def test_layers_that_cannot_tell_are_refused(points, value):
    at = np.linspace(5, 190, points)
    with pytest.raises(InputError, match="yields"):
        estimate_unevenness(fields.plan(), FIELD, layer(at, at, np.full(points, value)))
