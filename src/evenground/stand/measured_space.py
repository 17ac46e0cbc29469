"""How much room each measured plant has: growing space of the plants as they really stand in their row."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evenground.numerics.growing_cells import cells_in_rectangle

SAME_PLACE_M = 1e-4
"""Plants read at one place are set this far apart: two plants cannot share a stem."""
FEWEST_PLANTS = 3


@dataclass(frozen=True)
class MeasuredSpace:
    """Room of measured plants; each plant counts once, the first and last of every line are left out.

    Attributes
    ----------
    plants : int
        Plants whose room is known [1].
    area_m2, area_cv : float
        Mean growing space [m2] and its SD over its mean [1].
    nearest_m : float
        Mean distance to the nearest plant of the same row [m].
    compactness : float
        Mean of 4 pi area / perimeter^2 [1].
    """

    plants: int
    area_m2: float
    area_cv: float
    nearest_m: float
    compactness: float

    def as_dict(self) -> dict[str, Any]:
        """Return the key ``growing_space`` of a strip of ``stand --json``."""
        return dict(self.__dict__)


Rows = Sequence[Sequence[float]]
Room = NDArray[np.float64]


def measured_space(rows: Iterable[Rows], row_spacing_m: float, twin_gap_m: float = 0.0) -> MeasuredSpace | None:
    """Say how much room the plants of measured rows have.

    The ground of a row ends half way to its neighbours, as if they stood as mirror images of it; a tape along one row
    cannot know better.

    Parameters
    ----------
    rows : iterable of (lines of positions)
        For each row the rising positions of its one line, or of both lines of a twin row from one start [m].
    row_spacing_m : float
        Distance between row centres [m].
    twin_gap_m : float
        Distance between the two lines of a twin row [m].

    Returns
    -------
    MeasuredSpace or None
        None where no line has three plants.

    Raises
    ------
    ValueError
        If the row spacing is not above the gap, or a row has more than two lines.

    Source: Voronoi cells (`evenground.numerics.growing_cells`).
    """
    if not row_spacing_m > twin_gap_m >= 0.0:
        raise ValueError(f"the row spacing must be above the gap of the twin row, not {row_spacing_m} and {twin_gap_m}")
    found = [room for lines in rows if (room := _room(lines, row_spacing_m, twin_gap_m)) is not None]
    if not found:
        return None
    area, nearest, compactness = np.hstack(found)
    spread = float(area.std(ddof=1)) if len(area) > 1 else 0.0
    mean = float(area.mean())
    return MeasuredSpace(len(area), mean, spread / mean, float(nearest.mean()), float(compactness.mean()))


def _room(lines: Rows, row_spacing_m: float, twin_gap_m: float) -> Room | None:
    """Return area, nearest distance and compactness of the inner plants of one row, shape (3, plants)."""
    if len(lines) > 2:
        raise ValueError(f"a row has one line or two, not {len(lines)}")
    if len(lines) == 2:
        # Only where both lines were measured is it known who stands beside a plant.
        low, high = max(line[0] for line in lines), min(line[-1] for line in lines)
        margin = twin_gap_m
    else:
        low, high, margin = lines[0][0], lines[0][-1], 0.0
    across = [row_spacing_m / 2] if len(lines) == 1 else [(row_spacing_m + s * twin_gap_m) / 2 for s in (-1, 1)]
    points, inner = [], []
    for x, line in zip(across, lines, strict=True):
        places = _apart(line)
        points += [(x, y) for y in places]
        inner += [0 < i < len(places) - 1 and low + margin <= y <= high - margin for i, y in enumerate(places)]
    if sum(inner) < 1 or len(points) < FEWEST_PLANTS:
        return None
    ends = [y for _, y in points]
    start = min(ends) - row_spacing_m
    placed = np.array(points) - np.array([0.0, start])
    cells = cells_in_rectangle(placed, row_spacing_m, max(ends) - start + row_spacing_m)
    keep = np.array(inner)
    return np.vstack([cells.area[keep], cells.nearest[keep], cells.compactness[keep]])


def _apart(line: Sequence[float]) -> list[float]:
    """Set plants read at one place a little apart."""
    out: list[float] = []
    for y in line:
        out.append(max(float(y), out[-1] + SAME_PLACE_M) if out else float(y))
    assert all(math.isfinite(y) for y in out)  # positions come from checked readings
    return out
