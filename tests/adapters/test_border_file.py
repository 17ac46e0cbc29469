"""Reading both sides of a border: tables, areas, sowing places, earlier yields; and what is refused."""

from datetime import date

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, box
from tests.adapters.two_areas import LAT, LON, TWO, area, areas

from evenground.adapters.border_file import read_border_file, read_border_folder
from evenground.basis.errors import InputError
from evenground.basis.field import Field, PointLayer

PLACED = "method,x,y,value\nA,-5,0,12.5\nA,-5,10,12.7\nB,5,0,13.5\nB,5,10,13.1\n"


def written(path, text):
    path.write_text(text, encoding="utf-8")
    return path


YIELDS = "lon;lat;value\n" + "".join(
    f"{LON + x:.5f};{LAT + 0.0001 * k:.4f};{v}\n".replace(".", ",")
    for k in range(1, 6)
    for x, v in ((0.0009, 12.5), (0.0011, 13.25))
)


def folder(path, **files):
    for name, text in files.items():
        written(path / name.replace("__", "."), text)
    return path


def read(path, field=None, layers=()):
    return read_border_folder(path, field, layers)


def test_a_table_with_places_and_methods(tmp_path):
    got = read_border_file(written(tmp_path / "b.csv", PLACED)).measured
    assert got.method == ("A", "A", "B", "B")
    assert got.value.tolist() == [12.5, 12.7, 13.5, 13.1]
    assert got.x.tolist() == [-5, -5, 5, 5]


def test_side_is_understood_and_so_are_decimal_commas_days_and_earlier_years(tmp_path):
    text = "side;value;sown;earlier 2024\nold;12,5;28.04.2026;11,2\nnew;13,25;06.05.2026;\n"
    read_ = read_border_file(written(tmp_path / "b.csv", text))
    assert read_.measured.method == ("old", "new")
    assert read_.measured.x is None
    assert read_.measured.value.tolist() == [12.5, 13.25]
    assert read_.sown == {"old": date(2026, 4, 28), "new": date(2026, 5, 6)}
    earlier = read_.measured.earlier["earlier 2024"]
    assert earlier[0] == 11.2
    assert np.isnan(earlier[1])


def test_degrees_become_metres(tmp_path):
    text = f"method,lon,lat,value\nA,{LON},{LAT},12\nB,{LON},{LAT + 0.001},13\n"
    got = read_border_file(written(tmp_path / "b.csv", text)).measured
    assert np.ptp(got.y) == pytest.approx(111.26, abs=0.1)  # a minute of arc is a nautical mile: 0.001 deg, 111.2 m


def test_drawn_areas_name_the_methods_and_the_days(tmp_path):
    got = read(folder(tmp_path, border__csv=YIELDS, border_areas__geojson=TWO))
    assert got.measured.method == ("A", "B") * 5
    assert set(got.areas) == {"A", "B"}
    assert got.areas["A"].area == pytest.approx(70.2 * 222.5, rel=0.01)
    assert got.sown == {"A": date(2026, 4, 28), "B": date(2026, 5, 6)}


def test_walked_or_logged_places_name_the_methods(tmp_path):
    log = "lon,lat,method\n" + "".join(
        f"{LON + x:.5f},{LAT + 0.0001 * k:.4f},{m}\n" for k in range(8) for x, m in ((0.00085, "A"), (0.00115, "B"))
    )
    got = read(folder(tmp_path, border__csv=YIELDS, border_sown__csv=log)).measured
    assert got.method == ("A", "B") * 5


def test_points_far_from_any_sowing_place_stay_without_method(tmp_path):
    log = f"lon,lat,method\n{LON + 0.0009:.4f},{LAT + 0.0001:.4f},A\n{LON + 0.0011:.4f},{LAT + 0.0001:.4f},B\n"
    got = read(folder(tmp_path, border__csv=YIELDS, border_sown__csv=log)).measured
    assert got.method == ("A", "B") + ("",) * 8


def test_areas_without_yields_are_a_plan(tmp_path):
    got = read(folder(tmp_path, border_areas__geojson=TWO))
    assert got.measured is None
    assert "no yields yet" in got.notes[0]


