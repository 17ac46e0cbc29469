"""Every map format read again by GDAL (pyogrio) or an XML parser: same places to 1 cm, same areas and words."""

from __future__ import annotations

import json
import zipfile
from xml.etree import ElementTree

import pyogrio
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from tests.adapters.export import drawn_trial as trial

from evenground.adapters.export.geojson import geojson
from evenground.adapters.export.gis_files import geopackage, shapefiles, zipped
from evenground.adapters.export.gpx import NAMESPACE as GPX
from evenground.adapters.export.gpx import gpx
from evenground.adapters.export.kml import kml, pattern_words
from evenground.adapters.export.layers import by_name, layers

LAYERS = ["field", "headlands", "strips", "weighed_cuts", "lines", "headland_lines", "marks", "entrance"]


def read(path, layer=None):
    """What GDAL sees: a list of (geometry, properties)."""
    meta, _, wkb, columns = pyogrio.raw.read(path, layer=layer)
    rows = [dict(zip(meta["fields"], values, strict=True)) for values in zip(*columns, strict=True)]
    return [(shapely.from_wkb(g), row) for g, row in zip(wkb, rows, strict=True)], meta


def assert_layer(found, layer, names=None):
    assert len(found) == len(layer.features)
    for (geometry, row), feature in zip(found, layer.features, strict=True):
        trial.assert_same_place(geometry, feature.geometry)
        for name, value in feature.properties.items():
            if names is None or name in names:
                assert row[name] == pytest.approx(value), name


@pytest.mark.parametrize("name", LAYERS)
def test_geopackage(tmp_path, name):
    path = tmp_path / "trial.gpkg"
    path.write_bytes(geopackage(trial.all_layers()))
    found, meta = read(path, name)
    assert meta["crs"] == "EPSG:4326"
    assert_layer(found, by_name(trial.all_layers(), name))


@pytest.mark.parametrize("name", LAYERS)
def test_shapefile_with_coordinate_system_and_encoding(tmp_path, name):
    files = shapefiles(trial.all_layers())
    assert {f"{name}.{end}" for end in ("shp", "shx", "dbf", "prj", "cpg")} <= set(files)
    assert files[f"{name}.cpg"] == b"UTF-8"
    assert b"WGS_1984" in files[f"{name}.prj"]
    for file, content in files.items():
        (tmp_path / file).write_bytes(content)
    found, _ = read(tmp_path / f"{name}.shp")
    assert_layer(found, by_name(trial.all_layers(), name))


def test_shapefiles_in_one_archive_are_the_same_each_time(tmp_path):
    one, two = (zipped(shapefiles(trial.all_layers())) for _ in range(2))
    assert one == two
    (tmp_path / "all.zip").write_bytes(one)
    assert sorted(pyogrio.list_layers(tmp_path / "all.zip")[:, 0]) == sorted(LAYERS)


def test_property_names_fit_the_shortest_format():
    for layer in trial.all_layers():
        for feature in layer.features:
            assert all(len(name) <= 10 for name in feature.properties)
            assert list(feature.properties) == list(layer.features[0].properties)


def test_geojson_holds_every_layer(tmp_path):
    path = tmp_path / "trial.geojson"
    path.write_bytes(geojson(trial.all_layers()))
    found, _ = read(path)
    for name in LAYERS:
        assert_layer([one for one in found if one[1]["layer"] == name], by_name(trial.all_layers(), name), {"name"})


def test_geojson_outer_rings_run_counter_clockwise():
    """RFC 7946, 3.1.6: exterior rings are counterclockwise, holes clockwise."""
    for feature in json.loads(geojson(trial.all_layers()))["features"]:
        shape = shapely.geometry.shape(feature["geometry"])
        for part in trial.parts(shape) if shape.geom_type.endswith("Polygon") else []:
            assert part.exterior.is_ccw
            assert not any(ring.is_ccw for ring in part.interiors)


@pytest.mark.parametrize("name", LAYERS)
def test_kml(tmp_path, name):
    path = tmp_path / "trial.kml"
    path.write_bytes(kml(trial.all_layers(), "Test", ("A", "B")))
    found, _ = read(path, name.replace("_", " "))
    layer = by_name(trial.all_layers(), name)
    kept = []
    for geometry, row in found:
        areas = [p for p in shapely.get_parts(geometry) if isinstance(p, Polygon)]
        whole = areas[0] if len(areas) == 1 else MultiPolygon(areas) if areas else geometry
        kept.append((shapely.force_2d(whole), {"name": row["Name"]}))
    assert_layer(kept, layer, {"name"})


