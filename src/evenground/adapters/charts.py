"""Draws the pictures of a document as SVG: letters, patterns and shapes first, colour last."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawing

from evenground.adapters.border_chart import draw_border
from evenground.adapters.season_chart import draw_season
from evenground.adapters.strip_map import draw_map
from evenground.adapters.svg_figure import (
    BASE_SIZE,
    INK,
    LINE,
    OKABE_ITO,
    QUIET,
    SETTINGS,
    look,
    new_figure,
    only_x_axis,
    svg_text,
)
from evenground.report.document import Figure
from evenground.report.pictures import (
    BeliefCurves,
    BlockLines,
    BorderPoints,
    Picture,
    ResidualsAlong,
    SeasonDays,
    StripMap,
    TwentyDots,
)
from evenground.report.wording import first_capital, must_reach, signed

WIDTH = 340.0
SMALL = BASE_SIZE - 1.5
MUST = "must reach to pay"
# A mark that pays, and one that does not: marker, face, edge, size against its place, line width.
DOTS = {
    True: ("o", OKABE_ITO["blue"], INK, 0.80, 0.6),
    False: ("s", "white", OKABE_ITO["vermilion"], 0.68, 1.2),
}


def draw(figure: Figure) -> str:
    """Return a figure of a document as an SVG element; the same figure gives the same bytes each time.

    Parameters
    ----------
    figure : Figure
        Picture data with name and alternative text.

    Returns
    -------
    str
        A self-contained ``svg`` element.
    """
    with mpl.rc_context(SETTINGS):
        return svg_text(_drawing(figure.picture), figure.name, figure.alt)


def _drawing(picture: Picture) -> Drawing:
    made: Drawing = _DRAWN_BY[type(picture)](picture)
    return made


def stacked(values: tuple[float, ...], width: float) -> list[tuple[float, int]]:
    """Return where each dot stands: the middle of its bin and its place in the stack.

    Bins are ``width`` wide and centred on whole multiples of it.

    Examples
    --------
    >>> stacked((0.1, 0.2, 0.45), 0.4)
    [(0.0, 0), (0.0, 1), (0.4, 0)]
    """
    heights: Counter[int] = Counter()
    out = []
    for value in values:
        place = round(value / width)
        out.append((place * width, heights[place]))
        heights[place] += 1
    return out


def _stacks(picture: TwentyDots, width: float) -> list[tuple[float, int, bool]]:
    """Return place, height and whether it pays; each side of the line is stacked on its own, so no dot crosses it."""
    line = picture.pays_from if math.isfinite(picture.pays_from) else 0.0
    out = []
    for pays in (False, True):
        side = [gain for gain in picture.gains if (gain > picture.pays_from) == pays]
        edge = 0.5 if pays else -0.5
        distances = tuple((gain - line) / width - edge for gain in side)
        out += [(line + (x + edge) * width, y, pays) for x, y in stacked(distances, 1.0)]
    return out


def _twenty_dots(picture: TwentyDots) -> Drawing:
    shown = (*picture.gains, 0.0, *([picture.pays_from] if math.isfinite(picture.pays_from) else []))
    low, high = min(shown), max(shown)
    reach = max(high - low, 0.2)
    stacks = _stacks(picture, reach / 12.0)
    tallest = max(y for _, y, _ in stacks) + 1
    dot = WIDTH * 0.92 / (1.24 * 12.0)  # a twelfth of the reach, in points: dots are round and side by side
    height = tallest * dot + 84.0
    drawing = new_figure(WIDTH, height)
    axes = drawing.add_axes((0.04, 40.0 / height, 0.92, tallest * dot / height))
    axes.set_xlim(low - 0.12 * reach, low + 1.12 * reach)
    axes.set_ylim(0.0, tallest)
    only_x_axis(axes)
    for pays, (marker, face, edge, size, line) in DOTS.items():
        at = [(x, y + 0.5) for x, y, own in stacks if own == pays]
        axes.plot(
            [x for x, _ in at],
            [y for _, y in at],
            linestyle="none",
            marker=marker,
            markersize=dot * size,
            markerfacecolor=face,
            markeredgecolor=edge,
            markeredgewidth=line,
            clip_on=False,
        )
    _dots_words(axes, picture)
    return drawing


def _dots_words(axes: Axes, picture: TwentyDots) -> None:
    """Write the line, both counts and the axis in words."""
    low, high = axes.get_xlim()
    style: dict[str, Any] = {"textcoords": "offset points", "annotation_clip": False}
    if math.isfinite(picture.pays_from):
        axes.axvline(picture.pays_from, color=INK, linewidth=1.4, clip_on=False)
        left = picture.pays_from > (low + high) / 2
        at, side = ((-4, 8), "right") if left else ((4, 8), "left")
        where = axes.get_xaxis_transform()
        words = f"{MUST}: {must_reach(picture.pays_from, amount=picture.amount)}"
        axes.annotate(words, (picture.pays_from, 1.0), xycoords=where, xytext=at, ha=side, **style)
    else:
        words = first_capital(must_reach(picture.pays_from, amount=picture.amount))
        axes.annotate(words, (0.0, 1.0), xycoords="axes fraction", xytext=(0, 8), **style)
    style["xycoords"] = "axes fraction"
    axes.annotate(f"{20 - picture.paying} of 20: would not pay", (0.0, 1.0), xytext=(0, 26), ha="left", **style)
    axes.annotate(f"{picture.paying} of 20: would pay", (1.0, 1.0), xytext=(0, 26), ha="right", weight="bold", **style)
    axes.set_xlabel(f"extra yield of {picture.method} over {picture.baseline}, {picture.unit}", labelpad=5)
    axes.xaxis.set_major_formatter(lambda x, _: signed(x, 1))
    if low < 0.0 < high:
        axes.axvline(0.0, color=LINE, linewidth=0.8, linestyle=(0, (2, 3)), zorder=0)


def spread_labels(heights: list[float], gap: float) -> list[float]:
    """Move label heights apart until neighbours are at least ``gap`` from each other, as little as possible.

    Parameters
    ----------
    heights : list of float
        Wanted heights, any order [any unit].
    gap : float
        Smallest distance [same unit].

    Returns
    -------
    list of float
        Heights in the order given.

    Examples
    --------
    >>> spread_labels([1.0, 1.0, 5.0], 1.0)
    [0.5, 1.5, 5.0]
    """
    order = sorted(range(len(heights)), key=heights.__getitem__)
    # Pool neighbours that would collide and centre each pool on the mean of what its members wanted.
    pools: list[tuple[float, list[int]]] = []
    for i in order:
        pools.append((heights[i], [i]))
        while len(pools) > 1 and _collide(pools[-2], pools[-1], gap):
            (low, members), (high, more) = pools[-2], pools[-1]
            both = members + more
            pools[-2:] = [((low * len(members) + high * len(more)) / len(both), both)]
    out = list(heights)
    for centre, members in pools:
        for k, i in enumerate(members):
            out[i] = centre + (k - (len(members) - 1) / 2) * gap
    return out


def _collide(low: tuple[float, list[int]], high: tuple[float, list[int]], gap: float) -> bool:
    return high[0] - low[0] < gap * (len(low[1]) + len(high[1])) / 2


def _block_lines(picture: BlockLines) -> Drawing:
    drawing = new_figure(WIDTH, 270.0)
    axes = drawing.add_axes((0.12, 0.03, 0.62, 0.80))
    axes.spines["bottom"].set_visible(False)
    places = range(len(picture.letters))
    for _, values in picture.blocks:
        known = [(x, y) for x, y in zip(places, values, strict=True) if y is not None]
        axes.plot([x for x, _ in known], [y for _, y in known], color=QUIET, linewidth=1.3, zorder=1)
        for x, y in known:
            own = look(picture.letters[x], picture.letters)
            axes.plot([x], [y], own.marker, color=own.colour, markersize=7, markeredgecolor=INK, markeredgewidth=0.6)
    axes.set_xlim(-0.12, len(picture.letters) - 0.88)
    axes.set_xticks(list(places), list(picture.letters), fontsize=BASE_SIZE + 2, fontweight="bold")
    axes.tick_params(axis="x", length=0, pad=8)
    axes.xaxis.tick_top()
    axes.grid(axis="y", color="#e4e4de", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(axis="y", length=0)
    axes.annotate(
        picture.unit,
        (0.0, 1.0),
        xycoords="figure fraction",
        xytext=(4, -4),
        textcoords="offset points",
        ha="left",
        va="top",
        fontsize=SMALL,
    )
    _name_blocks(axes, picture)
    return drawing


def _name_blocks(axes: Axes, picture: BlockLines) -> None:
    """Write each block's name to the right of its line, moved apart where lines end close together."""
    last = len(picture.letters) - 1
    ends = [(block, [v for v in values if v is not None], values[last]) for block, values in picture.blocks]
    ends = [(block, known, end) for block, known, end in ends if known]
    low, high = axes.get_ylim()
    gaps = {block: _gap(picture.letters, values) for block, values in picture.blocks}
    heights = [end if end is not None else known[-1] for _, known, end in ends]
    spread = spread_labels(heights, (high - low) * 0.058)
    for (block, _, end), wanted, height in zip(ends, heights, spread, strict=True):
        from_x = last if end is not None else last - 1
        text = f"block {block}{gaps[block]}"
        axes.annotate(
            text,
            (from_x + 0.03, wanted),
            xytext=(last + 0.14, height),
            va="center",
            fontsize=SMALL,
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": LINE, "linewidth": 0.6, "shrinkA": 1, "shrinkB": 3},
        )


