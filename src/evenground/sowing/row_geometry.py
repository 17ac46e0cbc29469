"""The room a row pattern gives each plant: distance to the next plant, growing space, and how far its corners are.

All numbers are for the pattern as meant: every seed in its place and a plant. The pattern repeats without end, so no
plant stands at an edge. Neighbouring rows are in phase.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenground.basis.method import Method, RowPattern
from evenground.numerics.arrays import FloatArray
from evenground.numerics.disc_cover import farthest
from evenground.numerics.growing_cells import cells_on_torus, corners_on_torus
from evenground.sowing.seed_spacing import in_line_spacing_m

# Seeds of a band are spread evenly by a step of 34/55 of the width from seed to seed: the ratio of two neighbouring
# Fibonacci numbers spreads any number of successive seeds about as evenly as can be.
BAND_SEEDS, BAND_STEP = 55, 34


@dataclass(frozen=True)
class RepeatedPattern:
    """Places of plants in a rectangle that is repeated over the whole field.

    Attributes
    ----------
    name : str
        What it is called.
    width_m, length_m : float
        Across and along the rows, after which the pattern repeats [m].
    places_m : tuple of (float, float)
        Across and along [m], one pair a plant.
    in_line_spacing_m : float or None
        Distance between seeds of one line [m]; None where there are no lines.
    """

    name: str
    width_m: float
    length_m: float
    places_m: tuple[tuple[float, float], ...]
    in_line_spacing_m: float | None = None

    def __post_init__(self) -> None:
        if not (self.places_m and math.isfinite(self.area_m2) and min(self.width_m, self.length_m) > 0.0):
            raise ValueError("a repeated pattern needs a width and a length above 0 and at least one plant")

    @property
    def area_m2(self) -> float:
        """Ground of one copy [m2]."""
        return self.width_m * self.length_m

    @property
    def plants_per_m2(self) -> float:
        """Plants on a square metre [1/m2]."""
        return len(self.places_m) / self.area_m2


@dataclass(frozen=True)
class GrowingSpace:
    """The room of a plant, as the mean over the plants of a pattern where they differ.

    Attributes
    ----------
    plants_per_m2 : float
        Plants on a square metre [1/m2].
    in_line_spacing_m : float or None
        Distance between seeds of one line; None where there are no lines [m].
    nearest_neighbour_m, nearest_neighbour_least_m : float
        Distance to the nearest other plant, mean and least [m].
    circle_area_m2 : float
        Circle whose diameter is that distance [m2].
    circle_share : float
        Share of the ground in such circles: pi d^2 density / 4 [1].
    growing_space_m2 : float
        Ground nearer to this plant than to any other [m2]; the mean is 1 / density in every pattern.
    growing_space_least_m2, growing_space_most_m2 : float
        Smallest and largest [m2].
    compactness : float
        4 pi area / outline^2; 1 for a circle, 0.907 for a hexagon, 0.785 for a square [1].
    edge_distance_m : float
        From the plant to the nearest edge of its growing space: half way to its nearest neighbour [m].
    farthest_ground_m : float
        From the ground that is farthest from all plants to the nearest one [m].
    """

    plants_per_m2: float
    in_line_spacing_m: float | None
    nearest_neighbour_m: float
    nearest_neighbour_least_m: float
    circle_area_m2: float
    circle_share: float
    growing_space_m2: float
    growing_space_least_m2: float
    growing_space_most_m2: float
    compactness: float
    edge_distance_m: float
    farthest_ground_m: float


def patterns_of(methods: Sequence[Method]) -> tuple[RepeatedPattern, ...]:
    """Return the row pattern of each method at its seed rate, each once, and last the triangle nothing can beat.

    Parameters
    ----------
    methods : sequence of Method
        At least one; the triangle has the seed rate of the first.
    """
    shown = dict.fromkeys(repeated(m.row_pattern, m.seeds_per_m2) for m in methods)
    return (*shown, triangle(methods[0].seeds_per_m2))


def repeated(pattern: RowPattern, plants_per_m2: float) -> RepeatedPattern:
    """Say where the plants of a row pattern stand.

    Parameters
    ----------
    pattern : RowPattern
        Single rows, twin rows or bands; the seeds of a band are spread evenly.
    plants_per_m2 : float
        Plants, or seeds if each becomes a plant [1/m2].

    Returns
    -------
    RepeatedPattern

    Raises
    ------
    ValueError
        If the density is not above 0.

    Source: geometry.
    """
    row, lines = pattern.row_spacing_m, pattern.lines_per_row
    step = in_line_spacing_m(plants_per_m2, row, lines)
    if pattern.kind == "band":
        width = pattern.band_width_m or 0.0
        across = [width * ((k * BAND_STEP % BAND_SEEDS + 0.5) / BAND_SEEDS - 0.5) for k in range(BAND_SEEDS)]
        places = tuple((row / 2.0 + a, k * step) for k, a in enumerate(across))
        return RepeatedPattern("band", row, BAND_SEEDS * step, places, step)
    if pattern.kind == "twin":
        half = (pattern.twin_gap_m or 0.0) / 2.0
        places = ((row / 2.0 - half, 0.0), (row / 2.0 + half, step / 2.0 if pattern.staggered else 0.0))
        name = "twin rows, staggered" if pattern.staggered else "twin rows, side by side"
        return RepeatedPattern(name, row, step, places, step)
    return RepeatedPattern("single rows", row, step, ((row / 2.0, 0.0),), step)


def repeated_lines(row_spacing_m: float, lines: Sequence[tuple[float, float]], plants_per_m2: float) -> RepeatedPattern:
    """Say where the plants of any pattern of lines stand that comes again at the row spacing.

    Parameters
    ----------
    row_spacing_m : float
        After which distance across the pattern comes again [m].
    lines : sequence of (float, float)
        Every line: how far across it lies [m], from 0 to below the row spacing, and how far along its first plant
        stands, as a share of the spacing in the line, from 0 to below 1 [1].
    plants_per_m2 : float
        Plants, evenly over all lines [1/m2].

    Raises
    ------
    ValueError
        If there is no line, two plants are in one place, or a value is outside its limits.

    Source: geometry.

    Examples
    --------
    >>> repeated_lines(0.75, [(0.0, 0.0), (0.22, 0.5)], 8.0).places_m[1]
    (0.22, 0.16666666666666666)
    """
    if not lines:
        raise ValueError("a pattern needs a line or more")
    if not all(0.0 <= across < row_spacing_m and 0.0 <= phase < 1.0 for across, phase in lines):
        raise ValueError("lines lie from 0 to below the row spacing, their phase from 0 to below 1")
    if len(set(lines)) < len(lines):
        raise ValueError("two lines have their plants in the same places")
    step = in_line_spacing_m(plants_per_m2, row_spacing_m, len(lines))
    places = tuple((across, phase * step) for across, phase in lines)
    return RepeatedPattern(
        f"own pattern of {len(lines)} line{'s' * (len(lines) > 1)}", row_spacing_m, step, places, step
    )


def triangle(plants_per_m2: float) -> RepeatedPattern:
    """Say where plants stand in the ideal triangle, in which each has six neighbours at the same distance.

    Parameters
    ----------
    plants_per_m2 : float
        Plants [1/m2].

    Raises
    ------
    ValueError
        If the density is not above 0.

    Source: area per plant (sqrt 3 / 2) d^2, standard geometry of the triangular lattice.
    """
    if not (math.isfinite(plants_per_m2) and plants_per_m2 > 0.0):
        raise ValueError(f"plants_per_m2 must be above 0, not {plants_per_m2}")
    d = math.sqrt(2.0 / (math.sqrt(3.0) * plants_per_m2))
    height = d * math.sqrt(3.0)
    return RepeatedPattern("ideal triangle", height, d, ((height / 4.0, 0.0), (3.0 * height / 4.0, d / 2.0)), d)


def growing_space(pattern: RepeatedPattern) -> GrowingSpace:
    """Say how much room, of what shape, each plant of a repeated pattern has.

    Parameters
    ----------
    pattern : RepeatedPattern
        Places of the plants.

    Returns
    -------
    GrowingSpace

    Raises
    ------
    ValueError
        If two plants are in the same place.

    Source: Voronoi cells on a torus; circles as trade papers draw them (see docs/growing-space.md).
    """
    cells = cells_on_torus(pattern.places_m, pattern.width_m, pattern.length_m)
    circles = math.pi * cells.nearest**2 / 4.0
    return GrowingSpace(
        plants_per_m2=pattern.plants_per_m2,
        in_line_spacing_m=pattern.in_line_spacing_m,
        nearest_neighbour_m=float(cells.nearest.mean()),
        nearest_neighbour_least_m=float(cells.nearest.min()),
        circle_area_m2=float(circles.mean()),
        circle_share=float(circles.mean()) * pattern.plants_per_m2,
        growing_space_m2=float(cells.area.mean()),
        growing_space_least_m2=float(cells.area.min()),
        growing_space_most_m2=float(cells.area.max()),
        compactness=float(cells.compactness.mean()),
        edge_distance_m=float(cells.edge_distance.mean()),
        farthest_ground_m=farthest(outlines_m(pattern)),
    )


def outlines_m(pattern: RepeatedPattern) -> list[FloatArray]:
    """Return the outline of each plant's growing space, corners seen from the plant, across and along [m].

    Raises
    ------
    ValueError
        If two plants are in the same place.
    """
    return corners_on_torus(np.asarray(pattern.places_m), pattern.width_m, pattern.length_m)
