"""Rows through places: known lines are found again, at any angle."""

import math

import numpy as np
import pytest

from evenground.basis.errors import InputError
from evenground.stand.photo.rows import find_rows, seen, turned, turned_back


def places(angle, offsets, rng, width=3.0, height=2.0, step=0.16, noise=40):
    """Plants along lines square to which the offsets count from the middle of the picture, and places by chance."""
    out = []
    for offset in offsets:
        along = np.arange(-3, 3, step) + rng.normal(0, 0.02, len(np.arange(-3, 3, step)))
        x, y = turned_back(along, offset + rng.normal(0, 0.008, along.size), angle)
        out.append(np.column_stack([x + width / 2, y + height / 2]))
    xy = np.vstack(out)
    xy = xy[((xy > 0) & (xy < [width, height])).all(axis=1)]
    chance = rng.uniform(0, [width, height], (noise, 2))
    weight = np.concatenate([np.full(len(xy), 1.0), np.full(noise, 0.3)])
    both = np.vstack([xy, chance])
    return both[:, 0], both[:, 1], weight, width, height


def offsets_found(rows, width=3.0, height=2.0):
    middle = float(turned(np.array([width / 2]), np.array([height / 2]), rows.angle)[1][0])
    along = float(turned(np.array([width / 2]), np.array([height / 2]), rows.angle)[0][0])
    return [line.across_m(np.array([along]))[0] - middle for row in rows.rows for line in row]


@pytest.mark.parametrize("angle_deg", [0, 3, -8, 30, 60, -75, 89, 90])
def test_single_rows_at_any_angle(angle_deg):
    angle, want = math.radians(angle_deg), [-0.5, 0.0, 0.5]
    rows = find_rows(*places(angle, want, np.random.default_rng(angle_deg + 100)), None)
    # half a degree: lines of 2 to 3 m with 8 mm of scatter; the other way round is the same direction
    assert abs(math.sin(rows.angle - angle)) < math.sin(math.radians(0.5))
    got = sorted(np.array(offsets_found(rows)) * math.copysign(1, math.cos(rows.angle - angle)))
    assert [len(r) for r in rows.rows] == [1, 1, 1]
    assert got == pytest.approx(want, abs=0.01)  # scatter of 8 mm over a dozen plants and more


def test_twin_rows_are_paired_by_their_distances():
    rows = find_rows(*places(0.05, [-0.61, -0.39, 0.14, 0.36], np.random.default_rng(3)), None)
    assert [len(r) for r in rows.rows] == [2, 2]


def test_the_user_knows_better():
    some = places(0.05, [-0.61, -0.39, 0.14, 0.36], np.random.default_rng(3))
    assert [len(r) for r in find_rows(*some, False).rows] == [1, 1, 1, 1]
    wide = places(0.0, [-0.75, -0.40, 0.30, 0.65], np.random.default_rng(4))
    assert [len(r) for r in find_rows(*wide, None).rows] == [1, 1, 1, 1]
    assert [len(r) for r in find_rows(*wide, True).rows] == [2, 2]


def test_a_row_cut_by_the_corner_is_still_one_line_per_row():
    rows = find_rows(*places(0.6, [-0.75, 0.0, 0.75], np.random.default_rng(5)), None)
    assert [len(r) for r in rows.rows] == [1, 1, 1]


def test_where_a_line_crosses_the_picture():
    assert seen(1.0, 0.0, 0.0, 3.0, 2.0) == (0.0, 3.0)
    assert seen(5.0, 0.0, 0.0, 3.0, 2.0) is None
    assert seen(-1.0, 0.0, math.pi / 2, 3.0, 2.0) == pytest.approx((0.0, 2.0))
    assert seen(0.0, 0.0, math.pi / 4, 2.0, 2.0) == pytest.approx((0.0, math.sqrt(8)))


def test_turning_back_undoes_turning():
    x, y = np.array([0.3, 2.0]), np.array([1.5, -0.4])
    assert np.allclose(turned_back(*turned(x, y, 0.7), 0.7), (x, y))


def test_too_few_places():
    with pytest.raises(InputError, match="no row of plants"):
        find_rows(np.array([1.0]), np.array([1.0]), np.array([1.0]), 3.0, 2.0, None)


def test_a_plant_in_a_corner_does_not_outshine_whole_rows():
    x, y, weight, width, height = places(0.05, [-0.4, 0.4], np.random.default_rng(6), noise=0)
    corner = np.array([0.0, 0.1, 0.2, 0.3]), np.array([1.96, 1.965, 1.97, 1.975])
    x, y, weight = np.append(x, corner[0]), np.append(y, corner[1]), np.append(weight, np.full(4, 3.0))
    found = offsets_found(find_rows(x, y, weight, width, height, None))
    for want in (-0.4, 0.4):
        assert min(abs(np.array(found) - want)) < 0.01


@pytest.mark.parametrize("angle_deg", [0, 88])
def test_rows_across_a_wide_picture_are_not_read_sideways(angle_deg):
    """Plants as far apart in the row as the rows are, and 5 cm to and fro, in a picture much wider than high."""
    angle, want = math.radians(angle_deg), list(np.arange(-1.5, 1.6, 0.375))
    rng = np.random.default_rng(angle_deg + 7)
    out = []
    for offset in want:
        along = np.arange(-3, 3, 0.38) + rng.uniform(0, 0.2) + rng.normal(0, 0.05, 16)
        x, y = turned_back(along, offset + rng.normal(0, 0.012, 16), angle)
        out.append(np.column_stack([x + 1.5, y + 0.9]))
    xy = np.vstack(out)
    xy = np.vstack([xy[((xy > 0) & (xy < [3.0, 1.8])).all(axis=1)], rng.uniform(0, [3.0, 1.8], (60, 2))])
    rows = find_rows(xy[:, 0], xy[:, 1], np.ones(len(xy)), 3.0, 1.8, None)
    # two degrees: rows of 1.8 m, places by chance among the plants
    assert abs(math.sin(rows.angle - angle)) < math.sin(math.radians(2))
