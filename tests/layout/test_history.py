"""The field's history held against drawn strips."""

import pytest
from shapely.geometry import LineString, box
from tests import small_trial as small

from evenground.basis.field import Field, LocalPlane, Trace
from evenground.layout.history import bands_of, findings

# Strips of 6 m run north from (9.0 + 6 m, 51.0) on; sixteen of them in eight pairs.
DRAW = small.draw()
PLANE = LocalPlane(9.0, 51.0)


def field(*traces):
    boundary = PLANE.to_degrees(box(-20, -20, 140, 340))
    from shapely.geometry import MultiPolygon

    return Field(MultiPolygon([boundary]), MultiPolygon(), history=traces)


def trace(kind, shape):
    return Trace(kind, PLANE.to_degrees(shape))


def of(kind, found):
    return next(one for one in found if one.kind == kind)


def test_ten_questions_each_answered_by_itself():
    found = findings(small.plan(history={"slurry": "none", "drains": "don't know"}), field(), DRAW)
    assert len(found) == 10
    assert (of("slurry", found).state, of("drains", found).state, of("heaps", found).state) == (
        "none",
        "don't know",
        "not asked",
    )
    assert not any(one.against for one in found)


@pytest.mark.parametrize(("heading", "state"), [(3.0, "along"), (172.0, "along"), (200.0, "across"), (90.0, "across")])
def test_bands_along_the_strips_speak_against_them(heading, state):
    found = of("slurry", findings(small.plan(history={"slurry": heading}), field(), DRAW))
    assert (found.state, found.against) == (state, state == "along")


def test_told_directions_are_gathered_and_words_are_not():
    plan = small.plan(history={"slurry": 20.0, "spreader": "none", "drains": "don't know", "ploughing": 110.0})
    assert bands_of(plan) == (20.0, 110.0)


def test_a_drain_across_hits_all_strips_alike():
    found = findings(small.plan(), field(trace("drains", LineString([(-10, 100), (130, 130)]))), DRAW)
    assert of("drains", found).state == "alike"


def test_an_old_border_along_the_strips_hits_some():
    # A former edge 10 m wide along strips 3 and 4 and no others: block 2 has both.
    inside = findings(small.plan(), field(trace("borders", box(18, -20, 30, 340))), DRAW)
    assert of("borders", inside).state == "alike"
    some = of("borders", findings(small.plan(), field(trace("borders", box(12, -20, 24, 340))), DRAW))
    assert (some.state, some.blocks, some.against) == ("unequal", (1, 2), True)
    assert "block 1, 2" in some.message


def test_what_was_said_to_be_drawn_and_is_not_is_said():
    found = findings(small.plan(history={"heaps": "drawn"}), field(), DRAW)
    assert of("heaps", found).state == "not drawn"
