"""Stands as a machine and the soil make them: seeds out of place, misses, doubles, and seeds that do not come up."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from evenground.basis.method import RowPattern
from evenground.numerics.arrays import FloatArray, IntArray
from evenground.numerics.growing_cells import Cells, Progress, cells_in_rectangle
from evenground.sowing.seed_spacing import in_line_spacing_m

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
MOST_ROWS = 48
# A double falls this share of the target beyond its fellow: inside the class of multiples (up to half the target).
DOUBLE_GAP = (0.05, 0.3)


@dataclass(frozen=True)
class SowingQuality:
    """What a planter and the seed-bed make of the settings.

    Attributes
    ----------
    precision : float
        Spread of the gaps that are spaced right, as a share of the target [1]; ISO 7256-1 calls it precision.
    miss_share, double_share : float
        Places without a seed, and with two, as shares of all places [1].
    lateral_sd_m : float
        Standard deviation of seeds beside their line [m].
    emergence_fraction : float
        Share of seeds that become plants [1].
    """

    # The defaults are common practice, no source: a planter in order at a moderate speed.
    precision: float = 0.2
    miss_share: float = 0.03
    double_share: float = 0.02
    lateral_sd_m: float = 0.01
    emergence_fraction: float = 0.93

    def __post_init__(self) -> None:
        # Gaps spread evenly over their whole class have a precision of 1/sqrt(12) = 0.289, the practical upper limit.
        limits = {
            "precision": (0.0, 0.28), "miss_share": (0.0, 0.5), "double_share": (0.0, 0.5),
            "lateral_sd_m": (0.0, 0.2), "emergence_fraction": (0.05, 1.0),
        }  # fmt: skip
        for name, (low, high) in limits.items():
            if not low <= getattr(self, name) <= high:
                raise ValueError(f"{name} must be {low:g} to {high:g}, not {getattr(self, name)}")


ASSUMED = SowingQuality()
"""Where nothing was measured: common practice, no source."""


@dataclass(frozen=True)
class SimulatedStand:
    """Plants of a piece of field.

    Attributes
    ----------
    width_m, length_m : float
        Across and along the rows [m].
    places_m : ndarray, shape (plants, 2)
        Across and along [m].
    line : ndarray of int, shape (plants,)
        Line of each plant, counted across the field from 0.
    target_spacing_m : float
        Distance between places of one line [m].
    """

    width_m: float
    length_m: float
    places_m: FloatArray
    line: IntArray
    target_spacing_m: float


@dataclass(frozen=True)
class StandSpace:
    """The room the plants of a stand have; plants at the edge of the piece are left out.

    Attributes
    ----------
    plants, counted : int
        Plants of the piece, and those not at its edge [1].
    plants_per_m2 : float
        Plants on a square metre [1/m2].
    growing_space_mean_m2, growing_space_sd_m2 : float
        Of the plants counted [m2].
    nearest_neighbour_mean_m, nearest_neighbour_sd_m : float
        Of the plants counted [m].
    growing_space_m2, nearest_neighbour_m : tuple of float
        Values that 5, 25, 50, 75 and 95 % of the plants do not exceed [m2; m].
    compactness_mean : float
        Mean of 4 pi area / outline^2 [1].
    """

    plants: int
    counted: int
    plants_per_m2: float
    growing_space_mean_m2: float
    growing_space_sd_m2: float
    nearest_neighbour_mean_m: float
    nearest_neighbour_sd_m: float
    growing_space_m2: tuple[float, ...]
    nearest_neighbour_m: tuple[float, ...]
    compactness_mean: float


def simulate_stand(
    pattern: RowPattern,
    seeds_per_m2: float,
    rows: int,
    length_m: float,
    quality: SowingQuality,
    rng: np.random.Generator,
) -> SimulatedStand:
    """Sow a piece of field and let it come up.

    Rows do not know of each other, so each starts at a place of its own; the lines of a twin row keep their stagger.

    Parameters
    ----------
    pattern : RowPattern
        Single rows, twin rows or bands; the seeds of a band fall anywhere over its width.
    seeds_per_m2 : float
        Seeds set [1/m2].
    rows : int
        Row centres beside each other [1].
    length_m : float
        Length of the rows [m].
    quality : SowingQuality
        What the machine and the seed-bed make of it.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    SimulatedStand

    Raises
    ------
    ValueError
        If rows, length or density are not above 0.

    Source: places one target apart, each with an independent normal error of precision / sqrt 2 targets, so that the
    gaps between them have the precision asked for; misses, doubles and emergence are independent of each other.
    """
    if rows < 1 or not (math.isfinite(length_m) and length_m > 0.0):
        raise ValueError(f"rows and length_m must be above 0, not {rows} and {length_m}")
    spacing = in_line_spacing_m(seeds_per_m2, pattern.row_spacing_m, pattern.lines_per_row)
    along, line = _places(pattern, rows, length_m, spacing, rng)
    along, line = _drop(along, line, spacing, quality, rng)
    across = _across(pattern, line, quality, rng)
    width = rows * pattern.row_spacing_m
    keep = (rng.random(len(along)) < quality.emergence_fraction) & (along > 0.0) & (along < length_m)
    keep &= (across > 0.0) & (across < width)
    return SimulatedStand(width, length_m, np.column_stack([across, along])[keep], line[keep], spacing)


def piece_for(pattern: RowPattern, seeds_per_m2: float, plants: int, quality: SowingQuality) -> tuple[int, float]:
    """Say how many rows of which length hold about so many plants, about as wide as long up to 48 rows.

    Parameters
    ----------
    pattern : RowPattern
        How the rows lie.
    seeds_per_m2 : float
        Seeds set [1/m2].
    plants : int
        Plants wanted [1].
    quality : SowingQuality
        Which share of the seeds becomes plants.

    Returns
    -------
    tuple of (int, float)
        Rows [1] and their length [m].

    Raises
    ------
    ValueError
        If plants or seeds are not above 0.
    """
    if plants < 1 or not seeds_per_m2 > 0.0:
        raise ValueError(f"plants and seeds_per_m2 must be above 0, not {plants} and {seeds_per_m2}")
    area = plants / (seeds_per_m2 * quality.emergence_fraction * (1.0 - quality.miss_share + quality.double_share))
    rows = max(4, min(MOST_ROWS, round(math.sqrt(area) / pattern.row_spacing_m)))
    return rows, area / (rows * pattern.row_spacing_m)


def _places(
    pattern: RowPattern, rows: int, length_m: float, spacing: float, rng: np.random.Generator
) -> tuple[FloatArray, IntArray]:
    """Return the places where seeds are meant to fall, and their lines."""
    per_row = pattern.lines_per_row
    places = math.ceil(length_m / spacing) + 4
    phase = np.repeat(rng.random(rows), per_row)
    if pattern.staggered:
        phase += 0.5 * (np.arange(rows * per_row) % per_row)
    along = (np.arange(places) - 2.0 + phase[:, None]) * spacing
    return along.ravel(), np.repeat(np.arange(rows * per_row), places)


def _drop(
    along: FloatArray, line: IntArray, spacing: float, quality: SowingQuality, rng: np.random.Generator
) -> tuple[FloatArray, IntArray]:
    """Return where seeds fall: out of place, not at all, or two."""
    luck = rng.random(len(along))
    falls, twice = luck >= quality.miss_share, luck > 1.0 - quality.double_share
    fallen = along + rng.normal(0.0, quality.precision * spacing / math.sqrt(2.0), len(along))
    second = fallen[twice] + spacing * rng.uniform(*DOUBLE_GAP, np.count_nonzero(twice))
    return np.r_[fallen[falls], second], np.r_[line[falls], line[twice]]


def _across(pattern: RowPattern, line: IntArray, quality: SowingQuality, rng: np.random.Generator) -> FloatArray:
    """Return how far across the field each seed lies."""
    row, second = np.divmod(line, pattern.lines_per_row)
    centre = (row + 0.5) * pattern.row_spacing_m
    scatter = rng.normal(0.0, quality.lateral_sd_m, len(line))
    if pattern.kind == "band":
        return np.asarray(centre + scatter + (pattern.band_width_m or 0.0) * (rng.random(len(line)) - 0.5))
    return np.asarray(centre + scatter + (pattern.twin_gap_m or 0.0) * (second - 0.5) * (pattern.kind == "twin"))


def stand_cells(stand: SimulatedStand, progress: Progress | None = None) -> Cells:
    """Return the growing space of every plant of a stand, cut at the edges of the piece.

    Parameters
    ----------
    stand : SimulatedStand
        Plants.
    progress : callable or None
        Called with the share of plants done [1].

    Raises
    ------
    ValueError
        If no plant came up.
    """
    return cells_in_rectangle(stand.places_m, stand.width_m, stand.length_m, progress)


def stand_space(stand: SimulatedStand, progress: Progress | None = None) -> StandSpace:
    """Say how the room of the plants is spread, from the crowded to the lone ones.

    Parameters
    ----------
    stand : SimulatedStand
        Plants.
    progress : callable or None
        Called with the share of plants done [1].

    Returns
    -------
    StandSpace

    Raises
    ------
    ValueError
        If every plant stands at an edge of the piece.
    """
    cells = stand_cells(stand, progress)
    inner = cells.interior
    if not inner.any():
        raise ValueError("every plant stands at an edge; simulate more rows or a longer piece")
    area, near = cells.area[inner], cells.nearest[inner]
    return StandSpace(
        plants=len(inner),
        counted=int(inner.sum()),
        plants_per_m2=len(inner) / (stand.width_m * stand.length_m),
        growing_space_mean_m2=float(area.mean()),
        growing_space_sd_m2=float(area.std()),
        nearest_neighbour_mean_m=float(near.mean()),
        nearest_neighbour_sd_m=float(near.std()),
        growing_space_m2=tuple(np.quantile(area, SHARES).tolist()),
        nearest_neighbour_m=tuple(np.quantile(near, SHARES).tolist()),
        compactness_mean=float(cells.compactness[inner].mean()),
    )
