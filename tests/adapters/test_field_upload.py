"""Outlines in four forms give the same field; what is no outline says so, and nothing dangerous is opened."""

from __future__ import annotations

import contextlib
import io
import json
import tempfile
import warnings
import zipfile
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon, mapping

from evenground.adapters import field_upload
from evenground.adapters.field_upload import read_field_upload, with_boundary
from evenground.adapters.geojson import read_field
from evenground.basis.errors import InputError
from evenground.basis.field import LocalPlane, geodesic_area_m2

PLANE = LocalPlane(10.0, 52.0)
SQUARE = PLANE.to_degrees(Polygon([(0, 0), (400, 0), (400, 300), (0, 300)]))
OTHER = PLANE.to_degrees(Polygon([(600, 0), (700, 0), (700, 100), (600, 100)]))
HECTARES = 12.0


def geojson(*shapes, crs: str = "", properties: dict | None = None) -> bytes:
    features = [
        {"type": "Feature", "properties": properties or {"name": f"piece {i}"}, "geometry": mapping(s)}
        for i, s in enumerate(shapes, start=1)
    ]
    content = {"type": "FeatureCollection", "features": features}
    if crs:
        content["crs"] = {"type": "name", "properties": {"name": crs}}
    return json.dumps(content).encode()


def kml(shape: Polygon, name: str = "Langer Schlag", head: str = "") -> bytes:
    at = " ".join(f"{x!r},{y!r},0" for x, y in shape.exterior.coords)
    ring = f"<outerBoundaryIs><LinearRing><coordinates>{at}</coordinates></LinearRing></outerBoundaryIs>"
    mark = f"<Placemark><name>{name}</name><Polygon>{ring}</Polygon></Placemark>"
    text = f'<?xml version="1.0"?>{head}<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{mark}</Document></kml>'
    return text.encode()


def by_gdal(driver: str, suffix: str, shape: Polygon, crs: str | None) -> dict[str, bytes]:
    """Write a file the way a GIS does."""
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.filterwarnings("ignore", "'crs' was not provided")
        pyogrio.raw.write(
            Path(folder) / f"field{suffix}",
            geometry=np.array([shapely.to_wkb(shape)], dtype=object),
            field_data=[np.array(["Langer Schlag"], dtype=object)],
            fields=["name"],
            driver=driver,
            geometry_type="Polygon",
            crs=crs,
        )
        return {p.name: p.read_bytes() for p in Path(folder).iterdir()}


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def in_utm(shape: Polygon) -> Polygon:
    """Return a shape in ETRS89 / UTM zone 32N, the system of many field files in central Europe."""
    import pyproj

    move = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:25832", always_xy=True)
    return shapely.transform(shape, lambda xy: np.column_stack(move.transform(xy[:, 0], xy[:, 1])))


FILES = {
    "GeoJSON": lambda: geojson(SQUARE),
    "GeoJSON in UTM": lambda: geojson(in_utm(SQUARE), crs="urn:ogc:def:crs:EPSG::25832"),
    "KML": lambda: kml(SQUARE),
    "GeoPackage": lambda: by_gdal("GPKG", ".gpkg", SQUARE, "EPSG:4326")["field.gpkg"],
    "GeoPackage in UTM": lambda: by_gdal("GPKG", ".gpkg", in_utm(SQUARE), "EPSG:25832")["field.gpkg"],
    "Shapefile": lambda: zipped(by_gdal("ESRI Shapefile", ".shp", SQUARE, "EPSG:4326")),
    "Shapefile in UTM": lambda: zipped(by_gdal("ESRI Shapefile", ".shp", in_utm(SQUARE), "EPSG:25832")),
    "Shapefile without .prj": lambda: zipped(by_gdal("ESRI Shapefile", ".shp", SQUARE, None)),
}


@pytest.mark.parametrize("form", FILES)
def test_every_form_gives_the_same_field(form):
    """Source: one outline written by GDAL and by hand. ETRS89 and WGS84 differ by under 1 m, no shift is applied; the
    coordinates are written to 1e-9 degrees or better, so that 12 ha come back to a square metre."""
    found = read_field_upload(FILES[form](), "field")
    (one,) = found.outlines
    assert one.area_ha == pytest.approx(HECTARES, abs=1e-4)
    moved = PLANE.to_metres(one.shape)
    assert moved.symmetric_difference(Polygon([(0, 0), (400, 0), (400, 300), (0, 300)])).area < 2.0
    assert one.corners == 5
    if "JSON" not in form:
        assert one.name == "Langer Schlag"
    assert ("changed from" in " ".join(found.notes)) == ("UTM" in form)
    assert ("does not say its coordinate system" in " ".join(found.notes)) == ("without" in form)


