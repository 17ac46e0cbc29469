"""From plan and field to strips: the workable area, the slot, the heading, the blocks, and then the draw."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from evenground.basis.canonical import canonical_text
from evenground.basis.errors import DoesNotFitError, InputError
from evenground.basis.field import Field, LocalPlane, PointLayer, geodesic_area_m2
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, Ring, SplitDraw, Strip
from evenground.layout.bouts import joints_in, spreader_bands, tracks_in
from evenground.layout.choice import Choice, choice_of
from evenground.layout.detectable import Answerable, answerable, detectable_of
from evenground.layout.draw import DrawnMethods, draw_methods
from evenground.layout.exposure import NO_EXPOSURE, Exposure, covariates_of, open_sides
from evenground.layout.ground import ground_of, sight_of
from evenground.layout.headings import Direction, best_first, clearly_different, look_closely, search
from evenground.layout.history import bands_of
from evenground.layout.nearest import explain, shorter_strips
from evenground.layout.other_machines import changes_for, in_words
from evenground.layout.raster import Place, Raster, lay_blocks, outlines_for
from evenground.layout.runs import Frame
from evenground.layout.slot import Slot, fit_slots, slot_of_width
from evenground.layout.split_draw import draw_split
from evenground.layout.steering import clear_of, traces_of
from evenground.layout.workable import workable_area

_ALTERNATIVES = 3
JOINTS = "joints between spreader bouts"


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
    chosen : Choice
        What this layout gives and takes.
    alternatives : tuple of Choice
        The same for clearly different headings, best first.
    exposure : Exposure
        What the strips are exposed to.
    """

    heading_deg: float
    slot: Slot
    methods: int
    places: tuple[Place, ...]
    plane: LocalPlane
    field_area_m2: float
    chosen: Choice
    alternatives: tuple[Choice, ...]
    exposure: Exposure = NO_EXPOSURE

    @property
    def blocks(self) -> int:
        """Number of blocks [1]."""
        return len(self.places) // self.methods


