"""Sorting into strips loses nobody, and the strips follow lines where there are lines."""

import numpy as np
import pytest

from evenground.numerics.point_strips import sort_into_strips


def stand(seed=0, lines=6, n=40):
    rng = np.random.default_rng(seed)
    x = np.repeat(0.75 * np.arange(lines), n) + rng.normal(0, 0.01, lines * n)
    return x, rng.random(lines * n) * 8.0


def test_lines_become_strips():
    x, y = stand()
    strips = sort_into_strips(x, y, 0.35)
    assert len(strips.left) == 6
    assert np.diff(strips.first).tolist() == [40] * 6


@pytest.mark.parametrize("seed", range(5))
def test_every_point_is_there_once_and_in_order(seed):
    rng = np.random.default_rng(seed)
    x, y = rng.random(500) * rng.choice([0.1, 1, 50]), rng.random(500)
    strips = sort_into_strips(x, y, 0.05)
    assert sorted(strips.owner) == list(range(500))
    assert (strips.x == x[strips.owner]).all()
    assert (strips.y == y[strips.owner]).all()
    assert (np.diff(strips.first) > 0).all(), "no strip is empty"
    for k in range(len(strips.left)):
        part = slice(strips.first[k], strips.first[k + 1])
        assert (np.diff(strips.y[part]) >= -1e-9).all()
        assert (strips.x[part].min(), strips.x[part].max()) == (strips.left[k], strips.right[k])
    assert (strips.right[:-1] <= strips.left[1:]).all()


def test_place_is_where_the_next_strip_reaches_the_same_y():
    strips = sort_into_strips(*stand(1), 0.35)
    who = np.arange(len(strips.x))
    found = strips.place(who, 1)
    for i in who[strips.strip < 5]:
        begin, end = strips.first[strips.strip[i] + 1], strips.first[strips.strip[i] + 2]
        assert found[i] == begin + np.searchsorted(strips.y[begin:end], strips.y[i])


def test_one_point_is_one_strip():
    strips = sort_into_strips(np.array([2.0]), np.array([3.0]), 1.0)
    assert (len(strips.left), strips.first.tolist()) == (1, [0, 1])
