"""Field outlines from other programs: GeoJSON, GeoPackage, zipped Shapefiles, KML; one or several to choose from."""

from __future__ import annotations

import io
import json
import re
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

import numpy as np
import pyproj
import shapely
from lxml import etree  # type: ignore[import-untyped]
from pyproj.exceptions import ProjError
from shapely.errors import ShapelyError
from shapely.geometry import MultiPolygon, Polygon, mapping, shape
from shapely.geometry.base import BaseGeometry
from shapely.validation import explain_validity

from evenground.adapters.field_features import FEATURE_ROLES
from evenground.adapters.geojson import POSITION_CHECKED, read_json
from evenground.adapters.zip_file import ZipLimits, read_zip
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.field import geodesic_area_m2

LARGEST_UPLOAD_BYTES = 20_000_000
MOST_CORNERS = 100_000
MOST_OUTLINES = 500
MOST_FAULTS = 20
LONGEST_NAME = 80
FORMS = "GeoJSON, GeoPackage, KML, or the files of a Shapefile in one zip"
SHAPE_PARTS = (".shp", ".shx", ".dbf", ".prj", ".cpg")
ZIP_LIMITS = ZipLimits(files=200, whole_bytes=100_000_000, file_bytes=60_000_000)
WGS84 = "EPSG:4326"
_SQLITE, _SHAPE, _ZIP = b"SQLite format 3\x00", b"\x00\x00\x27\x0a", b"PK\x03\x04"
_EPSG = re.compile(r"EPSG:{1,2}(?P<code>\d{4,6})$", re.IGNORECASE)
_LON_LAT = re.compile(r"CRS:?84$", re.IGNORECASE)


@dataclass(frozen=True)
class UploadedOutline:
    """One outline that was found.

    Attributes
    ----------
    name : str
        What the file calls it, or its number.
    shape : MultiPolygon
        Longitude and latitude [deg].
    area_ha : float
        On the ellipsoid [ha].
    corners : int
        Its corners [1].
    """

    name: str
    shape: MultiPolygon
    area_ha: float
    corners: int


@dataclass(frozen=True)
class FieldUpload:
    """What was found in a file.

    Attributes
    ----------
    outlines : tuple of UploadedOutline
        In the order of the file; at least one unless ``whole`` is there.
    whole : str
        The file itself where it is a field of this program, with its obstacles and the like; else "".
    notes : tuple of str
        How it was read, what was passed over.
    """

    outlines: tuple[UploadedOutline, ...]
    whole: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Shape:
    """A geometry as it stood in the file, with its coordinate system ("" where nothing says it)."""

    geometry: BaseGeometry
    name: str
    crs: str


def read_field_upload(data: bytes, file: str) -> FieldUpload:
    """Read a file with outlines of fields; what it is follows from its content, never from its name.

    Parameters
    ----------
    data : bytes
        At most 20 MB.
    file : str
        Its name in messages.

    Raises
    ------
    InputError
        With every problem found.
    """
    if len(data) > LARGEST_UPLOAD_BYTES:
        given, allowed = f"{len(data) / 1e6:.1f} MB", f"at most {LARGEST_UPLOAD_BYTES / 1e6:g} MB"
        raise InputError([problem("this file is too large.", file=file, given=given, allowed=allowed)])
    start = data[:64].lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith(b"{"):
        whole = _own_field(data, file)
        if whole:
            return FieldUpload((), whole)
    readers: tuple[tuple[bool, Callable[[bytes, str], Iterable[_Shape]]], ...] = (
        (start.startswith(b"{"), _from_geojson),
        (data.startswith(_SQLITE), _from_geopackage),
        (data.startswith(_ZIP), _from_zip),
        (start.startswith(b"<"), _from_kml),
    )
    reader = next((read for fits, read in readers if fits), None)
    if reader is None:
        raise InputError([problem("this is none of the forms that can be read.", file=file, allowed=FORMS)])
    return _outlines(list(reader(data, file)), file)


# The forms ----------------------------------------------------------------------------------------------------------


