"""Wheels and bouts of this season: counted by hand, shared out by the draw, said where they cannot be."""

from datetime import UTC, datetime

import numpy as np
import pytest
from tests.layout import fields

from evenground.layout.bouts import joints_in, spreader_bands, spreader_finding, tracks_in
from evenground.layout.headings import ALONG_DEG, apart_deg
from evenground.layout.laid_out import JOINTS, lay_out, make_draw

SIX = 6.0 * np.arange(6)
WHEN = datetime(2025, 3, 1, tzinfo=UTC)


def tracks(left=SIX, heading=0.0, width=6.0, **layout):
    return [n for (n,) in tracks_in(fields.plan(**layout), heading, left, width)]


def joints(left=SIX, heading=0.0, **layout):
    return [n for (n,) in joints_in(fields.plan(**layout), heading, left, 6.0)]


def test_tramlines_are_counted_by_hand():
    # Every 24 m from 3 m on: 3 and 27 m lie in strips 1 and 5.
    assert tracks(sprayer_width_m=24.0, first_tramline_m=3.0) == [1, 0, 0, 0, 1, 0]
    # On a joint: the strip on the right has it; nobody has it twice.
    assert tracks(sprayer_width_m=12.0) == [1, 0, 1, 0, 1, 0]
    assert sum(tracks(sprayer_width_m=3.0)) == 12
    assert tracks() == []


def test_bouts_of_a_spreader_have_tracks_in_the_middle_and_joints_between_them():
    bouts = {"spreader_width_m": 12.0, "first_spreader_bout_m": 3.0}
    # Bouts with their middles at 3, 15, 27 m meet at 9, 21 and 33 m.
    assert tracks(**bouts) == [1, 0, 1, 0, 1, 0]
    assert joints(**bouts) == [0, 1, 0, 1, 0, 1]
    assert joints() == []


def test_a_spreader_in_the_tramlines_of_the_sprayer_counts_once():
    both = {"sprayer_width_m": 24.0, "first_tramline_m": 3.0, "spreader_width_m": 12.0, "first_spreader_bout_m": 3.2}
    assert tracks(**both) == [1, 0, 1, 0, 1, 0]
    apart = {**both, "first_spreader_bout_m": 5.0}
    assert tracks(**apart) == [2, 0, 1, 0, 2, 0]


def test_strips_of_several_parts_of_the_field_keep_their_places():
    left = np.array([0.0, 6.0, 60.0, 66.0])
    assert tracks(left, sprayer_width_m=20.0, first_tramline_m=2.0) == [1, 0, 1, 0]


def test_a_spreader_that_does_not_follow_the_strips_leaves_nothing_in_any_of_them():
    across = {"spreader_width_m": 24.0, "spreader_heading_deg": 90.0}
    assert (tracks(**across), joints(**across)) == ([], [])
    assert spreader_bands(fields.plan(**across)) == (90.0,)
    assert spreader_bands(fields.plan(spreader_width_m=24.0)) == ()
    assert spreader_bands(fields.plan(spreader_heading_deg=90.0)) == ()
    assert tracks(heading=180.0, **{**across, "spreader_heading_deg": 0.0}) == tracks(spreader_width_m=24.0)


def place(draw):
    return 6.0 * np.arange(len(draw.strips))


def laid(**layout):
    plan = fields.plan(heading_deg=0.0, blocks=9, **layout)
    found = lay_out(plan, fields.field(fields.rectangle(150, 200)))
    return plan, found, make_draw(plan, found, seed=1, drawn_at=WHEN, plan_hash="0", version="0")


def test_the_draw_shares_tracks_and_joints_out():
    # Nine blocks of 12 m under bouts of 18 m: tracks and joints fall into different places of different blocks.
    plan, found, draw = laid(spreader_width_m=18.0, first_spreader_bout_m=2.0)
    assert sum(n for (n,) in found.exposure.tramline) == 6
    assert found.exposure.names == (JOINTS,)
    assert {one.name for one in draw.limits if one.applied} >= {"tramline", "covariates"}
    said = spreader_finding(plan, draw)
    assert (said.state, said.against) == ("alike", False)
    # Six tracks and six joints, counted in the strips of either method by hand.
    for weights, name in ((found.exposure.tramline, "wheel tracks"), (joints_in(plan, 0.0, place(draw), 6.0), "bouts")):
        on = [sum(n for (n,), s in zip(weights, draw.strips, strict=True) if s.method == m) for m in "AB"]
        assert sum(on) == 6
        assert f"{name} A {on[0]:g}, B {on[1]:g}" in said.message


def test_what_cannot_be_shared_is_said():
    # Bouts as wide as a block, limits asked for none: all tracks lie in the left strip of each block.
    plan, _, draw = laid(spreader_width_m=12.0, first_spreader_bout_m=3.0, limits=[])
    one_sided = draw.model_copy(
        update={"strips": tuple(s.model_copy(update={"method": "AB"[s.strip % 2]}) for s in draw.strips)}
    )
    said = spreader_finding(plan, one_sided)
    assert (said.state, said.against) == ("unequal", True)
    assert "A 0, B 9" in said.message


@pytest.mark.parametrize(("heading", "state"), [(90.0, "across"), (8.0, "along"), (0.2, "alike")])
def test_the_direction_of_the_spreader_is_held_against_the_strips(heading, state):
    plan, _, draw = laid(spreader_width_m=18.0, spreader_heading_deg=heading, first_spreader_bout_m=2.0)
    assert spreader_finding(plan, draw).state == state


def test_a_spreader_that_always_drives_one_way_turns_the_strips():
    field = fields.field(fields.rectangle(260, 260))
    for heading in (0.0, 90.0):
        plan = fields.plan(most_blocks=6, spreader_width_m=24.0, spreader_heading_deg=heading)
        assert apart_deg(lay_out(plan, field).heading_deg, heading) > ALONG_DEG
