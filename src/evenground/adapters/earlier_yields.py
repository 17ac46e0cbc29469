"""Earlier yields and other values at points of a field: a table or GeoJSON beside the plan."""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from evenground.adapters.geojson import LARGEST_GEOJSON_BYTES, read_json
from evenground.adapters.number_style import NumberStyle
from evenground.adapters.plan_file import LARGEST_PLAN_BYTES, PLAN_FILE, FileStyle, read_plan
from evenground.adapters.reading import read_bytes
from evenground.adapters.tables import column, missing_columns, numbers, read_table
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.field import PointLayer

EARLIER_YIELDS_FILE = "earlier_yields.csv"
GROUND_POINTS_FILE = "ground_points.geojson"
MOST_POINTS = 200_000
# A table in metres is one mistake, not ten thousand.
MOST_FAULTS = 20
COLUMNS = ("lon", "lat", "value")


def read_earlier_yields(folder: Path, number_style: NumberStyle | None = None) -> tuple[PointLayer, ...]:
    """Read ``earlier_yields.csv`` of a trial folder: columns ``lon``, ``lat``, ``value`` and, if several, ``layer``.

    Parameters
    ----------
    folder : Path
        The trial folder.
    number_style : NumberStyle, optional
        How its numbers are written, where the file leaves it open.

    Returns
    -------
    tuple of PointLayer
        One a layer, rows with an empty value left out; none where there is no such file.

    Raises
    ------
    InputError
        With every problem found.
    """
    path = folder / EARLIER_YIELDS_FILE
    if not path.is_file():
        return ()
    table = read_table(path, number_style=number_style, number_columns=COLUMNS)
    problems: list[Problem] = [*table.problems, *missing_columns(table, COLUMNS)]
    if problems:
        raise InputError(problems)
    lon, lon_faults = numbers(table, "lon")
    lat, lat_faults = numbers(table, "lat")
    value, value_faults = numbers(table, "value", empty_allowed=True)
    problems += [*lon_faults, *lat_faults, *value_faults]
    for line, x, y in zip(table.lines, lon, lat, strict=False):
        if x is not None and y is not None and not (abs(x) <= 180 and abs(y) <= 90) and len(problems) < MOST_FAULTS:
            message, given = "there is no such place on the globe.", f"{x:g}, {y:g}"
            allowed = "longitude -180 to 180, latitude -90 to 90"
            problems.append(
                problem(message, file=EARLIER_YIELDS_FILE, row=line, field="lon, lat", given=given, allowed=allowed)
            )
    if len(value) > MOST_POINTS:
        allowed = f"at most {MOST_POINTS} rows"
        problems.append(problem("too many points.", file=EARLIER_YIELDS_FILE, given=len(value), allowed=allowed))
    if problems:
        raise InputError(problems)
    names = column(table, "layer") if "layer" in table.columns else ("earlier yields",) * len(value)
    rows: dict[str, list[tuple[float, float, float]]] = {}
    for x, y, z, name in zip(lon, lat, value, names, strict=True):
        if x is not None and y is not None and z is not None and math.isfinite(z):
            rows.setdefault(name or "earlier yields", []).append((x, y, z))
    return tuple(PointLayer(name, *zip(*points, strict=True)) for name, points in rows.items())


def read_point_layers(folder: Path) -> tuple[PointLayer, ...]:
    """Read everything a trial folder knows at points: ``earlier_yields.csv`` and ``ground_points.geojson``.

    How numbers are written in the table is taken from section ``[files]`` of the plan, where it says so.

    Parameters
    ----------
    folder : Path
        The trial folder.

    Returns
    -------
    tuple of PointLayer
        One a layer and file; none where neither file is there.

    Raises
    ------
    InputError
        With every problem found in either file.
    """
    problems: list[Problem] = []
    layers: list[PointLayer] = []
    style = FileStyle()
    if (folder / PLAN_FILE).is_file():
        files = read_plan(read_bytes(folder / PLAN_FILE, PLAN_FILE, LARGEST_PLAN_BYTES)).files
        style = files.get(EARLIER_YIELDS_FILE, style)
    try:
        layers += read_earlier_yields(folder, style.number_style)
    except InputError as error:
        problems += error.problems
    try:
        layers += read_ground_points(folder)
    except InputError as error:
        problems += error.problems
    if problems:
        raise InputError(problems)
    return tuple(layers)


def read_ground_points(folder: Path) -> tuple[PointLayer, ...]:
    """Read ``ground_points.geojson``: point features with a number ``value`` and, if several, a ``layer``.

    Parameters
    ----------
    folder : Path
        The trial folder.

    Returns
    -------
    tuple of PointLayer
        One a layer, points with an empty value left out; none where there is no such file.

    Raises
    ------
    InputError
        With every problem found, twenty at the most.
    """
    path, file = folder / GROUND_POINTS_FILE, GROUND_POINTS_FILE
    if not path.is_file():
        return ()
    content, problems = read_json(read_bytes(path, file, LARGEST_GEOJSON_BYTES), file)
    features = content.get("features") if isinstance(content, dict) else None
    if not problems and not isinstance(features, list):
        problems = [problem("this is no collection of features.", file=file, allowed="a GeoJSON FeatureCollection")]
    rows: dict[str, list[tuple[float, float, float]]] = {}
    for i, feature in enumerate(features or ()):
        if len(problems) >= MOST_FAULTS:
            break
        found, faults = _point(feature, f"features[{i}]")
        problems += faults
        if found is not None:
            rows.setdefault(found[0], []).append(found[1])
    if sum(map(len, rows.values())) > MOST_POINTS:
        allowed = f"at most {MOST_POINTS} points"
        problems.append(problem("too many points.", file=file, given=len(features or ()), allowed=allowed))
    if problems:
        raise InputError(problems)
    return tuple(PointLayer(name, *zip(*points, strict=True)) for name, points in rows.items())


def _point(feature: object, place: str) -> tuple[tuple[str, tuple[float, float, float]] | None, list[Problem]]:
    """Read one feature: layer and longitude, latitude, value; None where the value is empty or something is wrong."""
    shape, said = _part(feature, "geometry"), _part(feature, "properties")
    if shape.get("type") != "Point":
        message = "only points are read here; areas belong into field.geojson with the role soil_zone."
        return None, [_wrong(message, f"{place}.geometry", shape.get("type"), "Point")]
    at, value, name = shape.get("coordinates"), said.get("value"), said.get("layer")
    if not isinstance(at, list) or len(at) < 2 or not _are_numbers(at[:2]) or abs(at[0]) > 180 or abs(at[1]) > 90:
        allowed = "longitude -180 to 180, latitude -90 to 90"
        return None, [_wrong("there is no such place on the globe.", f"{place}.geometry.coordinates", at, allowed)]
    if value is None:
        return None, []
    if not _are_numbers([value]):
        return None, [_wrong("this is not a number.", f"{place}.properties.value", value, "a number")]
    return (str(name) if name not in (None, "") else "ground points", (float(at[0]), float(at[1]), float(value))), []


def _part(feature: object, name: str) -> dict[str, Any]:
    part = feature.get(name) if isinstance(feature, dict) else None
    return part if isinstance(part, dict) else {}


def _wrong(message: str, field: str, given: object, allowed: str) -> Problem:
    return problem(message, file=GROUND_POINTS_FILE, field=field, given=given, allowed=allowed)


def _are_numbers(values: Iterable[object]) -> bool:
    return all(isinstance(v, int | float) and not isinstance(v, bool) and math.isfinite(v) for v in values)