def test_kml_tells_methods_apart_by_letter_pattern_and_colour(tmp_path):
    path = tmp_path / "trial.kml"
    path.write_bytes(kml(trial.all_layers(), "Test", ("A", "B")))
    found, _ = read(path, "strips")
    for geometry, row in found:
        lines = [p for p in shapely.get_parts(geometry) if isinstance(p, LineString)]
        area = next(p for p in shapely.get_parts(geometry) if isinstance(p, Polygon))
        letter = row["Name"][-1]
        assert bool(lines) == (letter == "B")
        assert pattern_words(letter, ("A", "B")) in row["description"]
        assert all(trial.metres(line).within(trial.metres(area).buffer(0.01)) for line in lines)


def test_gpx_routes_and_waypoints(tmp_path):
    path = tmp_path / "trial.gpx"
    path.write_bytes(gpx(trial.all_layers(), "Test & trial"))
    routes, _ = read(path, "routes")
    sowing = [f for f in by_name(trial.all_layers(), "lines").features if f.properties["kind"] == "sowing"]
    assert [row["name"] for _, row in routes] == [f.properties["name"] for f in sowing]
    for (line, _), feature in zip(routes, sowing, strict=True):
        trial.assert_same_place(line, feature.geometry)
    points, _ = read(path, "waypoints")
    marks = by_name(trial.all_layers(), "marks").features + by_name(trial.all_layers(), "entrance").features
    assert len(points) == len(marks)
    for (point, row), feature in zip(points, marks, strict=True):
        assert isinstance(point, Point)
        trial.assert_same_place(point, feature.geometry)
        assert row["name"] == feature.properties["name"]


def test_gpx_has_the_order_of_elements_its_schema_asks_for():
    """GPX 1.1: gpx holds metadata, wpt*, rte*, trk* in this order, with version and creator."""
    root = ElementTree.fromstring(gpx(trial.all_layers(), "Test"))
    assert root.tag == f"{{{GPX}}}gpx"
    assert root.attrib["version"] == "1.1"
    assert root.attrib["creator"]
    tags = [child.tag.removeprefix(f"{{{GPX}}}") for child in root]
    assert tags == sorted(tags, key=["metadata", "wpt", "rte"].index)


def test_strips_lie_inside_the_field_and_cuts_inside_the_strips():
    ground = trial.metres(by_name(trial.all_layers(), "field").features[0].geometry)
    strips = [trial.metres(f.geometry) for f in by_name(trial.all_layers(), "strips").features]
    cuts = [trial.metres(f.geometry) for f in by_name(trial.all_layers(), "weighed_cuts").features]
    headland = trial.metres(by_name(trial.all_layers(), "headlands").features[0].geometry)
    for strip, cut in zip(strips, cuts, strict=True):
        assert strip.within(ground.buffer(trial.POSITION_M))
        assert cut.within(strip.buffer(trial.POSITION_M))
        assert strip.intersection(headland).area < trial.POSITION_M * strip.length


def test_a_trial_without_headland_or_entrance_leaves_these_layers_out():
    plan = trial.plan(headland_m=0.0, entrance=None)
    found = layers(plan, trial.field(), trial.draw(plan))
    assert {"headlands", "headland_lines", "entrance"}.isdisjoint(layer.name for layer in found)
    with pytest.raises(KeyError):
        by_name(found, "entrance")


def test_words_of_any_language_survive(tmp_path):
    plan = trial.plan()
    methods = [m.model_copy(update={"name": "Engsaat <ä> & «ß»"}) for m in plan.methods]
    found = layers(plan.model_copy(update={"methods": tuple(methods)}), trial.field(), trial.draw(plan))
    for file, content in shapefiles(found).items():
        (tmp_path / file).write_bytes(content)
    (tmp_path / "a.kml").write_bytes(kml(found, "ß <&>", ("A", "B")))
    assert read(tmp_path / "strips.shp")[0][0][1]["way"] == "Engsaat <ä> & «ß»"
    assert "Engsaat <ä> & «ß»" in read(tmp_path / "a.kml", "strips")[0][0][1]["description"]


def test_archive_names_stay_inside(tmp_path):
    (tmp_path / "a.zip").write_bytes(zipped({"x/y.txt": b"1"}))
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        assert archive.namelist() == ["x/y.txt"]
