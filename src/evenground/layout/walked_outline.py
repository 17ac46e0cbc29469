"""An outline walked round with a phone: places that cannot be trusted are left out, the rest is thinned and closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from evenground.basis.errors import InputError, problem
from evenground.basis.field import LocalPlane, geodesic_area_m2

MOST_PLACES = 20_000
# A place the phone itself takes to be worse than this, or three times worse than its middle place, is left out.
# Judgement: a phone under open sky says 3 to 10 m.
WORST_ACCURACY_M = 30.0
TIMES_WORSE = 3.0
# Corners nearer to the line between their neighbours than this are left out: a third of the accuracy, at least 0.5 m.
# Judgement.
THINNED_SHARE, LEAST_THINNED_M = 1.0 / 3.0, 0.5
# Beginning and end farther apart than this are said. Judgement.
WIDE_GAP_M = 25.0
FEWEST = 4
# A way whose largest loop holds less than this share of all it goes round has really crossed itself. Judgement.
LARGEST_SHARE = 0.97


@dataclass(frozen=True, slots=True)
class WalkedPlace:
    """Where the phone was.

    Attributes
    ----------
    lon, lat : float
        WGS84 [deg].
    accuracy_m : float
        Radius within which it takes itself to be [m].
    """

    lon: float
    lat: float
    accuracy_m: float


@dataclass(frozen=True)
class WalkedOutline:
    """What a walk gave.

    Attributes
    ----------
    outline : Polygon
        Longitude and latitude [deg].
    area_m2, perimeter_m : float
        Area on the ellipsoid [m2], length of the outline [m].
    accuracy_m : float
        Middle accuracy of the places used [m].
    places, used, corners : int
        Places recorded, places used, corners left [1].
    gap_m : float
        From the last place to the first [m].
    notes : tuple of str
        What to look at.
    """

    outline: Polygon
    area_m2: float
    perimeter_m: float
    accuracy_m: float
    places: int
    used: int
    corners: int
    gap_m: float
    notes: tuple[str, ...]


def walked_outline(places: Sequence[WalkedPlace]) -> WalkedOutline:
    """Make an outline of the places recorded while walking round a field.

    Answers: what is the field's outline, and how far may it be off?

    Parameters
    ----------
    places : sequence of WalkedPlace
        In walking order.

    Returns
    -------
    WalkedOutline

    Raises
    ------
    InputError
        If there are too few or too many places, none can be trusted, or the way crosses itself.

    Source: Douglas and Peucker (1973) for the thinning; the limits are judgement.
    """
    if not FEWEST <= len(places) <= MOST_PLACES:
        allowed = f"{FEWEST} to {MOST_PLACES} places"
        raise InputError([problem("walk once round the field.", field="places", given=len(places), allowed=allowed)])
    accuracy = np.array([p.accuracy_m for p in places])
    at = np.array([(p.lon, p.lat) for p in places])
    sound = np.isfinite(at).all(1) & (np.abs(at[:, 0]) <= 180.0) & (np.abs(at[:, 1]) <= 90.0) & (accuracy > 0.0)
    usual = float(np.median(accuracy[sound])) if sound.any() else 0.0
    trusted = sound & (accuracy <= min(WORST_ACCURACY_M, TIMES_WORSE * usual))
    if trusted.sum() < FEWEST:
        text = "the phone did not know well enough where it was; wait for better reception and walk again."
        raise InputError([problem(text, field="places", given=int(trusted.sum()), allowed=f"at least {FEWEST}")])
    return _outline(at[trusted], accuracy[trusted], len(places))


def _outline(at: np.ndarray, accuracy: np.ndarray, recorded: int) -> WalkedOutline:
    middle = float(np.median(accuracy))
    plane = LocalPlane(float(np.median(at[:, 0])), float(np.median(at[:, 1])))
    metres = shapely.get_coordinates(plane.to_metres(MultiPoint(at)))
    gap = float(np.hypot(*(metres[-1] - metres[0])))
    ring = _sound(shapely.simplify(LineString([*metres, metres[0]]), max(LEAST_THINNED_M, THINNED_SHARE * middle)))
    outline = plane.to_degrees(ring)
    assert isinstance(outline, Polygon)
    notes = [f"each corner may be off by about {middle:.0f} m, as the phone says."]
    if len(at) < recorded:
        left = recorded - len(at)
        said = "1 place was" if left == 1 else f"{left} places were"
        notes.append(f"{said} left out: the phone did not know well enough where it was.")
    if gap > WIDE_GAP_M:
        notes.append(f"between the end and the beginning {gap:.0f} m were closed by a straight line.")
    return WalkedOutline(
        outline=outline,
        area_m2=geodesic_area_m2(outline),
        perimeter_m=float(ring.length),
        accuracy_m=middle,
        places=recorded,
        used=len(at),
        corners=len(ring.exterior.coords) - 1,
        gap_m=gap,
        notes=tuple(notes),
    )


def _sound(line: BaseGeometry) -> Polygon:
    """Return the area a closed way goes round; little loops of a nervous receiver are cut off, a real crossing is not.

    Raises
    ------
    InputError
        If the way goes round no area, or round two.
    """
    corners = shapely.get_coordinates(line)
    found = shapely.make_valid(Polygon(corners)) if len(corners) > FEWEST - 1 else Polygon()
    areas = [p for p in shapely.get_parts(found) if isinstance(p, Polygon)]
    areas += [q for p in shapely.get_parts(found) if isinstance(p, MultiPolygon) for q in p.geoms]
    largest = max(areas, key=lambda p: p.area, default=Polygon())
    whole = sum(p.area for p in areas)
    if whole <= 0.0 or largest.area < LARGEST_SHARE * whole:
        text = "the way crosses itself, so it is no outline; walk once round without cutting across."
        raise InputError([problem(text, field="places", allowed="once round")])
    return Polygon(largest.exterior)