def test_earlier_yields_are_taken_from_near_by(tmp_path):
    layer = PointLayer("2024", (LON + 0.0009, LON + 0.0009), (LAT + 0.0001, LAT + 0.00012), (10.0, 12.0))
    got = read(folder(tmp_path, border__csv=YIELDS, border_areas__geojson=TWO), layers=(layer,)).measured
    values = got.earlier["2024"]
    assert values[0] == pytest.approx(11.0)  # the mean of both
    assert np.isnan(values[-1])  # 44 m off


WRONG = [
    ("", "this file is empty"),
    ("method,value\n", "no rows"),
    ("method,yield\nA,1\nB,2\n", "this column is missing"),
    ("value\n12\n13\n", "this column is missing"),
    ("method,value\nA,12\nB,NaN\n", "NaN"),
    ("method,value\nA,12\nB,\n", "this cell is empty"),
    ("method,value\nA,12\nB,inf\n", "inf"),
    ("method,value\nA,12\nB,-3\n", "no yield in t/ha"),
    ("method,value\nA,12\nB,12500\n", "Is it kg/ha"),
    ("method,x,value\nA,1,12\nB,2,13\n", "this column is missing"),
    ("method,x,y,lon,lat,value\nA,1,1,9,51,12\nB,2,2,9,51,13\n", "places stand here twice"),
    ("method,lon,lat,value\nA,51,99,12\nB,51,9,13\n", "were the two swapped"),
    ("method,x,y,value\nA,1,NaN,12\nB,2,2,13\n", "NaN"),
    ("method,value,sown\nA,12,soon\nB,13,2026-05-04\n", "this is no day"),
]


@pytest.mark.parametrize(("text", "message"), WRONG)
def test_bad_tables_are_refused_with_file_and_place(tmp_path, text, message):
    path = written(tmp_path / "b.csv", text)
    with pytest.raises(InputError) as caught:
        read_border_file(path)
    assert message in str(caught.value)
    assert {p.file for p in caught.value.problems} == {"b.csv"}
    assert path.read_text(encoding="utf-8") == text


def test_all_problems_come_at_once(tmp_path):
    text = "method,value,sown\nA,x,soon\nB,-3,never\n"
    with pytest.raises(InputError) as caught:
        read_border_file(written(tmp_path / "b.csv", text))
    assert len(caught.value.problems) == 4


CROSSED = area("A", LON, LON + 0.001)
CROSSED["geometry"]["coordinates"][0][1:3] = CROSSED["geometry"]["coordinates"][0][2:0:-1]
WRONG_AREAS = [
    ("{", "border_areas.geojson"),
    (areas(area("A", LON, LON + 0.001)), "a border has two areas"),
    (areas(area("", LON, LON + 0.001), area("B", LON + 0.001, LON + 0.002)), "names no method"),
    (areas(CROSSED, area("B", LON + 0.001, LON + 0.002)), "no sound area"),
    (areas(area("A", 3_500_000.0, 3_500_100.0), area("B", LON, LON + 0.002)), "no sound area"),
    (areas({"type": "Feature", "properties": None, "geometry": None}), "names no method"),
    (areas(area("A", LON, LON + 0.001, sown="soon"), area("B", LON + 0.001, LON + 0.002)), "no day"),
]


@pytest.mark.parametrize(("text", "message"), WRONG_AREAS)
def test_bad_areas_are_refused(tmp_path, text, message):
    with pytest.raises(InputError, match=message):
        read(folder(tmp_path, border__csv=YIELDS, border_areas__geojson=text))


def test_nothing_to_compare_is_said(tmp_path):
    with pytest.raises(InputError, match="nothing to compare"):
        read(tmp_path)


def test_points_of_another_place_are_refused(tmp_path):
    far = MultiPolygon([box(LON + 1, LAT, LON + 1.01, LAT + 0.01)])
    with pytest.raises(InputError, match="outside the field: another place"):
        read(folder(tmp_path, border__csv=YIELDS, border_areas__geojson=TWO), Field(far, MultiPolygon()))


def test_rows_that_nothing_gives_a_method_are_refused(tmp_path):
    with pytest.raises(InputError, match="some rows name no method"):
        read(folder(tmp_path, border__csv=YIELDS))


def test_sowing_places_without_places_are_refused(tmp_path):
    with pytest.raises(InputError, match=r"border_sown\.csv"):
        read(folder(tmp_path, border__csv=YIELDS, border_sown__csv="method\nA\nB\n"))
