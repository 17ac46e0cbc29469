"""Planter logs under many headers, and what is wrong with one."""

import math
from datetime import datetime

import pytest

from evenground.adapters.planter_log import digest_of, read_planter_log
from evenground.basis.errors import InputError
from evenground.basis.method import Machine

FOUR = Machine(id="four", kind="planter", rows=4, row_spacing_m=0.75)
GOOD = (
    "time,lon,lat,speed_km_per_h,rows_off\n2025-04-28T09:00:00,9.1,51.2,7.2,0\n2025-04-28T09:00:01,9.1001,51.2,7.2,1\n"
)


def read(tmp_path, text):
    path = tmp_path / "log.csv"
    path.write_text(text)
    return read_planter_log(path, "A", FOUR)


def faults(tmp_path, text):
    with pytest.raises(InputError) as caught:
        read(tmp_path, text)
    return caught.value.problems


@pytest.mark.parametrize(
    "text",
    [
        GOOD,
        GOOD.replace("speed_km_per_h", "Speed (km/h)").replace("lon,lat", "Longitude,Latitude"),
        GOOD.replace("speed_km_per_h", "speed_m_per_s").replace("7.2", "2.0"),
        GOOD.replace(",", ";").replace(".", ","),
        "seconds,lon,lat,speed_km_per_h,rows off\n5,9.1,51.2,7.2,0\n6,9.1001,51.2,7.2,1\n",
    ],
    ids=["plain", "other headers", "metres a second", "semicolons", "seconds"],
)
def test_the_same_log_in_every_dress(tmp_path, text):
    got = read(tmp_path, text)
    assert list(got.seconds - got.seconds[0]) == [0.0, 1.0]
    assert list(got.lon) == [9.1, 9.1001]
    assert got.speed_m_per_s == pytest.approx([2.0, 2.0])
    assert list(got.rows_off) == [0.0, 1.0]
    assert (got.method, got.rows, got.width_m) == ("A", 4, 3.0)


@pytest.mark.parametrize("header", ["speed_mph", "speed_mi_per_h", "Speed [mph]"])
def test_miles_an_hour(tmp_path, header):
    text = GOOD.replace("speed_km_per_h", header).replace("7.2", "5")
    # 1 mile = 1609.344 m exactly
    assert read(tmp_path, text).speed_m_per_s[0] == pytest.approx(5 * 1609.344 / 3600)


@pytest.mark.parametrize(
    ("header", "given", "per_m2"),
    [
        ("seeds_per_m2", "8.5", 8.5),
        ("Seeds/ha", "85000", 8.5),
        ("kernels per ha", "85000", 8.5),
        # 1 acre = 4046.8564224 m2 exactly
        ("Seeds/ac", "34000", 34000 / 4046.8564224),
        ("Seed rate (seeds/m2)", "8.5", 8.5),
    ],
)
def test_the_rate_in_every_unit(tmp_path, header, given, per_m2):
    text = GOOD.replace("rows_off", f"rows_off,{header}").replace(",0\n", f",0,{given}\n").replace(",1\n", ",1,\n")
    got = read(tmp_path, text)
    assert got.seeds_per_m2[0] == pytest.approx(per_m2)
    assert math.isnan(got.seeds_per_m2[1])
    assert got.notes == ()


def test_a_rate_without_unit_is_left_out_and_told(tmp_path):
    got = read(
        tmp_path, GOOD.replace("rows_off", "rows_off,Rate").replace(",0\n", ",0,8.5\n").replace(",1\n", ",1,8.5\n")
    )
    assert got.seeds_per_m2 is None
    assert "Rate: not read" in got.notes[0]
    assert read(tmp_path, GOOD).notes == ()


def test_a_counter_that_starts_up_does_not_spoil_the_log(tmp_path):
    text = GOOD.replace("rows_off", "rows_off,seeds_per_m2").replace(",0\n", ",0,730\n").replace(",1\n", ",1,8.4\n")
    got = read(tmp_path, text)
    assert math.isnan(got.seeds_per_m2[0])
    assert got.seeds_per_m2[1] == 8.4
    assert got.notes == ("seeds_per_m2: 1 readings below 0 or above 50 seeds/m2 are left out.",)
    text = text.replace("730", "many")
    assert faults(tmp_path, text)[0].field == "seeds_per_m2"


def test_a_log_without_rows_off_has_none_off(tmp_path):
    assert list(read(tmp_path, GOOD.replace(",rows_off", ",other")).rows_off) == [0.0, 0.0]


@pytest.mark.parametrize(
    ("text", "row", "says"),
    [
        (GOOD.replace("speed_km_per_h", "speed"), 1, "unit of this column is not said"),
        (GOOD.replace("lat", "north"), 1, "no column for the lat"),
        (GOOD.replace("rows_off", "longitude"), 1, "given twice"),
        (GOOD.replace("51.2,7.2,1", "95.0,7.2,1"), 3, "cannot be"),
        (GOOD.replace("7.2,1", "72,1"), 3, "cannot be"),
        (GOOD.replace("7.2,1", "7.2,5"), 3, "cannot be"),
        (GOOD.replace("7.2,1", "fast,1"), 3, "number"),
        (GOOD.replace("09:00:01", "08:59:59"), 3, "runs back"),
        (GOOD.replace("2025-04-28T09:00:01", "soon"), 3, "not a time"),
        ("\n".join(GOOD.splitlines()[:2]), None, "two readings"),
        (GOOD.replace("rows_off", "method").replace("7.2,0", "7.2,B").replace("7.2,1", "7.2,C"), 1, "no reading is of"),
    ],
)
def test_what_is_wrong_is_said(tmp_path, text, row, says):
    found = faults(tmp_path, text)
    assert any(p.row == row and says in p.message for p in found), found
    assert all(p.allowed for p in found)


def test_readings_of_another_method_count_as_lifted(tmp_path):
    text = GOOD.replace("rows_off", "rows_off,method").replace("7.2,0", "7.2,0,A").replace("7.2,1", "7.2,1,B")
    assert list(read(tmp_path, text).rows_off) == [0.0, 4.0]


def test_the_clock_of_the_first_reading(tmp_path):
    assert read(tmp_path, GOOD).start == datetime(2025, 4, 28, 9, 0)
    assert read(tmp_path, "seconds,lon,lat,speed_m_per_s\n5,9.1,51.2,2\n6,9.1,51.2,2\n").start is None


def test_the_digest_is_of_the_content(tmp_path):
    for name, text in (("a.csv", GOOD), ("b.csv", GOOD), ("c.csv", GOOD + "\n")):
        (tmp_path / name).write_text(text)
    a, b, c = (digest_of(tmp_path / f"{n}.csv") for n in "abc")
    assert a == b != c
    assert len(a) == 64
