"""Draws row patterns to one scale, side by side: growing spaces, circles to the nearest plant, and the plants."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from html import escape
from itertools import product
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from evenground.adapters.files import write_atomically
from evenground.adapters.svg_figure import BASE_SIZE, INK, LINE, QUIET, SETTINGS, look, new_figure, svg_text
from evenground.basis.errors import InputError, problem
from evenground.basis.thousands import grouped
from evenground.sowing.row_geometry import GrowingSpace, RepeatedPattern, growing_space, outlines_m

PANEL_PT = 250.0
HEAD_PT, FOOT_PT, SIDE_PT = 66.0, 30.0, 14.0
WINDOW_ROWS = 2.0  # row spacings shown across
PNG_DPI = 200
SUFFIXES = (".svg", ".png")


def write_pattern_picture(path: Path, patterns: Sequence[RepeatedPattern]) -> None:
    """Write the picture as SVG or PNG, as the file name ends.

    Parameters
    ----------
    path : Path
        File to write, ending in .svg or .png.
    patterns : sequence of RepeatedPattern
        From left to right.

    Raises
    ------
    InputError
        If the name ends otherwise, there is no such folder, or the file cannot be written.
    """
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError(
            [problem("this is no kind of picture.", field="--picture", given=path, allowed=".svg or .png")]
        )
    if not path.absolute().parent.is_dir():
        text, allowed = "there is no such folder to write into.", "a file in a folder that is there"
        raise InputError([problem(text, field="--picture", given=path, allowed=allowed)])
    data = pattern_svg(patterns).encode() if suffix == ".svg" else pattern_png(patterns)
    try:
        write_atomically(path, data)
    except OSError as error:
        text = f"the picture cannot be written: {error.strerror}."
        raise InputError(
            [problem(text, field="--picture", given=path, allowed="a file in a folder you may use")]
        ) from error


def pattern_svg(patterns: Sequence[RepeatedPattern]) -> str:
    """Return the picture as one SVG element with title and description; the same patterns give the same text.

    Parameters
    ----------
    patterns : sequence of RepeatedPattern
        From left to right.
    """
    with mpl.rc_context(SETTINGS):
        text = svg_text(_drawing(patterns), "row-patterns", alt_text(patterns))
    title = f"<title>{escape(' beside '.join(p.name for p in patterns))}</title>"
    return text.replace("<desc", title + "<desc", 1)


def pattern_png(patterns: Sequence[RepeatedPattern]) -> bytes:
    """Return the picture as PNG with its description; the same patterns give the same bytes.

    Parameters
    ----------
    patterns : sequence of RepeatedPattern
        From left to right.
    """
    out = io.BytesIO()
    with mpl.rc_context(SETTINGS):
        words = {"Software": None, "Description": alt_text(patterns).encode("latin-1", "replace").decode("latin-1")}
        _drawing(patterns).savefig(out, format="png", dpi=PNG_DPI, metadata=words)
    return out.getvalue()


def alt_text(patterns: Sequence[RepeatedPattern]) -> str:
    """Say what the picture shows, for someone who cannot see it.

    Parameters
    ----------
    patterns : sequence of RepeatedPattern
        From left to right.
    """
    parts = [f"{letter}: {p.name}, {_numbers(growing_space(p))}" for letter, p in _lettered(patterns)]
    return (
        f"Plants seen from above, to scale. {'. '.join(parts)}. Lines enclose the ground nearest to each plant; "
        "circles have the distance to the nearest plant as diameter."
    )


def _lettered(patterns: Sequence[RepeatedPattern]) -> list[tuple[str, RepeatedPattern]]:
    return [(chr(ord("A") + k), p) for k, p in enumerate(patterns)]


def _numbers(space: GrowingSpace) -> str:
    ground = 1e4 * space.growing_space_m2
    return (
        f"nearest plant {100 * space.nearest_neighbour_m:.1f} cm, "
        f"circles {100 * space.circle_share:.0f} % of the ground, land per plant {grouped(ground)} cm²"
    )


def _drawing(patterns: Sequence[RepeatedPattern]) -> Figure:
    window = WINDOW_ROWS * max(p.width_m for p in patterns)
    width = len(patterns) * PANEL_PT + (len(patterns) + 1) * SIDE_PT
    height = PANEL_PT + HEAD_PT + FOOT_PT
    figure = new_figure(width, height)
    for k, (letter, pattern) in enumerate(_lettered(patterns)):
        left = SIDE_PT + k * (PANEL_PT + SIDE_PT)
        axes = figure.add_axes((left / width, FOOT_PT / height, PANEL_PT / width, PANEL_PT / height))
        _panel(axes, letter, pattern, window)
        _words(figure, (left / width, 1.0 - 14.0 / height), letter, pattern)
    _scale_bar(figure, (width, height), window)
    return figure


def _panel(axes: Axes, letter: str, pattern: RepeatedPattern, window: float) -> None:
    """Draw cells, circles and plants of one pattern, a row in the middle of the window."""
    own, space = look(letter, ("A", "B", "C")), growing_space(pattern)
    origin = (pattern.width_m / 2.0 - window / 2.0, -window / 2.0)
    axes.set_xlim(origin[0], origin[0] + window)
    axes.set_ylim(origin[1], origin[1] + window)
    axes.set_xticks([])
    axes.set_yticks([])
    for side in ("left", "right", "top", "bottom"):
        axes.spines[side].set_visible(True)
    outlines = outlines_m(pattern)
    places = [(k, x, y) for k, x, y in _copies(pattern, origin, window)]
    cells = [outlines[k] + (x, y) for k, x, y in places]
    axes.add_collection(PolyCollection(cells, facecolors="white", edgecolors=QUIET, linewidths=0.8))
    for _, x, y in places:
        axes.add_patch(Circle((x, y), space.nearest_neighbour_least_m / 2.0, facecolor=own.fill, edgecolor=own.colour))
    axes.plot([x for _, x, _ in places], [y for _, _, y in places], own.marker, color=own.colour, markersize=4.5,
              markeredgecolor=INK, markeredgewidth=0.6)  # fmt: skip
    centre = min(range(len(places)), key=lambda i: math.hypot(places[i][1] - origin[0] - window / 2.0, places[i][2]))
    axes.add_collection(PolyCollection([cells[centre]], facecolors="none", edgecolors=INK, linewidths=2.0, zorder=3))
    _nearest_line(axes, places, centre)


def _copies(pattern: RepeatedPattern, origin: tuple[float, float], window: float) -> list[tuple[int, float, float]]:
    """Return number and place of every plant in the window and just outside it."""
    rim = max(pattern.width_m, 0.5 * window)
    across = range(
        math.floor((origin[0] - rim) / pattern.width_m), math.ceil((origin[0] + window + rim) / pattern.width_m)
    )
    along = range(
        math.floor((origin[1] - rim) / pattern.length_m), math.ceil((origin[1] + window + rim) / pattern.length_m)
    )
    return [
        (k, x + i * pattern.width_m, y + j * pattern.length_m)
        for i, j in product(across, along)
        for k, (x, y) in enumerate(pattern.places_m)
    ]


def _nearest_line(axes: Axes, places: list[tuple[int, float, float]], centre: int) -> None:
    """Join the plant in the middle to its nearest neighbour."""
    at = np.array([(x, y) for _, x, y in places])
    apart = np.hypot(*(at - at[centre]).T)
    apart[centre] = np.inf
    other = at[int(apart.argmin())]
    axes.plot([at[centre, 0], other[0]], [at[centre, 1], other[1]], color=INK, linewidth=2.2, zorder=4)


def _words(figure: Figure, corner: tuple[float, float], letter: str, pattern: RepeatedPattern) -> None:
    space = growing_space(pattern)
    x, y = corner
    line = 14.0 / (PANEL_PT + HEAD_PT + FOOT_PT)
    lines: list[tuple[str, dict[str, Any]]] = [
        (f"{letter}  {pattern.name}", {"weight": "bold", "size": BASE_SIZE + 1}),
        (f"{pattern.plants_per_m2:g} plants/m², nearest plant {100 * space.nearest_neighbour_m:.1f} cm", {}),
        (f"circles {100 * space.circle_share:.0f} % of the ground", {}),
        (f"land per plant {grouped(1e4 * space.growing_space_m2)} cm²", {}),
    ]
    for k, (text, style) in enumerate(lines):
        figure.text(x, y - k * line, text, va="center", ha="left", **{"size": BASE_SIZE - 0.5, **style})


def _scale_bar(figure: Figure, size: tuple[float, float], window: float) -> None:
    """Draw half a metre, in the scale of all panels."""
    width, height = size
    left, length, y = SIDE_PT / width, 0.5 * PANEL_PT / window / width, 14.0 / height
    figure.add_artist(mpl.lines.Line2D([left, left + length], [y, y], color=INK, linewidth=2.0))
    figure.text(
        left + length + 6.0 / width,
        y,
        "50 cm. Rows run up the page; bold: land of one plant, and the way to its nearest.",
        va="center",
        size=BASE_SIZE - 1,
        color=INK,
    )
    figure.add_artist(mpl.lines.Line2D([left, left], [y - 3 / height, y + 3 / height], color=LINE, linewidth=1.0))
