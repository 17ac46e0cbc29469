"""KML 2.2: strips with their letters and patterns, cuts, headland, lines and marks, one folder a layer."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiLineString, Point, Polygon

from evenground.adapters.export.layers import Feature, Layer, outer_rings
from evenground.adapters.export.xml_text import degrees, positions, xml_bytes
from evenground.adapters.svg_figure import look

NAMESPACE = "http://www.opengis.net/kml/2.2"
# Angle of the pattern lines against the strip for each place of a method among the methods; the first is plain.
_PATTERNS: tuple[tuple[str, tuple[float, ...]], ...] = (
    ("plain", ()),
    ("slanting lines", (45.0,)),
    ("cross lines", (90.0,)),
    ("crossed slanting lines", (45.0, -45.0)),
    ("lines along", (0.0,)),
    ("crossed lines", (0.0, 90.0)),
)
# Pattern lines per width of the strip.
_PER_WIDTH = 0.5


def pattern_words(letter: str, letters: tuple[str, ...]) -> str:
    """Say the pattern of a method.

    Parameters
    ----------
    letter : str
        The method.
    letters : tuple of str
        All methods in the order of the plan.

    Examples
    --------
    >>> pattern_words("B", ("A", "B"))
    'slanting lines'
    """
    return _PATTERNS[letters.index(letter) % len(_PATTERNS)][0]


def kml(found: Sequence[Layer], title: str, letters: tuple[str, ...]) -> bytes:
    """Return all layers as KML; methods are told apart by letter first, then by pattern, then by colour.

    Parameters
    ----------
    found : sequence of Layer
        What to write.
    title : str
        Name of the trial.
    letters : tuple of str
        Methods in the order of the plan.

    Source: OGC 07-147r2 (KML 2.2): coordinates as lon,lat; colours as aabbggrr.
    """
    root = ElementTree.Element("kml", {"xmlns": NAMESPACE})
    document = _child(root, "Document")
    _child(document, "name", title)
    for letter in letters:
        own = look(letter, letters)
        _style(document, f"method-{letter}", own.colour, fill=own.fill)
    _style(document, "ground", "#5d5d58")
    _style(document, "line", "#1d1d1b")
    for layer in found:
        folder = _child(document, "Folder")
        _child(folder, "name", layer.name.replace("_", " "))
        for feature in layer.features:
            _placemark(folder, layer, feature, letters)
    return xml_bytes(root)


def _style(document: ElementTree.Element, name: str, colour: str, fill: str = "") -> None:
    style = _child(document, "Style", id=name)
    line = _child(style, "LineStyle")
    _child(line, "color", _abgr(colour, "ff"))
    _child(line, "width", "2")
    area = _child(style, "PolyStyle")
    _child(area, "color", _abgr(fill or colour, "a0" if fill else "00"))


def _abgr(colour: str, opacity: str) -> str:
    """Write a colour #rrggbb as aabbggrr."""
    red, green, blue = colour[1:3], colour[3:5], colour[5:7]
    return f"{opacity}{blue}{green}{red}".lower()


def _placemark(folder: ElementTree.Element, layer: Layer, feature: Feature, letters: tuple[str, ...]) -> None:
    place = _child(folder, "Placemark")
    _child(place, "name", str(feature.properties["name"]))
    letter = str(feature.properties.get("method", ""))
    if layer.name == "strips":
        _child(place, "description", f"{letter}: {feature.properties['way']} ({pattern_words(letter, letters)})")
    style = f"method-{letter}" if letter in letters else "ground" if layer.geometry == "MultiPolygon" else "line"
    _child(place, "styleUrl", f"#{style}")
    data = _child(place, "ExtendedData")
    for name, value in feature.properties.items():
        if name != "name":
            _child(_child(data, "Data", name=name), "value", str(value))
    shapes: list[shapely.geometry.base.BaseGeometry] = [feature.geometry]
    if layer.name == "strips" and isinstance(feature.geometry, Polygon):
        shapes += _pattern(feature.geometry, letters.index(letter))
    parts = [p for shape in shapes for p in (outer_rings(shape) if shape.geom_type == "MultiPolygon" else [shape])]
    parent = _child(place, "MultiGeometry") if len(parts) > 1 else place
    for part in parts:
        _geometry(parent, part)


def _geometry(parent: ElementTree.Element, shape: shapely.geometry.base.BaseGeometry) -> None:
    if isinstance(shape, Point):
        _child(_child(parent, "Point"), "coordinates", _coordinates([(shape.x, shape.y)]))
    elif isinstance(shape, LineString):
        line = _child(parent, "LineString")
        _child(line, "tessellate", "1")
        _child(line, "coordinates", _coordinates(positions(shape)))
    elif isinstance(shape, Polygon):
        area = _child(parent, "Polygon")
        rings = [("outerBoundaryIs", shape.exterior), *(("innerBoundaryIs", ring) for ring in shape.interiors)]
        for tag, ring in rings:
            _child(_child(_child(area, tag), "LinearRing"), "coordinates", _coordinates(positions(LineString(ring))))


def _coordinates(places: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{degrees(lon)},{degrees(lat)}" for lon, lat in places)


def _pattern(strip: Polygon, place: int) -> list[LineString]:
    """Return the pattern lines of a strip, drawn in a plane stretched so that angles look right."""
    middle = strip.centroid
    squeeze = float(np.cos(np.radians(middle.y)))
    flat = affinity.scale(strip, squeeze, 1.0, origin=(middle.x, middle.y))
    corners = np.array(flat.exterior.coords)
    sides = np.diff(corners, axis=0)
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    along = float(np.degrees(np.arctan2(*sides[lengths.argmax()][::-1])))
    width, reach = float(lengths.min()), float(lengths.max())
    lines: list[LineString] = []
    for angle in _PATTERNS[place % len(_PATTERNS)][1]:
        step = width / 3.0 if angle == 0.0 else width / _PER_WIDTH
        count = int(reach / step) + 1
        raw = [LineString([(middle.x - reach, middle.y + k * step), (middle.x + reach, middle.y + k * step)])
               for k in range(-count, count + 1)]  # fmt: skip
        turned = affinity.rotate(MultiLineString(raw), along + angle, origin=(middle.x, middle.y))
        inside = shapely.get_parts(turned.intersection(flat))
        lines += [affinity.scale(p, 1.0 / squeeze, 1.0, origin=(middle.x, middle.y)) for p in inside
                  if isinstance(p, LineString) and p.length > 0.0]  # fmt: skip
    return lines


def _child(parent: ElementTree.Element, tag: str, text: str | None = None, **attributes: str) -> ElementTree.Element:
    child = ElementTree.SubElement(parent, tag, attributes)
    child.text = text
    return child
