"""The ground of the weighed cut, held against worked geometry and against simulation of its errors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.errors import InputError
from evenground.basis.observations import CutArea, MeasuredJoint
from evenground.harvest.area import JOINT_SD_M, SPACING_SD_M, cut_width_m, ground
from evenground.harvest.joints import joints_inside
from evenground.harvest.strips import harvest

DRAW = small.draw()
STRIP = DRAW.strip(7)


def cut(n=1, when=small.AUTUMN, **changes):
    content = {"id": f"A{n}", "time": when, "strips": "7", "rows": 6, "length_m": 300.0, **changes}
    return CutArea.model_validate(content)


@pytest.mark.parametrize(
    ("changes", "width"),
    [
        # six rows at 75 cm stand on 6 x 0.75 m; the outer rows reach half-way
        ({}, 4.5),
        ({"row_spacing_m": 0.76}, 4.56),
        # four rows of one pass and two of the next: four gaps of 75, a joint of 80, halves of 75 and of 70
        ({"joints": "0.80", "right_gap_m": 0.70}, 4 * 0.75 + 0.80 + 0.375 + 0.35),
        ({"rows": 1, "left_gap_m": 0.8, "right_gap_m": 0.7}, 0.75),
    ],
)
def test_width_is_what_a_tape_across_the_rows_says(changes, width):
    assert cut_width_m(cut(**changes), 0.75) == pytest.approx(width, rel=1e-12)


@given(gaps=st.lists(st.floats(0.3, 1.2), min_size=13, max_size=13))
def test_law_cuts_beside_each_other_cover_the_field_once(gaps):
    # twelve rows cut as two halves: together as wide as all twelve, whatever the spacings
    left = cut(rows=6, joints=tuple(gaps[1:6]), left_gap_m=gaps[0], right_gap_m=gaps[6])
    right = cut(rows=6, joints=tuple(gaps[7:12]), left_gap_m=gaps[6], right_gap_m=gaps[12])
    both = cut(rows=12, joints=tuple(gaps[1:12]), left_gap_m=gaps[0], right_gap_m=gaps[12])
    assert cut_width_m(left, 0.75) + cut_width_m(right, 0.75) == pytest.approx(cut_width_m(both, 0.75), rel=1e-12)


def test_rows_go_before_a_measured_cut_and_that_before_the_drawing():
    event = small.event(7, "cut_measured", length_m=290.0, width_m=4.4)
    assert ground(STRIP, "A", 0.75, [], []).source == "geometry"
    assert ground(STRIP, "A", 0.75, [], [event]).area_m2 == pytest.approx(290 * 4.4)
    found = ground(STRIP, "A", 0.75, [cut()], [event])
    assert (found.source, found.area_m2) == ("rows", pytest.approx(1350.0))


def test_the_later_measurement_counts():
    late = cut(2, small.AUTUMN.replace(hour=17), length_m=200.0)
    assert ground(STRIP, "A", 0.75, [late, cut()], []).area_m2 == pytest.approx(900.0)


def test_nominal_spacing_says_so_and_carries_its_error():
    found = ground(STRIP, "B", 0.75, [cut()], [])
    assert any("was not measured" in n for n in found.notes)
    assert found.errors == {"nominal row spacing of B": pytest.approx(SPACING_SD_M * 5 / 4.5)}
    measured = ground(STRIP, "B", 0.75, [cut(row_spacing_m=0.75, left_gap_m=0.75, right_gap_m=0.75)], [])
    assert (measured.errors, measured.own_sd_fraction, measured.notes) == ({}, 0.0, ())


def test_error_of_a_nominal_cut_against_simulation():
    # 20 000 invented cuts: joints and spacing scatter as stated; standard error of a standard deviation 0.5 %
    rng = np.random.default_rng(3)
    n = 20_000
    gaps = rng.normal(0.75, JOINT_SD_M, (n, 2))
    spacing = rng.normal(0.75, SPACING_SD_M, n)
    width = 5 * spacing + 0.5 * gaps.sum(axis=1)
    found = ground(STRIP, "A", 0.75, [cut()], [])
    stated = np.hypot(found.own_sd_fraction, found.errors["nominal row spacing of A"])
    assert width.std() / 4.5 == pytest.approx(stated, rel=0.02)


def left_out(strips, metres=30.0, when=small.DAY, n=1):
    return small.event(strips, "left_out", n=n, when=when, length_m=metres)


def changed(**kinds):
    season = small.whole_season(DRAW)
    return small.replaced(season, **{k: [*getattr(season, k), *v] for k, v in kinds.items()})


def test_a_length_left_out_in_the_whole_block_shrinks_the_ground_alike():
    got = harvest(small.plan(), DRAW, changed(events=[left_out("7+8")]))
    assert [got.strips[n].cut_area_m2 for n in (6, 7)] == pytest.approx([270 * 4.5] * 2)
    assert [got.strips[n].state for n in (6, 7)] == ["weighed"] * 2
    assert "30 m were left out" in " ".join(got.strips[6].notes)


@pytest.mark.parametrize(
    ("kinds", "words"),
    [
        ({"events": [left_out("7")]}, "not the same length"),
        ({"events": [left_out("7+8", when=small.AUTUMN.replace(hour=20))]}, "after weights were known"),
        (
            {"events": [left_out("7+8")], "damage": [small.damage("8", "lodging", by_method="may_be")]},
            "the method may have caused",
        ),
        ({"events": [left_out("7+8")], "damage": [small.damage("8", "boar")]}, "the method may have caused"),
    ],
)
def test_a_part_left_out_against_the_rule_leaves_the_strips_missing(kinds, words):
    got = harvest(small.plan(), DRAW, changed(**kinds))
    assert {got.strips[n].state for n in (6, 7)} == {"missing"}
    assert words in " ".join(got.strips[6].notes)
    assert sum(s.state == "weighed" for s in got.strips) == 14


def test_damage_the_method_did_not_do_may_be_left_out():
    season = changed(events=[left_out("7+8")], damage=[small.damage("8", "boar", by_method="no", degree_percent=80.0)])
    got = harvest(small.plan(), DRAW, season)
    assert got.strips[7].state == "weighed"
    assert "damage: boar on 30 m, 80 % lost there" in got.strips[7].notes
    assert got.damaged == (8,)


def test_more_left_out_than_there_is_is_refused():
    with pytest.raises(InputError, match="nothing remains"):
        ground(STRIP, "A", 0.75, [], [left_out("7", 300.0)])


def joint(metres, n=1, strips="7", number=1, **changes):
    return MeasuredJoint(id=f"J{strips}-{n}", time=small.DAY, strips=strips, joint=number, joint_m=metres, **changes)


def test_joints_measured_after_sowing_correct_the_ground_as_drawn():
    # one joint of 80 instead of 75 cm in a cut drawn 4.5 m wide
    got = ground(STRIP, "A", 0.75, [], [], [joint(0.79), joint(0.81, n=2), joint(0.5, n=3, strips="7+8")])
    assert got.source == "joints"
    assert got.area_m2 == pytest.approx(STRIP.cut_area_m2 * 4.55 / 4.5, rel=1e-12)
    assert got.notes == ("joints measured after sowing make the cut 4.55 m wide instead of 4.50 m",)


def test_joints_named_with_the_cut_go_before_those_measured_earlier():
    earlier = [joint(0.80), joint(0.70, n=2, number=2)]
    assert ground(STRIP, "A", 0.75, [cut()], [], earlier).width_m == pytest.approx(4.5)
    assert ground(STRIP, "A", 0.75, [cut()], [], earlier[:1]).width_m == pytest.approx(4.55)
    assert ground(STRIP, "A", 0.75, [cut(joints="0.78")], [], earlier).width_m == pytest.approx(4.53)
    event = small.event(7, "cut_measured", length_m=290.0, width_m=4.4)
    assert ground(STRIP, "A", 0.75, [], [event], earlier).area_m2 == pytest.approx(290 * 4.4)


def test_a_corrected_joint_counts_once_and_more_joints_than_gaps_are_not_there():
    wrong = joint(8.0 / 10, n=1)
    right = joint(0.78, n=2, replaces="J7-1")
    assert joints_inside(7, [wrong, right]) == (0.78,)
    assert cut_width_m(cut(rows=2), 0.75, (0.8, 0.8, 0.8)) == pytest.approx(0.75 + 0.8)


def test_measured_joints_reach_the_yield():
    whole = small.whole_season(DRAW)
    got = harvest(small.plan(), DRAW, small.replaced(whole, joints=[joint(0.80)])).strips[6]
    bare = harvest(small.plan(), DRAW, whole).strips[6]
    assert got.outcome == pytest.approx(bare.outcome * 4.5 / 4.55, rel=1e-9)


@pytest.mark.parametrize("strips", ["7+9", "7+8+9"])
def test_a_joint_lies_inside_a_strip_or_between_neighbours(strips):
    with pytest.raises(ValidationError, match="inside one strip or between two neighbours"):
        joint(0.75, strips=strips)


def test_a_joint_of_a_strip_that_is_not_there_is_named():
    with pytest.raises(InputError, match="not laid out"):
        harvest(small.plan(), DRAW, small.replaced(small.whole_season(DRAW), joints=[joint(0.75, strips="99")]))
