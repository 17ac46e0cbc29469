"""How much of the ground lies within reach of some plant's roots, if roots spread evenly to all sides.

A drawing aid, not a crop model: real roots follow water, loose soil and fertiliser. It shows geometry: ground
far from every plant is reached late, whatever the pace.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from evenground.numerics.disc_cover import farthest, share_within
from evenground.sowing.row_geometry import RepeatedPattern, outlines_m

ROOT_GROWTH_MM_PER_DAY = 15.0
ROOT_GROWTH_SOURCE = "sideways root growth of 15 mm a day: common practice, no source; change it"


@dataclass(frozen=True)
class RootReach:
    """Ground within reach of roots.

    Attributes
    ----------
    root_radius_m : float
        How far the roots of a plant reach to all sides [m].
    share_of_ground : float
        Share of the ground within that distance of a plant [1].
    farthest_ground_m : float
        Radius at which all ground is reached [m].
    """

    root_radius_m: float
    share_of_ground: float
    farthest_ground_m: float

    def day_all_reached(self, growth_mm_per_day: float = ROOT_GROWTH_MM_PER_DAY) -> int:
        """Return the first whole day after emergence on which all ground is reached at a pace [mm/day]."""
        return math.ceil(1000.0 * self.farthest_ground_m / _pace(growth_mm_per_day))


def root_radius_m(days_after_emergence: float, growth_mm_per_day: float = ROOT_GROWTH_MM_PER_DAY) -> float:
    """Say how far roots reach sideways on a day [m], growing at an even pace from emergence.

    Parameters
    ----------
    days_after_emergence : float
        Days, not negative [d].
    growth_mm_per_day : float
        Pace [mm/day]; the default is common practice, no source.

    Raises
    ------
    ValueError
        If the days are negative or the pace is not above 0.

    Source: days x pace.

    Examples
    --------
    >>> root_radius_m(20)
    0.3
    """
    if not (math.isfinite(days_after_emergence) and days_after_emergence >= 0.0):
        raise ValueError(f"days_after_emergence must be 0 or more, not {days_after_emergence}")
    return days_after_emergence * _pace(growth_mm_per_day) / 1000.0


def root_reach(pattern: RepeatedPattern, radius_m: float) -> RootReach:
    """Say which share of the ground lies within a root's reach of some plant.

    Parameters
    ----------
    pattern : RepeatedPattern
        Places of the plants.
    radius_m : float
        How far roots reach to all sides [m].

    Returns
    -------
    RootReach

    Raises
    ------
    ValueError
        If the radius is negative or not finite.

    Source: plane geometry, area of growing spaces cut by circles.
    """
    cells = outlines_m(pattern)
    return RootReach(radius_m, float(share_within(cells, np.array([radius_m]))[0]), farthest(cells))


def _pace(growth_mm_per_day: float) -> float:
    if not (math.isfinite(growth_mm_per_day) and growth_mm_per_day > 0.0):
        raise ValueError(f"growth_mm_per_day must be above 0, not {growth_mm_per_day}")
    return growth_mm_per_day