def _content(data: bytes, file: str) -> dict[str, Any]:
    content, problems = read_json(data, file)
    if problems or not isinstance(content, dict):
        raise InputError(problems or [problem("this is not GeoJSON.", file=file, allowed="a FeatureCollection")])
    return content


def _own_field(data: bytes, file: str) -> str:
    """Return the text of a GeoJSON file whose features carry roles of this program; "" for any other."""
    features = _content(data, file).get("features")
    roles = {
        f["properties"].get("role")
        for f in (features if isinstance(features, list) else [])
        if isinstance(f, dict) and isinstance(f.get("properties"), dict)
        if isinstance(f["properties"].get("role"), str)
    }
    return data.decode("utf-8-sig") if roles & {"boundary", "obstacle", *FEATURE_ROLES} else ""


def _from_geojson(data: bytes, file: str) -> Iterator[_Shape]:
    content = _content(data, file)
    crs = content.get("crs")
    said = crs.get("properties", {}).get("name", "") if isinstance(crs, dict) else WGS84
    features = content.get("features") if content.get("type") == "FeatureCollection" else [content]
    for item in features if isinstance(features, list) else []:
        geometry = item.get("geometry", item) if isinstance(item, dict) else None
        if not isinstance(geometry, dict) or geometry.get("type") not in ("Polygon", "MultiPolygon"):
            continue
        try:
            found = shape(geometry)
        except (ShapelyError, ValueError, TypeError, KeyError, IndexError, AttributeError) as error:
            raise InputError([problem(f"a geometry cannot be read ({error}).", file=file)]) from error
        properties = item.get("properties")
        yield _Shape(found, _called(properties if isinstance(properties, dict) else {}), str(said))


def _from_geopackage(data: bytes, file: str) -> Iterator[_Shape]:
    with tempfile.TemporaryDirectory(prefix="evenground-field-") as folder:
        path = Path(folder) / "field.gpkg"
        path.write_bytes(data)
        yield from _by_gdal(path, file)


def _from_zip(data: bytes, file: str) -> Iterator[_Shape]:
    files = read_zip(io.BytesIO(data), ZIP_LIMITS)
    shapes = [name for name in files if name.lower().endswith(".shp")]
    if not shapes:
        raise InputError([problem("there is no Shapefile in this archive.", file=file, allowed="files ending in .shp")])
    for name in shapes:
        # Only these files are laid out, under a name of our own, so that nothing else of the archive is ever opened.
        stem, base = str(PurePosixPath(name).with_suffix("")).lower(), PurePosixPath(name).name
        parts = {s: c for n, c in files.items() for s in SHAPE_PARTS if n.lower() == f"{stem}{s}"}
        if not parts[".shp"].startswith(_SHAPE):
            raise InputError([problem("this is not a Shapefile.", file=base)])
        if absent := [s for s in (".shx", ".dbf") if s not in parts]:
            text = "a Shapefile is several files; some of them are missing in the archive."
            raise InputError([problem(text, file=base, given=", ".join(absent), allowed=".shp, .shx, .dbf, .prj")])
        with tempfile.TemporaryDirectory(prefix="evenground-field-") as folder:
            for suffix, content in parts.items():
                (Path(folder) / f"field{suffix}").write_bytes(content)
            yield from _by_gdal(Path(folder) / "field.shp", base)


def _by_gdal(path: Path, file: str) -> Iterator[_Shape]:
    """Read every layer of areas; the content was looked at before, so that no other driver takes the file."""
    import pyogrio
    from pyogrio.errors import DataLayerError, DataSourceError, FieldError, GeometryError

    try:
        for layer, kind in pyogrio.list_layers(path):
            if kind is None:
                continue
            about, _ids, geometry, columns = pyogrio.raw.read(path, layer=layer, max_features=MOST_OUTLINES + 1)
            names = [str(n) for n in about["fields"]]
            for i, shape_bytes in enumerate(geometry):
                if shape_bytes is not None:
                    row = {n: c[i] for n, c in zip(names, columns, strict=True)}
                    yield _Shape(shapely.from_wkb(shape_bytes), _called(row), str(about["crs"] or ""))
    except (DataSourceError, DataLayerError, FieldError, GeometryError, ShapelyError, ValueError) as error:
        raise InputError([problem(f"this file cannot be read ({str(error)[:200]}).", file=file)]) from error


