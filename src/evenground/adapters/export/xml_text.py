"""What the XML formats share: a tree turned into bytes, and numbers as they stand in attributes."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

# Nine decimals of a degree are 0.1 mm.
DECIMALS = 9


def xml_bytes(root: ElementTree.Element) -> bytes:
    """Return a tree as indented XML in UTF-8, with its declaration.

    Parameters
    ----------
    root : Element
        The tree; it is indented in place.
    """
    for element in root.iter():
        element.text = None if element.text is None else printable(element.text)
        for name, value in element.attrib.items():
            element.set(name, printable(value))
    ElementTree.indent(root, " ")
    text = ElementTree.tostring(root, encoding="unicode", short_empty_elements=True)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def printable(text: str) -> str:
    r"""Leave out the characters XML 1.0 has no place for.

    Examples
    --------
    >>> printable("ditch\x0b\x00 east")
    'ditch east'
    """
    return re.sub(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "", text)


def degrees(value: float) -> str:
    """Write a longitude or latitude [deg].

    Examples
    --------
    >>> degrees(3.4), degrees(-0.00000000012)
    ('3.400000000', '0.000000000')
    """
    text = f"{value:.{DECIMALS}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def short(text: str, most: int = 32) -> str:
    """Cut a text to a number of characters, with an ellipsis where something is lost.

    Examples
    --------
    >>> short("ditch"), short("the long field behind the barn, west", 16)
    ('ditch', 'the long field…')
    """
    text = " ".join(text.split())
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def positions(shape: BaseGeometry) -> list[tuple[float, float]]:
    """Return the positions of a line, or of the outer ring of a polygon, as longitude and latitude [deg].

    Parameters
    ----------
    shape : LineString or Polygon
        WGS84.
    """
    ring = shape.exterior if isinstance(shape, Polygon) else shape
    return [(float(x), float(y)) for x, y, *_ in ring.coords]
