"""The search: what each direction of driving and each width of strip would let the trial see, and the best of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from evenground.layout.raster import Laid, Place, Raster, lay_blocks, outlines_for
from evenground.layout.runs import outline_segments

Floats = NDArray[np.float64]
# Bands that run within this angle of the strips lie along them. Judgement.
ALONG_DEG = 15.0
# Headings closer than this are one and the same choice to a driver. Judgement.
APART_DEG = 20.0
_LONGEST_SIDES = 12
# Layouts whose detectable gain is up to this many times the smallest are equally good. Judgement.
NEARLY = 1.01
# Of equally good layouts so many are held against what is drawn in the ground; the first that is not hit is taken.
_HELD_AGAINST = 48
# After a look at all headings with few positions, the best ones are tried row by row: those within this factor of the
# best, at most so many. Within 1 % of trying everything on the test fields (tests/layout/test_search.py).
_WORTH_A_CLOSER_LOOK = 1.12
_CLOSER_LOOKS = 24


@dataclass(frozen=True, slots=True)
class Direction:
    """What one heading gives with one width of strip.

    Attributes
    ----------
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    raster : Raster
        Slots that were laid.
    laid : Laid
        Strips, and what they can see.
    along_side : bool
        Whether it runs along a straight side of the workable area.
    """

    heading_deg: float
    raster: Raster
    laid: Laid
    along_side: bool = False

    @property
    def places(self) -> tuple[Place, ...]:
        """The strips."""
        return self.laid.places

    @property
    def blocks(self) -> int:
        """Number of blocks [1]; 0 where nothing fits."""
        return len(self.laid.places) // self.raster.strips

    @property
    def metres(self) -> float:
        """Length of all strips together [m]."""
        return sum(place.length_m for place in self.laid.places)

    @property
    def gain_percent(self) -> float:
        """Detectable gain, percent of the mean [%]; infinite with fewer than two blocks."""
        return self.laid.gain_percent


def headings_along_sides(area: MultiPolygon, shortest_m: float) -> tuple[float, ...]:
    """Return the headings along the longest straight sides of the workable area.

    Parameters
    ----------
    area : MultiPolygon
        Workable area [m].
    shortest_m : float
        Sides shorter than a strip give no heading of their own [m].

    Returns
    -------
    tuple of float
        Headings in [0, 180) [deg], longest side first.

    Source: geometry. At half a degree off a side of 300 m a wedge of 2.6 m is lost, so sides are tried exactly.
    """
    sides = outline_segments(area)
    across = sides[:, 1] - sides[:, 0]
    lengths = np.hypot(across[:, 0], across[:, 1])
    longest = np.argsort(-lengths, kind="stable")[:_LONGEST_SIDES]
    longest = longest[lengths[longest] >= shortest_m]
    along_sides = np.degrees(np.arctan2(across[longest, 0], across[longest, 1])) % 180.0
    # The two long sides of a rectangle are one candidate; a hair below 180 is the same as 0.
    different = {round(float(heading), 3) % 180.0: float(heading) for heading in reversed(along_sides)}
    return tuple(reversed(different.values()))


def search(
    area: MultiPolygon,
    rasters: Sequence[Raster],
    *,
    on_heading: Callable[[int], None] | None = None,
    bands_deg: Sequence[float] = (),
    hit: Callable[[Direction], int] | None = None,
) -> list[Direction]:
    """Return what each heading gives: along the longest sides, and every whole degree, with every width of strip.

    Parameters
    ----------
    area : MultiPolygon
        Workable area [m].
    rasters : sequence of Raster
        Widths of strip to try, narrowest first.
    on_heading : callable, optional
        Called after each heading with the number of headings still to try, for a progress bar.
    bands_deg : sequence of float
        Directions of old bands in the ground, clockwise from north [deg].
    hit : callable, optional
        Blocks that what is drawn in the ground hits unequally [1].

    Returns
    -------
    list of Direction
        Headings along the longest sides first, then every whole degree; each with the width that lets it see most.

    Source: all headings with a few positions of the first slot, the best row by row; exact best packing at each.
    """
    outlines = outlines_for(area, rasters)
    along = headings_along_sides(area, rasters[0].shortest_m)
    headings = tuple(dict.fromkeys([*along, *map(float, range(180))]))
    tried: list[Direction] = []
    for left, heading in zip(range(len(headings) - 1, -1, -1), headings, strict=True):
        for raster in rasters:
            laid = lay_blocks(outlines, raster, heading, every_row=False)
            tried.append(Direction(heading, raster, laid, heading in along))
        if on_heading is not None:
            on_heading(left)
    closer = {id(one): look_closely(outlines, one) for one in _worth_a_closer_look(tried)}
    found = best_first([closer.get(id(one), one) for one in tried], bands_deg, hit)
    by_heading: dict[float, Direction] = {}
    for one in found:
        by_heading.setdefault(one.heading_deg, one)
    return [by_heading[heading] for heading in headings]


def look_closely(outlines: Sequence[Floats], direction: Direction) -> Direction:
    """Return the same heading and width with the first slot moved row by row.

    Parameters
    ----------
    outlines : sequence of ndarray
        As `evenground.layout.raster.outlines_for`.
    direction : Direction
        What a few positions gave.

    Returns
    -------
    Direction

    Source: as `search`.
    """
    laid = lay_blocks(outlines, direction.raster, direction.heading_deg)
    return Direction(direction.heading_deg, direction.raster, laid, direction.along_side)


def best_first(
    directions: Sequence[Direction],
    bands_deg: Sequence[float] = (),
    hit: Callable[[Direction], int] | None = None,
) -> list[Direction]:
    """Order directions by what they let the trial see and how they drive.

    Those that hold the blocks wanted come first. Layouts whose detectable gain is within a hundredth of the smallest
    count as equally good. Of these, layouts whose blocks lie across or wholly inside what earlier years left come
    first: by what is drawn, then by the directions told. Then come those along a straight side of the field (no wedges,
    whole passes to the edge), then narrower strips, then fewer metres to weigh. The others follow by detectable gain;
    where there is one block only, by metres.

    Parameters
    ----------
    directions : sequence of Direction
        What was found.
    bands_deg : sequence of float
        Directions of old bands in the ground, clockwise from north [deg].
    hit : callable, optional
        Blocks that what is drawn in the ground hits unequally [1].

    Returns
    -------
    list of Direction
        Best first; equals as they stood.

    Source: judgement.
    """
    enough = [one.gain_percent for one in directions if _holds(one)] or [one.gain_percent for one in directions]
    limit = NEARLY * min(enough)

    def rank(one: Direction) -> tuple[bool, bool, int, bool, float, bool, bool, float, float]:
        sees, near = isfinite(one.gain_percent), isfinite(limit) and one.gain_percent <= limit
        gain = 0.0 if near else one.gain_percent
        few = 0 if sees and _holds(one) else -one.blocks
        more = round(one.metres if sees else -one.metres, 3)
        banded = near and any(apart_deg(one.heading_deg, band) <= ALONG_DEG for band in bands_deg)
        side = near and not one.along_side
        return not _holds(one), not sees, few, not near, gain, banded, side, one.raster.width_m, more

    ranked = sorted(directions, key=rank)
    if hit is None or not isfinite(limit):
        return ranked
    equal = [one for one in ranked if _holds(one) and one.gain_percent <= limit]
    return [*_least_hit(equal, hit), *ranked[len(equal) :]]


def _least_hit(equal: Sequence[Direction], hit: Callable[[Direction], int]) -> list[Direction]:
    """Put those of equal layouts first that are hit least; looked at in their order until one is not hit at all."""
    hits: list[int] = []
    for one in equal[:_HELD_AGAINST]:
        hits.append(hit(one))
        if hits[-1] == 0:
            break
    looked_at = sorted(range(len(hits)), key=lambda i: hits[i])
    return [*(equal[i] for i in looked_at), *equal[len(hits) :]]


def clearly_different(ranked: Sequence[Direction], chosen_deg: float, number: int) -> list[Direction]:
    """Return the best directions that a driver would call another one than the chosen.

    Parameters
    ----------
    ranked : sequence of Direction
        What was found, best first.
    chosen_deg : float
        Heading that is taken [deg].
    number : int
        How many at most [1].

    Returns
    -------
    list of Direction
        Best first, at least 20 degrees from the chosen one and from each other, none without blocks.

    Source: judgement.
    """
    taken: list[Direction] = []
    for direction in ranked:
        others = [chosen_deg, *(t.heading_deg for t in taken)]
        if direction.blocks and all(apart_deg(direction.heading_deg, other) >= APART_DEG for other in others):
            taken.append(direction)
    return taken[:number]


def apart_deg(one_deg: float, other_deg: float) -> float:
    """Return the angle between two headings as lines, either way [deg].

    Examples
    --------
    >>> apart_deg(178.0, 2.0)
    4.0
    """
    between = abs(one_deg - other_deg) % 180.0
    return min(between, 180.0 - between)


def _holds(one: Direction) -> bool:
    wanted = 1 if one.raster.blocks is None else one.raster.blocks
    return one.blocks >= wanted


def _worth_a_closer_look(tried: Sequence[Direction]) -> list[Direction]:
    ranked = sorted(tried, key=lambda one: (one.gain_percent, -one.blocks))
    wanted = [one for one in ranked if _holds(one)] or [one for one in ranked if one.blocks]
    limit = _WORTH_A_CLOSER_LOOK * min((one.gain_percent for one in wanted), default=0.0)
    near = [one for one in wanted if one.gain_percent <= limit][:_CLOSER_LOOKS]
    if wanted and isfinite(limit):
        return near
    # A few positions may have missed that blocks fit: the sides of the field are looked at closely.
    return near + [one for one in tried if one.along_side and one not in near][:_CLOSER_LOOKS]
