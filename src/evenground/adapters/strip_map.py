"""Draws the strip map: every strip to scale, with its letter, its pattern and its weight written in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from textwrap import wrap

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from evenground.adapters.svg_figure import BASE_SIZE, INK, LINE, QUIET, look, new_figure
from evenground.basis.thousands import THIN
from evenground.report.pictures import MapStrip, Point, StripMap
from evenground.report.wording import number

LARGEST_WIDTH, LARGEST_HEIGHT = 380.0, 520.0
SMALLEST_WIDTH = 290.0
LINE_HEIGHT, KEY_WIDTH, FURNITURE = 13.0, 56.0, 96.0
NARROWEST = 11.0
WORTH_STRETCHING = 1.2
WORD_ROOM = 36.0
# Ground shown beside the strips, as a share of their longer side: at least, and at most where the field goes on.
FREE, MOST = 0.04, 0.5


@dataclass(frozen=True)
class Scale:
    """How metres become points.

    Attributes
    ----------
    across, along : float
        Points per metre [pt/m]; equal where the map is to scale both ways.
    low, high : Point
        Corners of what is shown (across, along) [m].
    strip_pt : float
        Width of the narrowest strip [pt].
    """

    across: float
    along: float
    low: Point
    high: Point
    strip_pt: float

    @property
    def stretched(self) -> float:
        """How many times too wide the strips are drawn [1]."""
        return self.across / self.along


def scale_of(picture: StripMap) -> Scale:
    """Return the scale: as large as fits, and across the strips larger where their figures could not be read."""
    xs = [x for strip in picture.strips for x, _ in strip.ring]
    ys = [y for strip in picture.strips for _, y in strip.ring]
    reach = max(max(xs) - min(xs), max(ys) - min(ys))
    (left, right), (foot, top) = (_ends(min(v), max(v), reach, picture, k) for k, v in enumerate((xs, ys)))
    low, high = (left, foot), (right, top)
    width, height = high[0] - low[0], high[1] - low[1]
    along = min(LARGEST_WIDTH / width, LARGEST_HEIGHT / height)
    narrowest = min(max(x for x, _ in s.ring) - min(x for x, _ in s.ring) for s in picture.strips)
    across = max(along, min(NARROWEST / narrowest, LARGEST_WIDTH / width))
    if across < WORTH_STRETCHING * along:
        across = along
    return Scale(across, along, low, high, narrowest * across)


def _ends(low: float, high: float, reach: float, picture: StripMap, axis: int) -> Point:
    """Return what is shown along one axis: the strips, and beyond them the field outline where it lies near [m]."""
    outline = [point[axis] for ring in picture.boundary for point in ring]
    free, most = FREE * reach, MOST * reach
    below = low - min(outline) + free / 2 if outline else free
    above = max(outline) - high + free / 2 if outline else free
    return low - min(max(below, free), most), high + min(max(above, free), most)


def draw_map(picture: StripMap) -> Figure:
    """Return the map as a figure.

    Parameters
    ----------
    picture : StripMap
        Strips and field outline [m], turned so that strips run up the page.
    """
    scale = scale_of(picture)
    wide = (scale.high[0] - scale.low[0]) * scale.across
    tall = (scale.high[1] - scale.low[1]) * scale.along
    right = max(x for strip in picture.strips for x, _ in strip.ring)
    pad = max(0.0, WORD_ROOM - (scale.high[0] - right) * scale.across)
    width = max(wide + pad, SMALLEST_WIDTH)
    names = [(letter, wrap(name, int((width - KEY_WIDTH - FURNITURE) / 5.6))) for letter, name in picture.names]
    below = max(sum(LINE_HEIGHT * len(lines) + 6.0 for _, lines in names), 66.0) + 10.0
    height = tall + below
    figure = new_figure(width, height)
    axes = figure.add_axes((0.0, below / height, wide / width, tall / height))
    axes.set_axis_off()
    axes.set_xlim(scale.low[0], scale.high[0])
    axes.set_ylim(scale.low[1], scale.high[1])
    for ring in picture.boundary:
        axes.add_patch(Polygon(list(ring), closed=True, facecolor="none", edgecolor=LINE, linewidth=1.2))
    letters = tuple(letter for letter, _ in picture.names)
    for strip in picture.strips:
        _draw_strip(axes, strip, letters, scale)
    _name_blocks(axes, picture, scale)
    sheet = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    sheet.set_axis_off()
    sheet.set_xlim(0.0, width)
    sheet.set_ylim(0.0, height)
    _legend(sheet, names, letters, below - 12.0)
    _north(sheet, picture.north, (width - 22.0, below / 2 - 4.0))
    _scale_bars(sheet, scale, (width - FURNITURE + 4.0, 8.0))
    return figure


def _draw_strip(axes: Axes, strip: MapStrip, letters: tuple[str, ...], scale: Scale) -> None:
    own = look(strip.letter, letters)
    shape = Polygon(list(strip.ring), closed=True, linewidth=0.8, edgecolor=own.colour if strip.weighed else LINE)
    shape.set_facecolor(own.fill if strip.weighed else "#f1f1ee")
    if strip.weighed and own.hatch:
        shape.set_hatch(own.hatch)
    if not strip.weighed:
        shape.set_linestyle((0, (3, 2)))
    axes.add_patch(shape)
    edge = Polygon(list(strip.ring), closed=True, linewidth=0.8, facecolor="none", edgecolor=INK)
    axes.add_patch(edge)
    ys = [y for _, y in strip.ring]
    x, y = _middle(strip.ring)
    axes.text(
        x,
        y,
        f"{strip.letter}   {strip.label}",
        rotation=90,
        ha="center",
        va="center",
        fontsize=min(BASE_SIZE, 0.74 * scale.strip_pt),
        bbox={"boxstyle": "square,pad=0.12", "facecolor": "white", "edgecolor": "none"},
    )
    small = min(BASE_SIZE - 2.0, 0.66 * scale.strip_pt)
    axes.annotate(
        str(strip.strip),
        (x, max(ys)),
        xytext=(0, 3),
        textcoords="offset points",
        ha="center",
        va="bottom",
        fontsize=small,
        color=QUIET,
        annotation_clip=False,
    )


def _middle(ring: tuple[Point, ...]) -> Point:
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def _name_blocks(axes: Axes, picture: StripMap, scale: Scale) -> None:
    """Draw a bracket under each block with its number, and say what the numbers are."""
    drop = 8.0 / scale.along
    for block in sorted({strip.block for strip in picture.strips}):
        rings = [strip.ring for strip in picture.strips if strip.block == block]
        left = min(x for ring in rings for x, _ in ring) + 1.5 / scale.across
        right = max(x for ring in rings for x, _ in ring) - 1.5 / scale.across
        foot = min(y for ring in rings for _, y in ring) - drop
        axes.plot(
            [left, left, right, right], [foot + drop / 2, foot, foot, foot + drop / 2], color=QUIET, linewidth=0.9
        )
        axes.annotate(
            str(block),
            ((left + right) / 2, foot),
            xytext=(0, -3),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize=BASE_SIZE - 1.0,
            fontweight="bold",
            annotation_clip=False,
        )
        axes.lines[-1].set_clip_on(False)
    last = picture.strips[-1].ring
    right = max(x for s in picture.strips for x, _ in s.ring)
    for y, way, word in ((max(y for _, y in last), 3, "strip"), (min(y for _, y in last) - drop, -3, "block")):
        axes.annotate(
            word,
            (right, y),
            xytext=(9, way),
            textcoords="offset points",
            ha="left",
            va="bottom" if way > 0 else "top",
            fontsize=BASE_SIZE - 2.0,
            color=QUIET,
            annotation_clip=False,
        )


def _legend(sheet: Axes, names: list[tuple[str, list[str]]], letters: tuple[str, ...], top: float) -> None:
    """Write letter and name of each method beside a piece of its pattern, from ``top`` downwards [pt]."""
    y = top
    for letter, lines in names:
        own = look(letter, letters)
        box = Rectangle((4.0, y - 13.0), 26.0, 13.0, facecolor=own.fill, edgecolor=own.colour, hatch=own.hatch or None)
        sheet.add_patch(box)
        sheet.add_patch(Rectangle((4.0, y - 13.0), 26.0, 13.0, facecolor="none", edgecolor=INK, linewidth=0.8))
        sheet.text(38.0, y - 7.0, letter, va="center", fontweight="bold")
        for k, line in enumerate(lines):
            sheet.text(KEY_WIDTH - 4.0, y - 7.0 - LINE_HEIGHT * k, line, va="center")
        y -= LINE_HEIGHT * len(lines) + 6.0


def _north(sheet: Axes, north: Point, at: Point) -> None:
    """Draw the north arrow around a middle point of the sheet [pt]."""
    x, y = north[0] * 18.0, north[1] * 18.0
    arrow = {"arrowstyle": "-|>,head_width=0.28,head_length=0.6", "color": INK, "linewidth": 1.4}
    start, tip = (at[0] - x, at[1] - y), (at[0] + x, at[1] + y)
    sheet.annotate("", tip, xytext=start, arrowprops=arrow)
    reach = 1.6
    sheet.text(at[0] + x * reach, at[1] + y * reach, "N", ha="center", va="center", fontweight="bold")


def round_length(metres: float) -> float:
    """Return the largest of 1, 2 or 5 times a power of ten that is not above a length [m].

    Examples
    --------
    >>> round_length(73.0), round_length(19.9)
    (50.0, 10.0)
    """
    power = 10.0 ** math.floor(math.log10(metres))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= metres)


def _scale_bars(sheet: Axes, scale: Scale, at: Point) -> None:
    """Draw one upright bar along the strips, and one across them where widths are drawn larger."""
    metres = round_length(40.0 / scale.along)
    tall, foot = metres * scale.along, at[1] + 16.0
    _bar(sheet, (at[0], foot), (at[0], foot + tall))
    sheet.text(at[0] + 6.0, foot + tall / 2, f"{number(metres)}{THIN}m", va="center", fontsize=BASE_SIZE - 1.5)
    if scale.stretched > 1.005:
        words = f"widths drawn {scale.stretched:.1f} times too wide"
        sheet.text(at[0] + FURNITURE - 8.0, at[1] - 2.0, words, ha="right", va="center", fontsize=BASE_SIZE - 2.5)


def _bar(sheet: Axes, start: Point, end: Point) -> None:
    sheet.plot([start[0], end[0]], [start[1], end[1]], color=INK, linewidth=2.2, solid_capstyle="butt")
    level = start[1] == end[1]
    for x, y in (start, end):
        dx, dy = (0.0, 3.0) if level else (3.0, 0.0)
        sheet.plot([x - dx, x + dx], [y - dy, y + dy], color=INK, linewidth=1.2)
