"""Outlines walked round in the field, as one cell of a table: corners in longitude and latitude."""

from __future__ import annotations

import re

from evenground.basis.record import Contradictions

Corners = tuple[tuple[float, float], ...]

FORM = "corners such as 9.1 51.2; 9.2 51.2; 9.2 51.3, or POLYGON ((9.1 51.2, 9.2 51.2, ...))"
FEWEST_CORNERS = 3


def corners_of(text: str) -> Corners:
    """Read an outline: longitude and latitude of each corner, joined by ``;``, or a polygon as well-known text.

    Parameters
    ----------
    text : str
        The cell; well-known text is that of the Open Geospatial Consortium's simple features.

    Returns
    -------
    tuple of (lon, lat)
        Corners in their order, the last one not repeated [deg].

    Raises
    ------
    Contradictions
        If it is not an outline; the message says why.

    Examples
    --------
    >>> corners_of("9.1 51.2; 9.2 51.2; 9.2 51.3")
    ((9.1, 51.2), (9.2, 51.2), (9.2, 51.3))
    """
    known = re.fullmatch(r"\s*polygon\s*\(\((?P<ring>[^()]*)\)\)\s*", text, re.IGNORECASE)
    parts = re.split(r",", known["ring"]) if known else re.split(r";", text)
    found = [_corner(part, text) for part in parts if part.strip()]
    if len(found) > 1 and found[0] == found[-1]:
        found.pop()
    if len(set(found)) < FEWEST_CORNERS:
        raise Contradictions([("", text, FORM, "an outline has at least three corners.")])
    return tuple(found)


def _corner(part: str, text: str) -> tuple[float, float]:
    numbers = part.replace(",", ".").split()
    try:
        lon, lat = (float(n) for n in numbers)
    except ValueError:
        raise Contradictions([("", text, FORM, f"{part.strip()!r} is not a longitude and a latitude.")]) from None
    if not (-180.0 <= lon <= 180.0 and -90.0 <= lat <= 90.0):
        message = f"{part.strip()!r} lies outside the globe; longitude goes first, in degrees."
        raise Contradictions([("", text, FORM, message)])
    return lon, lat