def _gap(letters: tuple[str, ...], values: tuple[float | None, ...]) -> str:
    """Say which methods of a block have no weight."""
    without = [letter for letter, value in zip(letters, values, strict=True) if value is None]
    return f" (no {' and '.join(without)})" if without else ""


def _belief_curves(picture: BeliefCurves) -> Drawing:
    drawing = new_figure(WIDTH, 200.0)
    axes = drawing.add_axes((0.04, 0.19, 0.92, 0.68))
    only_x_axis(axes)
    grid = np.asarray(picture.grid)
    styles = zip((OKABE_ITO["vermilion"], OKABE_ITO["blue"], INK), ("--", "-", ":"), strict=True)
    top = max(max(curve.density) for curve in picture.curves)
    for k, (curve, (colour, line)) in enumerate(zip(picture.curves, styles, strict=True)):
        density = np.asarray(curve.density)
        axes.plot(grid, density, color=colour, linestyle=line, linewidth=1.8)
        if k == 1:
            axes.fill_between(grid, density, where=list(grid >= picture.pays_from), color="#d3e5f1", linewidth=0)
        axes.plot([0.03, 0.10], [0.95 - 0.11 * k] * 2, transform=axes.transAxes, color=colour, linestyle=line)
        axes.text(0.12, 0.95 - 0.11 * k, curve.label, transform=axes.transAxes, va="center")
    axes.set_ylim(0.0, top * 1.05)
    axes.set_xlim(grid[0] - 0.35 * (grid[-1] - grid[0]) * 0.6, grid[-1])
    if math.isfinite(picture.pays_from):
        axes.axvline(picture.pays_from, color=INK, linewidth=1.2)
        must = f"{MUST} {signed(picture.pays_from, 2)}"
        axes.text(picture.pays_from, top * 1.08, must, ha="center", va="bottom", fontsize=SMALL)
    axes.set_xlabel(f"extra yield, {picture.unit}", labelpad=5)
    axes.xaxis.set_major_formatter(lambda x, _: signed(x, 1))
    return drawing


