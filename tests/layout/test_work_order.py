"""The order of passes: turns that close, every pass once, hours by the published formula."""

from __future__ import annotations

from itertools import pairwise
from math import acos, cos, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.adapters.export import drawn_trial as trial
from tests.layout import field_in_parts as parts

from evenground.basis.pace import field_capacity_ha_per_h
from evenground.basis.seed_lots import lots_of_blocks
from evenground.layout.turned_field import turned_field
from evenground.layout.work_order import (
    ONE_LOT_AFTER_ANOTHER,
    ONE_PART_AFTER_ANOTHER,
    skip_order,
    turn_between,
    work_orders,
)


def drive(arcs, steps=4000):
    """Integrate arcs (turning rate sign, angle, radius) from (0, 0) heading up: place, heading, length, farthest up."""
    x = y = length = top = 0.0
    heading = pi / 2
    for sign, angle, radius in arcs:
        step = angle / steps
        for _ in range(steps):
            heading += sign * step / 2
            x, y = x + radius * step * cos(heading), y + radius * step * sin(heading)
            heading += sign * step / 2
            length, top = length + radius * step, max(top, y)
    return x, y, heading, length, top


@pytest.mark.parametrize(("apart", "radius"), [(0.0, 6.0), (4.5, 6.0), (9.0, 7.0), (13.9, 7.0)])
def test_a_tight_turn_closes_and_is_as_long_and_deep_as_said(apart, radius):
    """Driving left, right, left by the angles of three touching circles ends on the next pass, heading back.

    Numerical integration with 12,000 steps of the midpoint rule: errors below 1e-5 m.
    """
    turn = turn_between(apart, radius)
    swing = acos((2 * radius + apart) / (4 * radius))
    x, y, heading, length, top = drive([(1, swing, radius), (-1, pi + 2 * swing, radius), (1, swing, radius)])
    assert (x, y) == pytest.approx((apart, 0.0), abs=1e-4)
    assert (heading - pi / 2) % (2 * pi) == pytest.approx(pi, abs=1e-6)
    assert turn.tight
    assert turn.length_m == pytest.approx(length, abs=1e-4)
    assert turn.depth_m == pytest.approx(top, abs=1e-3)


def test_a_wide_turn_is_two_quarters_and_a_straight():
    turn = turn_between(20.0, 7.0)
    assert (turn.tight, turn.depth_m) == (False, 7.0)
    assert turn.length_m == pytest.approx(7.0 * pi + 6.0)


@given(st.floats(0.0, 60.0), st.floats(1.0, 15.0))
def test_the_two_forms_meet_and_no_turn_beats_the_half_circle(apart, radius):
    turn = turn_between(apart, radius)
    assert turn.length_m >= pi * radius - 1e-9
    assert turn_between(2 * radius, radius).length_m == pytest.approx(pi * radius)
    # Near the meeting point the swing angle goes with a root; 1e-9 of a radius away that is some 1e-4.
    assert turn_between(2 * radius * (1 - 1e-9), radius).length_m == pytest.approx(pi * radius, rel=1e-3)
    assert turn.depth_m <= radius * (1 + sqrt(3)) + 1e-9


@pytest.mark.parametrize(("apart", "radius"), [(-1.0, 6.0), (3.0, 0.0)])
def test_impossible_turns_are_refused(apart, radius):
    with pytest.raises(ValueError, match="a turn needs"):
        turn_between(apart, radius)


