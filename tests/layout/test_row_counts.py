"""Rows counted from a fixed edge: worked by hand on whole numbers."""

from __future__ import annotations

import pytest
from tests.adapters.export import drawn_trial as trial
from tests.layout import field_in_parts as parts

from evenground.layout.row_counts import fixed_edge, row_counts
from evenground.layout.turned_field import turned_field


def counted(plan, letters=trial.LETTERS):
    return row_counts(plan, turned_field(trial.field(), trial.draw(plan, letters)))


def test_rows_from_the_ditch_by_hand():
    """18 m to the ditch are 24 rows at 0.75 m; strips have 8 rows; after strip 4 a gap of 12 m, 16 rows."""
    found = counted(trial.plan(fixed_edge="ditch"))
    assert [one.rows for one in found[:4]] == [(25, 32), (33, 40), (41, 48), (49, 56)]
    assert [one.rows for one in found[4:]] == [(73, 80), (81, 88), (89, 96), (97, 104)]
    assert found[1].words == "rows 33 to 40 from the ditch; weighed are rows 34 to 39"


def test_weighed_rows_lie_inside_with_the_guard_rows_beside():
    for one in counted(trial.plan()):
        assert (one.cut_rows[0] - one.rows[0], one.rows[1] - one.cut_rows[1]) == (1, 1)


def test_distances_and_passes():
    found = counted(trial.plan())
    assert [one.start_m for one in found] == pytest.approx([18, 24, 30, 36, 54, 60, 66, 72], abs=0.002)
    assert [one.passes for one in found] == [(n, n) for n in (1, 2, 3, 4, 7, 8, 9, 10)]


def test_narrow_rows_count_as_they_will_stand():
    """Rows of B at 0.5 m: a strip of 6 m has 12 of them, one of A still 8."""
    plan = trial.plan()
    pattern = plan.methods[1].row_pattern.model_copy(update={"row_spacing_m": 0.5})
    narrow = plan.machines[0].model_copy(update={"id": "narrow", "rows": 12, "row_spacing_m": 0.5})
    methods = (plan.methods[0], plan.methods[1].model_copy(update={"row_pattern": pattern, "machine": "narrow"}))
    plan = plan.model_copy(update={"methods": methods, "machines": (*plan.machines, narrow)})
    assert [one.rows for one in counted(plan)[:4]] == [(25, 32), (33, 44), (45, 56), (57, 64)]


def test_counted_from_the_other_side():
    """From the right the edge is not level with the rows (the cut-out corner): counted from the outermost strip."""
    plan = trial.plan(fixed_edge_side="right")
    edge = fixed_edge(plan, turned_field(trial.field(), trial.draw(plan)))
    assert not edge.counted_from_edge
    assert edge.words == "the field edge on the right"
    assert (edge.start_m, edge.far_m) == pytest.approx((222.0, 132.0), abs=0.002)
    found = counted(plan)
    assert [one.rows for one in found[:-5:-1]] == [(1, 8), (9, 16), (17, 24), (25, 32)]
    assert found[-1].words.startswith("rows 1 to 8 from the outermost strip row beside the field edge on the right")


def test_every_row_belongs_to_one_strip():
    rows = [r for one in counted(trial.plan()) for r in range(one.rows[0], one.rows[1] + 1)]
    assert len(rows) == len(set(rows)) == 64


@pytest.mark.parametrize("side", ["left", "right"])
def test_each_part_of_a_field_counts_from_its_own_edge(side):
    """Between two pieces no row stands: in both the first strip begins after the 24 rows of the 18 m headland."""
    plan, draw, field = parts.drawn(fixed_edge="ditch", fixed_edge_side=side)
    turned = turned_field(field, draw)
    near, far = turned.parts() if side == "left" else reversed(turned.parts())
    found = {one.strip: one for one in row_counts(plan, turned)}
    for boxes in (near, far):
        outermost = boxes[0] if side == "left" else boxes[-1]
        one = found[outermost.strip.strip]
        assert one.rows == (25, 36)
        assert one.passes[0] == 1
        assert one.start_m == pytest.approx(18.1, abs=0.15)
    edge = fixed_edge(plan, turned)
    assert edge.words == "the ditch"
    assert all(str(box.strip.strip) in edge.elsewhere for box in far)
    assert found[far[0].strip.strip].words.startswith("rows")
    assert f"the {side} edge of that part of the field" in found[far[0].strip.strip].words


def test_a_field_in_one_piece_says_nothing_of_parts():
    plan = trial.plan()
    assert fixed_edge(plan, turned_field(trial.field(), trial.draw(plan))).elsewhere == ""
