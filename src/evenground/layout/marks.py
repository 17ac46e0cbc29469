"""Marks to set: one at each corner of a strip, with the distances a tape can check."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from evenground.basis.plan import Plan
from evenground.layout.turned_field import LonLat, TurnedField, to_edge_m

End = Literal["start", "far"]
# Corners of neighbouring strips closer than this are one mark.
SAME_PLACE_M = 0.05

MARK_CAUTIONS = (
    "No metal and no wire anywhere in the crop: a bar breaks the harvester, and swallowed splinters kill cattle.",
    "Canes only at the edge of the field, never inside a strip; list each marker when it is set, and tick it off "
    "when it is taken out. No harvest before every marker is ticked off.",
    "Look for cables and power lines before anything is driven into the ground; local rules on digging go first.",
)


@dataclass(frozen=True)
class Mark:
    """A place at a corner of strips where a cane may stand until harvest.

    Attributes
    ----------
    number : int
        Counted from the fixed edge along the start, then along the far end.
    end : {"start", "far"}
        Which end of the strips, looking along the heading.
    strips : tuple of int
        The strips that have a corner there.
    place : tuple of float
        Longitude and latitude [deg].
    across_m, along_m : float
        Place in the turned field [m].
    side_m : float
        To the field edge beside the strips, on the side rows are counted from, square to the strips [m].
    end_m : float
        To the field edge ahead, in line with the strips [m].
    along_edge_m : float
        Along the fixed edge, from where the strip that starts first begins [m].
    """

    number: int
    end: End
    strips: tuple[int, ...]
    place: LonLat
    across_m: float
    along_m: float
    side_m: float
    end_m: float
    along_edge_m: float


def marks(plan: Plan, turned: TurnedField) -> tuple[Mark, ...]:
    """Return a mark for every corner of a strip; corners of neighbours in one place share theirs.

    Parameters
    ----------
    plan : Plan
        On which side the fixed edge lies.
    turned : TurnedField
        The strips.

    Source: plane geometry.
    """
    side = -1 if plan.layout.fixed_edge_side == "left" else 1
    zero = min(box.low_m for box in turned.boxes)
    found: list[Mark] = []
    for end, way in (("start", -1), ("far", 1)):
        for across, along, strips in _corners(turned, end, side):
            one = Mark(
                number=len(found) + 1,
                end="start" if end == "start" else "far",
                strips=strips,
                place=turned.lon_lat(across, along),
                across_m=across,
                along_m=along,
                side_m=to_edge_m(turned, (across, along), (side, 0)),
                end_m=to_edge_m(turned, (across, along), (0, way)),
                along_edge_m=along - zero,
            )
            found.append(one)
    return tuple(found)


def _corners(turned: TurnedField, end: str, side: int) -> list[tuple[float, float, tuple[int, ...]]]:
    """Return the corners at one end as across, along, strips; counted from the fixed edge."""
    out: list[tuple[float, float, tuple[int, ...]]] = []
    for box in turned.boxes:
        along = box.low_m if end == "start" else box.high_m
        for across in (box.left_m, box.right_m):
            same = [k for k, (x, y, _) in enumerate(out) if np.hypot(x - across, y - along) < SAME_PLACE_M]
            if same:
                x, y, strips = out[same[0]]
                out[same[0]] = (x, y, (*strips, box.strip.strip))
            else:
                out.append((across, along, (box.strip.strip,)))
    return sorted(out, key=lambda corner: -side * corner[0])
