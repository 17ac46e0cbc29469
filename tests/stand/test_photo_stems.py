"""Stems from leaves whose place and direction are known: leaves of one plant lie along one axis."""

import math

import numpy as np
import pytest

from evenground.stand.photo.leaves import LeafPoints
from evenground.stand.photo.rows import Line
from evenground.stand.photo.stems import find_stems

PIXEL_M, REACH_M = 0.004, 0.18
LINE = Line(0.5, 0.0, 0.1, 1.9)


def leaves(*plants, length=0.15, half_width=0.01):
    """Points every 5 mm on two opposite leaves a plant: (place along the line, direction of the leaves in degrees)."""
    parts = []
    for place, degrees in plants:
        angle = math.radians(degrees)
        far, aside = np.meshgrid(np.arange(-length, length, 0.005), np.arange(-half_width, half_width + 1e-9, 0.005))
        x = place + far * math.cos(angle) - aside * math.sin(angle)
        y = LINE.offset_m + far * math.sin(angle) + aside * math.cos(angle)
        parts.append(np.stack([x.ravel(), y.ravel(), np.full(x.size, angle), np.ones(x.size)]))
    return LeafPoints(*np.concatenate(parts, axis=1).astype(np.float32))


def mask_of(points):
    """Green round the points."""
    mask = np.zeros((260, 510), dtype=bool)
    row, column = (points.y_m / PIXEL_M).astype(int), (points.x_m / PIXEL_M).astype(int)
    for down in (-1, 0, 1):
        for right in (-1, 0, 1):
            mask[row + down, column + right] = True
    return mask


def stems_of(points):
    return find_stems(points, mask_of(points), PIXEL_M, 0.0, (LINE,), REACH_M)


@pytest.mark.parametrize("degrees", [0, 20, 45, 90, 135, 172, 179])
def test_one_plant_at_any_turn(degrees):
    stems = stems_of(leaves((0.8, degrees)))
    assert stems.along_m.size == 1
    # along the line nothing but the two tips says where between them the stem stands
    assert stems.along_m[0] == pytest.approx(0.8, abs=0.01 if degrees else 0.03)  # places are tried every 6 mm


def test_plants_whose_leaves_cross_are_told_apart():
    want = [(0.7, 50), (0.82, 125), (0.94, 60), (1.1, 160)]
    assert stems_of(leaves(*want)).along_m == pytest.approx([place for place, _ in want], abs=0.015)


def test_leaves_of_two_plants_that_meet_between_them_make_no_third():
    # one leaf of each ends at 0.9, and there they would meet at a right angle: no plant has leaves like that
    both = leaves((0.8, 40), (1.0, 140))
    assert stems_of(both).along_m == pytest.approx([0.8, 1.0], abs=0.015)


def test_a_place_offers_for_each_axis_its_leaves_may_lie_along():
    crossed = stems_of(leaves((0.8, 30), (0.8, 120)))
    off = np.abs(crossed.tried_along_m - 0.8)
    there = crossed.tried_across_m[(off == off.min()) & (crossed.tried_across_m == LINE.offset_m)]
    assert there.size == 2
    # one axis cannot explain both pairs of leaves, so two plants stand there
    assert crossed.along_m == pytest.approx([0.8, 0.8], abs=0.015)


def test_no_leaves_no_stems():
    nothing = LeafPoints(*np.empty((4, 0), dtype=np.float32))
    stems = find_stems(nothing, np.zeros((260, 510), dtype=bool), PIXEL_M, 0.0, (LINE,), REACH_M)
    assert stems.along_m.size == 0