def _from_kml(data: bytes, file: str) -> Iterator[_Shape]:
    if re.search(rb"<!\s*(DOCTYPE|ENTITY)", data, re.IGNORECASE):
        text = "this file defines things of its own (DOCTYPE, ENTITY), which outlines do not need; it is not opened."
        raise InputError([problem(text, file=file, allowed="KML without a document type")])
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise InputError([problem(f"this is not XML as it stands here ({error.msg}).", file=file)]) from error
    if etree.QName(root).localname != "kml":
        raise InputError([problem("this is XML, but not KML.", file=file, given=etree.QName(root).localname)])
    for mark in root.iter("{*}Placemark"):
        name = (mark.findtext("{*}name") or "").strip()
        for area in mark.iter("{*}Polygon"):
            outer = [_kml_ring(r, file) for r in area.findall("{*}outerBoundaryIs/{*}LinearRing/{*}coordinates")]
            inner = [_kml_ring(r, file) for r in area.findall("{*}innerBoundaryIs/{*}LinearRing/{*}coordinates")]
            if outer:
                yield _Shape(Polygon(outer[0], inner), name, WGS84)


def _kml_ring(element: Any, file: str) -> list[tuple[float, float]]:  # noqa: ANN401 - lxml's element
    """Read one ring: positions separated by white space, each longitude, latitude and perhaps height."""
    ring = []
    for at in (element.text or "").split():
        try:
            lon, lat = (float(v) for v in at.split(",")[:2])
        except ValueError as error:
            text, allowed = "this is not a position.", "longitude,latitude"
            raise InputError([problem(text, file=file, given=at[:60], allowed=allowed)]) from error
        ring.append((lon, lat))
    if len(ring) < 4:
        raise InputError([problem("a ring needs at least four positions.", file=file, given=len(ring))])
    return ring


def _called(row: Mapping[str, object]) -> str:
    """Return what a row calls its outline: its name where it has one, else its first texts."""
    texts = {str(k).lower(): v.strip() for k, v in row.items() if isinstance(v, str) and v.strip()}
    named = next((texts[n] for n in ("name", "field", "feldname", "schlag", "bezeichnung") if n in texts), "")
    return (named or ", ".join(list(texts.values())[:2]))[:LONGEST_NAME]


# Outlines -----------------------------------------------------------------------------------------------------------


def _outlines(found: list[_Shape], file: str) -> FieldUpload:
    """Bring every area to longitude and latitude, and check it."""
    areas = [
        one for one in found if one.geometry.geom_type in ("Polygon", "MultiPolygon") and not one.geometry.is_empty
    ]
    problems = _size_problems(areas, file)
    if problems:
        raise InputError(problems)
    out: list[UploadedOutline] = []
    notes: list[str] = []
    for number, one in enumerate(areas, start=1):
        name = one.name or f"{number}"
        moved, fault = _in_degrees(one, file, name)
        faults = [fault] if fault else _shape_faults(moved, file, name)
        problems += faults
        if not faults:
            whole = MultiPolygon(list(shapely.get_parts(moved)))
            area_ha, corners = geodesic_area_m2(whole) / 1e4, len(shapely.get_coordinates(whole))
            out.append(UploadedOutline(name, whole, area_ha, corners))
    if problems:
        raise InputError(problems[:MOST_FAULTS])
    systems = {one.crs for one in areas if one.crs}
    if any(not one.crs for one in areas):
        notes.append("the file does not say its coordinate system; its numbers were taken as degrees.")
    notes += [
        f"places were changed from {name} to longitude and latitude." for name in systems if not _is_degrees(name)
    ]
    return FieldUpload(tuple(out), "", tuple(notes))


