"""Earlier yields of a field: a table of places and values beside the plan."""

from __future__ import annotations

import math
from pathlib import Path

from evenground.adapters.number_style import NumberStyle
from evenground.adapters.tables import column, missing_columns, numbers, read_table
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.field import PointLayer

EARLIER_YIELDS_FILE = "earlier_yields.csv"
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
