"""The table of earlier yields: layers, gaps, and what is refused."""

import pytest

from evenground.adapters.earlier_yields import read_earlier_yields
from evenground.basis.errors import InputError


def write(folder, text):
    (folder / "earlier_yields.csv").write_text(text, encoding="utf-8")
    return folder


def test_no_file_is_no_layer(tmp_path):
    assert read_earlier_yields(tmp_path) == ()


def test_layers_are_kept_apart_and_gaps_left_out(tmp_path):
    text = "lon;lat;value;layer\n9,001;51,001;8,5;2022\n9,002;51,001;;2022\n9,001;51,002;9,25;2023\n"
    first, second = read_earlier_yields(write(tmp_path, text))
    assert (first.name, first.lon, first.lat, first.value) == ("2022", (9.001,), (51.001,), (8.5,))
    assert (second.name, second.value) == ("2023", (9.25,))


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("lon,lat\n9.1,51.2\n", "value"),
        ("lon,lat,value\n9.1,51.2,much\n", "value"),
        ("lon,lat,value\n512345.5,5650000.5,8.1\n", "lon, lat"),
    ],
)
def test_what_cannot_be_read_is_said(tmp_path, text, field):
    with pytest.raises(InputError) as caught:
        read_earlier_yields(write(tmp_path, text))
    assert field in str(caught.value)
    assert all(one.file == "earlier_yields.csv" for one in caught.value.problems)


def test_ten_thousand_rows_in_metres_are_a_few_problems(tmp_path):
    rows = "\n".join(f"{500000 + i}.5,{5650000 + i}.5,8.1" for i in range(10_000))
    with pytest.raises(InputError) as caught:
        read_earlier_yields(write(tmp_path, f"lon,lat,value\n{rows}\n"))
    assert len(caught.value.problems) <= 20
