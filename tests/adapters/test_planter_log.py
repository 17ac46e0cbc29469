"""Planter logs under many headers, and what is wrong with one."""

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
