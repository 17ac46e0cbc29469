"""Hopper and tank fills: never empty inside a pass, nothing forgotten, nothing spilt."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import small_trial as small

from evenground.sowing.hopper_fills import Hoppers, fills, seed_fills, seed_hoppers, starter_fills, strips_in_order

needs = st.lists(st.tuples(st.integers(1, 40), st.floats(0.5, 200.0)), min_size=1, max_size=30)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(needs, st.integers(1, 12), st.floats(5.0, 400.0), st.floats(0.5, 1.2))
def test_laws_of_filling(passes, count, each, density):
    hoppers = Hoppers(count, each)
    found = fills(passes, hoppers, density)
    most = hoppers.litres * density
    # everything that is sown was filled, once
    assert sum(f.kg for f in found) == pytest.approx(sum(kg for _, kg in passes))
    # the fills cover the passes in order without a gap
    starts = [f.before_pass for f in found]
    assert starts[0] == 1
    assert starts == sorted(set(starts))
    for f, end in zip(found, [*starts[1:], len(passes) + 1], strict=True):
        mine = passes[f.before_pass - 1 : end - 1]
        assert f.before_strip == mine[0][0]
        assert set(f.strips) == {strip for strip, _ in mine}
        assert f.litres * density == pytest.approx(f.kg)
        # it holds what it is to hold, or says how often it must be filled again inside one pass
        assert f.kg <= (f.inside + 1) * most * (1 + 1e-9)
        assert f.inside == 0 or len(mine) == 1
        # one more pass would not have gone in
        if end <= len(passes):
            assert f.kg + passes[end - 1][1] > most


def test_by_hand():
    # 100 l at 0.72 kg/l hold 72 kg: 30 + 40 go in, 30 more does not; 200 kg in one pass need two more fills inside
    found = fills([(3, 30.0), (3, 40.0), (7, 30.0), (9, 200.0)], Hoppers(1, 100.0), 0.72)
    assert [(f.before_pass, f.before_strip, f.strips, f.kg, f.inside) for f in found] == [
        (1, 3, (3,), 70.0, 0),
        (3, 7, (7,), 30.0, 0),
        (4, 9, (9,), 200.0, 2),
    ]


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_a_need_must_be_above_zero(bad):
    with pytest.raises(ValueError, match="above 0"):
        fills([(1, bad)], Hoppers(1, 100.0), 0.72)


def plan(hopper="per_row", volume=30.0, tank=None):
    machine = {"id": "pairs", "kind": "planter", "rows": 4, "row_spacing_m": 0.75}
    machine |= {"hopper": hopper, "hopper_l": volume, "starter_tank_l": tank}
    twin = {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2}
    return small.plan(
        methods=[
            small.method("A", machine="pairs"),
            small.method("B", machine="pairs", row_pattern=twin, starter_kg_per_ha=100.0),
        ],
        machines=[machine],
        seed={"thousand_kernel_weight_g": 300.0},
    )


@pytest.mark.parametrize(("hopper", "count"), [("central", 1), ("per_row", 4), ("per_line", 8)])
def test_number_of_hoppers_of_a_twin_row_planter(hopper, count):
    the_plan = plan(hopper)
    assert seed_hoppers(the_plan.machines[0], the_plan.methods[1]) == Hoppers(count, 30.0)


def test_seed_of_all_strips_with_reserve_is_filled():
    the_plan, draw = plan("central", 40.0), small.draw()
    method = the_plan.methods[1]
    found = seed_fills(the_plan, method, strips_in_order(draw, method))
    # 8 strips of 1800 m2 at 9.5 seeds/m2 and 300 g: 41.04 kg, and 5 % more; 40 l hold 28.8 kg
    assert sum(f.kg for f in found) == pytest.approx(8 * 1800 * 9.5 * 0.3 / 1000 * 1.05)
    assert len(found) == 2
    assert found[0].before_strip == 2


def test_starter_tank():
    the_plan, draw = plan(tank=100.0), small.draw()
    method = the_plan.methods[1]
    found = starter_fills(the_plan, method, strips_in_order(draw, method))
    assert sum(f.kg for f in found) == pytest.approx(1.44 * 100 * 1.05)
    assert len(found) == 2


def test_what_is_not_known_is_not_said():
    draw = small.draw()
    for the_plan in (plan(volume=None), small.plan()):
        for method in the_plan.methods:
            driven = strips_in_order(draw, method)
            assert seed_fills(the_plan, method, driven) == ()
            assert starter_fills(the_plan, method, driven) == ()
    assert strips_in_order(None, small.plan().methods[0]) == []
    assert seed_fills(plan(), plan().methods[0], []) == ()


def test_no_fill_serves_two_lots():
    # 100 l at 0.72 kg/l hold 72 kg; without lots 20 + 20 + 20 go in at once
    passes = [(1, 20.0), (4, 20.0), (5, 20.0)]
    found = fills(passes, Hoppers(1, 100.0), 0.72, {1: "L1", 4: "L1", 5: "L2"})
    assert [(f.before_pass, f.strips, f.kg, f.lot) for f in found] == [(1, (1, 4), 40.0, "L1"), (3, (5,), 20.0, "L2")]
    assert [(f.before_pass, f.lot) for f in fills(passes, Hoppers(1, 100.0), 0.72)] == [(1, "")]


def test_every_lot_is_filled_with_its_own_weight():
    the_plan, draw = plan("central", 400.0), small.draw()
    lots = [{"lot": "L1"}, {"lot": "L2", "thousand_kernel_weight_g": 250.0}]
    seed = the_plan.seed.model_copy(update={"lots": tuple(type(the_plan.seed).model_validate({"lots": lots}).lots)})
    the_plan = the_plan.model_copy(
        update={"seed": seed, "trial": the_plan.trial.model_copy(update={"seed_lots": 2})},
    )
    method = the_plan.methods[0]
    found = seed_fills(the_plan, method, strips_in_order(draw, method), draw)
    # 4 of the 8 strips of 1800 m2 at 9.5 seeds/m2 and 5 % more from each lot; 300 g is the weight of all seed
    assert [(f.lot, f.kg) for f in found] == [
        ("L1", pytest.approx(4 * 1800 * 9.5 * 0.300 / 1000 * 1.05)),
        ("L2", pytest.approx(4 * 1800 * 9.5 * 0.250 / 1000 * 1.05)),
    ]
