"""What the pages of the field show: size, what stands in it, and the drawing as data."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pyproj
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from shapely.geometry import MultiPolygon, Polygon, mapping
from shapely.geometry.base import BaseGeometry

from evenground.adapters.field_upload import FieldUpload
from evenground.basis.field import Field, geodesic_area_m2
from evenground.basis.layout_plan import BAND_KINDS, PLACE_KINDS
from evenground.report.document import Column, Table
from evenground.report.wording import NONE
from evenground.web.numbers import number
from evenground.web.trial_view import Opened

ROLES = {
    "boundary": gettext_lazy("Outline of the field"),
    "obstacle": gettext_lazy("Obstacle: mast, pond, wet hole, trees"),
    "kept_edge": gettext_lazy("Edge to keep away from: hedge, slope, ditch"),
    "history": gettext_lazy("Left by earlier years"),
    "soil_zone": gettext_lazy("Soil zone"),
    "second_field": gettext_lazy("Another field for the same trial"),
}
KINDS = {**PLACE_KINDS, **BAND_KINDS}


@dataclass(frozen=True)
class FieldShown:
    """A field in numbers.

    Attributes
    ----------
    area, perimeter : str
        With unit.
    parts : int
        Pieces it lies in [1].
    holds : Table or None
        Obstacles and the like; None where there are none.
    lat, lon : float
        Its middle [deg].
    """

    area: str
    perimeter: str
    parts: int
    holds: Table | None
    lat: float
    lon: float


def field_shown(field: Field) -> FieldShown:
    """Return a field in numbers."""
    geod = pyproj.Geod(ellps="WGS84")
    _area, perimeter = geod.geometry_area_perimeter(field.boundary)
    rows = tuple(_rows(field))
    columns = (Column(_("What")), Column(_("Which")), Column(_("Size"), "", "right"))
    middle = field.boundary.centroid
    return FieldShown(
        area=f"{number(geodesic_area_m2(field.boundary) / 1e4, 2)} ha",
        perimeter=f"{number(perimeter)} m",
        parts=len(field.boundary.geoms),
        holds=Table(_("What stands in it"), columns, rows) if rows else None,
        lat=middle.y,
        lon=middle.x,
    )


def _rows(field: Field) -> Iterator[tuple[str, str, str]]:
    """Go through everything in a field: what, which, how large."""
    plane = field.plane
    for one in field.obstacles.geoms:
        yield str(ROLES["obstacle"]).split(":")[0], NONE, _size(one, plane.to_metres(one))
    for edge in field.kept_edges:
        said = _("%(reason)s, %(m)s m kept free") % {"reason": edge.reason or NONE, "m": number(edge.width_m, 1)}
        yield str(ROLES["kept_edge"]).split(":")[0], said, _size(edge.shape, plane.to_metres(edge.shape))
    for trace in field.history:
        yield str(ROLES["history"]), KINDS[trace.kind], _size(trace.shape, plane.to_metres(trace.shape))
    for zone in field.zones:
        said = f"{zone.layer} {number(zone.value, 2)}"
        yield str(ROLES["soil_zone"]), said, _size(zone.shape, plane.to_metres(zone.shape))
    if not field.second.is_empty:
        yield str(ROLES["second_field"]), NONE, f"{number(geodesic_area_m2(field.second) / 1e4, 2)} ha"


def _size(degrees: BaseGeometry, metres: BaseGeometry) -> str:
    if degrees.geom_type in ("Polygon", "MultiPolygon"):
        return f"{number(metres.area)} m²"
    return f"{number(metres.length)} m"


def features(opened: Opened) -> dict[str, Any]:
    """Return the field as GeoJSON as it stands; an empty collection where there is none."""
    text = opened.store.field_text()
    content = json.loads(text) if text else {}
    if content.get("type") == "FeatureCollection":
        return dict(content)
    if opened.stored.field is None:
        return {"type": "FeatureCollection", "features": []}
    whole = {"role": "boundary"}
    boundary = mapping(opened.stored.field.boundary)
    return {"type": "FeatureCollection", "features": [{"type": "Feature", "properties": whole, "geometry": boundary}]}


def choices(found: FieldUpload) -> Table:
    """Return the outlines of an upload as a table."""
    columns = (Column(_("Outline")), Column(_("Area"), "ha", "right"), Column(_("Corners"), "", "right"))
    rows = tuple((one.name, number(one.area_ha, 2), number(one.corners)) for one in found.outlines)
    return Table(_("What the file holds"), columns, rows)


def as_field(outline: Polygon) -> Field:
    """Return an outline as a field with nothing in it, for a picture."""
    return Field(MultiPolygon([outline]), MultiPolygon())
