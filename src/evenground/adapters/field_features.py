"""Features of a field file besides boundary and obstacles: kept edges, field history, soil zones."""

from __future__ import annotations

import math
from typing import Any

import shapely
from shapely.errors import ShapelyError
from shapely.geometry import Point, Polygon, mapping, shape
from shapely.geometry.base import BaseGeometry

from evenground.basis.errors import Problem, problem
from evenground.basis.field import Field, KeptEdge, LocalPlane, Trace, Zone
from evenground.basis.layout_plan import BAND_KINDS, PLACE_KINDS

KINDS = (*BAND_KINDS, *PLACE_KINDS)
FEATURE_ROLES = ("kept_edge", "history", "soil_zone")
WIDEST_EDGE_M = 500.0
MOST_FEATURES = 2000
POINTS = ("Point", "MultiPoint")
# An obstacle marked as a point without a width: a trunk, a mast. Judgement; the distance kept comes on top.
POINT_WIDTH_M = 1.0
_LINES = ("LineString", "MultiLineString")
_AREAS = ("Polygon", "MultiPolygon")


def read_feature(
    geometry: dict[str, Any], properties: dict[str, Any], place: str, file: str
) -> tuple[KeptEdge | Trace | Zone | None, list[Problem]]:
    """Read one feature by its ``role``.

    Parameters
    ----------
    geometry, properties : dict
        As in GeoJSON; ``role`` is one of `FEATURE_ROLES`.
    place, file : str
        For messages.

    Returns
    -------
    feature, problems
        None where something is wrong.
    """
    role = properties["role"]
    at, problems = _shape(geometry, _AREAS if role == "soil_zone" else (*_LINES, *_AREAS), place, file)
    if role == "history":
        kind = properties.get("kind")
        if kind not in KINDS:
            problems.append(_wrong("there is no such kind of history.", f"{place}.kind", kind, ", ".join(KINDS), file))
        return (None if problems or at is None else Trace(str(kind), at)), problems
    name, low, high = ("width_m", 0.0, WIDEST_EDGE_M) if role == "kept_edge" else ("value", -1e9, 1e9)
    value = properties.get(name)
    sound = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not sound or not low <= float(value or 0) <= high:
        message = f"a feature with the role {role} needs {name}."
        problems.append(_wrong(message, f"{place}.{name}", value, f"{low:g} to {high:g}", file))
    if problems or at is None or value is None:
        return None, problems
    if role == "kept_edge":
        return KeptEdge(at, float(value), str(properties.get("reason", ""))), []
    return Zone(str(properties.get("layer", "soil")), float(value), at), []


def read_points(
    geometry: dict[str, Any], properties: dict[str, Any], place: str, file: str
) -> tuple[list[Polygon], list[Problem]]:
    """Read an obstacle that was marked as a point, such as a tree or a mast seen with a phone: a circle around it.

    Parameters
    ----------
    geometry, properties : dict
        As in GeoJSON: Point or MultiPoint; ``width_m`` says how wide it is, `POINT_WIDTH_M` where it is missing.
    place, file : str
        For messages.

    Returns
    -------
    circles, problems
        No circle where something is wrong.
    """
    at, problems = _shape(geometry, POINTS, f"{place}.geometry", file)
    width = properties.get("width_m", POINT_WIDTH_M)
    sound = isinstance(width, int | float) and not isinstance(width, bool) and math.isfinite(width)
    if not sound or not 0.0 < width <= WIDEST_EDGE_M:
        allowed = f"above 0, at most {WIDEST_EDGE_M:g}"
        problems.append(_wrong("this is not the width of an obstacle.", f"{place}.width_m", width, allowed, file))
    if problems or at is None:
        return [], problems
    circle = Point(0.0, 0.0).buffer(float(width) / 2.0)
    circles = [LocalPlane(float(x), float(y)).to_degrees(circle) for x, y in shapely.get_coordinates(at)]
    return [one for one in circles if isinstance(one, Polygon)], []


def feature_dicts(field: Field) -> list[dict[str, Any]]:
    """Return the features of a field besides boundary and obstacles, ready for GeoJSON."""
    out: list[tuple[dict[str, Any], BaseGeometry]] = []
    out += [({"role": "kept_edge", "width_m": e.width_m, "reason": e.reason}, e.shape) for e in field.kept_edges]
    out += [({"role": "history", "kind": t.kind}, t.shape) for t in field.history]
    out += [({"role": "soil_zone", "layer": z.layer, "value": z.value}, z.shape) for z in field.zones]
    return [{"type": "Feature", "properties": p, "geometry": mapping(s)} for p, s in out]


def _shape(
    geometry: dict[str, Any], allowed: tuple[str, ...], place: str, file: str
) -> tuple[BaseGeometry | None, list[Problem]]:
    kind = geometry.get("type")
    if kind not in allowed:
        return None, [_wrong("this feature has the wrong geometry.", f"{place}.type", kind, " or ".join(allowed), file)]
    try:
        found = shape(geometry)
        coordinates = shapely.get_coordinates(found)
    except (ShapelyError, ValueError, TypeError, KeyError, IndexError, AttributeError):
        return None, [_wrong("this geometry cannot be read.", f"{place}.coordinates", None, "positions", file)]
    if not len(coordinates) or not (abs(coordinates[:, 0]) <= 180).all() or not (abs(coordinates[:, 1]) <= 90).all():
        allowed_text = "longitude -180 to 180, latitude -90 to 90"
        return None, [_wrong("there is no such place on the globe.", f"{place}.coordinates", None, allowed_text, file)]
    if not found.is_valid:
        return None, [_wrong("the outline crosses itself.", f"{place}.coordinates", None, "a sound outline", file)]
    return found, []


def _wrong(message: str, field: str, given: object, allowed: str, file: str) -> Problem:
    return problem(message, file=file, field=field, given=given, allowed=allowed)
