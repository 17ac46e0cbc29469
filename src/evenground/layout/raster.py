"""Slots laid over the workable area at one heading, and the blocks that suit them best."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, inf

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from evenground.layout.ground import Ground, Sight
from evenground.layout.packing import Packing, pack_blocks
from evenground.layout.runs import TOUCH_M, Frame, longest_runs, outline_segments
from evenground.layout.slot import Slot
from evenground.layout.workable import smoothed

Floats = NDArray[np.float64]
# Positions of the first slot tried while all headings are looked at; the best headings are then tried row by row.
FEW_POSITIONS = 3


@dataclass(frozen=True, slots=True)
class Raster:
    """What is laid into the field: slots of one width, grouped in blocks.

    Attributes
    ----------
    slot : Slot
        Cross-section of every strip.
    step_m : float
        Steps in which the first slot is moved sideways: one row [m].
    strips : int
        Slots of a block [1].
    shortest_m : float
        Shorter strips are not laid out [m].
    ground : Ground
        Unevenness under them.
    sight : Sight
        What numbers of blocks can see.
    blocks : int or None
        Blocks wanted [1]; None for as many as help, up to ``most_blocks``.
    most_blocks : int
        Most blocks where none are wanted in particular [1].
    """

    slot: Slot
    step_m: float
    strips: int
    shortest_m: float
    ground: Ground
    sight: Sight
    blocks: int | None = None
    most_blocks: int = 60

    @property
    def width_m(self) -> float:
        """Width of a slot [m]."""
        return self.slot.width_m

    @property
    def most(self) -> int:
        """Largest number of blocks to look for [1]."""
        return self.most_blocks if self.blocks is None else self.blocks

    def cost(self, low_m: Floats, high_m: Floats) -> Floats:
        """Return the strip error variance within blocks of slots, from the ends of their strips [%^2]."""
        slot = self.slot
        return self.ground.within_blocks(low_m, high_m, slot.width_m, slot.cut_width_m, self.sight.per_plot)

    def positions_m(self, *, every_row: bool) -> Floats:
        """Return the places of the first slot to try, from the left end of the ground [m]."""
        rows = max(1, ceil(self.width_m / self.step_m - 1e-9))
        stride = 1 if every_row else max(1, ceil(rows / FEW_POSITIONS))
        return np.arange(0, rows, stride, dtype=np.float64) * (self.width_m / rows)


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
class Laid:
    """Blocks laid at one heading.

    Attributes
    ----------
    places : tuple of Place
        Strips, blocks one after another from left to right; empty where nothing fits.
    variance : float
        Strip error variance within blocks, added over the blocks [%^2].
    gain_percent : float
        Detectable gain, percent of the mean [%]; infinite with fewer than two blocks.
    """

    places: tuple[Place, ...]
    variance: float
    gain_percent: float


@dataclass(frozen=True, slots=True)
class _Part:
    """Slots and packings of one part of the workable area at one heading."""

    left_m: Floats
    low_m: Floats
    high_m: Floats
    packing: Packing

    @property
    def cost(self) -> Floats:
        """Least cost of 0, 1, ... blocks, at the best position for each."""
        best: Floats = self.packing.cost.min(axis=0)
        return best


def outlines_for(area: MultiPolygon, rasters: Sequence[Raster]) -> list[Floats]:
    """Return the outline of each part of the ground that could hold a block of the narrowest slots [m].

    Parameters
    ----------
    area : MultiPolygon
        Workable area [m].
    rasters : sequence of Raster
        What may be laid into it.

    Returns
    -------
    list of ndarray, shape (sides, 2, 2)

    Source: a part smaller than a block cannot hold one.
    """
    needed_m2 = min(r.strips * r.width_m * r.shortest_m for r in rasters)
    large = [part for part in area.geoms if part.area >= needed_m2 * (1 - 1e-6)]
    return [outline_segments(piece) for part in large for piece in shapely.get_parts(smoothed(part))]


def lay_blocks(outlines: Sequence[Floats], raster: Raster, heading_deg: float, *, every_row: bool = True) -> Laid:
    """Return the blocks that let the trial see most at one heading.

    Answers: where do the strips go if we drive this way? Over all positions of the first slot, all packings of blocks
    into slots and all numbers of blocks allowed.

    Parameters
    ----------
    outlines : sequence of ndarray
        As `outlines_for`.
    raster : Raster
        Slots and blocks.
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    every_row : bool
        Whether the first slot is moved row by row; otherwise `FEW_POSITIONS` places are tried.

    Returns
    -------
    Laid
        Strips numbered from left to right looking along the heading; parts of the field by their left edge.

    Source: exact dynamic programme at each position; the number of blocks by the detectable gain.
    """
    edges = [Frame(heading_deg).edges(outline) for outline in outlines]
    return _lay(edges, raster, raster.positions_m(every_row=every_row), middle=True)


def lay_at_each(outlines: Sequence[Floats], raster: Raster, heading_deg: float) -> Iterator[Laid]:
    """Yield the best blocks with the first slot at each row, one after another; see `lay_blocks`.

    Parameters
    ----------
    outlines, raster, heading_deg
        As `lay_blocks`.

    Source: as `lay_blocks`, one position at a time.
    """
    edges = [Frame(heading_deg).edges(outline) for outline in outlines]
    for at in raster.positions_m(every_row=True):
        yield _lay(edges, raster, np.array([at]), middle=False)


def _lay(edges: Sequence[Floats], raster: Raster, moved: Floats, *, middle: bool) -> Laid:
    parts = [_part(part, raster, moved, middle=middle) for part in edges]
    best, shares = _together(parts, raster)
    blocks = _number(best, raster)
    chosen, left = [], blocks
    for part, share in zip(reversed(parts), reversed(shares), strict=True):
        here = int(share[left])
        chosen.append((part, here))
        left -= here
    chosen.sort(key=lambda one: float(one[0].left_m[0, 0]))
    places: list[Place] = []
    for part, here in chosen:
        places += _places(part, here, raster, first_block=len(places) // raster.strips + 1)
    variance = float(best[blocks])
    return Laid(tuple(places), variance, float(raster.sight.quick_percent(variance, blocks)[0]))


def _part(edges: Floats, raster: Raster, moved: Floats, *, middle: bool) -> _Part:
    """Lay slots over one part, at some positions of the first one, and pack blocks into them."""
    start, end = float(edges[:, :, 0].min()), float(edges[:, :, 0].max())
    slots = max(1, int((end - start + TOUCH_M) / raster.width_m))
    # Last, the slots in the middle: a side a hair off the heading would otherwise cost a whole row at either edge.
    if middle:
        moved = np.append(moved, max(0.0, end - start - slots * raster.width_m) / 2.0)
    left = start + moved[:, np.newaxis] + np.arange(slots) * raster.width_m
    low, high = longest_runs(edges, left.ravel(), raster.width_m)
    low, high = low.reshape(left.shape), high.reshape(left.shape)
    packing = pack_blocks(
        low, high, strips=raster.strips, shortest_m=raster.shortest_m, most=raster.most, cost=raster.cost
    )
    return _Part(left, low, high, packing)


def _together(parts: Sequence[_Part], raster: Raster) -> tuple[Floats, list[NDArray[np.intp]]]:
    """Return the least cost of each number of blocks over all parts, and how many of them the last part holds."""
    best: Floats = np.zeros(1)
    shares = []
    for part in parts:
        here = part.cost
        size = min(raster.most, len(best) + len(here) - 2) + 1
        joined, share = np.full(size, inf), np.zeros(size, dtype=np.intp)
        for k in range(min(size, len(here))):
            total = best[: size - k] + here[k]
            stretch = slice(k, k + len(total))
            better = total < joined[stretch]
            joined[stretch] = np.where(better, total, joined[stretch])
            share[stretch] = np.where(better, k, share[stretch])
        best = joined
        shares.append(share)
    return best, shares


def _number(best: Floats, raster: Raster) -> int:
    """Return the number of blocks to lay: the one wanted, or as many as lower the detectable gain."""
    there = np.flatnonzero(np.isfinite(best))
    if raster.blocks is not None or there[-1] < 2:
        return int(there[-1])
    numbers = there[there >= 2]
    return int(numbers[np.argmin(raster.sight.quick_percent(best[numbers], numbers))])


def _places(part: _Part, blocks: int, raster: Raster, first_block: int) -> list[Place]:
    if blocks == 0:
        return []
    at = int(part.packing.cost[:, blocks].argmin())
    slots = [
        (first_block + b, slot + i)
        for b, slot in enumerate(part.packing.first_slots(at, blocks))
        for i in range(raster.strips)
    ]
    return [Place(b, float(part.left_m[at, s]), float(part.low_m[at, s]), float(part.high_m[at, s])) for b, s in slots]
