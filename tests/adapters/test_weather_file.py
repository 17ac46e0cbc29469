"""Weather files as stations and services write them; all files here are invented."""

import time
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenground.adapters.weather_file import misplaced, parse_weather, read_weather_file
from evenground.adapters.weather_headings import STEMS, UNITS_OF, Heading, heading, unit_text
from evenground.basis.errors import InputError
from evenground.season.daily import NAMES

MAY = date(2026, 5, 1)
# One and the same three days, written in many ways: rain 0, 12.4, 3 mm; lowest 3.5, 4, 6; highest 14, 15.5, 20 deg C.
RAIN, LOW, HIGH = (0.0, 12.4, 3.0), (3.5, 4.0, 6.0), (14.0, 15.5, 20.0)
SAME = {
    "comma": "date,rain_mm,temperature_min_c,temperature_max_c\n2026-05-01,0,3.5,14\n"
    "2026-05-02,12.4,4,15.5\n2026-05-03,3,6,20\n",
    "semicolon and decimal comma": "Datum;Niederschlag (mm);Tmin [°C];Tmax [°C]\n01.05.2026;0,0;3,5;14,0\n"
    "02.05.2026;12,4;4,0;15,5\n03.05.2026;3,0;6,0;20,0\n",
    "tab and compact days": "time\tRR\tTN\tTX\n20260501\t0\t3.5\t14\n20260502\t12.4\t4\t15.5\n20260503\t3\t6\t20\n",
    "year month day": "year,month,day,precip,tmin,tmax\n2026,5,1,0,3.5,14\n2026,5,2,12.4,4,15.5\n2026,5,3,3,6,20\n",
    "day of year": "year;doy;rain;tmin;tmax\n2026;121;0;3.5;14\n2026;122;12.4;4;15.5\n2026;123;3;6;20\n",
    "units in their own line": "date;rain;tmin;tmax\n;mm;°C;°C\n2026-05-01;0;3.5;14\n"
    "2026-05-02;12.4;4;15.5\n2026-05-03;3;6;20\n",
    "tenths": "date,rain (0.1 mm),tmin (0.1 °C),tmax (0.1 °C)\n"
    "2026-05-01,0,35,140\n2026-05-02,124,40,155\n2026-05-03,30,60,200\n",
    "lines before the header": "# invented station\n# made for a test\ndate,rain,tmin,tmax\n2026-05-01,0,3.5,14\n"
    "# a note\n2026-05-02,12.4,4,15.5\n2026-05-03,3,6,20\n",
    "header behind a hash": "#date,rain,tmin,tmax\n2026-05-01,0,3.5,14\n2026-05-02,12.4,4,15.5\n2026-05-03,3,6,20\n",
    "out of order": "date,rain,tmin,tmax\n2026-05-03,3,6,20\n2026-05-01,0,3.5,14\n2026-05-02,12.4,4,15.5\n",
    "with a clock time": "date,rain,tmin,tmax\n2026-05-01T00:00,0,3.5,14\n"
    "2026-05-02T00:00,12.4,4,15.5\n2026-05-03T00:00,3,6,20\n",
    "French": "jour;pluie (mm);temperature minimale (C);température maximale (C)\n"
    "01/05/2026;0;3,5;14\n02/05/2026;12,4;4;15,5\n23/05/2026;;;\n03/05/2026;3;6;20\n",
    "month named, English": "Day,High °C,Low °C,Rainfall mm\nMay 1 2026,14,3.5,0\n2 May 2026,15.5,4,12.4\n"
    "May 3rd, 2026,20,6,3\n".replace("May 3rd, 2026", '"May 3rd, 2026"'),
    "month named, German and French": "Tag;Tmin;Tmax;Regen\n1. Mai 2026;3,5;14;0\n2 mai 2026;4;15,5;12,4\n"
    "3.-MAI-2026;6;20;3\n",
    "signs of services": "STATION;YYYYMMDD; RSK;TXK;TNK\n 7;20260501;0;14;3.5\n 7;20260502;12.4;15.5;4\n"
    " 7;20260503;3;20;6\n",
    "signs of grids": "YEAR,DOY,T2M_MAX,T2M_MIN,PRECTOTCORR\n2026,121,14,3.5,0\n2026,122,15.5,4,12.4\n"
    "2026,123,20,6,3\n",
    "columns that stand apart by blanks": "# invented\n  date        tmax  tmin   rain\n"
    "  2026-05-01  14.0   3.5    0.0\n  2026-05-02  15.5   4.0   12.4\n  2026-05-03  20.0   6.0    3.0\n",
    "blanks, decimal comma and units": "Datum   Tmax (°C)   Tmin (°C)   Regen (mm)\n1.5.2026  14,0  3,5  0,0\n"
    "2.5.2026  15,5  4,0  12,4\n3.5.2026  20,0  6,0  3,0\n",
    "blanks, year month day": "YEAR MO DY T2M_MAX T2M_MIN PRECTOTCORR\n2026  5  1  14.00  3.50  0.00\n"
    "2026  5  2  15.50  4.00  12.40\n2026  5  3  20.00  6.00  3.00\n",
    "French, mini and maxi": "Date;Température mini (°C);Température maxi (°C);Pluie (mm)\n01/05/2026;3,5;14;0\n"
    "02/05/2026;4;15,5;12,4\n23/05/2026;;;\n03/05/2026;6;20;3\n",
    "years of two figures": "Tag;Tmin;Tmax;Regen\n1.5.26;3,5;14;0\n02.05.26;4;15,5;12,4\n3.5.26;6;20;3\n",
    "Kelvin": "date,rain,tmin (K),tmax (K)\n"
    "2026-05-01,0,276.65,287.15\n2026-05-02,12.4,277.15,288.65\n2026-05-03,3,279.15,293.15\n",
}  # fmt: skip


