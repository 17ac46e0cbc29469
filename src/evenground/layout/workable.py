"""The workable area: what is left of a field for strips once headlands and obstacles are taken out."""

from __future__ import annotations

import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from evenground.basis.errors import DoesNotFitError
from evenground.basis.field import Field

# Kept clear around every obstacle, so that no row unit and no marker touches it. Common practice, no source.
OBSTACLE_DISTANCE_M = 2.0
# A mitre longer than this many headland widths is cut off; a corner of 60 degrees and more keeps its full mitre.
_MITRE_LIMIT = 2.0
# Outlines with more corners than this are smoothed (inwards), so that the search stays quick on GPS-logged outlines.
MOST_CORNERS = 240
_SMOOTHING_M = (0.05, 0.1, 0.25, 0.5, 1.0)


def workable_area(field: Field, headland_m: float, obstacle_m: float = OBSTACLE_DISTANCE_M) -> MultiPolygon:
    """Return the ground strips may lie on, in the field's metric plane.

    Answers: where can a machine sow a straight strip and still turn? The headland runs along the whole boundary, holes
    included. Its inner edge is drawn with mitred corners: a headland is driven as straight passes along each side, and
    a mitre takes out at least as much as an arc would.

    Parameters
    ----------
    field : Field
        Boundary and obstacles, WGS84 [deg].
    headland_m : float
        Width of the headland [m]; 0 for none.
    obstacle_m : float
        Kept clear around every obstacle [m].

    Returns
    -------
    MultiPolygon
        One or more parts, x east and y north of the field's centre [m].

    Raises
    ------
    DoesNotFitError
        If nothing is left.

    Source: plane geometry; the distance to obstacles is common practice, no source.
    """
    boundary = shapely.make_valid(field.plane.to_metres(field.boundary))
    inner = _polygons(boundary.buffer(-headland_m, join_style="mitre", mitre_limit=_MITRE_LIMIT))
    if inner.is_empty:
        raise DoesNotFitError(
            f"Nothing is left of the field inside a headland of {headland_m:g} m.",
            f"At its widest place the field has room for a headland of less than {_widest_m(boundary):.1f} m.",
        )
    for edge in field.kept_edges:
        inner = _polygons(inner.difference(field.plane.to_metres(edge.shape).buffer(edge.width_m)))
        if inner.is_empty:
            raise DoesNotFitError("The kept edges take up all ground inside the headland.", "Keep less of them.")
    if field.obstacles.is_empty:
        return inner
    obstacles = shapely.make_valid(field.plane.to_metres(field.obstacles))
    kept_clear = obstacles.buffer(obstacle_m, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    left = _polygons(inner.difference(kept_clear))
    if left.is_empty:
        raise DoesNotFitError(
            "The obstacles take up all ground inside the headland.", "Check the outlines of the obstacles."
        )
    return left


def smoothed(part: Polygon) -> Polygon | MultiPolygon:
    """Return a shape with few corners that lies inside the given one; the same shape where it has few already.

    Parameters
    ----------
    part : Polygon
        One part of the workable area [m].

    Returns
    -------
    Polygon or MultiPolygon
        At most a metre inside the given outline [m]; may be empty for slivers.

    Source: line simplification moves no point further than its tolerance, and the result is moved inwards by the same.
    """
    if shapely.get_num_coordinates(part) <= MOST_CORNERS:
        return part
    out: BaseGeometry = part
    for tolerance_m in _SMOOTHING_M:
        out = part.simplify(tolerance_m).buffer(-tolerance_m, join_style="mitre", mitre_limit=_MITRE_LIMIT)
        if shapely.get_num_coordinates(out) <= MOST_CORNERS:
            break
    return _polygons(out)


def _polygons(shape: BaseGeometry) -> MultiPolygon:
    """Keep the parts of a shape that have an area."""
    parts = shapely.get_parts(shape)
    inner = [p for part in parts for p in (shapely.get_parts(part) if part.geom_type != "Polygon" else [part])]
    return MultiPolygon([p for p in inner if isinstance(p, Polygon) and not p.is_empty])


def _widest_m(boundary: BaseGeometry) -> float:
    """Return the radius of the largest circle inside a shape [m]."""
    return max(shapely.maximum_inscribed_circle(part, tolerance=0.1).length for part in _polygons(boundary).geoms)
