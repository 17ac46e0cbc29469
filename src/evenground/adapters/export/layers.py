"""What every map format carries: the layers of a drawn trial as plain features."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from evenground.basis.field import Field
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.guidance import cut_lines, headland, headland_passes, sowing_lines
from evenground.layout.marks import marks
from evenground.layout.row_counts import row_counts
from evenground.layout.turned_field import TurnedField, turned_field
from evenground.layout.work_order import work_orders

Value = str | int | float


@dataclass(frozen=True)
class Feature:
    """One thing on the map.

    Attributes
    ----------
    geometry : BaseGeometry
        WGS84, longitude first [deg].
    properties : dict
        Names of at most ten letters, so that every format carries them whole.
    """

    geometry: BaseGeometry
    properties: Mapping[str, Value]


@dataclass(frozen=True)
class Layer:
    """Things of one kind, all with the same properties.

    Attributes
    ----------
    name : str
        Such as ``strips``.
    geometry : str
        Type of all its geometries.
    features : tuple of Feature
        At least one.
    """

    name: str
    geometry: str
    features: tuple[Feature, ...]


def layers(plan: Plan, field: Field, draw: Draw) -> tuple[Layer, ...]:
    """Return all layers of a drawn trial, ground first, points last; a layer without features is left out.

    Parameters
    ----------
    plan : Plan
        Methods, machines, headland, entrance.
    field : Field
        Outline and obstacles.
    draw : Draw
        The strips.
    """
    turned = turned_field(field, draw)
    found = [
        Layer("field", "MultiPolygon", tuple(_field(field))),
        Layer("headlands", "MultiPolygon", tuple(_headlands(plan, field))),
        Layer("strips", "Polygon", tuple(_strips(plan, draw, turned, cut=False))),
        Layer("weighed_cuts", "Polygon", tuple(_strips(plan, draw, turned, cut=True))),
        Layer("lines", "LineString", tuple(_lines(plan, turned))),
        Layer("headland_lines", "LineString", tuple(_rounds(plan, field))),
        Layer("marks", "Point", tuple(_marks(plan, turned))),
        Layer("entrance", "Point", tuple(_entrance(plan))),
    ]
    return tuple(layer for layer in found if layer.features)


def by_name(found: Sequence[Layer], name: str) -> Layer:
    """Return the layer of a name.

    Raises
    ------
    KeyError
        If there is none.
    """
    for layer in found:
        if layer.name == name:
            return layer
    raise KeyError(name)


def _field(field: Field) -> Iterator[Feature]:
    for name, shape in (("boundary", field.boundary), ("obstacle", field.obstacles)):
        if not shape.is_empty:
            yield Feature(shapely.orient_polygons(shape), {"name": name})


def _headlands(plan: Plan, field: Field) -> Iterator[Feature]:
    shape = headland(field, plan.layout.headland_m)
    if not shape.is_empty:
        yield Feature(shapely.orient_polygons(shape), {"name": "headland", "width_m": plan.layout.headland_m})


def _strips(plan: Plan, draw: Draw, turned: TurnedField, *, cut: bool) -> Iterator[Feature]:
    counts = {one.strip: one for one in row_counts(plan, turned)}
    names = {method.letter: method.name for method in plan.methods}
    for strip in draw.strips:
        count = counts[strip.strip]
        rows = count.cut_rows if cut else count.rows
        yield Feature(
            shapely.orient_polygons(Polygon(strip.cut_outline if cut else strip.outline)),
            {
                "name": f"{strip.strip}{strip.method}",
                "strip": strip.strip,
                "block": strip.block,
                "method": strip.method,
                "way": names[strip.method],
                "rows": f"{rows[0]}-{rows[1]}",
                "width_m": strip.cut_width_m if cut else strip.width_m,
                "length_m": strip.cut_length_m if cut else strip.length_m,
                "area_m2": strip.cut_area_m2 if cut else strip.area_m2,
            },
        )


def _lines(plan: Plan, turned: TurnedField) -> Iterator[Feature]:
    order = {
        (one.line.strip, one.line.pass_in_strip): (one.number, "A to B" if one.with_heading else "B to A")
        for work in work_orders(plan, turned)
        for one in work.passes
    }
    for line in (*sowing_lines(plan, turned), *cut_lines(plan, turned)):
        number, way = order[line.strip, line.pass_in_strip] if line.kind == "sowing" else (0, "A to B")
        yield Feature(
            LineString([line.a, line.b]),
            {
                "name": line.name,
                "kind": line.kind,
                "machine": line.machine,
                "strip": line.strip,
                "block": line.block,
                "method": line.method,
                "pass": line.pass_in_strip,
                "order": number,
                "drive": way,
                "width_m": line.width_m,
                "length_m": line.length_m,
            },
        )


def _rounds(plan: Plan, field: Field) -> Iterator[Feature]:
    for one in headland_passes(plan, field):
        name = f"headland round {one.number}"
        yield Feature(one.line, {"name": name, "machine": one.machine, "round": one.number, "width_m": one.width_m})


def _marks(plan: Plan, turned: TurnedField) -> Iterator[Feature]:
    for mark in marks(plan, turned):
        strips = "/".join(str(n) for n in mark.strips)
        yield Feature(
            Point(mark.place),
            {
                "name": f"M{mark.number}",
                "number": mark.number,
                "end": mark.end,
                "strips": strips,
                "side_m": round(mark.side_m, 2),
                "ahead_m": round(mark.end_m, 2),
                "along_m": round(mark.along_edge_m, 2),
            },
        )


def _entrance(plan: Plan) -> Iterator[Feature]:
    gate = plan.layout.entrance
    if gate is not None:
        yield Feature(Point(gate.lon, gate.lat), {"name": "entrance", "text": gate.text})


def outer_rings(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons of a shape, one by one.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        WGS84 [deg].
    """
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return [part for part in parts if isinstance(part, Polygon)]
