"""Draws a border: yields against the distance from it, a line and its band on each side, and the range of the step."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawing

from evenground.adapters.svg_figure import BASE_SIZE, INK, LINE, OKABE_ITO, QUIET, look, new_figure
from evenground.report.pictures import BorderPoints, BorderSide
from evenground.report.wording import signed

WIDTH, LEFT, RIGHT = 440.0, 40.0, 12.0  # [pt]
TOP, POINTS, GAP, STEP, FOOT = 36.0, 150.0, 62.0, 34.0, 38.0  # heights [pt]
SMALL = BASE_SIZE - 1.5
GRID = "#e4e4de"


def draw_border(picture: BorderPoints) -> Drawing:
    """Return a border as a drawing.

    Parameters
    ----------
    picture : BorderPoints
        Both sides, the step and its range.
    """
    whole = TOP + POINTS + GAP + STEP + FOOT
    drawing = new_figure(WIDTH, whole)
    across = (LEFT / WIDTH, (WIDTH - LEFT - RIGHT) / WIDTH)
    above = drawing.add_axes((across[0], (FOOT + STEP + GAP) / whole, across[1], POINTS / whole))
    below = drawing.add_axes((across[0], FOOT / whole, across[1], STEP / whole))
    _yields(above, picture)
    _range(below, picture)
    return drawing


def _yields(axes: Axes, picture: BorderPoints) -> None:
    """Draw both sides against the distance from the border; weights alone stand in two columns."""
    sides = (picture.first, picture.second)
    places = bool(picture.first.distance_m)
    for column, side in zip((-0.5, 0.5), sides, strict=True):
        own = look(side.letter, picture.letters)
        x = side.distance_m if places else (column,) * len(side.value)
        axes.plot(x, side.value, linestyle="none", marker=own.marker, markersize=4.5 if places else 8.0, zorder=3,
                  markerfacecolor=own.colour, markeredgecolor=INK, markeredgewidth=0.5, clip_on=False)  # fmt: skip
        _line(axes, side, own.fill, column)
    reach = 1.05 * max((abs(d) for s in sides for d in s.distance_m), default=0.95)
    axes.set_xlim(-reach, reach)
    _room_above(axes)
    axes.axvline(0.0, color=QUIET, linewidth=1.0, linestyle=(0, (4, 2)), zorder=1)
    axes.set_axisbelow(True)
    axes.grid(axis="y", color=GRID, linewidth=0.8)
    axes.tick_params(axis="y", length=0)
    for where, side, ha in ((0.0, picture.first, "left"), (1.0, picture.second, "right")):
        axes.annotate(side.letter, (where, 1.0), xycoords="axes fraction", xytext=(0, 4), textcoords="offset points",
                      ha=ha, weight="bold", fontsize=BASE_SIZE + 2, annotation_clip=False)  # fmt: skip
    axes.annotate("border", (0.5, 1.0), xycoords="axes fraction", xytext=(0, 5), textcoords="offset points",
                  ha="center", fontsize=SMALL, annotation_clip=False)  # fmt: skip
    axes.annotate(f"yield, {picture.unit}", (0.0, 1.0), xycoords="axes fraction", xytext=(-LEFT + 4, 21),
                  textcoords="offset points", annotation_clip=False)  # fmt: skip
    if places:
        axes.set_xlabel("distance from the border, m", fontsize=SMALL, labelpad=3)
        axes.set_xticks(axes.get_xticks()[1:-1])
        axes.xaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    else:
        axes.set_xticks([])


def _line(axes: Axes, side: BorderSide, fill: str, column: float) -> None:
    """Draw the line of one side with its band; the mean of weights."""
    if side.line:
        x, height, off = zip(*side.line, strict=True)
        low, high = ([h + sign * o for h, o in zip(height, off, strict=True)] for sign in (-1, 1))
        axes.fill_between(x, low, high, facecolor=fill, edgecolor=LINE, linewidth=0.5, zorder=2, alpha=0.9)
        axes.plot(x, height, color=INK, linewidth=2.0, zorder=4)
    elif side.value:
        mean = sum(side.value) / len(side.value)
        axes.plot([column - 0.2, column + 0.2], [mean, mean], color=INK, linewidth=2.0, zorder=2)


def _room_above(axes: Axes) -> None:
    """Leave room so that a single weight does not fill the height."""
    low, high = axes.get_ylim()
    least = 0.1 * max(abs(low), abs(high))
    if high - low < least:
        middle = (low + high) / 2.0
        axes.set_ylim(middle - least / 2.0, middle + least / 2.0)


def _range(axes: Axes, picture: BorderPoints) -> None:
    """Draw the step as a mark on the range of the method's own part, with nought ruled in."""
    low, high = picture.interval
    shown = (low, high, 0.0, picture.step)
    pad = 0.08 * max(max(shown) - min(shown), 0.1)
    axes.set_xlim(min(shown) - pad, max(shown) + pad)
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([])
    axes.axvline(0.0, color=QUIET, linewidth=1.0, linestyle=(0, (4, 2)), zorder=1)
    axes.plot([low, high], [0.45, 0.45], color=OKABE_ITO["sky"], linewidth=9.0, solid_capstyle="butt", zorder=2)
    axes.plot([picture.step], [0.45], "D", color=INK, markersize=7.0, zorder=3)
    for value, ha in ((low, "left"), (high, "right")):
        axes.annotate(signed(value, 2), (value, 0.45), xytext=(0, 8), textcoords="offset points", ha=ha, fontsize=SMALL)
    axes.annotate(f"step {signed(picture.step, 2)}", (picture.step, 0.45), xytext=(0, 8), textcoords="offset points",
                  ha="center", fontsize=SMALL)  # fmt: skip
    axes.set_xlabel(f"{picture.second.letter} minus {picture.first.letter}, {picture.unit}; at least this wide",
                    fontsize=SMALL, labelpad=3)  # fmt: skip
    axes.tick_params(axis="x", length=4)