def read(text, **said):
    return parse_weather(text.encode(), "w.csv", **said)


@pytest.mark.parametrize("way", sorted(SAME))
def test_many_ways_of_writing_give_the_same_days(way):
    got = read(SAME[way]).weather
    assert got.first == MAY
    assert got["rain_mm"][:3] == pytest.approx(RAIN)
    assert got["temperature_min_c"][:3] == pytest.approx(LOW)
    assert got["temperature_max_c"][:3] == pytest.approx(HIGH)


def test_fahrenheit_and_inches_are_converted():
    # NIST SP 811: 1 in = 25.4 mm; 41 deg F = 5 deg C, 68 deg F = 20 deg C
    got = read("date,rain (in),tmin (F),tmax (°F)\n2026-05-01,0.5,41,68\n").weather
    assert (got["rain_mm"][0], got["temperature_min_c"][0], got["temperature_max_c"][0]) == pytest.approx(
        (12.7, 5.0, 20.0)
    )


# heading, value, what it is in the field's own unit (by hand from the definitions of the units)
UNITS = [
    ("wind (km/h)", 36.0, "wind_m_per_s", 10.0), ("wind_speed_m_per_s", 3.0, "wind_m_per_s", 3.0),
    ("wind [mph]", 10.0, "wind_m_per_s", 4.4704), ("ff (kn)", 3600.0 / 1852.0, "wind_m_per_s", 1.0),
    ("Globalstrahlung [J/cm²]", 2000.0, "radiation_mj_per_m2", 20.0),
    ("radiation (kWh/m2)", 5.0, "radiation_mj_per_m2", 18.0),
    ("srad (W/m²)", 250.0, "radiation_mj_per_m2", 21.6),
    ("solar radiation (MJ/m2)", 20.0, "radiation_mj_per_m2", 20.0),
    ("rs in MJ/m2", 20.0, "", 0.0), ("Sonnenscheindauer [min]", 90.0, "sunshine_h", 1.5),
    ("sunshine (s)", 7200.0, "sunshine_h", 2.0),
    ("RH mean (%)", 80.0, "humidity_percent", 80.0), ("dew point in °F", 50.0, "dew_point_c", 10.0),
    ("rain (cm)", 1.2, "rain_mm", 12.0),
]  # fmt: skip


@pytest.mark.parametrize(("head", "value", "name", "wanted"), UNITS)
def test_units_named_in_the_heading(head, value, name, wanted):
    if not name:
        assert heading(head).field == ""  # rs is the sign of rain in some tables and of radiation in others
        return
    got = read(f"date;{head}\n2026-05-01;{value!r}\n2026-05-02;{value!r}\n").weather
    assert got[name][0] == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("1. März 2026", (3, 1)), ("24 Dez 2026", (12, 24)), ("15 août 2026", (8, 15)), ("Jul 4, 2026", (7, 4)),
     ("2 juin 2026", (6, 2)), ("14 juillet 2026", (7, 14)), ("9 févr. 2026", (2, 9)), ("Sept 30th, 2026", (9, 30))],
)  # fmt: skip
def test_months_by_name(text, wanted):
    assert read(f"date;rain\n{text};1\n").weather.first == date(2026, *wanted)


