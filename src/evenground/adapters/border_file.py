"""Reading what was measured on both sides of a border: yields with or without places, areas, where was sown what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

from evenground.adapters.border_areas import AREAS_FILE, plane_of, read_areas
from evenground.adapters.number_style import NumberStyle, iso_time
from evenground.adapters.plan_file import LARGEST_PLAN_BYTES, PLAN_FILE, FileStyle, read_plan
from evenground.adapters.reading import read_bytes
from evenground.adapters.tables import Table, missing_columns, numbers, read_table
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.field import Field, LocalPlane, PointLayer
from evenground.fairness.border_sides import Measured

BORDER_FILE, SOWN_FILE = "border.csv", "border_sown.csv"
VALUE = "value"
MOST_POINTS = 100_000
MOST_T_PER_HA = 200.0
# A yield point takes the method of the nearest sowing place no farther off than this. Judgement.
SOWN_WITHIN_M = 8.0
# Earlier yields are the mean of up to four points no farther off than this. Judgement.
EARLIER_WITHIN_M = 15.0
# Points may lie this far outside the field's outline: receivers and outlines are off by some metres.
OUTSIDE_M = 50.0
MOST_FAULTS = 20
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BorderRead:
    """What was read of a border.

    Attributes
    ----------
    measured : Measured or None
        Yields, the method of each row filled in where areas or sowing places say it; None where there are none yet.
    areas : mapping of str to shape
        Outline of each method's area in the plane [m]; empty if not drawn.
    sown : mapping of str to date
        Sowing day by method, the middle one of its rows.
    notes : tuple of str
        How it was read.
    """

    measured: Measured | None
    areas: Mapping[str, BaseGeometry]
    sown: Mapping[str, date]
    notes: tuple[str, ...] = ()


def read_border_file(
    path: Path, *, file: str = "", number_style: NumberStyle | None = None, value: str = VALUE
) -> BorderRead:
    """Read one table of yields or weights with the side each row lies on.

    Columns: ``method`` (or ``side``), ``value``; places as ``x`` and ``y`` [m] or ``lon`` and ``lat`` [deg], none for
    weights alone; if known ``sown`` (a day) and earlier yields in columns whose name begins with ``earlier``.

    Parameters
    ----------
    path : Path
        The table.
    file : str
        Its name in messages.
    number_style : NumberStyle or None
        How its numbers are written, where the user has said so.
    value : str
        Column with the yields [t/ha].

    Raises
    ------
    InputError
        With every problem found.
    """
    table = _table(path, file or path.name, number_style, value)
    measured, sown, _ = _measured(table, value, None)
    if not any(measured.method):
        raise InputError(missing_columns(table, ["method"]))
    return BorderRead(measured, {}, sown)


def read_border_folder(
    folder: Path,
    field: Field | None,
    layers: Sequence[PointLayer],
    *,
    number_style: NumberStyle | None = None,
    value: str = VALUE,
) -> BorderRead:
    """Read a border from a trial folder: yields, and which area, log or column says the method.

    Parameters
    ----------
    folder : Path
        Holds ``border.csv`` and, if the rows do not name their method, ``border_areas.geojson`` (two areas) or
        ``border_sown.csv`` (places where each method was sown, walked or from a planter's log).
    field : Field or None
        The field's outline; points of another place are refused.
    layers : sequence of PointLayer
        Earlier yields of the field.
    number_style, value
        As `read_border_file`; the plan's section ``[files]`` counts where no style is given.

    Raises
    ------
    InputError
        With every problem found.
    """
    drawn, days = read_areas(folder / AREAS_FILE)
    plane = field.plane if field is not None else plane_of(drawn)
    areas = {m: plane.to_metres(a) for m, a in drawn.items()} if plane is not None else {}
    if not (folder / BORDER_FILE).is_file():
        if not drawn:
            plan = "plan two areas on the map (border_areas.geojson)"
            text = f"there is nothing to compare; bring in a table of yields, or {plan}."
            raise InputError([problem(text, file=BORDER_FILE, allowed="a table of yields or weights")])
        return BorderRead(None, areas, days, ("The areas are planned; there are no yields yet.",))
    said = said_style(folder, BORDER_FILE)
    table = _table(folder / BORDER_FILE, BORDER_FILE, number_style or said.number_style, value, said.date_style)
    measured, sown, plane = _measured(table, value, plane)
    places = _sown_places(folder / SOWN_FILE, plane, number_style or said_style(folder, SOWN_FILE).number_style)
    measured = _with_methods(measured, areas, places)
    if field is not None and plane is not None:
        _inside(measured, plane.to_metres(field.boundary))
    if plane is not None:
        measured = replace(measured, earlier={**measured.earlier, **_earlier(measured, plane, layers)})
    return BorderRead(measured, areas, {**days, **sown})


def said_style(folder: Path, file: str) -> FileStyle:
    """Return how a file is written, where section ``[files]`` of the trial's plan says so.

    Parameters
    ----------
    folder : Path
        The trial folder.
    file : str
        Name of the file in it.
    """
    if not (folder / PLAN_FILE).is_file():
        return FileStyle()
    return read_plan(read_bytes(folder / PLAN_FILE, PLAN_FILE, LARGEST_PLAN_BYTES)).files.get(file, FileStyle())


# The table -------------------------------------------------------------------------------------------------------


def _table(path: Path, file: str, number_style: NumberStyle | None, value: str, date_style: str | None = None) -> Table:
    table = read_table(
        path,
        file=file,
        number_style=number_style,
        date_style=date_style,
        number_columns=(value, "x", "y", "lon", "lat"),
        date_columns=("sown",),
    )
    problems = missing_columns(table, [value])
    if len(table.rows) > MOST_POINTS:
        given, allowed = f"{len(table.rows)} rows", f"at most {MOST_POINTS} rows"
        problems.append(problem("too many points; leave some out.", file=file, given=given, allowed=allowed))
    if not table.rows:
        problems.append(problem("this table has no rows.", file=file, allowed="one row a point or a weight"))
    if problems:
        raise InputError(problems)
    return table


def _measured(
    table: Table, value: str, plane: LocalPlane | None
) -> tuple[Measured, dict[str, date], LocalPlane | None]:
    """Read rows, sowing days and the plane the places are in."""
    yields, problems = numbers(table, value)
    for line, one in zip(table.lines, yields, strict=True):
        if one is not None and not 0.0 <= one <= MOST_T_PER_HA and len(problems) < MOST_FAULTS:
            text = "this is no yield in t/ha." + (" Is it kg/ha?" if one > MOST_T_PER_HA else "")
            allowed = f"0 to {MOST_T_PER_HA:g} t/ha"
            problems.append(problem(text, file=table.file, row=line, field=value, given=f"{one:g}", allowed=allowed))
    x, y, plane, faults = _places(table, plane)
    problems += faults
    earlier = {}
    for name in (c for c in table.columns if c.startswith("earlier")):
        found, faults = numbers(table, name, empty_allowed=True)
        earlier[name] = np.array([np.nan if v is None else v for v in found])
        problems += faults
    method = _methods(table)
    sown, faults = _days(table, method)
    problems += faults
    if problems:
        raise InputError(problems[:MOST_FAULTS])
    return Measured(table.file, method, np.array(yields, dtype=np.float64), x, y, earlier), sown, plane


def _methods(table: Table) -> tuple[str, ...]:
    name = next((n for n in ("method", "side") if n in table.columns), None)
    return tuple(row[name] if name else "" for row in table.rows)


def _places(
    table: Table, plane: LocalPlane | None
) -> tuple[Floats | None, Floats | None, LocalPlane | None, list[Problem]]:
    """Return places in metres; none where the table has none."""
    pairs = [p for p in (("x", "y"), ("lon", "lat")) if any(n in table.columns for n in p)]
    if not pairs:
        return None, None, plane, []
    if len(pairs) > 1:
        text, allowed = "places stand here twice.", "x and y in metres, or lon and lat in degrees"
        return None, None, plane, [problem(text, file=table.file, row=1, given="x, y, lon, lat", allowed=allowed)]
    at, problems = _coordinates(table, pairs[0])
    if problems:
        return None, None, plane, problems
    if pairs[0] == ("x", "y"):
        return at[:, 0], at[:, 1], None, []
    plane = plane or LocalPlane(float(np.median(at[:, 0])), float(np.median(at[:, 1])))
    metres = shapely.get_coordinates(plane.to_metres(MultiPoint(at)))
    return metres[:, 0], metres[:, 1], plane, []


def _coordinates(table: Table, pair: tuple[str, str]) -> tuple[Floats, list[Problem]]:
    """Read two columns of places, in metres or degrees."""
    problems: list[Problem] = missing_columns(table, pair)
    if problems:
        return np.empty((0, 2)), problems
    (first, one), (second, two) = (numbers(table, n) for n in pair)
    if one or two:
        return np.empty((0, 2)), [*one, *two]
    at = np.column_stack([np.array(first, dtype=np.float64), np.array(second, dtype=np.float64)])
    wrong = (np.abs(at[:, 0]) > 180.0) | (np.abs(at[:, 1]) > 90.0)
    if pair == ("lon", "lat") and wrong.any():
        k = int(np.argmax(wrong))
        text, given = "there is no such place on the globe; were the two swapped?", f"{at[k, 0]:g}, {at[k, 1]:g}"
        allowed = "longitude -180 to 180, latitude -90 to 90"
        return at, [problem(text, file=table.file, row=table.lines[k], field="lon, lat", given=given, allowed=allowed)]
    return at, []


def _days(table: Table, method: Sequence[str]) -> tuple[dict[str, date], list[Problem]]:
    """Return the middle sowing day of each method's rows."""
    if "sown" not in table.columns:
        return {}, []
    days: dict[str, list[date]] = {}
    problems = []
    for row, line, name in zip(table.rows, table.lines, method, strict=True):
        if not row["sown"]:
            continue
        try:
            day = date.fromisoformat(iso_time(row["sown"], table.date_style))
            days.setdefault(name, []).append(day)
        except ValueError:
            text, allowed = "this is no day.", "a day such as 2026-05-04"
            given = row["sown"]
            problems.append(problem(text, file=table.file, row=line, field="sown", given=given, allowed=allowed))
    return {n: sorted(d)[(len(d) - 1) // 2] for n, d in days.items() if n}, problems


# Sowing places, field and earlier yields --------------------------------------------------------------------


def _sown_places(
    path: Path, plane: LocalPlane | None, number_style: NumberStyle | None
) -> tuple[Floats, tuple[str, ...]] | None:
    """Read where each method was sown; None where there is no such file."""
    if not path.is_file():
        return None
    table = read_table(path, file=SOWN_FILE, number_style=number_style, number_columns=("x", "y", "lon", "lat"))
    x, y, _, problems = _places(table, plane)
    problems += missing_columns(table, ["method"])
    if x is None or y is None:
        problems = problems or [problem("places are missing.", file=SOWN_FILE, allowed="lon and lat, or x and y")]
    if problems or x is None or y is None:
        raise InputError(problems)
    return np.column_stack([x, y]), _methods(table)


def sown_methods(path: Path, number_style: NumberStyle | None = None) -> tuple[str, ...]:
    """Read where each method was sown, and return the methods named; the table is to be kept as ``border_sown.csv``.

    Parameters
    ----------
    path : Path
        A table with ``lon``, ``lat`` (or ``x``, ``y``) and ``method``.
    number_style : NumberStyle or None
        How its numbers are written, where the user has said so.

    Raises
    ------
    InputError
        With every problem found; also where there are not two methods.
    """
    read = _sown_places(path, None, number_style)
    methods = tuple(dict.fromkeys(m for m in read[1] if m)) if read is not None else ()
    if len(methods) != 2:
        given, text = ", ".join(methods), "a border has two sides, with one method each."
        raise InputError([problem(text, file=SOWN_FILE, field="method", given=given, allowed="two methods")])
    return methods


def _with_methods(
    measured: Measured, areas: Mapping[str, BaseGeometry], places: tuple[Floats, tuple[str, ...]] | None
) -> Measured:
    """Fill in the method of rows that do not name it, from where they lie."""
    if all(measured.method):
        return measured
    if measured.x is None or measured.y is None or not (areas or places):
        text = "some rows name no method, and nothing else says it."
        allowed = "a column method, border_areas.geojson or border_sown.csv"
        raise InputError([problem(text, file=measured.file, field="method", allowed=allowed)])
    at = np.column_stack([measured.x, measured.y])
    found = list(measured.method)
    if areas:
        points = shapely.points(at)
        for name, area in areas.items():
            inside = np.atleast_1d(shapely.intersects(area, points))
            found = [m or (name if i else "") for m, i in zip(found, inside, strict=True)]
    if places is not None:
        # points with no sowing place near by get the index one beyond the last
        _, which = cKDTree(places[0]).query(at, distance_upper_bound=SOWN_WITHIN_M)
        names = [(*places[1], "")[k] for k in np.atleast_1d(which)]
        found = [m or n for m, n in zip(found, names, strict=True)]
    return replace(measured, method=tuple(found))


def _inside(measured: Measured, boundary: BaseGeometry) -> None:
    """Refuse points of another place."""
    if measured.x is None or measured.y is None:
        return
    points = shapely.points(np.column_stack([measured.x, measured.y]))
    outside = np.atleast_1d(shapely.distance(points, boundary)) > OUTSIDE_M
    if outside.any():
        text = f"{int(outside.sum())} of {len(outside)} points lie outside the field: another place?"
        allowed = f"at most {OUTSIDE_M:g} m outside field.geojson"
        raise InputError([problem(text, file=measured.file, field="lon, lat", allowed=allowed)])


def _earlier(measured: Measured, plane: LocalPlane, layers: Sequence[PointLayer]) -> dict[str, Floats]:
    """Return earlier yields at the places of this season: the mean of up to four points near by, NaN without one."""
    out: dict[str, Floats] = {}
    if measured.x is None or measured.y is None:
        return out
    at = np.column_stack([measured.x, measured.y])
    for layer in layers:
        there = shapely.get_coordinates(plane.to_metres(MultiPoint(np.column_stack([layer.lon, layer.lat]))))
        _, which = cKDTree(there).query(at, k=4, distance_upper_bound=EARLIER_WITHIN_M)
        known = np.append(np.array(layer.value, dtype=np.float64), np.nan)[which]
        counts = np.isfinite(known).sum(axis=1)
        sums = np.where(np.isfinite(known), known, 0.0).sum(axis=1)
        out[layer.name] = np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
    return out