def lay_out(
    plan: Plan,
    field: Field,
    *,
    layers: Sequence[PointLayer] = (),
    on_heading: Callable[[int], None] | None = None,
) -> LaidOut:
    """Lay out strips and blocks at the plan's heading, or at the one that lets the trial see most.

    Answers: where do the strips go? Every whole degree and the long sides of the field, every width that fits the
    machines, every row as first one and every number of blocks are judged by the predicted error of the gain;
    `best_first` says how layouts are ranked.

    Parameters
    ----------
    plan : Plan
        Methods, machines, unevenness, wishes for the layout.
    field : Field
        Outline, obstacles, kept edges, soil zones.
    layers : sequence of PointLayer
        Earlier yields and the like, to be shared out fairly.
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
    rasters = rasters_of(plan)
    area = workable_area_of(plan, field)
    bands = (*bands_of(plan), *spreader_bands(plan))
    traces = traces_of(field)
    hit = traces.hit if traces.trees else None
    ranked = best_first(search(area, rasters, on_heading=on_heading, bands_deg=bands, hit=hit), bands, hit)
    outlines = outlines_for(area, rasters)
    wish = plan.layout.heading_deg
    there = ranked
    if wish != "best":
        there = [Direction(float(wish), raster, lay_blocks(outlines, raster, float(wish))) for raster in rasters]
        there = best_first(there, hit=hit)
    best = clear_of(traces, outlines, there)
    wanted = 1 if best.raster.blocks is None else best.raster.blocks
    if best.blocks < wanted:
        given = None if wish == "best" else best.heading_deg
        message, nearest = explain(field, area, rasters[0], plan.layout.headland_m, ranked, given)
        raise DoesNotFitError(message, nearest + _narrower(plan, rasters[0].width_m))
    field_m2 = geodesic_area_m2(field.boundary)
    others = [look_closely(outlines, other) for other in clearly_different(ranked, best.heading_deg, _ALTERNATIVES)]
    chosen = choice_of(plan, best, field_m2)
    alternatives = tuple(choice_of(plan, other, field_m2, beside=chosen) for other in others)
    slot, strips = best.raster.slot, best.raster.strips
    exposure = _exposure(plan, field, layers, best)
    return LaidOut(best.heading_deg, slot, strips, best.places, field.plane, field_m2, chosen, alternatives, exposure)


def _narrower(plan: Plan, width_m: float) -> str:
    """Say which machine or setting would allow narrower strips."""
    said = in_words(changes_for(plan, width_m))
    return f" Narrower strips: {said}" if said else ""


def _exposure(plan: Plan, field: Field, layers: Sequence[PointLayer], best: Direction) -> Exposure:
    width, heading, frame = best.raster.width_m, best.heading_deg, Frame(best.heading_deg)
    left = [p.left_m for p in best.places]
    outlines = [frame.rectangle(p.left_m, p.left_m + width, p.low_m, p.high_m) for p in best.places]
    counted = {JOINTS: joints_in(plan, heading, left, width)}
    blocks = [p.block for p in best.places]
    covariates, names, notes = covariates_of(outlines, blocks, field.plane, field, layers, counted=counted)
    tracks = tracks_in(plan, heading, left, width)
    return Exposure(open_sides(best.places, width), tracks, covariates, names, notes)


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

    Source: see `draw_methods`, with two factors `evenground.layout.split_draw`.
    """
    rng, grid = np.random.default_rng(seed), plan.grid
    split: SplitDraw | None = None
    if grid is None:
        drawn = draw_methods(plan, laid_out.blocks, rng, laid_out.exposure)
    else:
        both = draw_split(plan, grid, laid_out.blocks, rng, laid_out.exposure)
        drawn, split = both.methods, both.split
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
        strips=_strips(laid_out, drawn, None if grid is None else grid.per_plot),
        split=split,
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

    Source: see `answerable`.
    """
    blocks = len({strip.block for strip in draw.strips})
    seen, width_m = detectable_of(plan, draw).t_per_ha, draw.strips[0].width_m
    answer = answerable(plan, blocks, draw.smallest_p, blocks_if_shorter=None, seen=seen, strip_width_m=width_m)
    if answer.can_answer:
        return answer
    try:
        area = workable_area_of(plan, field)
        raster = raster_of(plan, slot_of_width(plan, width_m))
    except (DoesNotFitError, InputError):
        # The plan was changed after the draw; what shorter strips would give cannot be said any more.
        return answer
    shorter = shorter_strips(area, raster, draw.heading_deg, blocks)
    return answerable(plan, blocks, draw.smallest_p, blocks_if_shorter=shorter, seen=seen, strip_width_m=width_m)


def workable_area_of(plan: Plan, field: Field) -> MultiPolygon:
    """Return the ground strips may lie on, with the plan's headland and distance to obstacles."""
    return workable_area(field, plan.layout.headland_m, plan.layout.obstacle_distance_m)


def rasters_of(plan: Plan) -> tuple[Raster, ...]:
    """Return every width of slot that may be laid into the field, narrowest first."""
    return tuple(raster_of(plan, slot) for slot in fit_slots(plan))


def raster_of(plan: Plan, slot: Slot) -> Raster:
    """Return what has to be laid into the field for a plan with one width of slot."""
    layout = plan.layout
    row_m = min(method.row_pattern.row_spacing_m for method in plan.methods)
    blocks = None if layout.blocks == "most" else layout.blocks
    ground = ground_of(plan)
    sight = sight_of(plan)
    return Raster(slot, row_m, sight.strips, layout.shortest_strip_m, ground, sight, blocks, layout.most_blocks)


def _strips(laid_out: LaidOut, drawn: DrawnMethods, per_plot: int | None) -> tuple[Strip, ...]:
    slot, frame, strips = laid_out.slot, Frame(laid_out.heading_deg), []
    for number, (place, letter) in enumerate(zip(laid_out.places, drawn.letters, strict=True), start=1):
        cut_left = place.left_m + slot.cut_left_m
        whole = frame.rectangle(place.left_m, place.left_m + slot.width_m, place.low_m, place.high_m)
        cut = frame.rectangle(cut_left, cut_left + slot.cut_width_m, place.low_m, place.high_m)
        strip = Strip(
            strip=number,
            block=place.block,
            method=letter,
            whole_plot=None if per_plot is None else (number - 1) // per_plot + 1,
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
