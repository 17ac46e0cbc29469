"""From plan and field to strips: the workable area, the slot, the heading, the blocks, and then the draw."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from math import inf

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from evenground.basis.canonical import canonical_text
from evenground.basis.errors import DoesNotFitError
from evenground.basis.field import Field, LocalPlane, geodesic_area_m2
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, Ring, Strip
from evenground.layout.detectable import Answerable, answerable, detectable
from evenground.layout.draw import DrawnMethods, draw_methods
from evenground.layout.headings import (
    Direction,
    Place,
    Raster,
    best_first,
    clearly_different,
    place_blocks,
    search,
)
from evenground.layout.nearest import explain, shorter_strips
from evenground.layout.runs import Frame
from evenground.layout.slot import Slot, fit_slot
from evenground.layout.workable import workable_area

_ALTERNATIVES = 3


@dataclass(frozen=True, slots=True)
class Alternative:
    """What another heading would give.

    Attributes
    ----------
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    blocks : int
        Blocks [1].
    shortest_m, longest_m : float
        Shortest and longest strip [m].
    strips_area_m2 : float
        Area of all strips [m2].
    area_share : float
        The same as a share of the field [1].
    detectable_t_per_ha : float or None
        Gain the trial could see [t/ha]; None with one block.
    """

    heading_deg: float
    blocks: int
    shortest_m: float
    longest_m: float
    strips_area_m2: float
    area_share: float
    detectable_t_per_ha: float | None


@dataclass(frozen=True, slots=True)
class LaidOut:
    """Strips in the field, before any method is drawn for them.

    Attributes
    ----------
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    slot : Slot
        Cross-section of every strip.
    methods : int
        Strips of a block [1].
    places : tuple of Place
        The strips, from left to right looking along the heading.
    plane : LocalPlane
        The metric plane they lie in.
    field_area_m2 : float
        Area of the field on the ellipsoid [m2].
    alternatives : tuple of Alternative
        Clearly different headings, best first.
    """

    heading_deg: float
    slot: Slot
    methods: int
    places: tuple[Place, ...]
    plane: LocalPlane
    field_area_m2: float
    alternatives: tuple[Alternative, ...]

    @property
    def blocks(self) -> int:
        """Number of blocks [1]."""
        return len(self.places) // self.methods


def lay_out(plan: Plan, field: Field, *, on_heading: Callable[[int], None] | None = None) -> LaidOut:
    """Lay out strips and blocks at the plan's heading, or at the one that lets the trial see most.

    Answers: where do the strips go? The strip error is taken as a fixed percentage of the yield whatever the length, so
    the detectable gain depends on the number of blocks; `best_first` says how headings are ranked.

    Parameters
    ----------
    plan : Plan
        Methods, machines, wishes for the layout.
    field : Field
        Outline and obstacles.
    on_heading : callable, optional
        Called with the number of headings still to try, for a progress bar.

    Returns
    -------
    LaidOut

    Raises
    ------
    InputError
        If machines and methods contradict each other.
    DoesNotFitError
        If the field is too small for one block, or for the blocks asked for.

    Source: geometry; see `evenground.layout.headings`.
    """
    slot = fit_slot(plan)
    area = workable_area(field, plan.layout.headland_m)
    raster = raster_of(plan, slot)
    found = search(area, raster, on_heading=on_heading)
    sees = {blocks: _sees(plan, blocks) for blocks in {direction.blocks for direction in found}}
    ranked = best_first(found, sees.__getitem__)
    wish = plan.layout.heading_deg
    heading = ranked[0].heading_deg if wish == "best" else float(wish)
    places = place_blocks(area, raster, heading)
    wanted = 1 if raster.blocks is None else raster.blocks
    if len(places) < wanted * raster.methods:
        given = None if wish == "best" else heading
        raise DoesNotFitError(*explain(field, area, raster, plan.layout.headland_m, ranked, given))
    field_m2 = geodesic_area_m2(field.boundary)
    others = clearly_different(ranked, heading, _ALTERNATIVES)
    alternatives = tuple(_alternative(plan, area, raster, other, field_m2) for other in others)
    return LaidOut(heading, slot, raster.methods, places, field.plane, field_m2, alternatives)


def make_draw(
    plan: Plan,
    laid_out: LaidOut,
    *,
    seed: int,
    drawn_at: datetime,
    plan_hash: str,
    version: str,
    number: int = 1,
    reason: str = "",
) -> Draw:
    """Draw a method for every strip and return the record that is stored.

    Parameters
    ----------
    plan : Plan
        Methods and limits.
    laid_out : LaidOut
        Strips and blocks.
    seed : int
        Seed of the draw.
    drawn_at : datetime
        When.
    plan_hash, version : str
        Hash of the plan as it stands, and program version.
    number : int
        1 for the first draw of the trial.
    reason : str
        Why again.

    Returns
    -------
    Draw

    Source: see `draw_methods`.
    """
    drawn = draw_methods(plan, laid_out.blocks, np.random.default_rng(seed))
    return Draw(
        number=number,
        drawn_at=drawn_at,
        reason=reason,
        seed=seed,
        limits=drawn.limits,
        allowed_orders=drawn.allowed_orders,
        listed=drawn.listed,
        smallest_p=drawn.smallest_p,
        plan_hash=plan_hash,
        plan_text=canonical_text(plan),
        version=version,
        heading_deg=laid_out.heading_deg,
        strips=_strips(laid_out, drawn),
    )


def can_answer(plan: Plan, field: Field, draw: Draw) -> Answerable:
    """Say whether a drawn trial can answer its question, and what would help if not.

    Parameters
    ----------
    plan : Plan
        What was meant.
    field : Field
        Outline and obstacles.
    draw : Draw
        As drawn.

    Returns
    -------
    Answerable

    Raises
    ------
    InputError, DoesNotFitError
        As `lay_out`, where shorter strips are tried.

    Source: see `answerable`.
    """
    blocks = len({strip.block for strip in draw.strips})
    answer = answerable(plan, blocks, draw.smallest_p, blocks_if_shorter=None)
    if answer.can_answer:
        return answer
    area = workable_area(field, plan.layout.headland_m)
    shorter = shorter_strips(area, raster_of(plan, fit_slot(plan)), draw.heading_deg, blocks)
    return answerable(plan, blocks, draw.smallest_p, blocks_if_shorter=shorter)


def raster_of(plan: Plan, slot: Slot) -> Raster:
    """Return what has to be laid into the field for a plan."""
    row_m = min(method.row_pattern.row_spacing_m for method in plan.methods)
    blocks = None if plan.layout.blocks == "most" else plan.layout.blocks
    return Raster(slot.width_m, row_m, len(plan.methods), plan.layout.shortest_strip_m, blocks)


def _sees(plan: Plan, blocks: int) -> float:
    gain = detectable(plan, blocks).t_per_ha
    return inf if gain is None else gain


def _alternative(plan: Plan, area: MultiPolygon, raster: Raster, direction: Direction, field_m2: float) -> Alternative:
    lengths = [place.length_m for place in place_blocks(area, raster, direction.heading_deg)]
    strips_m2 = sum(lengths) * raster.width_m
    return Alternative(
        heading_deg=direction.heading_deg,
        blocks=direction.blocks,
        shortest_m=min(lengths),
        longest_m=max(lengths),
        strips_area_m2=strips_m2,
        area_share=strips_m2 / field_m2,
        detectable_t_per_ha=detectable(plan, direction.blocks).t_per_ha,
    )


def _strips(laid_out: LaidOut, drawn: DrawnMethods) -> tuple[Strip, ...]:
    slot, frame, strips = laid_out.slot, Frame(laid_out.heading_deg), []
    for number, (place, letter) in enumerate(zip(laid_out.places, drawn.letters, strict=True), start=1):
        cut_left = place.left_m + slot.cut_left_m
        whole = frame.rectangle(place.left_m, place.left_m + slot.width_m, place.low_m, place.high_m)
        cut = frame.rectangle(cut_left, cut_left + slot.cut_width_m, place.low_m, place.high_m)
        strip = Strip(
            strip=number,
            block=place.block,
            method=letter,
            width_m=slot.width_m,
            length_m=place.length_m,
            area_m2=slot.width_m * place.length_m,
            cut_width_m=slot.cut_width_m,
            cut_length_m=place.length_m,
            cut_area_m2=slot.cut_width_m * place.length_m,
            outline=_ring(laid_out.plane, whole),
            cut_outline=_ring(laid_out.plane, cut),
        )
        strips.append(strip)
    return tuple(strips)


def _ring(plane: LocalPlane, rectangle: Polygon) -> Ring:
    corners = shapely.get_coordinates(plane.to_degrees(rectangle))
    return tuple((float(lon), float(lat)) for lon, lat in corners)
