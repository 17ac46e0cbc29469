"""Field outlines: sound ones are read whole, doubtful ones are asked, wrong ones say where."""

from __future__ import annotations

import json

import numpy as np
import pytest
from pyproj import Geod
from shapely.geometry import MultiPolygon, Polygon

from evenground.adapters.geojson import field_text, read_field
from evenground.basis.field import Field, geodesic_area_m2

LON, LAT = 13.4, 52.1
BOX = [[LON, LAT], [LON + 0.004, LAT], [LON + 0.004, LAT + 0.002], [LON, LAT + 0.002], [LON, LAT]]
HOLE = [[LON + a, LAT + b] for a, b in ((0.001, 0.0005), (0.002, 0.0005), (0.002, 0.001), (0.001, 0.0005))]
BOW = [BOX[0], BOX[2], BOX[1], BOX[3], BOX[0]]


def polygon(*rings, **properties):
    return {"type": "Feature", "properties": properties, "geometry": {"type": "Polygon", "coordinates": list(rings)}}


def collection(*features, **more):
    return {"type": "FeatureCollection", "features": list(features), **more}


def read(content):
    return read_field(content if isinstance(content, bytes) else json.dumps(content).encode())


def one(content):
    found = read(content)
    assert found.field is None
    (fault,) = found.problems
    assert fault.file == "field.geojson"
    return fault


def moved(ring, dx=0.0, dy=0.0):
    return [[x + dx, y + dy] for x, y in ring]


def turned(ring):
    return [[y, x] for x, y in ring]