def _size_problems(areas: list[_Shape], file: str) -> list[Problem]:
    if not areas:
        return [problem("there is no area in this file.", file=file, allowed="a polygon")]
    if len(areas) > MOST_OUTLINES:
        text = "this file holds a whole district; save only the field of the trial."
        return [problem(text, file=file, given=f"{len(areas)} areas", allowed=f"at most {MOST_OUTLINES}")]
    corners = sum(len(shapely.get_coordinates(one.geometry)) for one in areas)
    if corners > MOST_CORNERS:
        text = "these outlines have more corners than any field needs; simplify them first."
        return [problem(text, file=file, given=f"{corners} corners", allowed=f"at most {MOST_CORNERS}")]
    return []


def _is_degrees(crs: str) -> bool:
    found = _EPSG.search(crs)
    return bool(_LON_LAT.search(crs)) or (found is not None and found["code"] == "4326")


def _in_degrees(one: _Shape, file: str, name: str) -> tuple[BaseGeometry, Problem | None]:
    """Return a geometry in longitude and latitude without heights, or why that cannot be done."""
    flat = shapely.force_2d(one.geometry)
    at = shapely.get_coordinates(flat)
    inside = bool(np.isfinite(at).all() and (np.abs(at[:, 0]) <= 180.0).all() and (np.abs(at[:, 1]) <= 90.0).all())
    if not one.crs and not inside:
        text = "the file does not say its coordinate system; save it with one (Shapefile: the .prj file goes along)."
        return flat, problem(text, file=file, field=name, allowed="a known coordinate system")
    if not one.crs or _is_degrees(one.crs):
        if inside:
            return flat, None
        text = "there is no such place on the globe; are the numbers metres?"
        return flat, problem(text, file=file, field=name, given=f"{at[0, 0]:g}, {at[0, 1]:g}", allowed="degrees")
    try:
        # A code, or the system's own well-known text; nothing that could name a file.
        known = _EPSG.search(one.crs)
        source = pyproj.CRS.from_epsg(int(known["code"])) if known else pyproj.CRS.from_wkt(one.crs)
        move = pyproj.Transformer.from_crs(source, WGS84, always_xy=True)
        moved = shapely.transform(flat, lambda xy: np.column_stack(move.transform(xy[:, 0], xy[:, 1])))
    except ProjError:
        text, allowed = "this coordinate system is not known.", "an EPSG code, such as EPSG:25832"
        return flat, problem(text, file=file, field=name, given=one.crs[:80], allowed=allowed)
    if not np.isfinite(shapely.get_coordinates(moved)).all():
        text = "these places do not lie where their coordinate system is used."
        return flat, problem(text, file=file, field=name, given=one.crs[:80])
    return moved, None


def _shape_faults(found: BaseGeometry, file: str, name: str) -> list[Problem]:
    said = explain_validity(found)
    if said == "Valid Geometry":
        return []
    cause = said.split("[")[0].strip().lower()
    at = said[len(cause) :].strip(" []")
    words = "the boundary crosses itself" if "intersection" in cause else cause
    text = f"{words}{f' at {at}' if at else ''}."
    return [problem(text, file=file, field=name, allowed="an outline that does not cross itself")]


# Into the field ------------------------------------------------------------------------------------------------------


def with_boundary(field_text: str | None, outlines: Iterable[BaseGeometry], *, position_checked: bool = False) -> str:
    """Return the text of a field with a new boundary; obstacles and everything else of the old one stay.

    Parameters
    ----------
    field_text : str or None
        GeoJSON of the field as it stands; None where there is none.
    outlines : iterable of BaseGeometry
        Areas, longitude and latitude [deg].
    position_checked : bool
        Whether somebody has said that the place is right, where it looks as if numbers were swapped.
    """
    empty: dict[str, Any] = {"type": "FeatureCollection", "features": []}
    read: dict[str, Any] = json.loads(field_text) if field_text else empty
    old = read if read.get("type") == "FeatureCollection" else empty
    kept = [f for f in old["features"] if (f.get("properties") or {}).get("role", "boundary") != "boundary"]
    said = {"role": "boundary", **({POSITION_CHECKED: True} if position_checked else {})}
    new = [{"type": "Feature", "properties": said, "geometry": mapping(one)} for one in outlines]
    return json.dumps({**old, "features": [*new, *kept]}, indent=1, allow_nan=False) + "\n"
