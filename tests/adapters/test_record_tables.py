"""Records in CSV: what is written is read again, in every style and unit; every fault has its place."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests import any_trials, small_trial

from evenground.adapters.number_style import STYLES
from evenground.adapters.record_table import read_records
from evenground.adapters.record_writing import canonical_columns, cell_text, number_in_unit, rows_text
from evenground.basis.errors import InputError
from evenground.basis.observations import RECORD_KINDS
from evenground.basis.units import UNITS, other_names

EVERY_TIME = settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


def read(text, kind="weighings", **said):
    return read_records(text.encode() if isinstance(text, str) else text, kind, file=f"records/{kind}.csv", **said)


@EVERY_TIME
@given(st.data())
def test_what_is_written_is_read_again_in_every_style_and_unit(data):
    kind = data.draw(any_trials.kinds)
    records = data.draw(any_trials.records(kind))
    units = {}
    for name in RECORD_KINDS[kind].model_fields:
        if others := list(other_names(name).values()):
            units[name] = data.draw(st.sampled_from([None, *others]))
    columns = canonical_columns(kind, {n: u.suffix for n, u in units.items() if u is not None})
    columns = data.draw(st.permutations(columns))
    style = data.draw(st.sampled_from(list(STYLES.values())))
    delimiter, line_end = data.draw(st.sampled_from([";", "\t", ","])), data.draw(st.sampled_from(["\n", "\r\n"]))
    encoding = data.draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
    text = rows_text(records, columns, delimiter=delimiter, style=style, line_end=line_end)
    again = read(text.encode(encoding), kind)
    assert again.problems == ()
    assert list(again.records) == records


HEAD = "id;time;load;gross_kg;tare_kg\n"
ROW = "{};2025-09-09T10:00;L1;{};9000\n"


@pytest.mark.parametrize(
    ("cell", "given", "allowed", "words"),
    [
        ("-14000", "-14000", "above 0, at most 80000", "outside"),
        ("0", "0", "above 0, at most 80000", "outside"),
        ("NaN", "NaN", "a number written like 1234,5", "NaN"),
        ("inf", "inf", "a number written like 1234,5", "infinite"),
        ("heavy", "heavy", "a number written like 1234,5", "not a number"),
        ("14000.5", "14000.5", "a number written like 1234,5", "number style"),
        ("8000", "8000", "above the tare of 9000 kg", "swapped"),
    ],
)
def test_impossible_masses_name_file_line_field_given_allowed(cell, given, allowed, words):
    (fault,) = read(HEAD + ROW.format(1, "14000,5") + ROW.format(2, "13000,25") + ROW.format(3, cell)).problems
    assert (fault.file, fault.row, fault.field) == ("records/weighings.csv", 4, "gross_kg")
    assert (fault.given, fault.allowed) == (given, allowed)
    assert words in fault.message


def test_every_fault_of_a_file_is_listed_and_sound_rows_are_kept():
    found = read(HEAD + ROW.format(1, "x") + ROW.format(2, "13000,25") + ROW.format("", "-1"))
    assert [(p.row, p.field) for p in found.problems] == [(2, "gross_kg"), (4, "id"), (4, "gross_kg")]
    assert [r.id for r in found.records] == ["2"]
    assert found.lines == (3,)


def test_missing_columns_are_all_named():
    found = read("id;lenght_m\n1;5\n", kind="stand_counts").problems
    assert [(p.row, p.field) for p in found] == [(1, "time"), (1, "strips"), (1, "length_m"), (1, "plants")]
    assert "lenght_m" in found[2].message
    assert (found[0].given, found[0].allowed) == ("the columns id, lenght_m", "a column time")


def test_a_weighing_without_any_mass_is_refused_and_a_tare_alone_is_not():
    (fault,) = read("id;time;tare_kg\n1;2025-09-09T07:10;9000\n2;2025-09-09T08:10;\n").problems
    assert (fault.row, fault.field) == (3, "gross_kg")
    assert "slip_net_kg" in fault.allowed


@pytest.mark.parametrize(
    ("column", "cell", "kg"),
    [
        ("gross_t", "14.25", 14250.0),
        ("gross_lb", "30000", 13607.7711),
        ("gross_short_ton", "15", 13607.7711),
        ("gross_dt", "142.5", 14250.0),
    ],
)
def test_scales_of_every_region(column, cell, kg):
    # 1 lb = 0.45359237 kg exactly, so 30000 lb = 15 short tons = 13607.7711 kg exactly; rounded once to float.
    found = read(f"id,time,load,{column},tare_kg\n1,2025-09-09,L1,{cell},9000\n")
    assert found.problems == ()
    assert found.records[0].gross_kg == kg


def test_limits_of_a_converted_value_name_what_the_user_wrote():
    (fault,) = read("id,time,load,gross_t,tare_kg\n1,2025-09-09,L1,900,9000\n").problems
    assert (fault.field, fault.given) == ("gross_t", "900")
    assert fault.allowed == "above 0, at most 80000 (as gross_kg)"


def test_a_ton_that_could_be_three_things_is_asked():
    (fault,) = read("id,time,load,gross_ton,tare_kg\n1,2025-09-09,L1,14,9000\n").problems
    assert (fault.field, fault.allowed) == ("gross_ton", "gross_t, gross_short_ton or gross_long_ton")


def test_the_same_thing_in_two_units_is_refused():
    (fault,) = read("id,time,load,gross_kg,gross_t,tare_kg\n1,2025-09-09,L1,14000,14,9000\n").problems
    assert (fault.field, fault.given) == ("gross_kg", "gross_kg, gross_t")


def samples(*cells, column="dry_matter_percent"):
    rows = "".join(f"{i},2025-09-09,{i},{c}\n" for i, c in enumerate(cells, 1))
    return read(f"id,time,strips,{column}\n{rows}", "samples")


@pytest.mark.parametrize(
    ("cells", "words", "column"),
    [(("330", "325"), "percent or per mille", "g_per_kg"), (("0.33", "0.31"), "fraction or percent", "fraction")],
)
def test_dry_matter_in_another_scale_is_asked_once_and_not_guessed(cells, words, column):
    found = samples(*cells)
    (fault,) = found.problems
    assert (fault.row, fault.field, fault.given) == (2, "dry_matter_percent", cells[0])
    assert fault.allowed == "8 to 99 percent"
    assert words in fault.message
    assert f"dry_matter_{column}" in fault.message
    assert "2 lines" in fault.message
    assert found.records == ()


def test_dry_matter_is_read_in_the_scale_the_column_says():
    assert samples("330", column="dry_matter_g_per_kg").records[0].dry_matter_percent == 33.0
    assert samples("0.33", column="dry_matter_fraction").records[0].dry_matter_percent == 33.0


def test_impossible_dry_matter_that_is_no_other_scale():
    (fault,) = samples("33", "5").problems
    assert (fault.row, fault.given, fault.allowed) == (3, "5", "8 to 99")


@pytest.mark.parametrize("cell", ["20250909", "yesterday", "31.02.2025", "2025-13-01"])
def test_what_is_no_date_is_refused(cell):
    (fault,) = read(f"id,time,load,gross_kg,tare_kg\n1,{cell},L1,14000,9000\n").problems
    assert (fault.field, fault.given) == ("time", cell)
    assert "date" in fault.message


def test_dates_of_every_region():
    head = "id,time,load,gross_kg,tare_kg\n"
    dotted = read(head + "1,09.10.2025 08:15,L1,14000,9000\n").records[0]
    slashed = read(head + "1,10/09/2025 08:15,L1,14000,9000\n2,10/23/2025,L1,14000,9000\n").records[0]
    assert dotted.time == slashed.time
    (fault,) = read(head + "1,10/09/2025,L1,14000,9000\n").problems
    assert (fault.field, fault.given) == ("time", "10/09/2025")
    assert read(head + "1,10/09/2025,L1,14000,9000\n", date_style="DD/MM/YYYY").records[0].time.month == 9


def test_an_open_number_style_is_asked_with_the_file():
    text = "id;time;load;gross_kg;tare_kg\n1;2025-09-09;L1;14.250;9.000\n"
    (fault,) = read(text).problems
    assert (fault.field, fault.given) == ("gross_kg", "14.250")
    assert "read as 14.25 or as 14 250?" in fault.message
    assert read(text, number_style=STYLES["1.234,5"]).records[0].gross_kg == 14250


def test_columns_of_ones_own_are_kept_and_near_misses_noted():
    found = read("id,time,load,gross_kg,tare_kg,scales,moon\n1,2025-09-09,L1,14000,9000,a,full\n")
    assert found.problems == ()
    assert found.notes == ("records/weighings.csv: column scales is kept but not read; is scale meant?",)


def test_nothing_is_dropped_when_a_column_is_not_there():
    record = small_trial.weighing("L1", 900, scale="bridge")
    with pytest.raises(InputError, match="scale: the file has no column for this"):
        rows_text([record], ["id", "time", "load", "gross_kg", "tare_kg"])


def test_units_of_writing():
    assert canonical_columns("weighings", {"gross_kg": "lb"})[-2:] == ("gross_lb", "tare_kg")
    assert canonical_columns("weighings", {"gross_kg": "kg"})[-2:] == ("gross_kg", "tare_kg")
    with pytest.raises(ValueError, match="cannot be written in ft"):
        canonical_columns("weighings", {"gross_kg": "ft"})
    assert number_in_unit(453.59237, UNITS["kg"], UNITS["lb"]) == "1000"
    assert number_in_unit(1.0, UNITS["kg"], UNITS["lb"], STYLES["1234,5"]).startswith("2,20462262")


def test_cells():
    assert [cell_text(v) for v in (None, (7, 8), 3, "x", 2.5)] == ["", "7+8", "3", "x", "2.5"]
