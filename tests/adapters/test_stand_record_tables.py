"""The records of the stand as CSV: as spreadsheets write them, older files too, and what is wrong with them."""

import pytest

from evenground.adapters.record_table import read_records


def read(kind, text):
    return read_records(text.encode(), kind, file=f"records/{kind}.csv")


def test_counts_written_before_there_were_stages_are_still_read():
    got = read("stand_counts", "id,time,strips,length_m,plants\nC1,2025-05-20T10:00,7,13.33,92\n")
    assert got.problems == ()
    assert (got.records[0].stage, got.records[0].late_plants, got.records[0].lost) == (None, None, {})


def test_counts_with_stage_late_plants_and_losses():
    text = (
        "id;time;strips;length_m;plants;stage;late_plants;lost_crows\nC1;2025-05-20T10:00;7;13,33;92;three_leaves;4;2\n"
    )
    (one,) = read("stand_counts", text).records
    assert (one.length_m, one.stage, one.late_plants, one.lost) == (13.33, "three_leaves", 4, {"crows": 2})


@pytest.mark.parametrize(
    "text",
    [
        "id;time;strips;readings\nR1;2025-05-20T10:00;7;0 14,5 29\n",
        "id,time,strips,readings\nR1,2025-05-20T10:00,7,0 14.5 29\n",
        'id,time,strips,readings\nR1,2025-05-20T10:00,7,"0, 14.5, 29"\n',
    ],
)
def test_a_run_in_one_cell(text):
    got = read("spacing_runs", text)
    assert got.problems == ()
    assert got.records[0].readings == (0.0, 14.5, 29.0)


def test_all_that_is_wrong_with_runs_and_depths_is_said():
    runs = read(
        "spacing_runs",
        "id,time,strips,reads,readings\nR1,2025-05-20T10:00,7,positions,0 14 3\nR2,2025-05-20T10:00,7,gaps,14 x\n"
        "R3,2025-05-20T10:00,7,steps,14 15\n",
    )
    assert [(p.row, p.field) for p in runs.problems] == [(2, "readings"), (3, "readings"), (4, "reads")]
    assert "starts again" in runs.problems[0].message
    depths = read("depths", "id,time,strips,depth_cm\nT1,2025-05-20T10:00,7,45\n")
    assert (depths.problems[0].given, depths.problems[0].allowed) == ("45", "0 to 20")


def test_depths_in_other_units():
    got = read("depths", "id,time,strips,depth_in\nT1,2025-05-20T10:00,7,2\n")
    # 1 inch = 2.54 cm exactly
    assert got.records[0].depth_cm == pytest.approx(5.08, rel=1e-15)
