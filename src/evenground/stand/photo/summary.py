"""The rows of a photograph in figures."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from evenground.stand.photo.found import Found
from evenground.stand.photo.rows import Line, turned_back


@dataclass(frozen=True)
class RowFound:
    """One row.

    Attributes
    ----------
    row : int
        Its number, from 1.
    lines, plants : int
        Lines (two in a twin row) and plants found [1].
    length_m : float
        Length of row in which plants were looked for, the edges left out [m].
    plants_per_metre : float
        Plants per metre of row, both lines together [1/m].
    twin_gap_m : float or None
        Distance of its two lines [m]; None in a single row.
    to_next_row_m : float or None
        Distance of its middle from the next row's [m]; None for the last.
    """

    row: int
    lines: int
    plants: int
    length_m: float
    plants_per_metre: float
    twin_gap_m: float | None
    to_next_row_m: float | None

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``rows`` of ``photo --json``."""
        return asdict(self)


def rows_found(found: Found) -> tuple[RowFound, ...]:
    """Say for each row how many plants stand on what length, and how far the lines are apart.

    Parameters
    ----------
    found : Found
        What a photograph shows.
    """
    middle = [_middle_m(row) for row in found.rows.rows]
    out = []
    for number, row in enumerate(found.rows.rows, 1):
        plants = sum(1 for p in found.plants if p.row == number)
        length = sum(_looked_at_m(found, line) for line in row) / len(row)
        per_m = plants / length if length > 0.0 else 0.0
        gap = abs(_middle_m(row[1:]) - _middle_m(row[:1])) if len(row) == 2 else None
        following = middle[number] - middle[number - 1] if number < len(middle) else None
        out.append(RowFound(number, len(row), plants, length, per_m, gap, following))
    return tuple(out)


def _middle_m(row: tuple[Line, ...]) -> float:
    """Return where a row is, square to the rows, in the middle of its length [m]."""
    return sum(line.offset_m + line.slope * (line.start_m + line.end_m) / 2.0 for line in row) / len(row)


def _looked_at_m(found: Found, line: Line) -> float:
    """Return the length of a line farther from all edges than plants were left out [m]."""
    along = np.linspace(line.start_m, line.end_m, 2001)
    x, y = turned_back(along, line.across_m(along), found.rows.angle)
    width, height = (n * found.pixel_m for n in found.size_px)
    edge = found.edge_m
    inside = (x >= edge) & (x <= width - edge) & (y >= edge) & (y <= height - edge)
    return float(inside.mean()) * (line.end_m - line.start_m) * math.hypot(1.0, line.slope)