@pytest.mark.parametrize("text", ["31 Feb 2026", "5 Foo 2026", "May 2026"])
def test_no_day_of_a_named_month_is_said(text):
    with pytest.raises(InputError, match="this is not a day"):
        read(f"date;rain\n{text};1\n")


@pytest.mark.parametrize("before", [0, 1, 3])
def test_a_fault_of_the_headings_names_their_line(before):
    lead = "".join(f"line {k} of a station\n" for k in range(before))
    with pytest.raises(InputError) as caught:
        read(f"{lead}date,rain,tmin,tmax\n2026-07-01,0,90,99\n2026-07-02,0,91,98\n")
    assert {p.row for p in caught.value.problems} == {before + 1}


def test_tenths_without_a_unit_are_asked():
    with pytest.raises(InputError, match=r"0\.1 °C"):
        read("date,tmin,tmax\n2026-07-01,141,263\n2026-07-02,138,251\n")


@pytest.mark.parametrize(
    ("head", "field"),
    [
        ("rel. Feuchte [%]", "humidity_percent"),
        ("wind_m_s", "wind_m_per_s"),
        ("radiation_j_cm2", "radiation_mj_per_m2"),
    ],
)
def test_more_headings(head, field):
    assert heading(head).field == field


def test_a_rain_gauge_only_with_gaps_and_traces():
    got = read("day,rain\n2026-05-01,2.5\n2026-05-02,T\n2026-05-04,-\n2026-05-05,-999\n2026-05-06,7\n")
    assert got.weather["rain_mm"][:2].tolist() == [2.5, 0.0]
    assert np.isnan(got.weather["rain_mm"][2:5]).all()
    assert got.weather["rain_mm"][5] == 7.0
    assert got.columns == {"rain_mm": "rain"}


def test_what_is_no_number_is_missing_and_said():
    got = read("day,rain\n2026-05-01,2.5\n2026-05-02,wet\n")
    assert np.isnan(got.weather["rain_mm"][1])
    assert "1 cells are no number and count as missing (line 3: wet)" in got.notes[0]


def test_the_same_day_twice_is_taken_once():
    got = read("day,rain\n2026-05-01,2.5\n2026-05-01,2.5\n2026-05-02,1\n")
    assert got.weather["rain_mm"].tolist() == [2.5, 1.0]
    assert "1 day stands there twice" in got.notes[0]


def test_columns_nobody_knows_are_named():
    got = read("day,rain,soil moisture,tmean\n2026-05-01,2.5,30,12\n")
    assert "not read: soil moisture" in got.notes[0]
    assert "mean temperature alone" in got.notes[1]


