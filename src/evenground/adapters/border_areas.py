"""Two areas beside each other, one method each, drawn in any map program."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import shapely
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from evenground.adapters.geojson import read_json
from evenground.adapters.reading import read_bytes
from evenground.basis.errors import InputError, problem
from evenground.basis.field import LocalPlane

AREAS_FILE = "border_areas.geojson"


def read_areas(path: Path) -> tuple[dict[str, BaseGeometry], dict[str, date]]:
    """Read two areas with their methods and, if said, sowing days; nothing where there is no such file.

    Parameters
    ----------
    path : Path
        GeoJSON.

    Raises
    ------
    InputError
        With every problem found.
    """
    if not path.is_file():
        return {}, {}
    content, problems = read_json(read_bytes(path, AREAS_FILE), AREAS_FILE)
    features = content.get("features", []) if isinstance(content, dict) else []
    areas: dict[str, BaseGeometry] = {}
    days: dict[str, date] = {}
    for i, item in enumerate(features if isinstance(features, list) else []):
        where = f"features[{i}]"
        said = item.get("properties") if isinstance(item, dict) else None
        said = said if isinstance(said, dict) else {}
        name = said.get("method")
        outline = _outline(item.get("geometry") if isinstance(item, dict) else None)
        if not isinstance(name, str) or not name:
            problems.append(
                problem("this area names no method.", file=AREAS_FILE, field=f"{where}.method", allowed="a letter")
            )
        elif outline is None:
            text, allowed = "this is no sound area.", "a Polygon in longitude and latitude that does not cross itself"
            problems.append(problem(text, file=AREAS_FILE, field=f"{where}.geometry", allowed=allowed))
        else:
            areas[name] = outline if name not in areas else areas[name].union(outline)
            if isinstance(said.get("sown"), str):
                try:
                    days[name] = date.fromisoformat(said["sown"])
                except ValueError:
                    given, allowed = said["sown"], "a day such as 2026-05-04"
                    problems.append(
                        problem("this is no day.", file=AREAS_FILE, field=f"{where}.sown", given=given, allowed=allowed)
                    )
    if not problems and len(areas) != 2:
        given = ", ".join(areas)
        problems.append(
            problem("a border has two areas.", file=AREAS_FILE, field="method", given=given, allowed="two methods")
        )
    if problems:
        raise InputError(problems)
    return areas, days


def _outline(geometry: object) -> BaseGeometry | None:
    if not isinstance(geometry, dict) or geometry.get("type") not in ("Polygon", "MultiPolygon"):
        return None
    try:
        found: BaseGeometry = shape(geometry)
    except (ValueError, TypeError, AttributeError, shapely.errors.ShapelyError):
        return None
    if found.is_empty or not found.is_valid:
        return None
    low_x, low_y, high_x, high_y = found.bounds
    return found if max(-low_x, high_x) <= 180.0 and max(-low_y, high_y) <= 90.0 else None


def plane_of(areas: Mapping[str, BaseGeometry]) -> LocalPlane | None:
    """Return the metric plane around two areas [deg]; None where there are none."""
    if not areas:
        return None
    centre = shapely.union_all(list(areas.values())).centroid
    return LocalPlane(centre.x, centre.y)
