"""What "up to 70 % more room" can mean: staggered twin rows against single rows at the same number of plants.

The claim is common in the trade (common practice, no source). Three measures are compared: the distance to the nearest
plant, the circle with that diameter, and the growing space (the ground nearest to a plant).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from evenground.basis.method import RowPattern
from evenground.sowing.row_geometry import growing_space, repeated
from evenground.sowing.seed_spacing import in_line_spacing_m

GAPS_M = (0.10, 0.125, 0.15, 0.175, 0.20, 0.225, 0.25)
PLANTS_PER_M2 = (7.0, 8.0, 9.0, 10.0, 11.0)
CLAIMED_SHARE = 0.7


@dataclass(frozen=True)
class MoreRoom:
    """How much more a staggered twin row gives than a single row, each as a share of the single row's.

    Attributes
    ----------
    twin_gap_m, plants_per_m2 : float
        Distance between the two lines [m] and plants on a square metre [1/m2].
    more_distance, more_circle, more_ground : float
        Distance to the nearest plant, circle of that diameter, growing space [1].
    """

    twin_gap_m: float
    plants_per_m2: float
    more_distance: float
    more_circle: float
    more_ground: float


def more_room(twin_gap_m: float, plants_per_m2: float, row_spacing_m: float = 0.75) -> MoreRoom:
    """Say how much more room staggered twin rows give than single rows, by each measure.

    Parameters
    ----------
    twin_gap_m : float
        Distance between the two lines [m].
    plants_per_m2 : float
        Plants on a square metre, the same in both [1/m2].
    row_spacing_m : float
        Distance between row centres, the same in both [m].

    Raises
    ------
    ValueError
        If the density is not above 0 or the gap does not fit the row spacing.

    Source: geometry.
    """
    twin_row = RowPattern(kind="twin", row_spacing_m=row_spacing_m, twin_gap_m=twin_gap_m, staggered=True)
    single = growing_space(repeated(RowPattern(row_spacing_m=row_spacing_m), plants_per_m2))
    twin = growing_space(repeated(twin_row, plants_per_m2))
    return MoreRoom(
        twin_gap_m,
        plants_per_m2,
        twin.nearest_neighbour_m / single.nearest_neighbour_m - 1.0,
        twin.circle_area_m2 / single.circle_area_m2 - 1.0,
        twin.growing_space_m2 / single.growing_space_m2 - 1.0,
    )


def gaps_where_true_m(
    plants_per_m2: float, claimed_share: float = CLAIMED_SHARE, row_spacing_m: float = 0.75
) -> tuple[float, float]:
    """Say at which gap the circle, and at which the distance to the nearest plant, is larger by the share claimed [m].

    While the nearest plant is the one across the gap, its distance is sqrt(gap^2 + s^2), s being the single row's
    spacing. From a gap of sqrt(3) s on it is the next plant of the same line at 2 s, and a wider gap gains nothing.

    Parameters
    ----------
    plants_per_m2 : float
        Plants on a square metre [1/m2].
    claimed_share : float
        More, as a share of the single row's [1]; at most 1, since the distance cannot more than double.
    row_spacing_m : float
        Distance between row centres [m].

    Raises
    ------
    ValueError
        If the share is not above 0 and at most 1.

    Source: geometry.

    Examples
    --------
    >>> [round(100 * gap, 1) for gap in gaps_where_true_m(9.0)]
    [12.4, 20.4]
    """
    if not 0.0 < claimed_share <= 1.0:
        raise ValueError(f"claimed_share must be above 0 and at most 1, not {claimed_share}")
    spacing = in_line_spacing_m(plants_per_m2, row_spacing_m)
    return spacing * math.sqrt(claimed_share), spacing * math.sqrt((1.0 + claimed_share) ** 2 - 1.0)


def claim_table(gaps_m: Sequence[float] = GAPS_M, densities: Sequence[float] = PLANTS_PER_M2) -> str:
    """Return the table of docs/growing-space.md: percent more circle / percent more distance, single rows at 75 cm.

    Parameters
    ----------
    gaps_m : sequence of float
        Distances between the two lines [m].
    densities : sequence of float
        Plants on a square metre [1/m2].
    """
    head = ["plants/m2", *(f"{100 * gap:g} cm" for gap in gaps_m), "circle +70 % at", "distance +70 % at", "ground"]
    lines = [head, ["---"] * len(head)]
    for density in densities:
        found = [more_room(gap, density) for gap in gaps_m]
        cells = [f"{100 * one.more_circle:+.0f} / {100 * one.more_distance:+.0f}" for one in found]
        circle, distance = (f"{100 * gap:.1f} cm" for gap in gaps_where_true_m(density))
        ground = max((one.more_ground for one in found), key=abs)
        lines.append([f"{density:g}", *cells, circle, distance, f"{100 * abs(ground):.0f}"])
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)
