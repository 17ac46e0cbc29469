"""The slot: whole passes of every machine, whole rows in the cut, guard rows beside it."""

import pytest
from tests.layout import fields

from evenground.basis.errors import DoesNotFitError, InputError
from evenground.layout.slot import fit_slot


def planter(name, rows, spacing=0.75):
    return {"id": name, "kind": "planter", "rows": rows, "row_spacing_m": spacing}


def harvester(rows, spacing=0.75):
    return {"id": "cutter", "kind": "forage_harvester", "rows": rows, "row_spacing_m": spacing}


# planters (rows, spacing), harvester (rows, spacing), guard rows; width, cut left, cut width worked out by hand
CASES = {
    "8 rows, 6 cut, 1 guard": (((8, 0.75),), (6, 0.75), 1, 6.0, 0.75, 4.5),
    "cut as wide as the planter needs a second pass": (((8, 0.75),), (8, 0.75), 1, 12.0, 3.0, 6.0),
    "no guard rows: one pass each": (((8, 0.75),), (8, 0.75), 0, 6.0, 0.0, 6.0),
    "two narrow cuts fit": (((8, 0.75),), (3, 0.75), 1, 6.0, 0.75, 4.5),
    "6 and 4 rows share 12": (((6, 0.75), (4, 0.75)), (6, 0.75), 1, 9.0, 2.25, 4.5),
    "harvester wider than the slot": (((4, 0.75),), (10, 0.75), 1, 9.0, 0.75, 7.5),
    "odd margin: a row edge beside the middle": (((8, 0.75),), (5, 0.75), 1, 6.0, 0.75, 3.75),
    "50 cm beside 75 cm: edges on both rasters": (((8, 0.75), (12, 0.5)), (4, 0.75), 1, 6.0, 1.5, 3.0),
    "inches": (((8, 0.762),), (6, 0.762), 1, 6.096, 0.762, 4.572),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_worked_slots(case):
    planters, cutter, guard, width, left, across = case
    machines = [planter(f"p{i}", *p) for i, p in enumerate(planters)]
    slot = fit_slot(fields.plan(planters=machines, harvester=harvester(*cutter), guard_rows=guard))
    assert (slot.width_m, slot.cut_left_m, slot.cut_width_m) == pytest.approx((width, left, across), abs=1e-12)
    for name, passes in slot.passes:
        machine = next(m for m in machines if m["id"] == name)
        assert passes * machine["rows"] * machine["row_spacing_m"] == pytest.approx(width, abs=1e-9)
    assert slot.harvester_passes * cutter[0] * cutter[1] == pytest.approx(across, abs=1e-9)


@pytest.mark.parametrize("guard", [0, 1, 2, 3])
def test_without_a_harvester_the_cut_is_all_but_the_guard_rows(guard):
    slot = fit_slot(fields.plan(harvester=None, guard_rows=guard))
    assert slot.harvester_passes is None
    assert (slot.width_m, slot.cut_left_m) == (6.0, guard * 0.75)
    assert slot.cut_width_m == 6.0 - 2 * guard * 0.75


def test_guard_rows_take_the_slot_wider():
    assert fit_slot(fields.plan(harvester=None, guard_rows=4)).width_m == 12.0


def test_planters_without_a_common_width_are_told_how_near_they_come():
    machines = [planter("wide", 8), planter("odd", 6, 0.745)]
    with pytest.raises(DoesNotFitError) as caught:
        fit_slot(fields.plan(planters=machines, harvester=None))
    assert "6 m and 4.47 m" in str(caught.value)
    assert "3 passes of 6 m (18.00 m) beside 4 passes of 4.47 m (17.88 m), 0.12 m apart" in caught.value.nearest


def test_a_harvester_that_never_cuts_whole_rows_is_named():
    with pytest.raises(DoesNotFitError) as caught:
        fit_slot(fields.plan(harvester=harvester(8, 0.7)))
    assert "cutter (5.6 m)" in str(caught.value)
    assert "multiple of 0.75 m" in caught.value.nearest


def test_too_many_guard_rows_leave_nothing():
    wide = [planter("four", 48, 1.0)]
    with pytest.raises(DoesNotFitError, match="leave nothing to weigh"):
        fit_slot(fields.plan(planters=wide, harvester=None, guard_rows=24))


def test_a_row_spacing_the_planter_cannot_sow_is_a_problem_of_the_plan():
    plan = fields.plan()
    other = plan.methods[1].model_copy(
        update={"row_pattern": plan.methods[1].row_pattern.model_copy(update={"row_spacing_m": 0.7})}
    )
    with pytest.raises(InputError) as caught:
        fit_slot(plan.model_copy(update={"methods": (plan.methods[0], other)}))
    (one,) = caught.value.problems
    assert (one.file, one.field, one.given) == ("trial.toml", "methods[1].row_pattern.row_spacing_m", "0.7")


@pytest.mark.parametrize(
    ("header_m", "planters", "width", "cut", "passes"),
    [
        (7.0, ((8, 0.75),), 12.0, 6.75, 1),  # nine rows of 0.75 m
        (6.0, ((8, 0.75),), 12.0, 6.0, 1),  # eight rows, as if it were said in rows
        (4.6, ((8, 0.75),), 6.0, 4.5, 1),  # six rows
        (3.2, ((8, 0.75), (12, 0.5)), 6.0, 3.0, 1),  # 1.5 m is whole rows of both: two of them
        (1.9, ((8, 0.75), (12, 0.5)), 6.0, 3.0, 2),  # one of them a pass, two passes
    ],
)
def test_a_header_in_metres_weighs_the_whole_rows_it_holds(header_m, planters, width, cut, passes):
    header = {"id": "cutter", "kind": "forage_harvester", "header_width_m": header_m}
    machines = [planter(f"p{i}", *p) for i, p in enumerate(planters)]
    slot = fit_slot(fields.plan(planters=machines, harvester=header))
    assert (slot.width_m, slot.cut_width_m, slot.harvester_passes) == (width, cut, passes)


def test_a_planter_has_no_header():
    with pytest.raises(ValueError, match="a planter has rows, not a header"):
        fields.plan(planters=[{**planter("p", 8), "header_width_m": 6.0}])


def test_a_harvester_needs_rows_or_a_header():
    with pytest.raises(ValueError, match="rows"):
        fields.plan(harvester={"id": "cutter", "kind": "forage_harvester"})
