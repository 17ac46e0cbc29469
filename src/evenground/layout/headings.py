"""The search for a heading: what each direction of driving would give, and the best of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from evenground.layout.packing import Packing, pack_blocks
from evenground.layout.runs import TOUCH_M, Frame, longest_runs, outline_segments
from evenground.layout.workable import smoothed

Floats = NDArray[np.float64]
# Positions of the first slot that are tried at each heading, at most.
MOST_POSITIONS = 16
# The format of the plan allows no more.
MOST_BLOCKS = 60
# Headings closer than this are one and the same choice to a driver. Judgement.
APART_DEG = 20.0
_LONGEST_SIDES = 12
# Headings whose detectable gain is up to this many times the smallest are equally good. Judgement.
NEARLY = 1.1


@dataclass(frozen=True, slots=True)
class Raster:
    """What is laid into the field: slots of one width, grouped in blocks.

    Attributes
    ----------
    width_m : float
        Width of a slot [m].
    step_m : float
        Steps in which the first slot is moved sideways: one row [m].
    methods : int
        Slots of a block [1].
    shortest_m : float
        Shorter strips are not laid out [m].
    blocks : int or None
        Blocks wanted [1]; None for as many as fit.
    """

    width_m: float
    step_m: float
    methods: int
    shortest_m: float
    blocks: int | None = None

    @property
    def most(self) -> int:
        """Largest number of blocks to look for [1]."""
        return MOST_BLOCKS if self.blocks is None else self.blocks


@dataclass(frozen=True, slots=True)
class Place:
    """Where one strip lies in the frame of its heading.

    Attributes
    ----------
    block : int
        Block, from 1.
    left_m : float
        Left edge [m across].
    low_m, high_m : float
        Ends [m along].
    """

    block: int
    left_m: float
    low_m: float
    high_m: float

    @property
    def length_m(self) -> float:
        """Length of the strip [m]."""
        return self.high_m - self.low_m


@dataclass(frozen=True, slots=True)
class Direction:
    """What one heading gives.

    Attributes
    ----------
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    blocks : int
        Number of blocks [1]; 0 where nothing fits.
    metres : float
        Length of all strips together [m].
    along_side : bool
        Whether it runs along a straight side of the workable area.
    """

    heading_deg: float
    blocks: int
    metres: float
    along_side: bool = False


@dataclass(frozen=True, slots=True)
class _Part:
    """Slots and packings of one part of the workable area at one heading."""

    left_m: Floats
    low_m: Floats
    high_m: Floats
    packing: Packing

    @property
    def metres(self) -> Floats:
        """Most metres of strip with 0, 1, ... blocks, at the best position for each."""
        best: Floats = self.packing.metres.max(axis=0)
        return best


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
    raster: Raster,
    *,
    on_heading: Callable[[int], None] | None = None,
) -> list[Direction]:
    """Return what each heading worth a look gives: along the longest sides, and every whole degree.

    Parameters
    ----------
    area : MultiPolygon
        Workable area [m].
    raster : Raster
        Slots and blocks.
    on_heading : callable, optional
        Called after each heading with the number of headings still to try, for a progress bar.

    Returns
    -------
    list of Direction
        Headings along the longest sides first, then every whole degree.

    Source: exhaustive search over headings and positions; exact best packing at each.
    """
    found = []
    sides = _sides(area, raster)
    along = headings_along_sides(area, raster.shortest_m)
    headings = tuple(dict.fromkeys([*along, *map(float, range(180))]))
    for left, heading in zip(range(len(headings) - 1, -1, -1), headings, strict=True):
        best, _ = _best(_parts(sides, raster, heading), raster)
        blocks = int(np.flatnonzero(np.isfinite(best))[-1])
        found.append(Direction(heading, blocks, float(best[blocks]), heading in along))
        if on_heading is not None:
            on_heading(left)
    return found


def best_first(directions: Sequence[Direction], sees: Callable[[int], float]) -> list[Direction]:
    """Order directions by what they let the trial see and how they drive.

    Headings whose detectable gain is within a tenth of the smallest count as equally good: the strip error itself is
    not known better. Of these, headings along a straight side of the field come first (no wedges, whole passes to the
    edge), then more metres of strip. The others follow by blocks, then metres.

    Parameters
    ----------
    directions : sequence of Direction
        What was found.
    sees : callable
        Detectable gain for a number of blocks [any unit]; infinite where there is none.

    Returns
    -------
    list of Direction
        Best first; equals as they stood.

    Source: judgement.
    """
    limit = NEARLY * min(sees(direction.blocks) for direction in directions)

    def rank(direction: Direction) -> tuple[bool, bool, float, float]:
        near = direction.blocks > 0 and sees(direction.blocks) <= limit
        return (
            not near,
            near and not direction.along_side,
            0.0 if near else -direction.blocks,
            -round(direction.metres, 3),
        )

    return sorted(directions, key=rank)


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
        if direction.blocks and all(_apart(direction.heading_deg, other) >= APART_DEG for other in others):
            taken.append(direction)
    return taken[:number]


def place_blocks(area: MultiPolygon, raster: Raster, heading_deg: float) -> tuple[Place, ...]:
    """Return the strips of the best packing at one heading, numbered from left to right looking along it.

    Parameters
    ----------
    area : MultiPolygon
        Workable area [m].
    raster : Raster
        Slots and blocks.
    heading_deg : float
        Direction of the strips, clockwise from north [deg].

    Returns
    -------
    tuple of Place
        Blocks one after another, empty where none fits; parts of the field one after another by their left edge.

    Source: as `search`.
    """
    parts = _parts(_sides(area, raster), raster, heading_deg)
    best, shares = _best(parts, raster)
    blocks = int(np.flatnonzero(np.isfinite(best))[-1])
    chosen = []
    for part, share in zip(reversed(parts), reversed(shares), strict=True):
        here = int(share[blocks])
        chosen.append((part, here))
        blocks -= here
    chosen.sort(key=lambda one: float(one[0].left_m[0, 0]))
    places: list[Place] = []
    for part, here in chosen:
        places += _places(part, here, raster, first_block=len(places) // raster.methods + 1)
    return tuple(places)


def _sides(area: MultiPolygon, raster: Raster) -> list[Floats]:
    """Return the outline of each part that could hold a block [m]."""
    needed_m2 = raster.methods * raster.width_m * raster.shortest_m
    large = [part for part in area.geoms if part.area >= needed_m2 * (1 - 1e-6)]
    return [outline_segments(piece) for part in large for piece in shapely.get_parts(smoothed(part))]


def _parts(sides: Sequence[Floats], raster: Raster, heading_deg: float) -> list[_Part]:
    frame = Frame(heading_deg)
    return [_part(frame.edges(outline), raster) for outline in sides]


def _part(edges: Floats, raster: Raster) -> _Part:
    """Lay slots over one part, at every position of the first one, and pack blocks into them."""
    start, end = float(edges[:, :, 0].min()), float(edges[:, :, 0].max())
    positions = min(MOST_POSITIONS, max(1, ceil(raster.width_m / raster.step_m - 1e-9)))
    moved = np.arange(positions) * (raster.width_m / positions)
    slots = max(1, int((end - start + TOUCH_M) / raster.width_m))
    left = start + moved[:, np.newaxis] + np.arange(slots) * raster.width_m
    low, high = longest_runs(edges, left.ravel(), raster.width_m)
    low, high = low.reshape(left.shape), high.reshape(left.shape)
    packing = pack_blocks(low, high, methods=raster.methods, shortest_m=raster.shortest_m, most=raster.most)
    return _Part(left, low, high, packing)


def _best(parts: Sequence[_Part], raster: Raster) -> tuple[Floats, list[NDArray[np.intp]]]:
    """Return the most metres for each number of blocks over all parts, and how many of them the last part holds."""
    best: Floats = np.zeros(1)
    shares = []
    for part in parts:
        here = part.metres
        size = min(raster.most, len(best) + len(here) - 2) + 1
        joined, share = np.full(size, -np.inf), np.zeros(size, dtype=np.intp)
        for k in range(min(size, len(here))):
            total = best[: size - k] + here[k]
            stretch = slice(k, k + len(total))
            better = total > joined[stretch]
            joined[stretch] = np.where(better, total, joined[stretch])
            share[stretch] = np.where(better, k, share[stretch])
        best = joined
        shares.append(share)
    return best, shares


def _places(part: _Part, blocks: int, raster: Raster, first_block: int) -> list[Place]:
    if blocks == 0:
        return []
    at = int(part.packing.metres[:, blocks].argmax())
    slots = [
        (first_block + b, slot + i)
        for b, slot in enumerate(part.packing.first_slots(at, blocks))
        for i in range(raster.methods)
    ]
    return [Place(b, float(part.left_m[at, s]), float(part.low_m[at, s]), float(part.high_m[at, s])) for b, s in slots]


def _apart(one_deg: float, other_deg: float) -> float:
    """Return the angle between two headings, either way [deg]."""
    between = abs(one_deg - other_deg) % 180.0
    return min(between, 180.0 - between)
