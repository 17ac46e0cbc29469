"""Field outlines as GeoJSON (RFC 7946): read with every doubt said, never repaired in silence."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import shapely
from shapely.geometry import MultiPolygon, Polygon, mapping
from shapely.validation import explain_validity

from evenground.adapters.field_features import FEATURE_ROLES, POINTS, feature_dicts, read_feature, read_points
from evenground.basis.errors import Problem, problem
from evenground.basis.field import Field, KeptEdge, Trace, Zone, geodesic_area_m2

FIELD_FILE = "field.geojson"
LARGEST_GEOJSON_BYTES = 20_000_000
SMALLEST_HA, LARGEST_HA = 0.05, 1000.0
# A field of 1000 ha is far narrower, even at 66 degrees north. Judgement.
WIDEST_DEG = 1.0
# Where maize can be grown at all: common knowledge, no source; wide on purpose.
FARTHEST_NORTH, FARTHEST_SOUTH = 66.0, -56.0
# Arabian peninsula, Horn of Africa and the sea between: where Europe's fields land when longitude comes second.
_DOUBTFUL = (42.0, 60.0, -10.0, 30.0)
_WGS84_NAMES = re.compile(r"(CRS:?84|EPSG:{1,2}4326)$", re.IGNORECASE)
_ROLES = ("boundary", "obstacle", "second_field")
POSITION_CHECKED = "position_checked"


@dataclass(frozen=True)
class FieldRead:
    """A field file as read.

    Attributes
    ----------
    field : Field or None
        The field, if there is no problem.
    problems : tuple of Problem
        What is wrong.
    notes : tuple of str
        What was passed over.
    """

    field: Field | None
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()


def read_json(data: bytes, file: str) -> tuple[Any, list[Problem]]:
    """Read JSON of bounded size and depth, without NaN.

    Returns
    -------
    content : any
        What it holds; None where it cannot be read.
    problems : list of Problem
        Why.
    """

    def refuse(name: str) -> None:
        raise ValueError(f"{name} is not a number in JSON")

    if len(data) > LARGEST_GEOJSON_BYTES:
        allowed = f"at most {LARGEST_GEOJSON_BYTES / 1e6:g} MB"
        return None, [problem("this file is too large.", file=file, given=f"{len(data) / 1e6:.1f} MB", allowed=allowed)]
    try:
        return json.loads(data.decode("utf-8-sig"), parse_constant=refuse), []
    except json.JSONDecodeError as error:
        return None, [problem(f"this is not JSON as it stands here ({error.msg}).", file=file, row=error.lineno)]
    except (UnicodeDecodeError, RecursionError, ValueError) as error:
        return None, [problem(f"this file cannot be read as JSON ({error}).", file=file, allowed="JSON in UTF-8")]


def read_field(data: bytes, file: str = FIELD_FILE) -> FieldRead:
    """Read the outline of a field and what stands in it.

    Parameters
    ----------
    data : bytes
        A FeatureCollection, a Feature, a Polygon or a MultiPolygon in longitude and latitude. Property ``role`` is
        ``boundary`` (also where it is not given), ``obstacle``, ``second_field``, ``kept_edge``, ``history`` or
        ``soil_zone``.
    file : str
        Its name in messages.
    """
    content, problems = read_json(data, file)
    if problems:
        return FieldRead(None, tuple(problems))
    if not isinstance(content, dict):
        wrong = problem("this is not GeoJSON.", file=file, given=type(content).__name__, allowed="a FeatureCollection")
        return FieldRead(None, (wrong,))
    problems += _crs_problems(content, file)
    shapes: dict[str, list[Polygon]] = {role: [] for role in _ROLES}
    notes: list[str] = []
    others: list[KeptEdge | Trace | Zone] = []
    checked = False
    for place, geometry, properties in _features(content, file, problems):
        role = properties.get("role", "boundary")
        checked = checked or properties.get(POSITION_CHECKED) is True
        if role in FEATURE_ROLES:
            feature, faults = read_feature(geometry, properties, place, file)
            problems += faults
            if feature is not None:
                others.append(feature)
            continue
        if role not in shapes:
            known = ", ".join((*_ROLES, *FEATURE_ROLES))
            notes.append(f"{file}: {place} has the role {role!r} and is not read; known are {known}.")
            continue
        if role == "obstacle" and geometry.get("type") in POINTS:
            circles, faults = read_points(geometry, properties, place, file)
            shapes[role] += circles
            problems += faults
            continue
        shapes[role] += list(_polygons(geometry, f"{place}.geometry", file, problems))
    if not problems and not shapes["boundary"]:
        problems.append(problem("there is no boundary in this file.", file=file, allowed="a Polygon or MultiPolygon"))
    if problems:
        return FieldRead(None, tuple(problems), tuple(notes))
    field = Field(
        _union(shapes["boundary"]),
        _union(shapes["obstacle"]),
        tuple(one for one in others if isinstance(one, KeptEdge)),
        tuple(one for one in others if isinstance(one, Trace)),
        tuple(one for one in others if isinstance(one, Zone)),
        _union(shapes["second_field"]),
    )
    problems += _position_problems(field, file, checked=checked) or _area_problems(field.boundary, "field", file)
    if not field.second.is_empty:
        problems += _area_problems(field.second, "second field", file)
    if not problems and not field.obstacles.is_empty and not field.obstacles.within(field.boundary):
        notes.append(f"{file}: an obstacle lies outside the boundary, wholly or in part.")
    return FieldRead(None if problems else field, tuple(problems), tuple(notes))


def _union(shapes: list[Polygon]) -> MultiPolygon:
    joined = shapely.union_all(shapes)
    return joined if isinstance(joined, MultiPolygon) else MultiPolygon([joined] if isinstance(joined, Polygon) else [])


def _crs_problems(content: dict[str, Any], file: str) -> list[Problem]:
    """Refuse any coordinate system but longitude and latitude in WGS84."""
    crs = content.get("crs")
    if crs is None:
        return []
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = str(properties.get("name", "")) if isinstance(properties, dict) else str(crs)
    if _WGS84_NAMES.search(name):
        return []
    message = "this file is in another coordinate system; export it in WGS84 (longitude and latitude)."
    return [problem(message, file=file, field="crs", given=name, allowed="WGS84 (CRS84, EPSG:4326)")]


def _features(
    content: dict[str, Any], file: str, problems: list[Problem]
) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
    """Go through the features: place, geometry, properties; a bare geometry counts as a boundary."""
    kind = content.get("type")
    if kind == "FeatureCollection" and isinstance(content.get("features"), list):
        items = [(f"features[{i}]", item) for i, item in enumerate(content["features"])]
    elif kind == "Feature":
        items = [("feature", content)]
    elif kind in ("Polygon", "MultiPolygon"):
        items = [("feature", {"type": "Feature", "geometry": content, "properties": {}})]
    else:
        allowed = "FeatureCollection, Feature, Polygon or MultiPolygon"
        problems.append(problem("this is not a field outline.", file=file, field="type", given=kind, allowed=allowed))
        return
    for place, item in items:
        geometry = item.get("geometry") if isinstance(item, dict) else None
        if not isinstance(geometry, dict):
            problems.append(problem("this feature has no geometry.", file=file, field=place, allowed="a Polygon"))
            continue
        properties = item.get("properties")
        yield place, geometry, properties if isinstance(properties, dict) else {}


def _polygons(geometry: dict[str, Any], place: str, file: str, problems: list[Problem]) -> Iterator[Polygon]:
    """Go through the sound polygons of a geometry; the rest becomes problems."""
    kind, coordinates = geometry.get("type"), geometry.get("coordinates")
    if kind not in ("Polygon", "MultiPolygon"):
        message = "an outline must be an area."
        if kind in ("LineString", "MultiLineString"):
            message += " This is a line; close it and save it as a polygon."
        allowed = "Polygon or MultiPolygon"
        problems.append(problem(message, file=file, field=f"{place}.type", given=kind, allowed=allowed))
        return
    parts = coordinates if kind == "MultiPolygon" else [coordinates]
    if not isinstance(parts, list) or not parts:
        problems.append(
            problem("this outline is empty.", file=file, field=f"{place}.coordinates", allowed="closed rings")
        )
        return
    for i, part in enumerate(parts):
        where = f"{place}.coordinates" + (f"[{i}]" if kind == "MultiPolygon" else "")
        if not isinstance(part, list) or not part:
            problems.append(problem("this outline is empty.", file=file, field=where, allowed="closed rings"))
            continue
        rings = [_ring(ring, f"{where}[{j}]", file, problems) for j, ring in enumerate(part)]
        if all(rings):
            polygon = Polygon(rings[0], rings[1:])
            problems += (faults := _shape_problems(polygon, where, file))
            if not faults:
                yield polygon


def _ring(ring: object, place: str, file: str, problems: list[Problem]) -> list[tuple[float, float]]:
    """Read one closed ring; empty where it is not sound."""
    if not isinstance(ring, list) or len(ring) < 4:
        given = len(ring) if isinstance(ring, list) else ""
        message = "a ring needs at least four positions, the last equal to the first."
        problems.append(problem(message, file=file, field=place, given=given, allowed="4 or more positions"))
        return []
    out, before = [], len(problems)
    for k, at in enumerate(ring):
        message = _position_fault(at)
        if message:
            allowed = "[longitude -180 to 180, latitude -90 to 90]"
            problems.append(problem(message, file=file, field=f"{place}[{k}]", given=str(at)[:80], allowed=allowed))
            if len(problems) > before + 4:
                break  # a thousand corners in metres are one mistake
        else:
            out.append((float(at[0]), float(at[1])))
    if len(problems) > before:
        return []
    if out[0] != out[-1]:
        message = "this ring is not closed; its last position must equal its first."
        problems.append(problem(message, file=file, field=place, given=list(out[-1]), allowed=str(list(out[0]))))
        return []
    return out


def _position_fault(at: object) -> str:
    """Say what is wrong with one position, or ""."""
    if not isinstance(at, list) or len(at) < 2:
        return "this is not a position."
    x, y = at[0], at[1]
    if any(isinstance(v, bool) or not isinstance(v, int | float) or not math.isfinite(v) for v in (x, y)):
        return "longitude and latitude must be finite numbers."
    if abs(x) <= 180 and abs(y) <= 90:
        return ""
    if abs(x) <= 90 and abs(y) <= 180:
        return "this latitude is impossible; latitude and longitude seem swapped (GeoJSON puts longitude first)."
    if max(abs(x), abs(y)) > 1000:
        return "this looks like metres, not degrees; export the field in WGS84 (longitude and latitude)."
    return "there is no such place on the globe."


def _shape_problems(polygon: Polygon, place: str, file: str) -> list[Problem]:
    """Say where a polygon crosses itself, or what else makes it no area."""
    said = explain_validity(polygon)
    if said == "Valid Geometry":
        return []
    match = re.match(r"(.*?)\[(\S+) (\S+)\]", said)
    at = f"longitude {match[2]}, latitude {match[3]}" if match else ""
    cause = match[1].strip() if match else said
    words = {
        "Self-intersection": "the boundary crosses itself",
        "Ring Self-intersection": "the boundary touches or crosses itself",
        "Hole lies outside shell": "a hole lies outside the boundary",
        "Holes are nested": "one hole lies in another",
        "Too few points in geometry component": "the outline has no area",
    }
    message = f"{words.get(cause, cause.lower())}{f' at {at}' if at else ''}."
    return [problem(message, file=file, field=place, given=at, allowed="an outline that does not cross itself")]


def _position_problems(field: Field, file: str, *, checked: bool) -> list[Problem]:
    """Ask where longitude and latitude may have been swapped."""
    west_deg, _, east_deg, _ = field.boundary.bounds
    if east_deg - west_deg > WIDEST_DEG:
        message = "this outline crosses the 180th meridian, or its parts lie far apart; give each side as a field."
        given, allowed = f"longitude {west_deg:g} to {east_deg:g}", f"at most {WIDEST_DEG:g} degrees of longitude"
        return [problem(message, file=file, field="coordinates", given=given, allowed=allowed)]
    at = field.boundary.centroid
    place = f"longitude {at.x:.5f}, latitude {at.y:.5f}"
    if not FARTHEST_SOUTH <= at.y <= FARTHEST_NORTH:
        message = f"the field would lie at {place}, where no maize grows. Are latitude and longitude swapped?"
        allowed = f"latitude {FARTHEST_SOUTH:g} to {FARTHEST_NORTH:g}; GeoJSON puts longitude first"
        return [problem(message, file=file, field="coordinates", given=place, allowed=allowed)]
    west, east, south, north = _DOUBTFUL
    if west <= at.x <= east and south <= at.y <= north and not checked:
        message = (
            f"the field would lie at {place}, between Arabia, the Horn of Africa and the sea; swapped it would lie in "
            f"Europe. Are latitude and longitude swapped? If the place is right, give the boundary the property "
            f'"{POSITION_CHECKED}": true.'
        )
        allowed = "[longitude, latitude], longitude first"
        return [problem(message, file=file, field="coordinates", given=place, allowed=allowed)]
    return []


def _area_problems(outline: MultiPolygon, called: str, file: str) -> list[Problem]:
    ha = geodesic_area_m2(outline) / 10_000
    if SMALLEST_HA <= ha <= LARGEST_HA:
        return []
    size = "small" if ha < SMALLEST_HA else "large"
    message = f"the {called} is too {size} to be one; look at its corners and at the coordinate system."
    allowed = f"{SMALLEST_HA:g} to {LARGEST_HA:g} ha"
    return [problem(message, file=file, field="coordinates", given=f"{ha:.4g} ha", allowed=allowed)]


def field_text(field: Field) -> str:
    """Write a field as GeoJSON; coordinates keep all their digits."""
    parts = [("boundary", p) for p in field.boundary.geoms] + [("obstacle", p) for p in field.obstacles.geoms]
    parts += [("second_field", p) for p in field.second.geoms]
    features = [{"type": "Feature", "properties": {"role": r}, "geometry": mapping(p)} for r, p in parts]
    features += feature_dicts(field)
    return json.dumps({"type": "FeatureCollection", "features": features}, indent=1, allow_nan=False) + "\n"
