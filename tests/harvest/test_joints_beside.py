"""Joints between passes against the rows that were cut: ground is held against a tape laid across all rows."""

import numpy as np
import pytest
from tests import small_trial as small

from evenground.basis.observations import CutArea, MeasuredJoint
from evenground.harvest.joints import Place, place_of, seen_joints
from evenground.harvest.strips import harvest

PLAN = small.plan()  # both planters sow four rows of 75 cm in a pass


def drawn(width=6.0, cut=6.0, left=None, heading_deg=0.0):
    """Strips side by side to the east, the cut where it is said to begin; looking south the numbers run leftwards."""
    base = small.draw(width=width)
    left = (width - cut) / 2 if left is None else left
    strips = tuple(
        s.model_copy(
            update={
                "cut_width_m": cut,
                "cut_area_m2": cut * 300.0,
                "cut_outline": small.ring(s.strip * width + left, cut, 300.0),
            }
        )
        for s in base.strips
    )
    return base.model_copy(update={"strips": strips, "heading_deg": heading_deg})


def joint(strips, metres, number=1, n=1):
    return MeasuredJoint(id=f"J{strips}-{number}-{n}", time=small.DAY, strips=strips, joint=number, joint_m=metres)


def widths(draw, joints, cuts=()):
    records = small.replaced(small.whole_season(draw), joints=joints, cut_areas=cuts)
    return {s.strip: s.cut_area_m2 / 300.0 for s in harvest(PLAN, draw, records).strips}


def test_a_joint_of_70_where_75_was_ordered_takes_half_the_difference_from_each():
    got = widths(drawn(), [joint("7+8", 0.70)])
    assert (got[7], got[8]) == (pytest.approx(6.0 - 0.025), pytest.approx(6.0 - 0.025))
    assert {n: w for n, w in got.items() if n not in (7, 8)} == {n: pytest.approx(6.0) for n in got if n not in (7, 8)}


def test_guard_rows_beside_the_cut_keep_its_ground():
    got = widths(drawn(cut=4.5), [joint("7+8", 0.70), joint("7+8", 0.72, n=2)])
    assert got[7] == got[8] == pytest.approx(4.5)


def test_repeated_measurements_of_a_joint_are_averaged_and_both_sides_count():
    got = widths(drawn(), [joint("7+8", 0.70), joint("7+8", 0.72, n=2), joint("6+7", 0.81)])
    assert got[7] == pytest.approx(6.0 + (0.71 - 0.75) / 2 + (0.81 - 0.75) / 2)


def test_with_one_guard_row_on_one_side_only_the_other_side_counts():
    # seven rows of eight: one guard row to the left, none to the right; strip 8 begins right of strip 7
    draw = drawn(cut=5.25, left=0.75)
    got = widths(draw, [joint("6+7", 0.65), joint("7+8", 0.70)])
    assert got[7] == pytest.approx(5.25 - 0.025)
    assert got[6] == pytest.approx(5.25 - 0.05)
    assert got[8] == pytest.approx(5.25)


def test_looking_the_other_way_left_is_on_the_other_side():
    first, back = (drawn(cut=5.25, left=0.75, heading_deg=h) for h in (0.0, 180.0))
    spacings = {s.strip: 0.75 for s in first.strips}
    assert place_of(first.strip(7), first, spacings, 4) == Place(8, 1, 7, 4, (6, 0.75), (8, 0.75))
    assert place_of(back.strip(7), back, spacings, 4) == Place(8, 0, 7, 4, (8, 0.75), (6, 0.75))


def test_strips_with_unlike_row_spacing_share_the_difference_to_what_was_ordered():
    draw = drawn()
    spacings = {s.strip: 0.75 if s.method == "A" else 0.5 for s in draw.strips}
    place = place_of(draw.strip(7), draw, spacings, 4)  # strip 7 is A, strip 8 is B
    assert place.right == (8, pytest.approx(0.625))
    assert seen_joints(7, [joint("7+8", 0.60)], 0.75, place).right == pytest.approx(-0.025)


@pytest.mark.parametrize(
    ("first", "rows", "inside", "left", "right"),
    [
        (0, 8, (0.80,), None, None),  # rows 1 to 8: the joint after row 4 lies inside
        (4, 4, (), 0.05, None),  # rows 5 to 8: it lies beside the first row cut
        (0, 4, (), None, 0.05),  # rows 1 to 4: beside the last
        (5, 3, (), None, None),  # rows 6 to 8: among rows that were not cut
    ],
)
def test_a_joint_inside_a_strip_counts_where_rows_were_cut(first, rows, inside, left, right):
    seen = seen_joints(7, [joint("7", 0.80)], 0.75, Place(8, first, rows, 4))
    assert seen.inside == inside
    assert (seen.left, seen.right) == (pytest.approx(left), pytest.approx(right))


def test_rows_cut_reach_half_way_over_a_measured_joint():
    cut = CutArea(id="A7", time=small.AUTUMN, strips="7", rows=8, length_m=300.0, row_spacing_m=0.75)
    joints = [joint("7+8", 0.70), joint("6+7", 0.79), joint("7", 0.77)]
    got = widths(drawn(cut=4.5), joints, [cut])
    # all eight rows, guard rows as well: six gaps, the joint inside, half the joint on either side
    assert got[7] == pytest.approx(6 * 0.75 + 0.77 + 0.5 * (0.70 + 0.79))
    measured = cut.model_copy(update={"right_gap_m": 0.74})
    assert widths(drawn(cut=4.5), joints, [measured])[7] == pytest.approx(6 * 0.75 + 0.77 + 0.5 * (0.74 + 0.79))


def test_a_gap_measured_as_a_joint_is_no_longer_a_source_of_error():
    cut = CutArea(id="A7", time=small.AUTUMN, strips="7", rows=8, length_m=300.0, row_spacing_m=0.75)
    records = small.replaced(small.whole_season(drawn()), cut_areas=[cut], joints=[joint("7+8", 0.70)])
    notes = harvest(PLAN, drawn(), records).strips[6].notes
    assert "the gap to the next row was not measured on one side" in notes


def test_law_strips_cut_whole_cover_the_field_as_a_tape_says():
    """A drawn field of 16 strips of two passes: the widths add up to the tape across all rows, outer halves nominal."""
    rng = np.random.default_rng(20261125)
    inside, between = rng.uniform(0.68, 0.82, 16), rng.uniform(0.68, 0.82, 15)
    joints = [joint(f"{n}", inside[n - 1]) for n in range(1, 17)]
    joints += [joint(f"{n}+{n + 1}", between[n - 1]) for n in range(1, 16)]
    got = widths(drawn(), joints)
    tape = 16 * 6 * 0.75 + inside.sum() + between.sum() + 0.75
    assert sum(got.values()) == pytest.approx(tape, rel=1e-12)