@given(st.integers(1, 60), st.integers(1, 12))
def test_skipping_visits_every_pass_once(count, skip):
    order = skip_order(count, skip)
    assert sorted(order) == list(range(count))
    whole = count // (2 * skip - 1) * (2 * skip - 1)
    inside = [abs(b - a) for a, b in pairwise(order[:whole]) if a // (2 * skip - 1) == b // (2 * skip - 1)]
    assert set(inside) <= {skip, skip - 1}


def orders(plan=None, **changes):
    """Work orders; changes are those of every machine."""
    plan = plan or trial.plan()
    machines = tuple(machine.model_copy(update=changes) for machine in plan.machines)
    plan = plan.model_copy(update={"machines": machines})
    return work_orders(plan, turned_field(trial.field(), trial.draw(plan)))


def test_each_machine_turns_by_its_own_radius():
    plan = trial.plan()
    second = plan.machines[0].model_copy(update={"id": "second", "turning_radius_m": 12.0})
    methods = (plan.methods[0], plan.methods[1].model_copy(update={"machine": "second"}))
    found = orders(plan.model_copy(update={"machines": (*plan.machines, second), "methods": methods}))
    assert [order.turning_radius_m for order in found] == [7.0, 12.0]
    assert ["radius of 12 m (from the plan" in order.notes[3] for order in found] == [False, True]


def test_every_pass_once_in_turning_directions():
    (order,) = orders()
    assert sorted(one.line.strip for one in order.passes) == list(range(1, 9))
    assert [one.number for one in order.passes] == list(range(1, 9))
    assert [one.with_heading for one in order.passes] == [True, False] * 4
    assert order.passes[0].turn is None


def test_one_machine_at_a_time_each_its_own_strips():
    plan = trial.plan()
    second = plan.machines[0].model_copy(update={"id": "second"})
    methods = (plan.methods[0], plan.methods[1].model_copy(update={"machine": "second"}))
    plan = plan.model_copy(update={"machines": (*plan.machines, second), "methods": methods})
    found = orders(plan)
    assert [order.methods for order in found] == [("A",), ("B",)]
    for order in found:
        assert {one.line.method for one in order.passes} == set(order.methods)
        assert len(order.passes) == 4


def test_a_wider_turning_radius_never_gives_fewer_tight_turns():
    tight = [orders(turning_radius_m=r)[0].tight_turns for r in (2.0, 5.0, 8.0, 15.0, 40.0)]
    assert tight == sorted(tight)
    assert tight[0] == 0
    assert tight[-1] == 7


def test_skipping_beats_side_by_side():
    """Passes 6 m apart and a radius of 7 m: side by side every turn within a group is tight."""
    (order,) = orders(turning_radius_m=7.0)
    across = sorted(one.line.across_m for one in order.passes)
    side_by_side = sum(b - a < 14.0 for a, b in pairwise(across))
    assert order.tight_turns < side_by_side
    assert order.skip > 1


def test_hours_and_hectares():
    """Area of eight strips of 6 m; 8 km/h x 6 m x 0.6 / 10 = 2.88 ha/h."""
    (order,) = orders()
    area = sum(strip.area_m2 for strip in trial.draw().strips)
    assert order.area_m2 == pytest.approx(area, rel=1e-6)
    assert order.hours == pytest.approx(area / 1e4 / 2.88, rel=1e-6)
    assert order.pace_ha_per_h == pytest.approx(2.88)


def test_pace_against_the_published_example():
    """12 rows x 30 in = 30 ft at 5 mph: 10.9 acres an hour at 60 %, 14.5 at 80 %.

    Source: Progressive Forage, "Farm field equipment efficiency versus capacity"; rounded there to 0.1 acre.
    """
    for share, acres in ((0.6, 10.9), (0.8, 14.5)):
        found = field_capacity_ha_per_h(5 * 1.609344, 30 * 0.3048, share) / 0.40468564
        assert found == pytest.approx(acres, abs=0.05)


@pytest.mark.parametrize("wrong", [0.0, -1.0, float("nan"), float("inf")])
def test_pace_refuses_what_is_no_number_above_zero(wrong):
    for values in ((wrong, 3.0, 0.6), (8.0, wrong, 0.6), (8.0, 3.0, wrong)):
        with pytest.raises(ValueError, match="above 0"):
            field_capacity_ha_per_h(*values)


def test_a_turn_deeper_than_the_headland_is_said():
    plan = trial.plan(headland_m=9.0)
    (order,) = orders(plan, turning_radius_m=12.0)
    assert order.headland_needed_m > 9.0
    assert any("headland" in note and "the plan keeps 9 m" in note for note in order.notes)
    assert np.isfinite(order.headland_needed_m)


def test_a_field_in_parts_is_sown_part_by_part():
    """Two pieces 120 m apart: no machine drives to and fro between them."""
    plan, draw, field = parts.drawn()
    turned = turned_field(field, draw)
    of = {box.strip.strip: number for number, boxes in enumerate(turned.parts()) for box in boxes}
    assert set(of.values()) == {0, 1}
    for order in work_orders(plan, turned):
        visited = [of[one.line.strip] for one in order.passes]
        assert visited == sorted(visited)
        assert [one.number for one in order.passes] == list(range(1, len(visited) + 1))
        assert sum(one.turn is None for one in order.passes) == len(set(visited))
        assert ONE_PART_AFTER_ANOTHER in order.notes


def test_one_seed_lot_is_sown_before_the_next():
    """The hopper is emptied once, not at every turn; with one lot nothing is said of it."""
    plan, draw, field = parts.drawn()
    two = plan.model_copy(update={"trial": plan.trial.model_copy(update={"seed_lots": 2})})
    turned = turned_field(field, draw)
    lot_of = {
        block: lot for lot, blocks in lots_of_blocks(two, (s.block for s in draw.strips)).items() for block in blocks
    }
    for before, order in zip(work_orders(plan, turned), work_orders(two, turned), strict=True):
        sown = [lot_of[one.line.block] for one in order.passes]
        assert sum(a != b for a, b in pairwise(sown)) == 1
        assert {(one.line.strip, one.line.pass_in_strip) for one in order.passes} == {
            (one.line.strip, one.line.pass_in_strip) for one in before.passes
        }
        assert ONE_LOT_AFTER_ANOTHER in order.notes
        assert ONE_LOT_AFTER_ANOTHER not in before.notes
