"""The plants of a photograph: found, numbered along their rows, and given as spacing runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray
from evenground.stand.photo.gaps import usual_gap
from evenground.stand.photo.green import Pixels, find_green
from evenground.stand.photo.leaves import LeafPoints, Progress, leaf_points, pointed_at
from evenground.stand.photo.rows import Line, Rows, find_rows, no_rows, turned, turned_back
from evenground.stand.photo.stems import Stems, find_stems, leaf_reach_m, look_again, nearest_row

EDGE_M, EDGE_OVER_REACH = 0.05, 0.85
"""Plants nearer to the edge of the picture than this, or than this share of their leaves' reach, are left out: their
leaves are cut, and leaves of plants outside reach in."""
FEWEST_PLANTS = 2
"""Rows with fewer are not rows."""
BETWEEN_OVER_REACH, BETWEEN_M = 1.4, 0.22
"""Green so many times the leaves' reach from every line, or so far, stands between the rows: weeds pass for leaves that
reach far, but no five leaves reach farther."""


@dataclass(frozen=True)
class Plant:
    """One plant found.

    Attributes
    ----------
    row, line : int
        Row, and line within it, both from 1.
    position_m : float
        Along the row, from where the row enters the picture [m].
    x_px, y_px : float
        In the photograph, from its upper left corner to the right and down [pixels].
    origin : str
        "found" in the photograph or "added" by hand.
    """

    row: int
    line: int
    position_m: float
    x_px: float
    y_px: float
    origin: str = "found"


@dataclass(frozen=True)
class Found:
    """What a photograph shows.

    Attributes
    ----------
    plants : tuple of Plant
        Row by row, line by line, in order along it.
    rows : Rows
        The lines, in metres from the upper left corner.
    pixel_m : float
        Side of one pixel of the photograph on the ground [m].
    size_px : tuple of int
        Width and height of the photograph [pixels].
    green_fraction : float
        Share of the picture that is green [1].
    between_rows_fraction : float
        Share of the green that stands between the rows, out of their leaves' reach [1]: weeds, or a row not found.
    excess_green_threshold : float
        Excess green above which a pixel was taken for a plant [1].
    leaf_reach_m : float
        How far leaves reach from their stems [m].
    edge_m : float
        Plants nearer to the edge of the picture were left out [m].
    """

    plants: tuple[Plant, ...]
    rows: Rows
    pixel_m: float
    size_px: tuple[int, int]
    green_fraction: float
    between_rows_fraction: float
    excess_green_threshold: float
    leaf_reach_m: float
    edge_m: float


def find_plants(
    pixels: Pixels, work_pixel_m: float, photo_pixel_m: float, *, twin: bool | None, progress: Progress
) -> Found:
    """Find rows and plants.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (rows, columns, 3)
        Red, green, blue, taken straight down.
    work_pixel_m, photo_pixel_m : float
        Side on the ground of one of these pixels, and of one of the photograph's before it was made smaller [m].
    twin : bool or None
        Whether the rows are twin rows; None to tell from the distances.
    progress : callable
        Called with the share done [1].

    Raises
    ------
    InputError
        If nothing is green or no row can be told.
    """
    green = find_green(pixels, work_pixel_m)
    height_m, width_m = (n * work_pixel_m for n in green.mask.shape)
    points = leaf_points(green.mask, pixels, work_pixel_m, lambda share: progress(0.15 + 0.15 * share))
    rows = find_rows(*pointed_at(points, width_m, height_m), width_m, height_m, twin)
    along, across = turned(points.x_m.astype(np.float64), points.y_m.astype(np.float64), rows.angle)
    reach = leaf_reach_m(along, across, rows.rows)
    belongs, off = nearest_row(along, across, rows.rows)
    edge_m = max(EDGE_M, EDGE_OVER_REACH * reach)
    plants: list[Plant] = []
    kept: list[tuple[Line, ...]] = []
    for row, stems in zip(
        rows.rows, _stems(points, belongs, green.mask, work_pixel_m, rows, reach, progress), strict=True
    ):
        x, y = turned_back(stems.along_m, stems.across_m, rows.angle)
        inside = np.flatnonzero(_inside(x, y, width_m, height_m, edge_m))
        if inside.size < FEWEST_PLANTS:
            continue
        kept.append(row)
        along, line, start = stems.along_m, stems.line, row_start_m(row)
        for i in inside:
            place = (float(along[i]) - start, float(x[i]) / photo_pixel_m, float(y[i]) / photo_pixel_m)
            plants.append(Plant(len(kept), int(line[i]) + 1, *place))
    if not kept:
        raise no_rows(len(rows.rows))
    progress(1.0)
    return Found(
        tuple(plants),
        Rows(rows.angle, tuple(kept)),
        photo_pixel_m,
        (round(width_m / photo_pixel_m), round(height_m / photo_pixel_m)),
        green.share,
        float((off > min(BETWEEN_M, BETWEEN_OVER_REACH * reach)).mean()),
        green.threshold,
        reach,
        edge_m,
    )


def _stems(
    points: LeafPoints,
    belongs: npt.NDArray[np.int64],
    mask: BoolArray,
    pixel_m: float,
    rows: Rows,
    reach_m: float,
    progress: Progress,
) -> list[Stems]:
    """Find the stems of all rows, then look at each row again with the gap usual in the picture."""
    out, number = list[Stems](), len(rows.rows)
    for k, row in enumerate(rows.rows):
        progress(0.35 + 0.5 * k / number)
        out.append(find_stems(points.some(belongs == k), mask, pixel_m, rows.angle, row, reach_m))
    usual = usual_gap(np.concatenate([stems.gaps_m for stems in out]))
    if usual is None:
        return out
    for k in range(number):
        progress(0.85 + 0.15 * k / number)
        out[k] = look_again(out[k], usual, reach_m)
    return out


def row_start_m(row: Sequence[Line]) -> float:
    """Return where the positions of a row start: where the first of its lines enters the picture [m].

    Parameters
    ----------
    row : sequence of Line
        The row's one or two lines.
    """
    return min(line.start_m for line in row)


def _inside(x: FloatArray, y: FloatArray, width_m: float, height_m: float, edge_m: float) -> BoolArray:
    return (x >= edge_m) & (x <= width_m - edge_m) & (y >= edge_m) & (y <= height_m - edge_m)