def _residuals(picture: ResidualsAlong) -> Drawing:
    drawing = new_figure(WIDTH, 155.0)
    axes = drawing.add_axes((0.13, 0.28, 0.84, 0.56))
    letters = tuple(sorted({r.letter for r in picture.residuals}))
    for x, residual in enumerate(picture.residuals):
        own = look(residual.letter, letters)
        axes.plot([x, x], [0.0, residual.value], color=LINE, linewidth=1.0, zorder=1)
        axes.plot([x], [residual.value], own.marker, color=own.colour, markeredgecolor=INK, markeredgewidth=0.6)
    axes.axhline(0.0, color=INK, linewidth=0.9)
    names = [f"{r.strip}\n{r.letter}" for r in picture.residuals]
    every = max(1, -(-len(names) // 20))
    axes.set_xticks(range(0, len(names), every), names[::every], fontsize=SMALL)
    axes.tick_params(axis="x", length=0)
    axes.spines["bottom"].set_visible(False)
    axes.yaxis.set_major_formatter(lambda y, _: signed(y, 2))
    axes.margins(y=0.15)
    axes.grid(axis="y", color="#e4e4de", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(axis="y", length=0)
    axes.set_title(f"left over, {picture.unit}", loc="left", fontsize=BASE_SIZE, x=-0.13)
    axes.set_xlabel("strip and method, in field order")
    return drawing


_DRAWN_BY: dict[type, Callable[[Any], Drawing]] = {
    TwentyDots: _twenty_dots,
    StripMap: draw_map,
    SeasonDays: draw_season,
    BorderPoints: draw_border,
    BlockLines: _block_lines,
    BeliefCurves: _belief_curves,
    ResidualsAlong: _residuals,
}
