"""When nothing fits: why, and the nearest thing that would."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely.geometry import MultiPolygon

from evenground.basis.field import Field
from evenground.layout.headings import Direction, search
from evenground.layout.raster import Raster, lay_blocks, outlines_for
from evenground.layout.workable import workable_area

# Lengths tried when strips as long as asked for do not fit, as shares of it.
_SHORTER = (0.75, 0.5, 0.25)
_SHORTEST_M = 5.0
_LESS_HEADLAND = (0.75, 0.5, 0.25, 0.0)


def explain(
    field: Field,
    area: MultiPolygon,
    raster: Raster,
    headland_m: float,
    directions: Sequence[Direction],
    given_deg: float | None,
) -> tuple[str, str]:
    """Return why the blocks wanted do not fit, and the nearest layout that does.

    Parameters
    ----------
    field : Field
        Outline and obstacles.
    area : MultiPolygon
        Workable area [m].
    raster : Raster
        What was to be laid out.
    headland_m : float
        Headland that was kept [m].
    directions : sequence of Direction
        What each heading gives.
    given_deg : float or None
        The heading that was wished for [deg], if any.

    Returns
    -------
    message, nearest : str
        Both in words; ``nearest`` may be empty.

    Source: the search itself, with less asked for.
    """
    best = max(directions, key=lambda d: (d.blocks, d.metres))
    wanted = 1 if raster.blocks is None else raster.blocks
    message = (
        f"{_blocks(wanted)} of {raster.strips} strips, each {raster.width_m:g} m wide and at least "
        f"{raster.shortest_m:g} m long, do{'es' if wanted == 1 else ''} not fit"
        f"{'' if given_deg is None else f' at heading {given_deg:g}°'}."
    )
    if given_deg is not None and best.blocks >= wanted:
        return message, f"Nearest: heading {best.heading_deg:.1f}° has room for {_blocks(best.blocks)}."
    if best.blocks > 0:
        found = f"heading {best.heading_deg:.1f}° has room for {_blocks(best.blocks)}"
        return message, f"Nearest: {found} (blocks = {best.blocks})."
    return message, _one_block(field, area, raster, headland_m)


def shorter_strips(area: MultiPolygon, raster: Raster, heading_deg: float, blocks: int) -> tuple[float, int] | None:
    """Return a shorter strip length and the blocks it would give, where it gives more than there are.

    Parameters
    ----------
    area : MultiPolygon
        Workable area [m].
    raster : Raster
        What was laid out.
    heading_deg : float
        Its heading [deg].
    blocks : int
        Blocks there are [1].

    Returns
    -------
    (float, int) or None
        Length [m] and blocks [1] at the same heading.

    Source: the search itself, with less asked for.
    """
    for share in _SHORTER:
        metres = raster.shortest_m * share
        if metres < _SHORTEST_M:
            break
        shorter = replace(raster, shortest_m=metres, blocks=None)
        found = lay_blocks(outlines_for(area, [shorter]), shorter, heading_deg).places
        if len(found) // raster.strips > blocks:
            return metres, len(found) // raster.strips
    return None


def _one_block(field: Field, area: MultiPolygon, raster: Raster, headland_m: float) -> str:
    """Say what would have to give for a single block to fit: shorter strips, or a narrower headland."""
    for share in _SHORTER:
        metres = raster.shortest_m * share
        if metres >= _SHORTEST_M and (found := _most(area, replace(raster, shortest_m=metres))):
            return f"Nearest: strips of at least {metres:g} m (shortest_strip_m) would give {_blocks(found)}."
    for share in _LESS_HEADLAND:
        if headland_m > 0 and (found := _most(workable_area(field, headland_m * share), raster)):
            return f"Nearest: a headland of {headland_m * share:g} m (headland_m) would give {_blocks(found)}."
    widest = max(shapely.maximum_inscribed_circle(part, tolerance=0.1).length for part in area.geoms) * 2
    needed = raster.strips * raster.width_m
    return f"A block is {needed:g} m wide; the ground inside headlands and obstacles is at most {widest:.0f} m across."


def _most(area: MultiPolygon, raster: Raster) -> int:
    one = replace(raster, blocks=None)
    return max((d.blocks for d in search(area, [one])), default=0)


def _blocks(number: int) -> str:
    return f"{number} block{'' if number == 1 else 's'}"
