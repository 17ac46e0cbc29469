"""Machines and settings that would fit: each suggestion, put into the plan, must give the strips it promises."""

import re
from datetime import UTC, datetime
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.layout import fields

from evenground.basis.errors import DoesNotFitError
from evenground.layout.laid_out import can_answer, lay_out, make_draw
from evenground.layout.other_machines import Change, changes_for, in_words
from evenground.layout.slot import fit_slot
from evenground.layout.summary import summary, words


def planter(name, rows, spacing=0.75):
    return {"id": name, "kind": "planter", "rows": rows, "row_spacing_m": spacing}


WIDE = planter("wide", 6)
NARROW = planter("narrow", 7, 0.5)


def drawn(plan, field):
    laid = lay_out(plan, field)
    when = datetime(2025, 3, 1, tzinfo=UTC)
    return make_draw(plan, laid, seed=1, drawn_at=when, plan_hash="0", version="0")


def test_planters_of_4_5_and_3_5_m_are_told_the_nearest_that_fits():
    """By hand: 4.5 and 3.0 m share 9 m; 5.25 and 3.5 m share 10.5 m; 4.5 and 4.5 m need 9 m for a 4.5 m header."""
    plan = fields.plan(planters=[WIDE, NARROW])
    assert fit_slot(plan).width_m == 31.5
    assert changes_for(plan, 31.5) == (
        Change("1 of the 7 rows of planter narrow shut off (6 rows, 3 m a pass)", 9.0, 0.5),
        Change("a planter of 7 rows (5.25 m) instead of wide (4.5 m)", 10.5, 0.75),
        Change("a planter of 9 rows (4.5 m) instead of narrow (3.5 m)", 9.0, 1.0),
    )


def test_strips_wider_than_wished_are_said_first_and_with_what_would_be_narrower():
    plan = fields.plan(planters=[WIDE, NARROW], headland_m=12)
    field = fields.field(fields.rectangle(420, 300))
    draw = drawn(plan, field)
    answer = can_answer(plan, field, draw)
    said = words(plan, draw, [], answer)
    at = said.index("The machines share no strip up to 24 m wide (widest_strip_m).")
    assert "1 of the 7 rows of planter narrow shut off" in said[at + 1]
    assert at < next(i for i, line in enumerate(said) if line.startswith("They run at"))
    assert summary(plan, draw, [], answer)["narrower_strips"][0]["strip_width_m"] == 9.0


def test_a_field_too_narrow_for_a_block_of_wide_strips_is_told_the_machines_too():
    plan = fields.plan(planters=[WIDE, NARROW], headland_m=6)
    with pytest.raises(DoesNotFitError) as caught:
        lay_out(plan, fields.field(fields.rectangle(60, 200)))
    assert "Narrower strips: 1 of the 7 rows of planter narrow shut off (6 rows, 3 m a pass): strips of 9 m" in str(
        caught.value
    )


def test_row_spacings_that_never_meet_are_told_the_spacing_that_would():
    plan = fields.plan(planters=[planter("wide", 8), planter("odd", 6, 0.745)], harvester=None)
    with pytest.raises(DoesNotFitError) as caught:
        fit_slot(plan)
    assert "Would fit: planter odd at a row spacing of 0.75 m (4.5 m a pass): strips of 18 m" in caught.value.nearest


def test_fewer_guard_rows_are_a_setting():
    # Header as wide as the planter: with a guard row on each side two passes are needed, without it one.
    plan = fields.plan(harvester={"id": "cutter", "kind": "forage_harvester", "rows": 8, "row_spacing_m": 0.75})
    assert fit_slot(plan).width_m == 12.0
    found = [change for change in changes_for(plan, 12.0) if "guard" in change.words]
    assert found == [Change("0 guard rows on each side (guard_rows)", 6.0, 0.75)]


def test_where_no_single_change_helps_nothing_is_said():
    assert changes_for(fields.plan(planters=[planter("one", 1)], harvester=None, guard_rows=0), 0.75) == ()
    assert in_words(()) == ""


def applied(plan, change):
    """The plan with a change read from its words."""
    machines = {m.id: m for m in plan.machines}
    methods = list(plan.methods)
    if shut := re.match(r"\d+ of the \d+ rows of planter (\w+) shut off \((\d+) rows", change.words):
        machines[shut[1]] = machines[shut[1]].model_copy(update={"rows": int(shut[2])})
    elif more := re.match(r"a planter of (\d+) rows \(.* m\) instead of (\w+)", change.words):
        machines[more[2]] = machines[more[2]].model_copy(update={"rows": int(more[1])})
    elif header := re.match(r"a harvester of (\d+) rows", change.words):
        machines["cutter"] = machines["cutter"].model_copy(update={"rows": int(header[1])})
    elif spaced := re.match(r"planter (\w+) at a row spacing of ([\d.]+) m", change.words):
        spacing = {"row_spacing_m": float(spaced[2])}
        machines[spaced[1]] = machines[spaced[1]].model_copy(update=spacing)
        for i, m in enumerate(methods):
            if m.machine == spaced[1]:
                methods[i] = m.model_copy(update={"row_pattern": m.row_pattern.model_copy(update=spacing)})
    else:
        guard = int(re.match(r"(\d+) guard rows?", change.words)[1])
        return plan.model_copy(update={"layout": plan.layout.model_copy(update={"guard_rows": guard})})
    return plan.model_copy(update={"machines": tuple(machines.values()), "methods": tuple(methods)})


@settings(max_examples=80, deadline=None)
@given(
    st.tuples(st.integers(2, 16), st.sampled_from([0.45, 0.5, 0.7, 0.75])),
    st.tuples(st.integers(2, 16), st.sampled_from([0.45, 0.5, 0.7, 0.75])),
    st.none() | st.tuples(st.integers(2, 12), st.sampled_from([0.5, 0.7, 0.75])),
    st.integers(0, 3),
)
def test_every_suggestion_gives_the_strips_it_promises(one, two, cutter, guard):
    header = None if cutter is None else {"id": "cutter", "kind": "forage_harvester", "rows": cutter[0], "row_spacing_m": cutter[1]}  # fmt: skip # noqa: E501
    plan = fields.plan(planters=[planter("one", *one), planter("two", *two)], harvester=header, guard_rows=guard)
    try:
        now = fit_slot(plan).width_m
    except DoesNotFitError:
        now = inf
    found = changes_for(plan, now)
    assert [c.apart_m for c in found] == sorted(c.apart_m for c in found)
    for change in found:
        assert fit_slot(applied(plan, change)).width_m == pytest.approx(change.strip_width_m, abs=1e-9)
        assert change.strip_width_m < now
        assert change.strip_width_m <= plan.layout.widest_strip_m


@pytest.mark.parametrize("rows", [3, 5, 7, 9, 11])
def test_the_nearest_number_of_rows_is_found(rows):
    """Beside an 8-row planter every number of rows is tried here one by one; the nearest with narrower strips wins."""
    plan = fields.plan(planters=[planter("one", 8), planter("two", rows, 0.5)], harvester=None)
    now = fit_slot(plan).width_m if rows != 11 else inf

    def narrower(n):
        tried = fields.plan(planters=[planter("one", 8), planter("two", n, 0.5)], harvester=None)
        try:
            return fit_slot(tried).width_m < now and fit_slot(tried).width_m <= 24.0
        except DoesNotFitError:
            return False

    distances = [abs(n - rows) for n in range((rows + 1) // 2, 49) if n != rows and narrower(n)]
    told = [c for c in changes_for(plan, now) if "two" in c.words]
    assert (told[0].apart_m if told else None) == (0.5 * min(distances) if distances else None)
