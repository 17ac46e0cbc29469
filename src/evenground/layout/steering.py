"""What earlier years left in the ground, as drawn, steers the choice among layouts that see equally well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from evenground.basis.field import Field
from evenground.layout.headings import NEARLY, Direction
from evenground.layout.history import UNEQUAL_SHARE, drawn_area
from evenground.layout.raster import lay_at_each
from evenground.layout.runs import Frame

Floats = NDArray[np.float64]

# So many of the best headings are tried with the first strip moved row by row, to lie clear of what is drawn, and so
# many places in all. Judgement; it keeps the work bounded.
_HEADINGS_MOVED = 8
_PLACES_TRIED = 96


@dataclass(frozen=True)
class Traces:
    """What is drawn in the ground, one entry for each kind, in the field's plane [m].

    Attributes
    ----------
    trees : tuple of STRtree
        Pieces of each kind that do not overlap.
    """

    trees: tuple[shapely.STRtree, ...]

    def hit(self, direction: Direction) -> int:
        """Return how many blocks have strips that a trace covers unequally, each kind of trace by itself [1].

        Answers: do the strips lie across what is drawn, or each block wholly inside or outside it? The rule is that of
        `evenground.layout.history.findings`.
        """
        if not self.trees or not direction.places:
            return 0
        slot, frame = direction.raster.slot, Frame(direction.heading_deg)
        left = [place.left_m + slot.cut_left_m for place in direction.places]
        cuts = np.array(
            [
                frame.rectangle(at, at + slot.cut_width_m, place.low_m, place.high_m)
                for at, place in zip(left, direction.places, strict=True)
            ]
        )
        area, strips = shapely.area(cuts), direction.raster.strips
        shares = (_covered(cuts, tree) / area for tree in self.trees)
        return sum(int((np.ptp(share.reshape(-1, strips), axis=1) > UNEQUAL_SHARE).sum()) for share in shares)


def traces_of(field: Field) -> Traces:
    """Return what is drawn in the field as left by earlier years.

    Parameters
    ----------
    field : Field
        Features of the role ``history``.

    Source: definition.
    """
    shapes: dict[str, list[BaseGeometry]] = {}
    for trace in field.history:
        shapes.setdefault(trace.kind, []).append(field.plane.to_metres(trace.shape))
    return Traces(tuple(shapely.STRtree(_apart(of_kind)) for of_kind in shapes.values()))


def clear_of(traces: Traces, outlines: Sequence[Floats], ranked: Sequence[Direction]) -> Direction:
    """Return the best direction, with its strips moved sideways where fewer blocks are then hit by what is drawn.

    Parameters
    ----------
    traces : Traces
        What is drawn.
    outlines : sequence of ndarray
        As `evenground.layout.raster.outlines_for`.
    ranked : sequence of Direction
        Best first, at least one.

    Returns
    -------
    Direction
        Sees a gain within a hundredth of the best one; the same direction where nothing can be won.

    Source: judgement.
    """
    best, left = ranked[0], _PLACES_TRIED
    fewest, limit = traces.hit(best), NEARLY * min(one.gain_percent for one in ranked)
    for one in ranked[:_HEADINGS_MOVED]:
        if one.gain_percent > limit or one.blocks < ranked[0].blocks:
            continue
        for laid in islice(lay_at_each(outlines, one.raster, one.heading_deg), left if fewest else 0):
            left -= 1
            moved = Direction(one.heading_deg, one.raster, laid, one.along_side)
            as_good = laid.gain_percent <= limit and moved.blocks >= best.blocks
            hit = traces.hit(moved) if as_good else fewest
            if hit < fewest:
                best, fewest = moved, hit
            if fewest == 0:
                break
    return best


def _apart(shapes: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """Return the ground of traces as pieces that do not overlap, small ones where many cross each other."""
    pieces: list[BaseGeometry] = []
    for shape in shapes:
        left = drawn_area([shape])
        for at in shapely.STRtree(pieces).query(left, predicate="intersects") if pieces else ():
            left = left.difference(pieces[at])
        pieces += [part for part in shapely.get_parts(left) if part.area > 0]
    return pieces


def _covered(cuts: NDArray[np.object_], tree: shapely.STRtree) -> Floats:
    """Return how much of each cut the pieces of a tree cover [m2]."""
    cut, piece = tree.query(cuts, predicate="intersects")
    shared = shapely.area(shapely.intersection(cuts[cut], tree.geometries[piece]))
    covered: Floats = np.bincount(cut, weights=shared, minlength=len(cuts)).astype(np.float64)
    return covered