def test_several_outlines_are_named_so_that_one_can_choose():
    found = read_field_upload(geojson(SQUARE, OTHER), "field.geojson")
    assert [one.name for one in found.outlines] == ["piece 1", "piece 2"]
    assert found.outlines[1].area_ha == pytest.approx(1.0, abs=1e-4)


def test_a_field_of_this_program_is_taken_whole():
    data = geojson(SQUARE, properties={"role": "boundary"})
    assert json.loads(read_field_upload(data, "field.geojson").whole) == json.loads(data)


def test_a_new_boundary_leaves_obstacles_and_unknown_keys_alone():
    old = json.loads(geojson(SQUARE, properties={"role": "boundary"}))
    old["name"] = "kept"
    old["features"].append(
        {
            "type": "Feature",
            "properties": {"role": "obstacle", "why": "mast"},
            "geometry": mapping(SQUARE.buffer(-1e-4)),
        }
    )
    new = json.loads(with_boundary(json.dumps(old), [OTHER]))
    assert new["name"] == "kept"
    assert [f["properties"]["role"] for f in new["features"]] == ["boundary", "obstacle"]
    assert new["features"][1] == json.loads(json.dumps(old["features"][1]))
    assert read_field(with_boundary(None, [MultiPolygon([SQUARE])]).encode()).field is not None


def said(data: bytes) -> str:
    with pytest.raises(InputError) as error:
        read_field_upload(data, "field")
    return str(error.value)


def test_xml_that_defines_things_of_its_own_is_not_opened():
    bomb = '<!DOCTYPE kml [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    assert "DOCTYPE" in said(kml(SQUARE, "&b;", bomb))
    outside = '<!DOCTYPE kml [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    assert "DOCTYPE" in said(kml(SQUARE, "&x;", outside))


def test_no_file_is_opened_by_what_it_claims_to_be():
    """A file that only names another file (a virtual raster or vector) is none of the forms."""
    layer = b'<OGRVRTLayer name="x"><SrcDataSource>/etc/passwd</SrcDataSource></OGRVRTLayer>'
    virtual = b"<OGRVRTDataSource>" + layer + b"</OGRVRTDataSource>"
    assert "not KML" in said(virtual)
    shape = {"field.shp": virtual, "field.shx": b"", "field.dbf": b""}
    assert "not a Shapefile" in said(zipped(shape))
    assert "none of the forms" in said(b"\x00\x01\x02 anything")


def test_archives_with_ways_out_bombs_and_missing_parts():
    assert "leads out" in said(zipped({"../../field.shp": b"x"}))
    assert "far more than it holds" in said(_bomb())
    parts = by_gdal("ESRI Shapefile", ".shp", SQUARE, "EPSG:4326")
    assert ".dbf" in said(zipped({n: c for n, c in parts.items() if not n.endswith(".dbf")}))
    assert "no Shapefile" in said(zipped({"readme.txt": b"hello"}))


def _bomb() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("field.shp", b"\x00" * 50_000_000)
    return out.getvalue()


def test_too_many_corners_and_too_large(monkeypatch):
    turns = np.linspace(0, 2 * np.pi, 100_001)
    circle = PLANE.to_degrees(Polygon(np.column_stack([300 * np.cos(turns), 300 * np.sin(turns)])))
    assert "more corners" in said(geojson(circle))
    monkeypatch.setattr(field_upload, "LARGEST_UPLOAD_BYTES", 100)
    assert "too large" in said(geojson(SQUARE))


def test_what_is_wrong_with_an_outline_is_said_with_its_name():
    bow = Polygon([(10, 52), (10.01, 52.01), (10.01, 52), (10, 52.01)])
    text = said(geojson(bow, SQUARE))
    assert "crosses itself" in text
    assert "piece 1" in text
    assert "metres" in said(geojson(in_utm(SQUARE)))
    assert "coordinate system is not known" in said(geojson(in_utm(SQUARE), crs="urn:ogc:def:crs:EPSG::999999"))
    assert "does not say its coordinate system" in said(zipped(by_gdal("ESRI Shapefile", ".shp", in_utm(SQUARE), None)))
    assert "no area" in said(b'{"type": "FeatureCollection", "features": []}')
    assert "not JSON" in said(b'{"type": ')


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data):
    for start in (b"", b"{", b"<kml>", b"PK\x03\x04", b"SQLite format 3\x00"):
        with contextlib.suppress(InputError):
            assert read_field_upload(start + data, "field").outlines


def test_areas_agree_with_the_ellipsoid():
    """Source: Karney's geodesic area (PROJ), against the plane's 400 m x 300 m; the plane is true to 1e-7 here."""
    assert geodesic_area_m2(MultiPolygon([SQUARE])) == pytest.approx(120_000.0, rel=1e-6)