@pytest.mark.parametrize(
    "content",
    [
        polygon(BOX)["geometry"],
        polygon(BOX),
        collection(polygon(BOX)),
        collection(polygon(BOX, role="boundary", name="far piece")),
        collection(
            polygon([[*at, 47.5] for at in BOX]),
            crs={"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}},
        ),
        json.dumps(collection(polygon(BOX))).encode("utf-8-sig"),
    ],
)
def test_sound_outlines_are_read_in_every_form(content):
    found = read(content)
    assert found.problems == ()
    assert found.field.boundary.equals(MultiPolygon([Polygon(BOX)]))
    assert found.field.obstacles.is_empty
    # Area on the ellipsoid from PROJ's geodesic routines (Karney 2013), the same to rounding.
    area = abs(Geod(ellps="WGS84").polygon_area_perimeter(*zip(*BOX, strict=True))[0])
    assert geodesic_area_m2(found.field.boundary) == pytest.approx(area, rel=1e-12)


def test_holes_parts_and_obstacles():
    second = moved(BOX, dx=0.01)
    multi = {"type": "MultiPolygon", "coordinates": [[BOX, HOLE], [second]]}
    feature = {"type": "Feature", "properties": None, "geometry": multi}
    pole = polygon(moved(HOLE, dx=0.0105), role="obstacle")
    other = polygon(BOX, role="pasture")
    found = read(collection(feature, pole, other))
    assert len(found.field.boundary.geoms) == 2
    assert len(found.field.boundary.geoms[0].interiors) + len(found.field.boundary.geoms[1].interiors) == 1
    assert len(found.field.obstacles.geoms) == 1
    assert found.notes == (
        "field.geojson: features[2] has the role 'pasture' and is not read; known are boundary, obstacle, "
        "second_field, kept_edge, history, soil_zone.",
    )


def point(lon_lat, **properties):
    geometry = {"type": "Point", "coordinates": list(lon_lat)}
    return {"type": "Feature", "properties": {"role": "obstacle", **properties}, "geometry": geometry}


@pytest.mark.parametrize(("properties", "width"), [({}, 1.0), ({"width_m": 6.0}, 6.0)])
def test_a_tree_marked_as_a_point_is_a_circle(properties, width):
    """Area against pi r^2 by PROJ's geodesics; 16 corners a quarter leave 0.17 % out (1 - sin(t)/t, t = pi / 32)."""
    found = read(collection(polygon(BOX), point(HOLE[0], **properties)))
    assert found.problems == ()
    assert geodesic_area_m2(found.field.obstacles) == pytest.approx(np.pi * width**2 / 4, rel=0.002)
    middle = found.field.obstacles.centroid
    assert (middle.x, middle.y) == pytest.approx(HOLE[0], abs=1e-8)


@pytest.mark.parametrize("width", [0, -3, "wide", True, 501])
def test_an_obstacle_of_no_width_is_refused(width):
    fault = one(collection(polygon(BOX), point(HOLE[0], width_m=width)))
    assert (fault.field, fault.allowed) == ("features[1].width_m", "above 0, at most 500")


def test_a_point_off_the_globe_is_refused():
    fault = one(collection(polygon(BOX), point((13.4, 95.0))))
    assert "no such place on the globe" in fault.message


def test_a_point_is_no_boundary():
    fault = one(collection(point(HOLE[0], role="boundary")))
    assert "an outline must be an area" in fault.message


def test_an_obstacle_outside_is_noted():
    assert (
        "outside the boundary" in read(collection(polygon(BOX), polygon(moved(HOLE, dx=1), role="obstacle"))).notes[0]
    )


def test_a_field_written_is_read_the_same():
    field = Field(MultiPolygon([(BOX, [HOLE])]), MultiPolygon([Polygon(HOLE)]))
    found = read(field_text(field).encode())
    assert found.field == field


def test_another_field_of_the_farm_may_lie_anywhere_and_is_written_back():
    found = read(
        collection(polygon(BOX), polygon(moved(BOX, dx=3.0), role="second_field"), polygon(HOLE, role="obstacle"))
    )
    assert found.field.second.equals(MultiPolygon([Polygon(moved(BOX, dx=3.0))]))
    assert found.field.boundary.equals(MultiPolygon([Polygon(BOX)]))
    assert read(field_text(found.field).encode()).field == found.field
    assert found.notes == ()


def test_a_second_field_is_checked_like_the_first():
    tiny = [[LON + (x - LON) / 100, LAT + (y - LAT) / 100] for x, y in BOX]
    assert "the second field is too small" in one(collection(polygon(BOX), polygon(tiny, role="second_field"))).message
    assert "crosses itself" in one(collection(polygon(BOX), polygon(BOW, role="second_field"))).message


def test_a_boundary_that_crosses_itself_says_where():
    fault = one(collection(polygon(BOW)))
    assert fault.field == "features[0].geometry.coordinates"
    assert "crosses itself at longitude 13.402" in fault.message
    assert "latitude 52.101" in fault.message
    assert fault.given.startswith("longitude 13.402")
    assert fault.allowed == "an outline that does not cross itself"


@pytest.mark.parametrize(
    ("lon", "lat"),
    [(-93.6, 42.0), (-80.0, 41.0), (13.4, 52.1), (5.0, 50.0), (17.0, 47.0), (25.0, 47.0), (146.0, -38.0), (-1.0, 44.0)],
)
def test_swapped_coordinates_are_asked_wherever_the_field_lies(lon, lat):
    ring = moved(BOX, lon - LON, lat - LAT)
    assert read(polygon(ring)).problems == ()
    found = read(polygon(turned(ring)))
    assert found.field is None
    assert all("swapped" in p.message for p in found.problems)
    assert all(p.allowed and p.given and "coordinates" in p.field for p in found.problems)


def test_a_field_that_really_lies_there_can_say_so():
    ring = turned(BOX)
    assert one(polygon(ring)).field == "coordinates"
    assert read(polygon(ring, position_checked=True)).problems == ()


@pytest.mark.parametrize(("lon", "lat"), [(36.8, -1.3), (31.0, -17.8), (48.7, 31.3), (73.8, 18.5), (47.5, -18.9)])
def test_maize_countries_near_by_are_not_doubted(lon, lat):
    # Towns in Kenya, Zimbabwe, Iran, India and Madagascar; positions from memory, to a tenth of a degree.
    assert read(polygon(moved(BOX, lon - LON, lat - LAT))).problems == ()


@pytest.mark.parametrize(
    ("content", "field", "words"),
    [
        (collection(polygon(BOX[:-1])), "features[0].geometry.coordinates[0]", "not closed"),
        (collection(polygon(BOX[:2])), "features[0].geometry.coordinates[0]", "four positions"),
        (collection(polygon()), "features[0].geometry.coordinates", "empty"),
        (collection(polygon([[1, "x"], *BOX[1:]])), "features[0].geometry.coordinates[0][0]", "finite numbers"),
        (collection(polygon([[True, 1], *BOX[1:]])), "features[0].geometry.coordinates[0][0]", "finite numbers"),
        (collection(polygon([[1], *BOX[1:]])), "features[0].geometry.coordinates[0][0]", "not a position"),
        (collection(polygon(BOX, moved(HOLE, dx=1))), "features[0].geometry.coordinates", "hole lies outside"),
        (collection(polygon([BOX[0], BOX[1], BOX[0], BOX[1], BOX[0]])), "features[0].geometry.coordinates", ""),
        (collection(polygon(BOX, role="obstacle")), "", "no boundary"),
        (collection(), "", "no boundary"),
        (collection({"type": "Feature", "geometry": None}), "features[0]", "no geometry"),
        (
            collection(polygon([[x / 100 + LON, y / 100 + LAT] for x, y in moved(BOX, -LON, -LAT)])),
            "coordinates",
            "too small",
        ),
        (
            collection(polygon([[x * 100 + LON, y * 100 + LAT] for x, y in moved(BOX, -LON, -LAT)])),
            "coordinates",
            "too large",
        ),
        (collection(polygon(BOX), crs={"properties": {"name": "urn:ogc:def:crs:EPSG::25833"}}), "crs", "WGS84"),
        ({"type": "LineString", "coordinates": BOX}, "type", "not a field outline"),
        (
            {"type": "Feature", "geometry": {"type": "LineString", "coordinates": BOX}},
            "feature.geometry.type",
            "This is a line",
        ),
        ([1, 2], "", "not GeoJSON"),
        (b'{"type": "Polygon", "coordinates": [[[NaN, 1]]]}', "", "NaN"),
        (b"{", "", "not JSON"),
        (b"\xff\xfe", "", "cannot be read"),
        (b"[" * 200_000, "", ""),
    ],
)
def test_wrong_outlines_say_what_and_where(content, field, words):
    fault = one(content)
    assert fault.field == field
    assert words in fault.message


def test_metres_are_one_mistake_not_a_thousand():
    ring = [[400_000.0 + i, 5_700_000.0 + i * i] for i in range(1000)]
    found = read(polygon([*ring, ring[0]]))
    assert len(found.problems) == 5
    assert "metres, not degrees" in found.problems[0].message


def test_all_faults_come_at_once():
    found = read(
        collection(polygon(BOW), polygon(BOX[:-1]), polygon(BOX, role="obstacle"), crs={"properties": {"name": "x"}})
    )
    assert [p.field for p in found.problems] == [
        "crs",
        "features[0].geometry.coordinates",
        "features[1].geometry.coordinates[0]",
    ]


def test_large_files_are_refused():
    assert "too large" in one(b" " * 20_000_001).message


ACROSS = [[179.999, -17.0], [-179.999, -17.0], [-179.999, -17.002], [179.999, -17.002], [179.999, -17.0]]
EAST = [[179.999, -17.0], [180, -17.0], [180, -17.002], [179.999, -17.002], [179.999, -17.0]]
WEST = [[-180, -17.0], [-179.999, -17.0], [-179.999, -17.002], [-180, -17.002], [-180, -17.0]]


@pytest.mark.parametrize("rings", [(ACROSS,), (EAST, WEST)], ids=["one ring", "two parts"])
def test_a_field_across_the_180th_meridian_is_refused(rings):
    content = {"type": "MultiPolygon", "coordinates": [[ring] for ring in rings]}
    fault = one({"type": "Feature", "properties": {}, "geometry": content})
    assert "180th meridian" in fault.message
