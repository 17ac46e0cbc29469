"""Earlier yields and other values at points: layers, gaps, and what is refused."""

import json

import pytest
from tests import small_trial

from evenground.adapters.earlier_yields import read_earlier_yields, read_ground_points, read_point_layers
from evenground.adapters.plan_file import plan_text
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


def points(folder, *features):
    content = {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": said, "geometry": {"type": kind, "coordinates": at}}
            for kind, at, said in features
        ],
    }
    (folder / "ground_points.geojson").write_text(json.dumps(content), encoding="utf-8")
    return folder


def test_points_in_geojson_are_layers_too(tmp_path):
    write(tmp_path, "lon,lat,value\n9.001,51.001,8.5\n")
    points(
        tmp_path,
        ("Point", [9.002, 51.002], {"value": 12, "layer": "clay"}),
        ("Point", [9.003, 51.002, 80.0], {"value": 14.5, "layer": "clay"}),
        ("Point", [9.003, 51.003], {"value": None, "layer": "clay"}),
        ("Point", [9.003, 51.003], {"value": -0.2}),
    )
    table, clay, unnamed = read_point_layers(tmp_path)
    assert table.value == (8.5,)
    assert (clay.name, clay.lon, clay.value) == ("clay", (9.002, 9.003), (12.0, 14.5))
    assert (unnamed.name, unnamed.value) == ("ground points", (-0.2,))


@pytest.mark.parametrize(
    ("feature", "field"),
    [
        (("Polygon", [[[9, 51], [9.1, 51], [9, 51.1], [9, 51]]], {"value": 1.0}), "features[0].geometry"),
        (("Point", [500_000.0, 5_650_000.0], {"value": 1.0}), "features[0].geometry.coordinates"),
        (("Point", ["9", 51.0], {"value": 1.0}), "features[0].geometry.coordinates"),
        (("Point", [9.0, 51.0], {"value": "much"}), "features[0].properties.value"),
        (("Point", [9.0, 51.0], {"value": True}), "features[0].properties.value"),
    ],
)
def test_what_is_no_point_with_a_number_is_said(tmp_path, feature, field):
    with pytest.raises(InputError) as caught:
        read_ground_points(points(tmp_path, feature))
    assert [one.field for one in caught.value.problems] == [field]


@pytest.mark.parametrize("text", ["[]", "{", '{"type": "FeatureCollection"}', '{"features": [3]}'])
def test_what_is_no_collection_is_said(tmp_path, text):
    (tmp_path / "ground_points.geojson").write_text(text, encoding="utf-8")
    with pytest.raises(InputError):
        read_ground_points(tmp_path)


def test_problems_of_both_files_come_at_once_and_few_of_them(tmp_path):
    write(tmp_path, "lon,lat,value\n9.1,51.2,much\n")
    points(tmp_path, *[("Point", [1e6, 51.0], {"value": 1.0})] * 1000)
    with pytest.raises(InputError) as caught:
        read_point_layers(tmp_path)
    assert {one.file for one in caught.value.problems} == {"earlier_yields.csv", "ground_points.geojson"}
    assert len(caught.value.problems) <= 40


@pytest.mark.parametrize(("style", "value"), [("1234,5", 1.25), ("1.234,5", 1.25)])
def test_the_plan_says_how_numbers_are_written(tmp_path, style, value):
    """1,250 is one and a quarter or a thousand and more: only the plan can tell."""
    write(tmp_path, "lon;lat;value\n9,125;51,125;1,250\n")
    with pytest.raises(InputError):
        read_point_layers(tmp_path)
    said = f'\n[files."earlier_yields.csv"]\nnumber_style = "{style}"\n'
    (tmp_path / "trial.toml").write_text(plan_text(small_trial.plan()) + said, encoding="utf-8")
    (layer,) = read_point_layers(tmp_path)
    assert (layer.lon, layer.value) == ((9.125,), (value,))
