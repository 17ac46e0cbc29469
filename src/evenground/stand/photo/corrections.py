"""What a person sees better than the program: plants taken out and put in by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from evenground.basis.errors import InputError, Problem, problem
from evenground.stand.photo.found import Found, Plant, row_start_m
from evenground.stand.photo.rows import turned

REMOVE_NEAR_M = 0.05
"""A plant to take out must be found so near to the place named."""
ADD_NEAR_M = 0.10
"""A plant to put in must stand so near to a line."""
SAME_M = 0.005
"""Two plants cannot stand closer."""


@dataclass(frozen=True)
class Change:
    """One correction.

    Attributes
    ----------
    at : int
        Line of the file it stands in, for messages.
    action : str
        "add" or "remove".
    x_px, y_px : float
        Place in the photograph, from its upper left corner to the right and down [pixels].
    """

    at: int
    action: Literal["add", "remove"]
    x_px: float
    y_px: float


def corrected(found: Found, changes: Sequence[Change], file: str) -> Found:
    """Return the plants after the corrections, taken in their order; what was found is left as it was.

    Parameters
    ----------
    found : Found
        What the photograph shows.
    changes : sequence of Change
        Corrections.
    file : str
        Where they come from, for messages.

    Raises
    ------
    InputError
        With every correction that does not fit: outside the photograph, nothing there to take out, no line near, a
        plant there already.
    """
    plants, problems = list(found.plants), list[Problem]()
    for change in changes:
        fault = _outside(found, change) or (_remove if change.action == "remove" else _add)(found, plants, change)
        if fault is not None:
            problems.append(replace(fault, file=file, row=change.at, given=f"{change.x_px:g}, {change.y_px:g}"))
    if problems:
        raise InputError(problems)
    return replace(found, plants=tuple(sorted(plants, key=lambda p: (p.row, p.line, p.position_m))))


def _outside(found: Found, change: Change) -> Problem | None:
    width, height = found.size_px
    if 0.0 <= change.x_px <= width and 0.0 <= change.y_px <= height:
        return None
    return problem("this place is outside the photograph.", field="x, y", allowed=f"0 to {width}, 0 to {height} pixels")


def _nearest(found: Found, plants: Sequence[Plant], change: Change) -> tuple[int, float]:
    """Return the nearest plant and how far it is [m]."""
    far = [np.hypot(p.x_px - change.x_px, p.y_px - change.y_px) * found.pixel_m for p in plants]
    return (int(np.argmin(far)), float(min(far))) if far else (-1, np.inf)


def _remove(found: Found, plants: list[Plant], change: Change) -> Problem | None:
    which, far = _nearest(found, plants, change)
    if far > REMOVE_NEAR_M:
        allowed = f"a plant of the overlay within {100 * REMOVE_NEAR_M:g} cm"
        return problem("there is no plant to take out here.", field="x, y", allowed=allowed)
    del plants[which]
    return None


def _add(found: Found, plants: list[Plant], change: Change) -> Problem | None:
    if _nearest(found, plants, change)[1] < SAME_M:
        return problem("there is a plant here already.", field="x, y", allowed="a place without one")
    place = np.array([change.x_px]), np.array([change.y_px])
    along, across = turned(place[0] * found.pixel_m, place[1] * found.pixel_m, found.rows.angle)
    off = [
        (abs(float((across - line.across_m(along))[0])), row, number)
        for row, lines in enumerate(found.rows.rows)
        for number, line in enumerate(lines)
    ]
    far, row, number = min(off)
    if far > ADD_NEAR_M:
        allowed = f"a place within {100 * ADD_NEAR_M:g} cm of a line of the overlay"
        return problem("no row runs here.", field="x, y", allowed=allowed)
    position = float(along[0]) - row_start_m(found.rows.rows[row])
    plants.append(Plant(row + 1, number + 1, position, change.x_px, change.y_px, "added"))
    return None
