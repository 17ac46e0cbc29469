"""Tables as spreadsheets write them: delimiters, encodings, decimal signs; every fault with its place."""

from __future__ import annotations

import subprocess
import sys

import pytest

from evenground.adapters.number_style import STYLES
from evenground.adapters.tables import (
    column,
    missing_columns,
    nearest,
    numbers,
    parse_table,
    read_table,
    style_words,
)
from evenground.basis.errors import InputError


def table(text, **options):
    return parse_table(text.encode() if isinstance(text, str) else text, file="t.csv", **options)


WANTED = [("1", "12.5"), ("2", "13.25")]


@pytest.mark.parametrize(
    "text",
    [
        "strip,yield\n1,12.5\n2,13.25\n",
        "strip;yield\r\n1;12,5\r\n2;13,25\r\n",
        "strip\tyield\n1\t12.5\n2\t13.25",
        'strip,yield\n1,"12,5"\n2,"13,25"\n',
        '"strip";"yield"\n"1";"12,5"\n\n"2";"13,25"\n;;\n',
        "\ufeffstrip;yield;;\n1; 12,5 ;;\n2;13,25;;\n",
    ],
)
def test_every_spreadsheet_dialect_gives_the_same_numbers(text):
    read = table(text)
    assert read.problems == ()
    assert read.columns == ("strip", "yield")
    values, problems = numbers(read, "yield")
    assert problems == []
    assert values == (12.5, 13.25)
    assert column(read, "strip") == ("1", "2")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_encodings_are_read(encoding):
    read = table("name,kg\nHöhe,5\n".encode(encoding))
    assert read.rows[0] == {"name": "Höhe", "kg": "5"}
    assert read.notes == ()


def test_an_older_encoding_is_read_with_a_note():
    read = table("name,kg\nHöhe,5\n".encode("cp1252"))
    assert read.rows[0]["name"] == "Höhe"
    assert "Windows-1252" in read.notes[0]


def test_line_numbers_count_blank_lines_and_cells_with_line_breaks():
    assert table('a,b\n\n1,"x\ny"\n2,z\n').lines == (3, 5)


def one_problem(text, **options):
    (fault,) = table(text, **options).problems
    assert fault.file == "t.csv"
    assert fault.message
    return fault


def test_an_open_number_style_is_asked():
    fault = one_problem("strip,yield\n1,9.500\n2,12.250\n")
    assert (fault.field, fault.given) == ("yield", "9.500")
    assert "read as 9.5 or as 9500?" in fault.message
    assert fault.allowed == 'number_style "1234.5" or "1.234,5"'
    assert '[files."t.csv"]' in fault.message
    assert "--number-style" in fault.message


@pytest.mark.parametrize(("name", "value"), [("1234.5", 9.5), ("1.234,5", 9500.0)])
def test_an_answer_settles_the_style(name, value):
    read = table("yield\n9.500\n", number_style=STYLES[name])
    assert read.problems == ()
    assert numbers(read, "yield")[0] == (value,)


def test_text_columns_do_not_open_the_question():
    assert table("id,yield\n9.500,12.5\n", number_columns=["yield"]).style.name == "1234.5"
    assert table("id,yield\n1.234,7\n", number_columns=["yield"]).problems == ()


def test_open_dates_are_asked_and_told():
    fault = one_problem("day\n04/05/2026\n", date_columns=["day"])
    assert (fault.field, fault.given) == ("day", "04/05/2026")
    assert "MM/DD/YYYY" in fault.allowed
    assert table("day\n04/05/2026\n", date_columns=["day"], date_style="MM/DD/YYYY").problems == ()


@pytest.mark.parametrize(
    ("text", "row", "field", "words"),
    [
        ("", None, "", "empty"),
        ("a,a\n1,2\n", 1, "a", "same name"),
        ("a,,b\n1,2,3\n", 1, "column 2", "no name"),
        ("strip,yield\n1,12,5\n", 2, "", "decimal sign"),
        ('a,b\n1,2\n3,"4\n', 3, "", "quoted cell"),
        (b"a\x00b,c\n", None, "", "not a text table"),
        (b"\x81,c\n", None, "", "not a text table"),
    ],
)
def test_broken_tables_say_where(text, row, field, words):
    fault = one_problem(text)
    assert (fault.row, fault.field) == (row, field)
    assert words in fault.message


def test_missing_columns_are_named_together_with_near_ones():
    read = table("gros_kg;strip\n1;2\n")
    first, second = missing_columns(read, ["gross_kg", "tare_kg", "strip"])
    assert (first.field, first.row) == ("gross_kg", 1)
    assert "gros_kg" in first.message
    assert first.given.endswith("gros_kg, strip")
    assert first.allowed == "a column gross_kg"
    assert second.field == "tare_kg"
    with pytest.raises(InputError, match="missing"):
        column(read, "yield")


@pytest.mark.parametrize(
    ("cell", "words"),
    [("NaN", "NaN"), ("inf", "infinite"), ("about 12", "not a number"), ("12.5", "number style"), ("", "empty")],
)
def test_cells_that_are_no_numbers_say_where(cell, words):
    read = table(f"strip;yield\n1;12,5\n2;13,5\n3;{cell}\n")
    values, (fault,) = numbers(read, "yield")
    assert values == (12.5, 13.5, None)
    assert (fault.file, fault.row, fault.field, fault.given) == ("t.csv", 4, "yield", cell)
    assert fault.allowed == "a number written like 1234,5"
    assert words in fault.message


def test_empty_cells_may_mean_not_measured():
    assert numbers(table("strip,yield\n1,\n"), "yield", empty_allowed=True) == ((None,), [])


def test_the_style_is_said_in_words():
    assert style_words(table("seeds\n95.000,0\n")) == "t.csv: 95.000,0 is read as 95 000 (decimal comma)"
    assert style_words(table("seeds\n95\n")) == ""


def test_files_that_cannot_be_read_are_input_errors(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_table(tmp_path / "none.csv")
    with pytest.raises(InputError, match="no such file"):
        read_table(tmp_path)
    (tmp_path / "open.csv").write_text("y\n9.500\n")
    with pytest.raises(InputError, match="9500"):
        read_table(tmp_path / "open.csv")


def test_large_files_are_refused_unread(tmp_path, monkeypatch):
    monkeypatch.setattr("evenground.adapters.reading.read_bytes.__defaults__", (3,))
    (tmp_path / "t.csv").write_text("a,b\n1,2\n")
    with pytest.raises(InputError, match="too large"):
        read_table(tmp_path / "t.csv")


def test_nearest_ignores_case_and_refuses_far_names():
    assert nearest("Yield", ["yield", "block"]) == "yield"
    assert nearest("yield", ["colour"]) == ""


def test_reading_a_table_needs_no_heavy_import():
    heavy = "numpy", "pydantic", "shapely"
    code = f"import sys, evenground.adapters.tables; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
