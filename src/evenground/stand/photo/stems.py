"""Where the stems stand along a row: the few places that explain all its leaves.

A leaf points at its stem, and is green all the way to it; leaves of one plant lie along one axis. So each place along a
line is asked how much of the green round it could belong to a plant there, for each axis it may have; then as few are
chosen as explain the green. When all rows have been looked at, each is looked at again with what is then known of the
usual gap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray
from evenground.numerics.chosen_centres import Offers, greedy_centres, settle_centres, settle_pairs
from evenground.numerics.spaced_centres import Charges, respaced
from evenground.stand.photo.gaps import UsualGap, unlikeliness
from evenground.stand.photo.leaves import LeafPoints
from evenground.stand.photo.rows import Line, turned, turned_back

STEP_M = 0.006
"""Places are tried so close along a line."""
BESIDE_TRIED_M = (-0.012, 0.0, 0.012)
"""And so far beside it."""
PLAIN_M = 0.005
WIDER_PER_M = 0.2
"""How far beside its stem a leaf may point: at the stem, and more for each metre out (leaves are bent)."""
FADE_OVER_REACH = 0.75
"""Green belongs less the farther it is: half a standard deviation of reach."""
LEAST_WORTH = 0.05
"""Green that belongs less than this to a plant does not count for it."""
AXES, AXIS_PLAIN_M, AXIS_WIDER_PER_M = 12, 0.008, 0.45
"""Leaves of maize stand in two opposite ranks (common practice, no source), so those of one plant lie along one axis
through its stem: so many axes are asked, and so far beside its axis green may lie, at the stem and more for each metre
out. Widths tried on scenes."""
AXIS_SHARE = 0.6
"""An axis is likely if it explains more than its neighbours do, and this share of what the best does."""
PATH_SAMPLES = 8
PATH_FROM, PATH_TO = 0.7, 0.9
"""Share of green on the way to the stem: nothing below the first belongs, everything above the second does."""
SMALL_SHARE, SMALL_SHARE_ALONE = 0.31, 0.08
"""A plant explains at least this share of what a typical one does: where leaves overlap, and where it stands alone (a
late plant is small). Tried on scenes."""
SPACED_SHARE, SPACED_LEAST, OVER_OWN, GAP_SHARE = 0.29, 0.10, 0.5, 0.08
"""Once the usual gap is known: a plant is charged the first, over what a typical one explains, but at most the third of
what it could explain at all; a gap is charged the last for each step of the natural logarithm by which it is less
likely than the likeliest. And the second must be explained by the plant alone. Tried on scenes."""
WHOLE, OWN_LEAST = 0.8, 0.5
"""Where leaves of neighbours meet over a miss, a plant could explain less than the first share of what a typical one
does: it must then explain the second share of that alone. Tried on scenes."""
NEAREST_REACH_M, FARTHEST_REACH_M = 0.05, 0.28
MOVE_M = 0.03
PAIR_MOVE_M, PAIR_OVER_REACH = 0.06, 0.8
"""Two plants nearer than this share of the reach are moved together, so far each."""
SHARE_WITHIN, REACH_M, REACH_OVER_EDGE = 0.9, 0.03, 1.0
"""Leaves reach so much farther from the stem than this share of the green reaches beside the lines. Tried on scenes."""


@dataclass(frozen=True)
class Stems:
    """Stems of one row, chosen from places tried.

    Attributes
    ----------
    offers : Offers
        How well a plant at each place, its leaves along one axis, would explain each point.
    points : int
        Number of points [1].
    tried_along_m, tried_across_m : ndarray of float, shape (places,)
        Places tried [m], in rising order along; once for each axis likely there.
    tried_line : ndarray of int, shape (places,)
        Line of the row each lies on, 0 or 1.
    typical : float
        What a typical plant explains, in points.
    chosen : tuple of int
        Places chosen.
    """

    offers: Offers
    points: int
    tried_along_m: FloatArray
    tried_across_m: FloatArray
    tried_line: npt.NDArray[np.int64]
    typical: float
    chosen: tuple[int, ...]

    @property
    def _order(self) -> npt.NDArray[np.int64]:
        at = np.array(self.chosen, dtype=np.int64)
        order: npt.NDArray[np.int64] = at[np.lexsort((self.tried_along_m[at], self.tried_line[at]))]
        return order

    @property
    def along_m(self) -> FloatArray:
        """Along the rows [m], in rising order within a line."""
        return self.tried_along_m[self._order]

    @property
    def across_m(self) -> FloatArray:
        """Across the rows [m], in the order of `along_m`."""
        return self.tried_across_m[self._order]

    @property
    def line(self) -> npt.NDArray[np.int64]:
        """Line of the row, 0 or 1, in the order of `along_m`."""
        return self.tried_line[self._order]

    @property
    def gaps_m(self) -> FloatArray:
        """From plant to plant in the line [m]."""
        gaps: FloatArray = np.diff(self.along_m)[np.diff(self.line) == 0]
        return gaps


def leaf_reach_m(along_m: FloatArray, across_m: FloatArray, rows: Sequence[Sequence[Line]]) -> float:
    """Return how far leaves reach from their stems [m], by how far green reaches beside the rows.

    Parameters
    ----------
    along_m, across_m : ndarray of float, shape (n,)
        Points on leaves, along and across the rows [m].
    rows : sequence of sequence of Line
        All rows of the picture.
    """
    belongs, off = nearest_row(along_m, across_m, rows)
    for number, row in enumerate(rows):
        if len(row) == 2:
            # between the lines of a twin row the nearer line is not always the leaf's own
            low, high = np.sort([line.across_m(along_m) for line in row], axis=0)
            off[(belongs == number) & (across_m > low) & (across_m < high)] = math.inf
    places = sorted(line.offset_m for row in rows for line in row)
    between = min(0.4, max(0.08, float(max(np.diff(places), default=0.8)) / 2.0))
    counts, edges = np.histogram(off, bins=round(between / 0.005), range=(0.0, between))
    # green between the rows (weeds, noise) is not the leaves' doing
    own = np.cumsum(np.append(0.0, counts - counts.min()))
    far = float(np.interp(SHARE_WITHIN * own[-1], own, edges)) if own[-1] > 0.0 else 0.0
    return min(FARTHEST_REACH_M, max(NEAREST_REACH_M, REACH_M + REACH_OVER_EDGE * far))


def find_stems(
    points: LeafPoints, mask: BoolArray, pixel_m: float, angle: float, lines: Sequence[Line], reach_m: float
) -> Stems:
    """Find the stems of one row from the points nearest to it.

    Parameters
    ----------
    points : LeafPoints
        Points on leaves that belong to this row.
    mask : ndarray of bool, shape (rows, columns)
        True on plants.
    pixel_m : float
        Side of a pixel on the ground [m].
    angle : float
        Direction of the rows [rad].
    lines : sequence of Line
        The row's one or two lines.
    reach_m : float
        How far leaves reach [m].
    """
    along, across, line = _tried(lines)
    offers, at = _offers(points, mask, pixel_m, angle, along, across, reach_m)
    along, across, line = along[at], across[at], line[at]
    items, apart = len(points.x_m), 2.6 * reach_m
    # one square centimetre and a half, in points
    chosen, added = greedy_centres(offers, items, 6.0)
    if not chosen:
        return Stems(offers, items, along, across, line, 1.0, ())
    typical = _typical(np.array(added))
    costs = SMALL_SHARE_ALONE * typical, SMALL_SHARE * typical
    kept = [c for c, a in zip(chosen, added, strict=True) if a >= costs[0]]
    centres, _ = settle_centres(offers, items, kept, costs, MOVE_M, apart)
    centres = settle_pairs(offers, items, centres, PAIR_MOVE_M, PAIR_OVER_REACH * reach_m)
    centres, _ = settle_centres(offers, items, centres, costs, MOVE_M, apart)
    return Stems(offers, items, along, across, line, typical, tuple(centres))


def look_again(stems: Stems, usual: UsualGap, reach_m: float) -> Stems:
    """Return the stems of a row when the usual gap is known.

    Parameters
    ----------
    stems : Stems
        What was chosen without it.
    usual : UsualGap
        What is usual in the picture.
    reach_m : float
        How far leaves reach [m].
    """
    if not stems.chosen:
        return stems
    offers, typical = stems.offers, stems.typical
    whole = np.add.reduceat(np.append(offers.worth, np.float32(0.0)), offers.starts[:-1])
    whole = np.where(np.diff(offers.starts) > 0, whole, 0.0)
    centre = np.clip(OVER_OWN * whole, SMALL_SHARE_ALONE * typical, SPACED_SHARE * typical)
    least = np.maximum(SPACED_LEAST * typical, np.where(whole < WHOLE * typical, OWN_LEAST * whole, 0.0))
    gaps, unlikely = unlikeliness(usual)
    charges = Charges(centre, stems.tried_line, gaps, GAP_SHARE * typical * unlikely, least)
    chosen = respaced(offers, stems.points, list(stems.chosen), charges, MOVE_M, 2.6 * reach_m)
    return replace(stems, chosen=tuple(chosen))


def _typical(added: FloatArray) -> float:
    """Return the weighted median: half of all green is explained by plants that explain more than this."""
    ranked = np.sort(added)
    total = np.cumsum(ranked)
    return float(ranked[int(np.searchsorted(total, total[-1] / 2.0))])


def _tried(lines: Sequence[Line]) -> tuple[FloatArray, FloatArray, npt.NDArray[np.int64]]:
    """Return all places tried, in rising order along: along, across [m] and number of the line."""
    parts = []
    for number, line in enumerate(lines):
        along = np.arange(line.start_m, line.end_m, STEP_M)
        for beside in BESIDE_TRIED_M:
            parts.append(np.stack([along, line.across_m(along) + beside, np.full(along.size, float(number))]))
    along, across, line_number = np.concatenate(parts, axis=1)
    order = np.argsort(along, kind="stable")
    return along[order], across[order], line_number[order].astype(np.int64)


def _offers(
    points: LeafPoints,
    mask: BoolArray,
    pixel_m: float,
    angle: float,
    along: FloatArray,
    across: FloatArray,
    reach_m: float,
) -> tuple[Offers, npt.NDArray[np.int64]]:
    """Ask every place tried how well a plant there would explain each point within reach.

    A place offers once for each axis its leaves may lie along; returned beside the offers is the place of each.
    """
    x, y = turned_back(along, across, angle)
    point_along, _ = turned(points.x_m.astype(np.float64), points.y_m.astype(np.float64), angle)
    order = np.argsort(point_along)
    low = np.searchsorted(point_along[order], along - 1.3 * reach_m)
    high = np.searchsorted(point_along[order], along + 1.3 * reach_m)
    sizes, items, worth, places = [0], [], [], []
    for k in range(len(along)):
        near = order[low[k] : high[k]]
        value = _belonging(points, near, float(x[k]), float(y[k]), mask, pixel_m, reach_m)
        near, value = near[value > LEAST_WORTH], value[value > LEAST_WORTH]
        for fit in _by_axis(points.x_m[near] - np.float32(x[k]), points.y_m[near] - np.float32(y[k]), value):
            use = fit > LEAST_WORTH
            sizes.append(int(use.sum()))
            items.append(near[use].astype(np.int32))
            worth.append(fit[use])
            places.append(k)
    at = np.array(places, dtype=np.int64)
    return Offers(np.cumsum(sizes), np.concatenate(items), np.concatenate(worth), along[at]), at


def _by_axis(
    dx: npt.NDArray[np.float32], dy: npt.NDArray[np.float32], value: npt.NDArray[np.float32]
) -> npt.NDArray[np.float32]:
    """Return what points are worth to a plant whose leaves lie along one axis, one line for each likely axis [1]."""
    turns = np.arange(AXES, dtype=np.float32)[:, None] * np.float32(math.pi / AXES)
    aside = (np.cos(turns) * dy - np.sin(turns) * dx) / (AXIS_PLAIN_M + AXIS_WIDER_PER_M * np.hypot(dx, dy))
    fits: npt.NDArray[np.float32] = (value * np.exp(-0.5 * aside**2)).astype(np.float32)
    total = fits.sum(axis=1)
    # the axes turn in a ring: the last stands beside the first
    top = (total >= np.roll(total, 1)) & (total > np.roll(total, -1)) & (total > AXIS_SHARE * total.max())
    return fits[top] if top.any() else fits[:1]


def _belonging(
    points: LeafPoints,
    near: npt.NDArray[np.int64],
    x: float,
    y: float,
    mask: BoolArray,
    pixel_m: float,
    reach_m: float,
) -> npt.NDArray[np.float32]:
    """Say how well points fit a plant at one place: leaf points at it, not too far, green all the way [1]."""
    px, py = points.x_m[near], points.y_m[near]
    dx, dy = px - np.float32(x), py - np.float32(y)
    far = np.hypot(dx, dy)
    aside = np.abs(np.cos(points.angle[near]) * dy - np.sin(points.angle[near]) * dx)
    clear = points.clear[near]
    fit = 1.0 - clear + clear * np.exp(-0.5 * (aside / (PLAIN_M + WIDER_PER_M * far)) ** 2)
    value = np.where(far < 1.3 * reach_m, fit * np.exp(-0.5 * (far / (FADE_OVER_REACH * reach_m)) ** 2), 0.0)
    likely = np.flatnonzero(value > LEAST_WORTH)
    part = np.linspace(0.0, 1.0, PATH_SAMPLES, endpoint=False, dtype=np.float32)[:, None]
    column = ((x + part * dx[likely]) / pixel_m).astype(np.int64).clip(0, mask.shape[1] - 1)
    row = ((y + part * dy[likely]) / pixel_m).astype(np.int64).clip(0, mask.shape[0] - 1)
    green = mask[row, column].mean(axis=0)
    value[likely] *= np.clip((green - PATH_FROM) / (PATH_TO - PATH_FROM), 0.0, 1.0)
    return value.astype(np.float32)


def nearest_row(
    along_m: FloatArray, across_m: FloatArray, rows: Sequence[Sequence[Line]]
) -> tuple[npt.NDArray[np.int64], FloatArray]:
    """Return the number of the row nearest to each point, and how far its nearest line is [m].

    Parameters
    ----------
    along_m, across_m : ndarray of float, shape (n,)
        Points [m].
    rows : sequence of sequence of Line
        All rows.
    """
    best, out = np.full(along_m.size, math.inf), np.zeros(along_m.size, dtype=np.int64)
    for number, lines in enumerate(rows):
        for line in lines:
            off = np.abs(across_m - line.across_m(along_m))
            out[off < best] = number
            best = np.minimum(best, off)
    return out, best
