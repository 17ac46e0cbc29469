"""GPX 1.1 for a phone: a route for every pass of a planter, a waypoint for every mark and the entrance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from xml.etree import ElementTree

from evenground.adapters.export.layers import Layer, Value
from evenground.adapters.export.xml_text import degrees, positions, xml_bytes

NAMESPACE = "http://www.topografix.com/GPX/1/1"


def gpx(found: Sequence[Layer], title: str) -> bytes:
    """Return marks and entrance as waypoints and sowing lines as routes.

    Parameters
    ----------
    found : sequence of Layer
        Layers ``marks``, ``entrance`` and ``lines`` are written; areas have no place in this format.
    title : str
        Name of the trial.

    Source: GPX 1.1 schema: ``gpx`` needs version and creator; metadata, wpt and rte in this order; in a wpt name
    before desc.
    """
    root = ElementTree.Element("gpx", {"version": "1.1", "creator": "evenground", "xmlns": NAMESPACE})
    _add(ElementTree.SubElement(root, "metadata"), "name", title)
    for layer in found:
        if layer.geometry == "Point":
            for feature in layer.features:
                point = ElementTree.SubElement(root, "wpt", _place(*feature.geometry.coords[0]))
                _add(point, "name", str(feature.properties["name"]))
                _add(point, "desc", _words(feature.properties))
    for feature in (f for layer in found if layer.name == "lines" for f in layer.features):
        if feature.properties["kind"] != "sowing":
            continue
        route = ElementTree.SubElement(root, "rte")
        _add(route, "name", str(feature.properties["name"]))
        _add(route, "desc", f"{feature.properties['machine']}: pass {feature.properties['order']} in order")
        for letter, at in zip("AB", positions(feature.geometry), strict=True):
            _add(ElementTree.SubElement(route, "rtept", _place(*at)), "name", letter)
    return xml_bytes(root)


def _place(lon: float, lat: float, *_: Any) -> dict[str, str]:  # noqa: ANN401 - a height, if there is one
    return {"lat": degrees(lat), "lon": degrees(lon)}


def _add(parent: ElementTree.Element, tag: str, text: str) -> None:
    ElementTree.SubElement(parent, tag).text = text


def _words(properties: Mapping[str, Value]) -> str:
    if "side_m" not in properties:
        return str(properties.get("text", ""))
    return (
        f"corner of strip {properties['strips']}, {properties['end']}: {properties['side_m']} m from the edge at the "
        f"side, {properties['ahead_m']} m from the edge ahead"
    )
