"""Markers: each listed when set and ticked off before harvest; what is left is said first."""

from __future__ import annotations

import pytest
from tests import small_trial as small

from evenground.harvest.markers import DANGER, marker_notes, markers_left
from evenground.harvest.strips import harvest


def put(strips, what="", n=1, **changes):
    return small.event(strips, "marker_set", n=n, what=what, **changes)


def out(strips, what="", n=1, **changes):
    return small.event(strips, "marker_out", n=n, what=what, **changes)


@pytest.mark.parametrize(
    ("events", "left"),
    [
        ([], ()),
        ([put(3, "M12")], ("M12 at strip 3",)),
        ([put(3, "M12"), out(3, " m12 ", n=2)], ()),
        ([put(3, "M12"), out(4, "M12", n=2)], ("M12 at strip 3",)),
        ([put(3, "M12"), put(3, "M13", n=2), out(3, "M12", n=3)], ("M13 at strip 3",)),
        ([put(3, "M12"), put(3, "M12", n=2), out(3, "M12", n=3)], ("M12 at strip 3",)),
        ([put(5)], ("a marker at strip 5",)),
        ([put("3+4", "cane")], ("cane at strips 3 and 4",)),
        ([out(3, "M12")], ()),
        ([small.event(3, "hoed", what="M12")], ()),
    ],
)
def test_what_is_left(events, left):
    assert tuple(one.words for one in markers_left(events)) == left


def test_a_correction_is_followed():
    first = put(3, "M12")
    (left,) = markers_left([first, put(4, "M12", n=2, replaces=first.id)])
    assert (left.strips, left.what) == ((4,), "M12")


def test_it_is_the_first_thing_the_harvest_says():
    draw = small.draw()
    records = small.whole_season(draw)
    with_marker = small.replaced(records, events=(*records.events, put(3, "M12", n="marker")))
    assert marker_notes(records.events) == ()
    plain, warned = (harvest(small.plan(), draw, r).notes for r in (records, with_marker))
    assert warned[0].startswith("markers still in the field by the records: M12 at strip 3; no harvest before")
    assert DANGER in warned[0]
    assert warned[1:] == plain


def test_no_weight_is_touched_by_it():
    draw = small.draw()
    records = small.whole_season(draw)
    with_marker = small.replaced(records, events=(*records.events, put(3, "M12", n="marker")))
    one, other = (harvest(small.plan(), draw, r).strips for r in (records, with_marker))
    assert one == other
