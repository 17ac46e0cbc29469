"""Which side a point lies on, and whether there is a border at all."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import box
from tests.fairness.borders import points

from evenground.basis.errors import InputError
from evenground.fairness.border_sides import Measured, shared_border, sides_of, two_methods


def test_points_alone_find_their_border():
    sides = sides_of(points(), "A")
    assert (sides.baseline, sides.method) == ("A", "B")
    assert len(sides.value) > 280
    assert (np.sign(sides.depth) == np.where(sides.second, 1, -1)).all()
    assert np.abs(sides.depth).min() == pytest.approx(3.0, abs=1.0)
    assert np.ptp(sides.along) == pytest.approx(200.0, abs=6.0)


@pytest.mark.parametrize("turn_deg", [0.0, 95.0, 260.0])
def test_turning_the_field_changes_nothing(turn_deg):
    here, there = sides_of(points(), "A"), sides_of(points(turn_deg=turn_deg), "A")
    # the free gap of 6 m over 200 m leaves the line a degree or so, 2 m at the ends
    assert len(here.value) == pytest.approx(len(there.value), abs=6)
    assert np.median(np.abs(here.depth)) == pytest.approx(np.median(np.abs(there.depth)), abs=1.5)


def test_the_first_method_named_is_the_baseline_unless_said():
    assert two_methods(points(), None) == ("A", "B")
    assert two_methods(points(), "B") == ("B", "A")
    assert (sides_of(points(), "B").depth > 0).sum() == (sides_of(points(), "A").depth < 0).sum()


def test_weights_have_no_places():
    sides = sides_of(Measured("w.csv", ("A", "B"), np.array([13.0, 14.0])), None)
    assert sides.along is None
    assert sides.value[sides.second].tolist() == [14.0]


def test_rows_without_a_method_and_beyond_the_border_are_left_out_and_said():
    whole = points()
    some = replace(whole, method=("", *whole.method[1:]))
    sides = sides_of(some, "A")
    assert "not beside the border" in sides.notes[0]
    assert len(sides.value) < 300


def test_areas_may_be_crooked():
    # an L-shaped border: points in the corner count by their distance from it
    first = box(0, 0, 100, 100)
    second = box(-60, -60, 160, 160).difference(box(0, 0, 101, 101)).intersection(box(50, 50, 160, 160))
    rng = np.random.default_rng(2)
    at = rng.uniform(50, 150, (400, 2))
    inside = (at < 100).all(axis=1)
    measured = Measured("b.csv", tuple("A" if i else "B" for i in inside), np.full(400, 13.0), at[:, 0], at[:, 1])
    sides = sides_of(measured, "A", {"A": first, "B": second})
    assert sides.gap_m == pytest.approx(1.0)
    assert sides.along.max() > 95  # round the corner
    assert (sides.depth[~sides.second] < 0).all()


def test_the_shared_border_is_where_the_areas_touch():
    line = shared_border(box(0, 0, 50, 100), box(53, 20, 90, 200))
    assert line is not None
    assert line.length == pytest.approx(80, abs=6)  # corners within 2 m of the gap count
    assert shared_border(box(0, 0, 50, 100), box(100, 0, 150, 100)) is None
    assert shared_border(box(0, 0, 50, 100), box(50, 100, 90, 200)) is None  # they touch in a corner


def only(letter):
    whole = points()
    return replace(whole, method=tuple(letter for _ in whole.method))


def mixed():
    rng = np.random.default_rng(3)
    return Measured("b.csv", ("A", "B") * 50, np.full(100, 13.0), rng.uniform(0, 90, 100), rng.uniform(0, 90, 100))


def far_off():
    whole = points()
    x = whole.x.copy()
    x[3] += 90_000
    return replace(whole, x=x)


REFUSED = [
    (only("A"), None, "the other side of the border is empty"),
    (replace(points(), method=("A", "B", "C") * 100), None, "two sides, with one method each"),
    (points(), "C", "no row has the baseline's name"),
    (points(gap=120.0), "A", "do not share a border"),
    (points(shift=400.0), "A", "do not share a border"),
    (mixed(), "A", "lie among each other"),
    (far_off(), "A", "another place"),
]


@pytest.mark.parametrize(("measured", "baseline", "message"), REFUSED)
def test_what_is_no_border_is_refused_in_words(measured, baseline, message):
    with pytest.raises(InputError, match=message) as caught:
        sides_of(measured, baseline)
    assert caught.value.problems[0].allowed


def test_points_in_the_other_one_s_area_are_left_out():
    areas = {"A": box(-50, 0, 0, 100), "B": box(1, 0, 50, 100)}
    at = np.array([[-5.0, 50], [-30, 50], [5, 50], [30, 50], [30, 60]])
    measured = Measured("b.csv", ("A", "A", "B", "B", "A"), np.full(5, 13.0), at[:, 0], at[:, 1])
    sides = sides_of(measured, "A", areas)
    assert sides.depth == pytest.approx([-5, -30, 5, 30])
    assert sides.notes[0].endswith(" 1 row.")


def test_areas_that_are_no_neighbours_are_refused():
    areas = {"A": box(0, 0, 10, 100), "B": box(100, 0, 110, 100)}
    with pytest.raises(InputError, match="the two areas do not share a border"):
        sides_of(points(), "A", areas)
