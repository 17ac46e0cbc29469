"""Spacing files as tapes and spreadsheets make them, and everything that can be wrong with one."""

from fractions import Fraction

import pytest

from evenground.adapters.number_style import STYLES
from evenground.adapters.spacing_file import read_spacing_file
from evenground.basis.errors import InputError


def read(tmp_path, text, target=0.15, **more):
    path = tmp_path / "run.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_spacing_file(path, target, **more)


def faults(tmp_path, text, target=0.15):
    with pytest.raises(InputError) as caught:
        read(tmp_path, text, target)
    return caught.value.problems


def rows(column, *values):
    return column + "\n" + "\n".join(map(str, values)) + "\n"


GAPS = (Fraction("0.149"), Fraction("0.152"), Fraction("0"), Fraction("0.3"))


@pytest.mark.parametrize(
    "text",
    [
        rows("gap_cm", 14.9, 15.2, 0, 30),
        rows("gap_m", 0.149, 0.152, 0, 0.3),
        rows("position_cm", 2, 16.9, 32.1, 32.1, 62.1),
        rows("position_m", 0.02, 0.169, 0.321, 0.321, 0.621),
        rows("gap_cm", "14,9", "15,2", 0, 30),
        "plant;gap_cm\n1;14,9\n2;15,2\n3;0\n4;30\n",
        "\ufeffplant\tgap_cm\r\n1\t14.9\r\n2\t15.2\r\n3\t0\r\n4\t30\r\n",
        'plant,gap_cm\n1,"14,9"\n2,"15,2"\n3,0\n4,30\n',
        rows("gap_cm", 14.9, 15.2, 0, 30).encode("utf-16"),
    ],
    ids=["gaps cm", "gaps m", "tape cm", "tape m", "decimal commas", "semicolons", "BOM, tabs", "quoted", "UTF-16"],
)
def test_the_same_run_in_every_dress(tmp_path, text):
    got = read(tmp_path, text)
    assert got.gaps_m == GAPS
    assert got.target_m == Fraction("0.15")


def test_readings_with_three_decimals_are_read(tmp_path):
    assert read(tmp_path, rows("position_m", "0.000", "0.149", "1.149"), 0.3).gaps_m[1] == 1


def test_an_open_number_style_is_asked_and_can_be_said(tmp_path):
    text = rows("position_m", "1.125", "1.275", "1.425")
    (one,) = faults(tmp_path, text)
    assert "1.125" in one.given
    assert read(tmp_path, text, number_style=STYLES["1234.5"]).gaps_m == (Fraction("0.15"), Fraction("0.15"))


def test_how_it_was_read_is_said_back(tmp_path):
    assert any("14,9 is read as 14.9" in n for n in read(tmp_path, rows("gap_cm", "14,9", "15,2")).notes)


def test_two_lines_of_a_twin_row(tmp_path):
    got = read(tmp_path, "line,position_cm\n1,0\n1,30\n1,61\n2,15\n2,44\n", 0.3)
    assert [line.line for line in got.lines] == ["1", "2"]
    # no gap from the end of line 1 to the start of line 2
    assert got.gaps_m == (Fraction("0.3"), Fraction("0.31"), Fraction("0.29"))


@pytest.mark.parametrize(
    ("text", "row", "given", "says"),
    [
        (rows("position_cm", 0, 15, 30, 45, 60, 5, 20), 7, "5 after 60", "starts again"),
        (rows("position_cm", 0, 15, 30, 28, 45), 5, "28 after 30", "smaller than the one before"),
        (rows("gap_cm", 15, -14, 15), 3, "-14", "negative"),
        (rows("gap_cm", 15, 0.16, 14), 3, "0.16", "metres in a column of centimetres"),
        (rows("gap_m", 0.15, 16, 0.14), 3, "16", "centimetres in a column of metres"),
        (rows("position_cm", 0, 15, 31, 0.47, 62), 5, "0.47", "metres in a column of centimetres"),
        (rows("position_m", 0, 0.15, 31, 0.47), 4, "31", "centimetres in a column of metres"),
        (rows("gap_m", 15, 14, 16), 1, "15", "all readings look like centimetres"),
        (rows("position_cm", 0, 0.15, 0.31, 0.45), 1, "0.15", "all readings look like metres"),
        (rows("position_cm", 0.15, 0.3, 45, 60), 2, "0.15", "metres in a column of centimetres"),
        (rows("position_cm", 15), 2, "15", "lone reading"),
        (rows("gap_m", 0.15), 2, "0.15", "lone reading"),
        (rows("gap_cm", 15, "NaN", 14), 3, "NaN", "number"),
        (rows("gap_cm", 15, "inf", 14), 3, "inf", "number"),
        (rows("gap_cm", 15, "wide", 14), 3, "wide", "number"),
        ("plant,gap_cm\n1,15\n2,\n3,14\n", 3, "", "empty"),
        (rows("gap_cm", 15, 5000, 14), 3, "5000", "too long"),
        (rows("position_cm", -3, 12, 27), 2, "-3", "no tape reads this"),
        ("distance\n15\n14\n", 1, "distance", "no column with tape readings or gaps"),
        ("gap_cm,gap_m\n15,0.15\n14,0.14\n", 1, "gap_cm, gap_m", "given twice"),
        ("gap_cm\n", None, "", "no rows"),
        ("", None, "", "empty"),
        (b"\x00\x01\x02", None, "", "not a text table"),
        ("line,gap_cm\n1,15\n1,15\n2,15\n2,15\n3,15\n3,15\n", None, "line 1, line 2, line 3", "two when it is a twin"),
    ],
)
def test_what_is_wrong_is_said_with_row_given_allowed(tmp_path, text, row, given, says):
    found = faults(tmp_path, text)
    assert any((p.row, p.given) == (row, given) and says in p.message for p in found), found
    assert all(p.file == "run.csv" and p.allowed for p in found)


def test_each_slip_is_said_once_and_all_at_once(tmp_path):
    found = faults(tmp_path, rows("position_cm", 0, 15, 31, 0.47, 62, 3, 20, "x"))
    assert sorted(p.row for p in found) == [5, 7, 9]


@pytest.mark.parametrize(("target", "says"), [(0, "cannot"), (-1, "cannot"), (2.5, "0.025"), (15, "write 0.15")])
def test_targets_that_cannot_be(tmp_path, target, says):
    found = faults(tmp_path, rows("gap_cm", 15, -14), target)
    assert found[0].field == "--target-m"
    assert says in found[0].message
    assert len(found) == 2  # the negative gap is said too


@pytest.mark.parametrize("target", [float("nan"), float("inf")])
def test_a_target_that_is_no_number(tmp_path, target):
    assert faults(tmp_path, rows("gap_cm", 15, 14), target)[0].field == "--target-m"