# text, part of the message, part of what is allowed
WRONG = [
    ("", "this file is empty", ""),
    ("a,b\n1,2\n", "no column of this file is known", "date, rain (mm)"),
    ("rain,tmax\n1,2\n", "no column says which day", "a column date"),
    ("date,rain\n", "there is no day in this file", "one line a day"),
    ("date,rain\nMay,1\n2026-05-02,1\nJune 1st,1\n", "this is not a day", "2026-05-23"),
    ("date,rain\n2026-05-01,1\n2026-05-01,2\n", "stands in line 2 too", "each day once"),
    ("date,hour,rain\n2026-05-01,0,1\n2026-05-01,1,2\n", "these are hours", "one line a day"),
    ("time,rain\n2026-05-01T00:00,1\n2026-05-01T01:00,2\n", "these are hours", "one line a day"),
    ("date,tmin,tmax\n2026-05-01,45,70\n", "cannot be degrees Celsius", "tmax (°F)"),
    ("date,tmin,tmax\n2026-05-01,275,290\n", "cannot be degrees Celsius", "tmax (K)"),
    ("date,tmin (F),tmax (F),rain\n2026-05-01,45,70,0.4\n", "inches or in millimetres", "rain (in)"),
    ("date,srad\n2026-05-01,20\n", "which unit is this in", "mj/m2, j/cm2"),
    ("date,rain (bushels)\n2026-05-01,20\n", "this unit is not known", "mm, in"),
    ("date,rain,precip\n2026-05-01,20,20\n", "says the same as column rain", "one column"),
    ("date,rain\n1026-05-01,1\n2026-05-01,2\n", "lie too far apart", "years"),
    ("date,rain\n03/04/2026,1\n04/04/2026,2\n", "day/month or month/day", "DD/MM/YYYY"),
    ("date,rain,tmax\n2026-05-01,1,5,12,5\n", "cells", "3 cells"),
    ("station,date,rain\nhere,2026-05-01,1\nthere,2026-05-02,1\n", "several stations", "one station"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message", "allowed"), WRONG)
def test_each_fault_has_its_message(text, message, allowed):
    with pytest.raises(InputError) as caught:
        read(text)
    assert any(message in p.message for p in caught.value.problems)
    assert any(allowed in p.allowed for p in caught.value.problems)
    assert all(p.file == "w.csv" for p in caught.value.problems)


def test_all_faults_at_once_with_their_lines():
    with pytest.raises(InputError) as caught:
        read("date,rain (bushels),srad\nMay,1,2\nJune,1,2\n")
    assert [p.row for p in caught.value.problems] == [1, 1, 2, 3]


def test_lines_keep_their_numbers_behind_a_lead():
    with pytest.raises(InputError) as caught:
        read("invented station\nnothing here\ndate,rain\nMay,1\n")
    assert caught.value.problems[0].row == 4


def test_the_number_style_can_be_said():
    from evenground.adapters.number_style import STYLES

    with pytest.raises(InputError, match=r"is 1\.125 to be read"):
        read("date,rain\n2026-05-01,1.125\n")
    assert read("date,rain\n2026-05-01,1.125\n", number_style=STYLES["1234.5"]).weather["rain_mm"][0] == 1.125


def test_the_place_comes_from_columns_or_from_the_lead():
    assert read("lat,lon,date,rain\n51.2,9.5,2026-05-01,1\n").place == (51.2, 9.5)
    assert read("Latitude: 51,2\nLongitude: -9.5\ndate;rain\n2026-05-01;1\n").place == (51.2, -9.5)
    assert read("date,rain\n2026-05-01,1\n").place is None
    assert read("lat,lon,date,rain\n951.2,9.5,2026-05-01,1\n").place is None


def test_another_year_or_place_is_refused():
    here = read("lat,lon,date,rain\n51.0,9.0,2026-05-01,1\n")
    assert misplaced(here, "w.csv", 2026, (51.0, 9.0)) == ()
    assert misplaced(here, "w.csv", 2026, None) == ()
    # one degree of latitude is 111 km
    assert "111 km from the field" in misplaced(here, "w.csv", 2026, (52.0, 9.0))[0]
    with pytest.raises(InputError) as caught:
        misplaced(here, "w.csv", 2025, (-35.0, 9.0))
    assert ["no day of this file" in p.message or "another place" in p.message for p in caught.value.problems] == [
        True
    ] * 2


def test_thirty_years_are_read_quickly(tmp_path):
    rng = np.random.default_rng(7)
    days = [date(1996, 1, 1) + timedelta(days=i) for i in range(11_323)]
    values = rng.normal(10.0, 5.0, (len(days), 4)).round(1)
    lines = [
        f"{d},{max(v[0], 0):.1f},{v[1] - 5:.1f},{v[1] + 5:.1f},{abs(v[2]):.1f},{abs(v[3]):.1f}"
        for d, v in zip(days, values, strict=True)
    ]
    path = tmp_path / "long.csv"
    path.write_text("date,rain,tmin,tmax,wind (m/s),srad (MJ/m2)\n" + "\n".join(lines))
    start = time.process_time()
    got = read_weather_file(path)
    # asked for: under 2 s of this machine's time
    assert time.process_time() - start < 2.0
    assert len(got.weather) == 11_323


def test_no_word_means_two_things():
    every = [stem for stems in STEMS.values() for stem in stems]
    assert len(every) == len(set(every))
    assert set(UNITS_OF) == set(NAMES)
    assert unit_text("1/10 mm") == ("mm", True)


CELLS = st.sampled_from(
    ["", "1.5", "1,5", "-999", "1e308", "nan", "inf", "T", "x", "9.500", "−3", "٣", '"', "1'234.5",
     "99999999999999999999"]
) | st.text(max_size=6)  # fmt: skip
DAYS = st.sampled_from(["2026-05-01", "2026-05-02", "01.05.2026", "20260503", "9999-12-31", "0001-01-01", "5", "x", ""])


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(",;\t"), st.lists(st.tuples(DAYS, CELLS, CELLS), max_size=4))
def test_any_cells_are_read_or_refused_in_words(delimiter, rows):
    lines = [("date", "rain (mm)", "tmax (°C)"), *rows]
    data = "\n".join(delimiter.join(r) for r in lines).encode("utf-8", "ignore")
    problems, values = read_or_problems(data)
    assert all(p.message for p in problems)
    assert problems or values
    assert not any(np.isinf(v).any() for v in values)


def read_or_problems(data):
    try:
        return (), list(parse_weather(data, "w.csv").weather.values.values())
    except InputError as error:
        return error.problems, []


@pytest.mark.parametrize(("stem", "field"), [(stem, name) for name, stems in STEMS.items() for stem in sorted(stems)])
def test_every_word_is_known_in_capitals_and_with_a_unit(stem, field):
    assert heading(stem.upper().replace("_", " ")).field == field
    if field in NAMES:
        for unit in UNITS_OF[field]:
            assert heading(f"{stem} [{unit}]") == Heading(field, unit)
            assert heading(f" {stem.title()} ({unit.upper()}) ").unit == unit


def test_headings_in_the_older_encoding_below_any_line_are_found():
    text = (
        "Station 7, erfundene Werte\nMessdatum;Niederschlagshöhe [mm];Lufttemperatur Minimum [°C];"
        "Lufttemperatur Maximum [°C]\n01.05.2026;1,5;4,0;17,5\n02.05.2026;0,0;5,5;19,0\n"
    )
    got = parse_weather(text.encode("cp1252"), "station.csv")
    assert got.weather["rain_mm"].tolist() == [1.5, 0.0]
    assert got.weather["temperature_max_c"].tolist() == [17.5, 19.0]


def test_a_file_without_known_headings_is_one_problem_not_one_a_line():
    text = "Station 7, erfundene Werte\nWann;Nass;Kalt;Warm\n" + "01.05.2026;1,5;4,0;17,5\n" * 50
    with pytest.raises(InputError) as caught:
        parse_weather(text.encode(), "station.csv")
    (fault,) = caught.value.problems
    assert "names a day and a weather value" in str(fault)
    assert "tmin (°C)" in str(fault)


def test_an_empty_cell_between_blanks_is_named_and_never_shifted():
    text = "date        tmax  tmin   rain\n2026-05-01  14.0   3.5    0.0\n2026-05-02  15.5         12.4\n"
    with pytest.raises(InputError) as caught:
        read(text)
    (one,) = caught.value.problems
    assert (one.row, one.file) == (3, "w.csv")
    assert "3 cells, the header has 4" in one.message


def test_lines_of_a_station_above_a_table_of_blanks_keep_their_numbers():
    text = "station of nobody, latitude: 55.6, longitude: 3.4\n\ndate tmax tmin rain\n2026-05-01 14.0 3.5 0.0 9\n"
    with pytest.raises(InputError) as caught:
        read(text)
    assert [p.row for p in caught.value.problems] == [4]
    sound = read(text.replace(" 9\n", "\n"))
    assert sound.place == (55.6, 3.4)
    assert sound.weather["rain_mm"].tolist() == [0.0]


@pytest.mark.parametrize(
    ("written", "field", "unit"),
    [
        ("Solar exposure (MJ/m^2)", "radiation_mj_per_m2", "mj/m2"),
        ("Rayonnement global (J/cm²)", "radiation_mj_per_m2", "j/cm2"),
        ("Rainfall amount (millimetres)", "rain_mm", "millimetres"),
        ("Humidité mini (%)", "humidity_min_percent", "%"),
        ("Vent moyen (km/h)", "wind_m_per_s", "km/h"),
    ],
)
def test_headings_of_services_in_their_own_words(written, field, unit):
    assert heading(written) == Heading(field, unit)
    assert unit in UNITS_OF[field]
