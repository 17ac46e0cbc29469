"""Draws the field to scale: outline, strips with letters and patterns, north, scale bar, distances from the edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.patches import Polygon as Patch
from shapely.geometry import LineString

from evenground.adapters.strip_map import round_length
from evenground.adapters.svg_figure import INK, LINE, QUIET, look, new_figure, svg_text
from evenground.basis.field import Field
from evenground.basis.layout_plan import Entrance
from evenground.basis.plan import Plan
from evenground.layout.turned_field import StripBox, TurnedField, to_edge_m

MM = 72.0 / 25.4
# Scales a draughtsman would take, one to so many.
SCALES = tuple(n * k for k in (100, 1_000, 10_000) for n in (1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 7.5, 8))
# Room for the words around the field. [mm]
MARGIN_MM = 11.0
# Smaller than this on paper an obstacle is marked with a cross, and larger than that it has room for words. [pt]
SEEN_PT, WORDS_PT = 6.0, 34.0
Place = tuple[float, float]


@dataclass(frozen=True)
class Sheet:
    """A drawing of the field.

    Attributes
    ----------
    svg : str
        One SVG element.
    denominator : float
        The scale is one to this.
    sideways : bool
        True where strips run from left to right.
    width_mm, height_mm : float
        Size on paper [mm].
    """

    svg: str
    denominator: float
    sideways: bool
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class _Paper:
    """How the turned field lies on paper, points from the lower left corner; the factor is millimetres a metre."""

    factor: float
    low: Place
    sideways: bool

    def at(self, across: float, along: float) -> Place:
        x, y = (along, -across) if self.sideways else (across, along)
        k = self.factor * MM
        return (x - self.low[0]) * k + MARGIN_MM * MM, (y - self.low[1]) * k + MARGIN_MM * MM


def draw_to_scale(
    plan: Plan,
    field: Field,
    turned: TurnedField,
    *,
    room_mm: tuple[float, float],
    distances: bool = True,
    exact: bool = True,
    letter_pt: float = 9.0,
    name: str = "field-plan",
) -> Sheet:
    """Draw the field at the largest scale that fits.

    Parameters
    ----------
    plan : Plan
        Letters and names.
    field : Field
        Outline and obstacles.
    turned : TurnedField
        The strips.
    room_mm : tuple of float
        Width and height there is [mm].
    distances : bool
        Whether distances from the field edge are written in.
    exact : bool
        Whether the scale must be a round one.
    letter_pt : float
        Largest size of the letters in the strips [pt].
    name : str
        Unique in its document.
    """
    corners = shapely.get_coordinates(turned.boundary)
    paper, denominator, size = _fit(corners, room_mm, exact=exact)
    figure = new_figure(size[0] * MM, size[1] * MM)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, size[0] * MM)
    axes.set_ylim(0.0, size[1] * MM)
    _ground(axes, field, turned, paper)
    letters = plan.letters
    for box in turned.boxes:
        _strip(axes, box, letters, paper, letter_pt)
    if distances:
        _blocks(axes, turned, paper)
        _distances(axes, plan, turned, paper)
    if plan.layout.entrance is not None:
        _entrance(axes, plan.layout.entrance, turned, paper)
    _north(axes, turned, paper, size)
    _scale_bar(axes, paper)
    methods = ", ".join(f"{b.strip.strip}{b.strip.method}" for b in turned.boxes)
    alt = f"Plan of the field with {len(turned.boxes)} strips side by side: {methods}."
    return Sheet(svg_text(figure, name, alt), denominator, paper.sideways, *size)


def _fit(
    corners: np.ndarray[tuple[int, ...], np.dtype[np.float64]], room: tuple[float, float], *, exact: bool
) -> tuple[_Paper, float, tuple[float, float]]:
    """Return how the field lies on paper, the scale, and the size [mm]: upright or sideways, whichever is larger."""
    found = []
    for sideways in (False, True):
        xs, ys = (corners[:, 1], -corners[:, 0]) if sideways else (corners[:, 0], corners[:, 1])
        wide, tall = float(np.ptp(xs)), float(np.ptp(ys))
        smallest = 1000.0 * max(wide / (room[0] - 2 * MARGIN_MM), tall / (room[1] - 2 * MARGIN_MM))
        denominator = next((n for n in SCALES if n >= smallest), smallest) if exact else smallest
        k = 1000.0 / denominator
        size = (wide * k + 2 * MARGIN_MM, tall * k + 2 * MARGIN_MM)
        found.append((denominator, _Paper(k, (float(xs.min()), float(ys.min())), sideways), size))
    denominator, paper, size = min(found, key=lambda one: one[0])
    return paper, denominator, size


def _ground(axes: Axes, field: Field, turned: TurnedField, paper: _Paper) -> None:
    for part in turned.boundary.geoms:
        for ring in (part.exterior, *part.interiors):
            at = [paper.at(x, y) for x, y in ring.coords]
            axes.add_patch(Patch(at, closed=True, facecolor="none", edgecolor=INK, linewidth=1.4))
        for ring in part.interiors:
            _not_sown(axes, [paper.at(x, y) for x, y in ring.coords], INK)
    turn = turned.frame.turn.T
    for part in field.obstacles.geoms:
        outline = turned.plane.to_metres(LineString(part.exterior.coords))
        at = [paper.at(float(x), float(y)) for x, y in shapely.get_coordinates(outline) @ turn]
        _not_sown(axes, at, QUIET)


def _not_sown(axes: Axes, at: Sequence[Place], colour: str) -> None:
    """Draw ground that is not sown: dotted; what is too small to be seen to scale, such as a mast, also as a cross."""
    axes.add_patch(Patch(at, closed=True, facecolor="#dddddb", edgecolor=colour, hatch="...", linewidth=0.8))
    corners = np.asarray(at)
    middle, size = corners.mean(0), np.ptp(corners, axis=0)
    if size.max() < SEEN_PT:
        axes.plot(*middle, marker="x", color=INK, markersize=SEEN_PT, markeredgewidth=1.4)
    elif size.min() > WORDS_PT:
        _text(axes, (float(middle[0]), float(middle[1])), "not sown", size=6.5, box=True)


def _corners(box: StripBox, paper: _Paper, *, cut: bool) -> list[Place]:
    left, right = (box.cut_left_m, box.cut_right_m) if cut else (box.left_m, box.right_m)
    low, high = (box.cut_low_m, box.cut_high_m) if cut else (box.low_m, box.high_m)
    return [paper.at(x, y) for x, y in ((left, low), (right, low), (right, high), (left, high))]


def _strip(axes: Axes, box: StripBox, letters: tuple[str, ...], paper: _Paper, letter_pt: float) -> None:
    own = look(box.strip.method, letters)
    at = _corners(box, paper, cut=False)
    shape = Patch(at, closed=True, facecolor=own.fill, edgecolor=own.colour, linewidth=0.6)
    if own.hatch:
        shape.set_hatch(own.hatch)
    axes.add_patch(shape)
    axes.add_patch(Patch(at, closed=True, facecolor="none", edgecolor=INK, linewidth=0.7))
    cut = Patch(_corners(box, paper, cut=True), closed=True, facecolor="none", edgecolor=INK, linewidth=0.5)
    cut.set_linestyle((0, (4, 2)))
    axes.add_patch(cut)
    size = min(letter_pt, 0.72 * box.strip.width_m * paper.factor * MM)
    rotation = 0 if paper.sideways else 90
    long_pt = (box.high_m - box.low_m) * paper.factor * MM
    shares = (0.5,) if long_pt < 12 * size else (0.12, 0.5, 0.88)
    for share in shares:
        middle = paper.at((box.left_m + box.right_m) / 2, box.low_m + share * (box.high_m - box.low_m))
        _text(axes, middle, f"{box.strip.strip}  {box.strip.method}", size=size, rotation=rotation, bold=True, box=True)


def _text(
    axes: Axes,
    at: Place,
    words: str,
    *,
    size: float = 7.5,
    rotation: float = 0,
    bold: bool = False,
    box: bool = False,
    colour: str = INK,
) -> None:
    axes.text(
        *at,
        words,
        rotation=rotation,
        ha="center",
        va="center",
        fontsize=size,
        color=colour,
        fontweight="bold" if bold else "normal",
        bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none"} if box else None,
    )


def _distances(axes: Axes, plan: Plan, turned: TurnedField, paper: _Paper) -> None:
    """Write the distances a tape can check: to the side at both ends, ahead of the outer strips, and across all."""
    side = -1 if plan.layout.fixed_edge_side == "left" else 1
    outer = turned.boxes[0] if side < 0 else turned.boxes[-1]
    near = outer.left_m if side < 0 else outer.right_m
    for along, inwards in ((outer.low_m, 1), (outer.high_m, -1)):
        reach = to_edge_m(turned, (near, along), (side, 0))
        # The words stand beside the line, towards the strip's middle: at its end they would meet those straight ahead.
        aside = inwards * 6.0 / (paper.factor * MM)
        _measure(axes, paper, ((near + side * reach, along), (near, along)), f"{reach:.1f} m", aside)
    first, last = turned.boxes[0], turned.boxes[-1]
    for box, middle in ((first, first.left_m), (last, last.right_m)):
        for along, way in ((box.low_m, -1), (box.high_m, 1)):
            reach = to_edge_m(turned, (middle, along), (0, way))
            _measure(axes, paper, ((middle, along), (middle, along + way * reach)), f"{reach:.1f} m")
    left, right = turned.boxes[0].left_m, max(box.right_m for box in turned.boxes)
    top = max(box.high_m for box in turned.boxes)
    beyond = top + 5.0 / paper.factor
    _measure(axes, paper, ((left, beyond), (right, beyond)), f"{right - left:.1f} m, {len(turned.boxes)} strips")


def _measure(axes: Axes, paper: _Paper, ends: tuple[Place, Place], words: str, aside_m: float = 0.0) -> None:
    """Draw a measure with its words in the middle, or so far aside along the strips."""
    start, end = (paper.at(*place) for place in ends)
    if np.hypot(end[0] - start[0], end[1] - start[1]) < 1.0:
        return
    arrow = {"arrowstyle": "|-|,widthA=0.25,widthB=0.25", "color": INK, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", end, xytext=start, arrowprops=arrow)
    upright = abs(end[1] - start[1]) > abs(end[0] - start[0])
    (x, y), (u, v) = ends
    middle = paper.at((x + u) / 2, (y + v) / 2 + aside_m)
    _text(axes, middle, words, size=7.0, rotation=90 if upright else 0, box=True)


def _north(axes: Axes, turned: TurnedField, paper: _Paper, size: tuple[float, float]) -> None:
    across, along = (float(v) for v in turned.frame.turn @ np.array([0.0, 1.0]))
    x, y = (along, -across) if paper.sideways else (across, along)
    at = _free_corner(turned, paper, size)
    arrow = {"arrowstyle": "-|>,head_width=0.28,head_length=0.6", "color": INK, "linewidth": 1.4}
    axes.annotate("", (at[0] + 13 * x, at[1] + 13 * y), xytext=(at[0] - 13 * x, at[1] - 13 * y), arrowprops=arrow)
    _text(axes, (at[0] + 20 * x, at[1] + 20 * y), "N", size=9.0, bold=True)


def _free_corner(turned: TurnedField, paper: _Paper, size: tuple[float, float]) -> Place:
    """Return the corner of the sheet farthest from the field, a little inside it [pt]."""
    inset = 27.0
    wide, tall = size[0] * MM, size[1] * MM
    corners = [(x, y) for y in (tall - inset, inset + 14.0) for x in (wide - inset, inset)]
    shapes = [shapely.Polygon([paper.at(x, y) for x, y in p.exterior.coords]) for p in turned.boundary.geoms]
    whole = shapely.union_all(shapes)
    return max(corners, key=lambda at: float(whole.distance(shapely.Point(at))))


def _scale_bar(axes: Axes, paper: _Paper) -> None:
    metres = round_length(42.0 / paper.factor)
    length, foot = metres * paper.factor * MM, 9.0
    left = MARGIN_MM * MM
    axes.plot([left, left + length], [foot, foot], color=INK, linewidth=2.0, solid_capstyle="butt")
    for share in (0.0, 0.5, 1.0):
        axes.plot([left + share * length] * 2, [foot - 3.0, foot + 3.0], color=INK, linewidth=1.0)
        _text(axes, (left + share * length, foot + 8.5), f"{share * metres:g}", size=7.0)
    _text(axes, (left + length + 16.0, foot + 8.5), "m", size=7.0)


def _blocks(axes: Axes, turned: TurnedField, paper: _Paper) -> None:
    """Draw a bracket with its number under each block, and say which end is the start."""
    gap = 1.4 / paper.factor
    for block in dict.fromkeys(box.strip.block for box in turned.boxes):
        boxes = [box for box in turned.boxes if box.strip.block == block]
        left, right = min(b.left_m for b in boxes) + gap / 2, max(b.right_m for b in boxes) - gap / 2
        foot = min(b.low_m for b in boxes) - 2 * gap
        corners = [(left, foot + gap), (left, foot), (right, foot), (right, foot + gap)]
        axes.plot(*zip(*(paper.at(*at) for at in corners), strict=True), color=QUIET, linewidth=0.8)
        _text(axes, paper.at((left + right) / 2, foot - 1.5 * gap), str(block), size=6.5, box=True, colour=QUIET)
    middle = (turned.boxes[0].left_m + turned.boxes[-1].right_m) / 2
    low, high = min(box.low_m for box in turned.boxes), max(box.high_m for box in turned.boxes)
    turn = 90 if paper.sideways else 0
    for along, words in ((low - 7 * gap, "start (block numbers above)"), (high + 6.5 * gap, "far end")):
        _text(axes, paper.at(middle, along), words, size=7.0, rotation=turn, box=True, colour=QUIET)


def _entrance(axes: Axes, gate: Entrance, turned: TurnedField, paper: _Paper) -> None:
    east_north = shapely.get_coordinates(turned.plane.to_metres(shapely.Point(gate.lon, gate.lat)))[0]
    across, along = (float(v) for v in turned.frame.turn @ east_north)
    x, y = paper.at(across, along)
    axes.plot([x], [y], marker="v", color=INK, markersize=7.0, clip_on=False)
    _text(axes, (x, y + 9.0), "way in", size=7.0, bold=True, box=True)


def strip_row(plan: Plan, boxes: Sequence[StripBox], *, size_mm: tuple[float, float], shown: str, name: str) -> str:
    """Return the strips side by side as one sees them from the start: number, letter, pattern; not to scale.

    Parameters
    ----------
    plan : Plan
        Letters.
    boxes : sequence of StripBox
        Strips from left to right.
    size_mm : tuple of float
        Width and height [mm].
    shown : str
        Letters that are drawn strongly; the others stay pale.
    name : str
        Unique in its document.
    """
    wide, tall = size_mm[0] * MM, size_mm[1] * MM
    figure = new_figure(wide, tall)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, wide)
    axes.set_ylim(0.0, tall)
    breaks = sum(a.strip.block != b.strip.block for a, b in pairwise(boxes))
    gap = 0.25
    step = (wide - 2.0) / (len(boxes) + gap * breaks)
    x, foot = 1.0, 0.22 * tall
    for k, box in enumerate(boxes):
        if k and boxes[k - 1].strip.block != box.strip.block:
            x += gap * step
        _strip_in_row(axes, box, plan.letters, (x, foot, step, tall - foot - 1.0), strong=box.strip.method in shown)
        x += step
    words = ", ".join(f"{b.strip.strip} {b.strip.method}" for b in boxes)
    return svg_text(figure, name, f"Strips from left to right, seen from the start: {words}.")


def _strip_in_row(
    axes: Axes, box: StripBox, letters: tuple[str, ...], place: tuple[float, float, float, float], *, strong: bool
) -> None:
    x, y, wide, tall = place
    own = look(box.strip.method, letters)
    at = [(x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall)]
    shape = Patch(at, closed=True, facecolor=own.fill if strong else "white", edgecolor=own.colour if strong else LINE)
    if strong and own.hatch:
        shape.set_hatch(own.hatch)
    axes.add_patch(shape)
    axes.add_patch(Patch(at, closed=True, facecolor="none", edgecolor=INK if strong else LINE, linewidth=0.9))
    size = min(0.62 * wide, 0.5 * tall)
    colour = INK if strong else LINE
    middle = x + wide / 2
    _text(axes, (middle, y + tall / 2), box.strip.method, size=size, bold=True, box=strong, colour=colour)
    _text(axes, (middle, y * 0.48), str(box.strip.strip), size=min(0.5 * wide, 0.7 * y), colour=colour)
