"""The harvest order: drivable, blocks whole, not by method. Rules are those of the page on the harvest."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.adapters.export import drawn_trial as trial

from evenground.layout.harvest_order import HARVEST_CAUTIONS, HARVEST_RULES, harvest_order
from evenground.layout.turned_field import turned_field

DRAWS = ("ABBAABBA", "ABABABAB", "BAABABBA", "BBAABBAA", "AABBABAB")


def order(letters=trial.LETTERS, plan=None):
    plan = plan or trial.plan()
    return harvest_order(plan, turned_field(trial.field(), trial.draw(plan, letters)))


def cut_steps(found):
    return [step for step in found.steps if step.work == "weighed cut"]


@pytest.mark.parametrize("letters", DRAWS)
def test_every_strip_is_weighed_once_and_nothing_else_is(letters):
    found = order(letters)
    assert sorted(step.strip for step in found.steps if step.weighed) == list(range(1, 9))
    assert all(step.weighed == (step.work == "weighed cut") for step in found.steps)
    assert [step.number for step in found.steps] == list(range(1, len(found.steps) + 1))


@pytest.mark.parametrize("letters", DRAWS)
def test_headland_first_then_the_opening_cut(letters):
    assert [step.work for step in order(letters).steps[:2]] == ["headland", "opening"]


@pytest.mark.parametrize("letters", DRAWS)
@pytest.mark.parametrize("side", ["left", "right"])
def test_cut_ground_always_lies_beside_a_weighed_cut(letters, side):
    """Walk through the steps with the ground that is cut so far: the near side of every weighed cut is open."""
    plan = trial.plan(fixed_edge_side=side)
    boxes = {box.strip.strip: box for box in turned_field(trial.field(), trial.draw(plan, letters)).boxes}
    found = order(letters, plan)
    first, second = (boxes[step.strip] for step in cut_steps(found)[:2])
    rightwards = first.left_m < second.left_m
    reached = first.left_m if rightwards else first.right_m
    for step in found.steps[1:]:
        box = boxes[step.strip]
        near, far = (box.cut_left_m, box.cut_right_m) if rightwards else (box.cut_right_m, box.cut_left_m)
        if step.work == "weighed cut":
            assert reached == pytest.approx(near, abs=0.05)
            assert ("left" if rightwards else "right") in step.trailer
            reached = far
        else:
            reached = near


@pytest.mark.parametrize("letters", DRAWS)
def test_a_block_is_finished_before_a_break(letters):
    open_block = None
    for step in order(letters).steps:
        if step.weighed:
            assert open_block in (None, step.block)
            open_block = None if step.break_allowed else step.block
        else:
            assert not (step.break_allowed and open_block is not None)
    assert open_block is None


@pytest.mark.parametrize("letters", DRAWS)
def test_order_follows_the_ground_not_the_methods(letters):
    """Strips come off as they lie: the order of the methods is the one the draw made, one way or the other."""
    came = "".join(step.method for step in cut_steps(order(letters)))
    assert came in (letters, letters[::-1])


def test_mean_places_by_hand():
    """ABBAABBA: A at 1, 4, 5, 8 and B at 2, 3, 6, 7: both 4.5. ABABABAB: 4 against 5."""
    assert order("ABBAABBA").mean_places == (("A", 4.5), ("B", 4.5))
    assert sorted(mean for _, mean in order("ABABABAB").mean_places) == [4.0, 5.0]


def test_expected_load():
    """13 t dry matter/ha at 33 % on 4.5 m x 324 m: 0.1458 ha x 39.39 t/ha = 5.74 t fresh."""
    first = next(step for step in cut_steps(order()) if step.strip == 1)
    assert first.area_m2 == pytest.approx(4.5 * 324)
    assert first.fresh_t == pytest.approx(5.744, abs=0.001)


def test_grain_fills_a_tank_and_weighs_as_counted():
    plan = trial.plan()
    combine = next(m for m in plan.machines if m.id == "cutter").model_copy(update={"kind": "combine"})
    outcome = plan.outcome.model_copy(update={"product": "grain", "expected_t_per_ha": 9.0})
    plan = plan.model_copy(update={"machines": (plan.machines[0], combine), "outcome": outcome})
    first = next(step for step in cut_steps(order(plan=plan)) if step.strip == 1)
    assert "empty the tank" in first.trailer
    assert first.fresh_t == pytest.approx(9.0 * 0.1458, abs=1e-3)


def test_no_guard_rows_no_guard_cut():
    plan = trial.plan(guard_rows=0, harvester=None)
    whole = trial.draw(plan)
    strips = [s.model_copy(update={"cut_outline": s.outline, "cut_width_m": s.width_m}) for s in whole.strips]
    drawn = whole.model_copy(update={"strips": tuple(strips)})
    found = harvest_order(plan, turned_field(trial.field(), drawn))
    # Only the gap of 12 m in the middle is left to open.
    assert [step.work for step in found.steps if not step.weighed] == ["headland", "opening"]
    assert found.machine == ""


def test_wide_ground_between_two_blocks_is_opened_not_cut_as_guard_rows():
    """12 m between blocks 2 and 3: guard row and one bite of 4.5 m beside strip 5 (or 4) are two passes, not three.

    The block has not begun, so the opening may be followed by a break; the trailer has no cut ground beside it yet.
    """
    opened = [step for step in order().steps if step.work == "opening"]
    assert [step.strip for step in opened] in ([1, 5], [8, 4])
    assert opened[1].passes == 2  # 0.75 + 4.5 m at 4.5 m a pass
    assert opened[1].trailer.startswith("behind")
    assert opened[1].break_allowed
    assert "13.5 m away" in opened[1].reason  # 0.75 + 12 + 0.75


def test_a_gap_of_one_pass_is_cut_on_the_way():
    """Blocks 3 and 4 moved to 4 m from block 2: less than a pass of 4.5 m, so it goes with the guard rows."""
    turned = turned_field(trial.field(), trial.draw())
    near = ("left_m", "right_m", "cut_left_m", "cut_right_m")
    moved = [
        b if b.strip.block < 3 else replace(b, **{name: getattr(b, name) - 8.0 for name in near}) for b in turned.boxes
    ]
    found = harvest_order(trial.plan(), replace(turned, boxes=tuple(moved)))
    assert [step.work for step in found.steps].count("opening") == 1


def test_another_part_of_the_field_is_opened_anew():
    """Blocks 3 and 4 moved 400 m along the strips: nothing beside them is cut when their first strip's turn comes."""
    drawn = trial.draw()
    turned = turned_field(trial.field(), drawn)
    moved = [
        b
        if b.strip.block < 3
        else replace(b, cut_low_m=b.cut_low_m + 400, cut_high_m=b.cut_high_m + 400, left_m=b.left_m, right_m=b.right_m)
        for b in turned.boxes
    ]
    found = harvest_order(trial.plan(), replace(turned, boxes=tuple(moved)))
    assert [step.work for step in found.steps].count("opening") == 2


def test_no_headland_is_said():
    assert "no headland" in order(plan=trial.plan(headland_m=0.0)).steps[0].reason


def test_rules_and_cautions_name_what_hurts():
    words = " ".join((*HARVEST_RULES, *HARVEST_CAUTIONS))
    for word in ("not weighed", "on foot", "children", "power lines", "local rules", "never on the load", "No metal"):
        assert word in words
