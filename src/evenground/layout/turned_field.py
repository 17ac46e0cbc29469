"""A drawn trial in metres, turned so that its strips run straight up: lines, marks and row counts are read from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Point, Polygon

from evenground.basis.field import Field, LocalPlane
from evenground.basis.strip import Draw, Strip
from evenground.layout.runs import Frame

LonLat = tuple[float, float]
_BEYOND_M = 1e5


@dataclass(frozen=True)
class StripBox:
    """A strip in the field turned so that strips run straight up.

    Attributes
    ----------
    strip : Strip
        As drawn.
    left_m, right_m : float
        Edges of the slot [m across].
    cut_left_m, cut_right_m : float
        Edges of its weighed cut [m across].
    low_m, high_m : float
        Ends of the slot [m along].
    cut_low_m, cut_high_m : float
        Ends of its weighed cut [m along].
    """

    strip: Strip
    left_m: float
    right_m: float
    cut_left_m: float
    cut_right_m: float
    low_m: float
    high_m: float
    cut_low_m: float
    cut_high_m: float


@dataclass(frozen=True)
class TurnedField:
    """A drawn trial in metres, turned so that strips run straight up: across to the right, along the heading.

    Attributes
    ----------
    plane : LocalPlane
        Metric plane of the field.
    frame : Frame
        How it is turned.
    boundary : MultiPolygon
        Field outline (across, along) [m].
    boxes : tuple of StripBox
        The strips by their left edge.
    """

    plane: LocalPlane
    frame: Frame
    boundary: MultiPolygon
    boxes: tuple[StripBox, ...]

    def parts(self) -> tuple[tuple[StripBox, ...], ...]:
        """Return the strips by the part of the field they lie in, from the left; one group where it is in one piece."""
        groups: dict[int, list[StripBox]] = {}
        for box in self.boxes:
            middle = Point((box.left_m + box.right_m) / 2, (box.low_m + box.high_m) / 2)
            away = [part.distance(middle) for part in self.boundary.geoms]
            groups.setdefault(away.index(min(away)), []).append(box)
        return tuple(tuple(group) for group in groups.values())

    def lon_lat(self, across_m: float, along_m: float) -> LonLat:
        """Return a place as longitude and latitude [deg].

        Parameters
        ----------
        across_m, along_m : float
            Place in the turned field [m].
        """
        east, north = np.array([across_m, along_m]) @ self.frame.turn
        place = self.plane.to_degrees(Point(east, north))
        lon, lat = shapely.get_coordinates(place)[0]
        return float(lon), float(lat)


def turned_field(field: Field, draw: Draw) -> TurnedField:
    """Return the drawn strips and the field outline in metres, turned so that strips run straight up.

    Parameters
    ----------
    field : Field
        Outline, WGS84.
    draw : Draw
        The strips.

    Source: plane geometry; the plane is that of `Field.plane`.
    """
    plane, frame = field.plane, Frame(draw.heading_deg)
    turn = frame.turn.T
    boundary = shapely.transform(plane.to_metres(field.boundary), lambda at: at @ turn)
    boxes = sorted((_box(s, plane, turn) for s in draw.strips), key=lambda b: (round(b.left_m, 3), b.low_m))
    parts = [p for p in shapely.get_parts(boundary) if isinstance(p, Polygon)]
    return TurnedField(plane, frame, MultiPolygon(parts), tuple(boxes))


def _box(strip: Strip, plane: LocalPlane, turn: NDArray[np.float64]) -> StripBox:
    whole, cut = (
        shapely.get_coordinates(plane.to_metres(Polygon(ring))) @ turn for ring in (strip.outline, strip.cut_outline)
    )
    (left, low), (right, high) = whole.min(axis=0).tolist(), whole.max(axis=0).tolist()
    (cut_left, cut_low), (cut_right, cut_high) = cut.min(axis=0).tolist(), cut.max(axis=0).tolist()
    return StripBox(strip, left, right, cut_left, cut_right, low, high, cut_low, cut_high)


def to_edge_m(turned: TurnedField, start: tuple[float, float], way: tuple[int, int]) -> float:
    """Return how far it is from a place to the field edge in one direction [m]; 0 where there is none.

    Parameters
    ----------
    turned : TurnedField
        The field.
    start : tuple of float
        Across and along [m].
    way : tuple of int
        Direction: (-1, 0) is left, (0, 1) along the heading.

    Source: intersection of a ray with the outer outline.
    """
    ray = LineString([start, (start[0] + way[0] * _BEYOND_M, start[1] + way[1] * _BEYOND_M)])
    edges = shapely.union_all([part.exterior for part in turned.boundary.geoms])
    crossed = ray.intersection(edges)
    return 0.0 if crossed.is_empty else float(Point(start).distance(crossed))
