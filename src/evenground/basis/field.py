"""The field: its outline on the globe, and the flat metric plane that all layout work happens in."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import pyproj
from shapely import transform
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True)
class KeptEdge:
    """An edge that strips keep away from, such as hedge shade or a slope.

    Attributes
    ----------
    shape : BaseGeometry
        Line or area, longitude and latitude [deg].
    width_m : float
        Kept free on both sides of it [m].
    reason : str
        Why.
    """

    shape: BaseGeometry
    width_m: float
    reason: str = ""


@dataclass(frozen=True)
class Trace:
    """Something earlier years left in the ground.

    Attributes
    ----------
    kind : str
        A key of section ``[history]`` of the plan.
    shape : BaseGeometry
        Line or area, longitude and latitude [deg].
    """

    kind: str
    shape: BaseGeometry


@dataclass(frozen=True)
class Zone:
    """Part of a field that is alike in something.

    Attributes
    ----------
    layer : str
        What it is alike in, such as soil.
    value : float
        How much of it [any unit].
    shape : BaseGeometry
        Area, longitude and latitude [deg].
    """

    layer: str
    value: float
    shape: BaseGeometry


@dataclass(frozen=True)
class PointLayer:
    """Values at points, such as an earlier yield map.

    Attributes
    ----------
    name : str
        What it is.
    lon, lat : tuple of float
        Places, WGS84 [deg].
    value : tuple of float
        What was measured [any unit].
    """

    name: str
    lon: tuple[float, ...]
    lat: tuple[float, ...]
    value: tuple[float, ...]


@dataclass(frozen=True)
class Field:
    """Outline of a field, WGS84.

    Attributes
    ----------
    boundary : MultiPolygon
        One or more parts, with holes, longitude and latitude [deg].
    obstacles : MultiPolygon
        Ground inside that cannot be sown in strips, longitude and latitude [deg].
    kept_edges : tuple of KeptEdge
        Edges that strips keep away from.
    history : tuple of Trace
        What earlier years left in the ground.
    zones : tuple of Zone
        Soil and the like, to be shared out fairly.
    second : MultiPolygon
        Another field of the farm that could carry the same trial; empty where none is drawn.
    """

    boundary: MultiPolygon
    obstacles: MultiPolygon
    kept_edges: tuple[KeptEdge, ...] = ()
    history: tuple[Trace, ...] = ()
    zones: tuple[Zone, ...] = ()
    second: MultiPolygon = field(default_factory=MultiPolygon)

    @cached_property
    def plane(self) -> LocalPlane:
        """The metric plane touching the globe at the field."""
        centre = self.boundary.centroid
        return LocalPlane(centre.x, centre.y)


@dataclass(frozen=True)
class LocalPlane:
    """A plane in metres around one point: azimuthal equidistant, x east, y north.

    Within 5 km of the centre lengths are true to about 1 part in 10 million (the projection's scale error grows as
    (distance / earth radius)^2 / 6).

    Attributes
    ----------
    lon, lat : float
        Origin, WGS84 [deg].
    """

    lon: float
    lat: float

    @cached_property
    def _proj(self) -> pyproj.Proj:
        return pyproj.Proj(proj="aeqd", lat_0=self.lat, lon_0=self.lon, ellps="WGS84")

    def to_metres(self, shape: BaseGeometry) -> BaseGeometry:
        """Move a shape from longitude/latitude [deg] to the plane [m]."""
        return transform(shape, lambda at: np.column_stack(self._proj(at[:, 0], at[:, 1])))

    def to_degrees(self, shape: BaseGeometry) -> BaseGeometry:
        """Move a shape from the plane [m] to longitude/latitude [deg]."""
        return transform(shape, lambda at: np.column_stack(self._proj(at[:, 0], at[:, 1], inverse=True)))


def geodesic_area_m2(shape: Polygon | MultiPolygon) -> float:
    """Return the area of a WGS84 shape on the ellipsoid [m2].

    Source: Karney (2013), J. Geodesy 87:43-55, as carried by PROJ.
    """
    area, _ = pyproj.Geod(ellps="WGS84").geometry_area_perimeter(shape)
    return abs(area)
