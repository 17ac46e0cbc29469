"""What the strips are exposed to, one by one: open ground beside them, tramlines, soil and earlier yields."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point, Polygon

from evenground.basis.field import Field, LocalPlane, PointLayer
from evenground.layout.raster import Place

Weights = tuple[tuple[float, ...], ...]
EXPOSED = ("tramline", "covariates")
_TOUCH_M = 0.01
# A strip stands beside another over at least this share of its length; less is open ground. Judgement.
_BESIDE = 0.5
# Fewer points than this in a strip say nothing about it; it then takes the mean of the others. Judgement.
_FEWEST_POINTS = 3


@dataclass(frozen=True, slots=True)
class Exposure:
    """For each strip what it is exposed to.

    Attributes
    ----------
    edge : tuple of tuple of float
        Sides without a strip beside it [1]; empty: the two outermost strips count.
    tramline : tuple of tuple of float
        Wheel tracks of sprayer and spreader in the strip [1]; empty for none planned.
    covariates : tuple of tuple of float
        Soil zones, earlier yields, joints between spreader bouts [any units]; empty for none known.
    names : tuple of str
        What the covariates are.
    notes : tuple of str
        What was left out, and why.
    """

    edge: Weights = ()
    tramline: Weights = ()
    covariates: Weights = ()
    names: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def of(self, name: str) -> Weights:
        """Return the weights of a limit; empty where it has none of its own."""
        return {"edge": self.edge, "tramline": self.tramline, "covariates": self.covariates}.get(name, ())

    def differs(self, name: str) -> bool:
        """Return whether the strips differ in this."""
        return len(set(self.of(name))) > 1


NO_EXPOSURE = Exposure()


def open_sides(places: Sequence[Place], width_m: float) -> Weights:
    """Return for each strip how many of its two sides have no strip beside them over half its length [1].

    Parameters
    ----------
    places : sequence of Place
        The strips.
    width_m : float
        Their width [m].

    Returns
    -------
    tuple of (float,)

    Source: definition; half the length is judgement.
    """

    def beside(one: Place, other: Place) -> bool:
        shared = min(one.high_m, other.high_m) - max(one.low_m, other.low_m)
        touching = abs(abs(one.left_m - other.left_m) - width_m) < _TOUCH_M
        return touching and shared >= _BESIDE * one.length_m

    return tuple((2.0 - min(2, sum(beside(p, q) for q in places)),) for p in places)


def covariates_of(
    outlines: Sequence[Polygon],
    blocks: Sequence[int],
    plane: LocalPlane,
    field: Field,
    layers: Sequence[PointLayer],
    *,
    counted: Mapping[str, Weights] = MappingProxyType({}),
) -> tuple[Weights, tuple[str, ...], tuple[str, ...]]:
    """Return what is known of the ground under each strip.

    Zones count by the share of the strip they cover times their value; points by their mean within the strip.

    Parameters
    ----------
    outlines : sequence of Polygon
        The strips, in the metric plane [m].
    blocks : sequence of int
        Block of each.
    plane : LocalPlane
        That plane.
    field : Field
        Its soil zones.
    layers : sequence of PointLayer
        Earlier yields and the like.
    counted : mapping of str to tuple of (float,)
        What is known of each strip already, by its name; empty entries are passed over.

    Returns
    -------
    covariates : tuple of tuple of float
        One row a strip, each column with mean 0 and standard deviation 1.
    names, notes : tuple of str
        What the columns are, and what was left out.

    Source: definition.
    """
    columns: list[NDArray[np.float64]] = []
    inner: list[NDArray[np.float64]] = []
    names: list[str] = []
    notes: list[str] = []
    member = np.asarray(blocks)
    known = {name: np.array(weights)[:, 0] for name, weights in counted.items() if weights}
    for name, values in {**_by_layer(outlines, plane, field, layers, notes), **known}.items():
        within = values - np.array([values[member == b].mean() for b in member])
        spread = values.std()
        if within.std() < 1e-6 * max(1e-9, float(np.abs(values).max())):
            notes.append(f"{name}: the same for all strips of each block; nothing to balance.")
            continue
        # The draw deals methods within blocks, so only what differs within blocks can be balanced.
        inner.append(within / within.std())
        if np.linalg.matrix_rank(np.column_stack(inner), tol=1e-4) < len(inner):
            notes.append(f"{name}: says the same as the other layers; left out.")
            inner.pop()
            continue
        columns.append((values - values.mean()) / spread)
        names.append(name)
    rows = np.column_stack(columns) if columns else np.empty((0, 0))
    return tuple(tuple(row) for row in rows.tolist()), tuple(names), tuple(notes)


def _by_layer(
    outlines: Sequence[Polygon], plane: LocalPlane, field: Field, layers: Sequence[PointLayer], notes: list[str]
) -> dict[str, NDArray[np.float64]]:
    found: dict[str, NDArray[np.float64]] = {}
    for zone in field.zones:
        shape = plane.to_metres(zone.shape)
        share = np.array([outline.intersection(shape).area / outline.area for outline in outlines])
        found[zone.layer] = found.get(zone.layer, np.zeros(len(outlines))) + share * zone.value
    for layer in layers:
        found[layer.name] = _means(outlines, plane, layer, notes)
    return found


def _means(outlines: Sequence[Polygon], plane: LocalPlane, layer: PointLayer, notes: list[str]) -> NDArray[np.float64]:
    points = shapely.get_coordinates(plane.to_metres(shapely.MultiPoint(np.column_stack((layer.lon, layer.lat)))))
    tree = shapely.STRtree([Point(at) for at in points])
    value = np.asarray(layer.value)
    inside = [tree.query(outline, predicate="intersects") for outline in outlines]
    means = np.array([value[at].mean() if len(at) >= _FEWEST_POINTS else np.nan for at in inside])
    empty = np.isnan(means)
    if empty.any():
        notes.append(f"{layer.name}: too few points in {empty.sum()} of {len(means)} strips; taken as average there.")
        means[empty] = 0.0 if empty.all() else means[~empty].mean()
    return means
