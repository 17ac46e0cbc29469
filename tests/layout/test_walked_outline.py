"""An outline walked round: a known rectangle comes back, bad places are left out, a way that crosses itself is none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPoint, Point, Polygon

from evenground.basis.errors import InputError
from evenground.basis.field import LocalPlane
from evenground.layout.walked_outline import WalkedPlace, walked_outline

PLANE = LocalPlane(10.0, 52.0)
RECTANGLE = [(0, 0), (400, 0), (400, 300), (0, 300)]


def places(corners, *, every_m: float = 5.0, noise_m: float = 0.0, accuracy_m: float = 4.0, seed: int = 1):
    """Walk along straight lines from corner to corner."""
    rng = np.random.default_rng(seed)
    way = []
    for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
        steps = max(1, int(np.hypot(x1 - x0, y1 - y0) / every_m))
        way += [(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps) for i in range(steps)]
    at = np.array(way) + rng.normal(0.0, noise_m, (len(way), 2)) if noise_m else np.array(way)
    degrees = PLANE.to_degrees(MultiPoint(at))
    return [WalkedPlace(p.x, p.y, accuracy_m) for p in degrees.geoms]


def test_a_rectangle_walked_without_error_comes_back():
    """Source: 400 m x 300 m are 12 ha, once round 1400 m; the plane is true to 1e-7."""
    found = walked_outline(places(RECTANGLE))
    assert found.area_m2 == pytest.approx(120_000.0, rel=1e-5)
    assert found.perimeter_m == pytest.approx(1400.0, abs=0.1)
    assert found.corners == 4
    assert found.places == found.used


def test_with_the_error_of_a_phone_the_area_is_close():
    """Independent errors of 2 m at 280 places: the area's standard deviation is about sd * perimeter / sqrt(2 n), some
    120 m2 (shoelace formula, errors independent); five of them are allowed, and the thinning takes a little more."""
    areas = [walked_outline(places(RECTANGLE, noise_m=2.0, seed=s)).area_m2 for s in range(6)]
    assert abs(np.mean(areas) - 120_000.0) < 900.0
    corners = [walked_outline(places(RECTANGLE, noise_m=0.3, seed=s)).corners for s in range(6)]
    assert max(corners) < 40, "a straight edge does not keep every place"


def test_places_the_phone_does_not_trust_are_left_out():
    way = places(RECTANGLE)
    far = PLANE.to_degrees(Point(5000, 5000))
    way.insert(50, WalkedPlace(far.x, far.y, 90.0))
    found = walked_outline(way)
    assert found.area_m2 == pytest.approx(120_000.0, rel=1e-5)
    assert found.places - found.used == 1
    assert any("left out" in note for note in found.notes)


def test_an_open_end_is_closed_and_said():
    found = walked_outline(places(RECTANGLE)[:-20])
    assert found.gap_m == pytest.approx(105.0, abs=1.0)
    assert any("closed by a straight line" in note for note in found.notes)


@pytest.mark.parametrize(
    ("way", "words"),
    [
        (places(RECTANGLE)[:3], "once round"),
        (places([(0, 0), (300, 300), (300, 0), (0, 300)]), "crosses itself"),
        (places(RECTANGLE, accuracy_m=80.0), "reception"),
        ([WalkedPlace(10.0, 52.0, 3.0)] * 10, "crosses itself"),
    ],
    ids=["too few", "a bow tie", "no reception", "standing still"],
)
def test_what_is_no_outline_says_why(way, words):
    with pytest.raises(InputError, match=words):
        walked_outline(way)


@given(st.lists(st.tuples(*[st.floats(allow_nan=True, allow_infinity=True)] * 3), max_size=12))
def test_any_numbers_give_an_outline_or_a_reason(numbers):
    try:
        found = walked_outline([WalkedPlace(*at) for at in numbers])
    except InputError:
        return
    assert isinstance(found.outline, Polygon)
