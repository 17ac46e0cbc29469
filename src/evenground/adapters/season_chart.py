"""Draws the season: the crop's days on top, heat and water in the ground below, rain at the foot, on one time axis."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

from matplotlib import transforms
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawing

from evenground.adapters.svg_figure import BASE_SIZE, INK, LINE, OKABE_ITO, QUIET, look, new_figure
from evenground.basis.days import MONTHS, said_day
from evenground.report.pictures import CropLife, SeasonDays

WIDTH, LEFT, RIGHT = 440.0, 42.0, 40.0  # [pt]
LIFE, HEAT, WATER, RAIN, GAP, FOOT = 42.0, 32.0, 56.0, 34.0, 22.0, 18.0  # heights [pt]
SMALL = BASE_SIZE - 1.5
LETTER_PT = 0.58 * SMALL  # mean width of a letter of the figures' font, for placing labels
SHADE = "#f1ece0"
GRID = "#e4e4de"
DASHES = ("-", (0, (5, 2)), (0, (1.2, 1.6)), "-.", (0, (8, 2, 1, 2, 1, 2)), (0, (3, 3)))
BETWEEN_MARKS = 14  # days between the marks on a line
DayLine = tuple[tuple[str, ...], date, tuple[float, ...]]  # methods, day of the first value, one value a day


def draw_season(picture: SeasonDays) -> Drawing:
    """Return the season as a drawing.

    Parameters
    ----------
    picture : SeasonDays
        Days, rain, heat, water and stages.
    """
    middle = [*([HEAT] if picture.heat else []), *([WATER] if picture.water else [])]
    heights = [LIFE * max(len(picture.lives), 1), *middle, RAIN]
    whole = sum(heights) + GAP * (len(heights) - 1) + FOOT + 16.0
    drawing = new_figure(WIDTH, whole)
    top, panels = whole - 16.0, []
    for height in heights:
        panels.append(_panel(drawing, picture, (top - height) / whole, height / whole))
        top -= height + GAP
    _lives(panels[0], picture)
    if picture.heat:
        _heat(panels[1], picture)
    if picture.water:
        _water(panels[-2], picture)
    _rain(panels[-1], picture)
    _months(panels[-1], picture)
    return drawing


def _panel(drawing: Drawing, picture: SeasonDays, bottom: float, height: float) -> Axes:
    """One panel on the common time axis, with the weeks around flowering shaded and harvest ruled in."""
    axes = drawing.add_axes((LEFT / WIDTH, bottom, (WIDTH - LEFT - RIGHT) / WIDTH, height))
    axes.set_xlim(-1.0, max(len(picture.rain_mm), 2))
    axes.set_xticks([])
    axes.set_axisbelow(True)
    axes.tick_params(axis="y", length=0)
    if picture.flowering is not None:
        low, high = (_place(picture, day) for day in picture.flowering)
        axes.axvspan(low - 0.5, high + 0.5, color=SHADE, linewidth=0, zorder=0)
    if picture.harvest is not None:
        axes.axvline(_place(picture, picture.harvest), color=QUIET, linewidth=1.0, linestyle=(0, (4, 2)), zorder=1)
    return axes


def _place(picture: SeasonDays, day: date) -> int:
    return (day - picture.first).days


def _title(axes: Axes, text: str) -> None:
    axes.annotate(text, (0.0, 1.0), xycoords="axes fraction", xytext=(-LEFT + 4, 6), textcoords="offset points",
                  annotation_clip=False)  # fmt: skip


def _lives(axes: Axes, picture: SeasonDays) -> None:
    """Draw one row for methods with the same days: marks with their names, ranges as bars."""
    axes.set_ylim(0.5 - max(len(picture.lives), 1), 0.5)
    axes.set_yticks([])
    axes.spines["bottom"].set_visible(False)
    for row, life in enumerate(picture.lives):
        own = look(life.letters[0], picture.letters)
        face = own.colour if len(life.letters) == 1 else "white"
        y = -row - 0.30
        axes.axhline(y, color=LINE, linewidth=0.8, zorder=1)
        for mark in life.marks:
            low, high = _place(picture, mark.first), _place(picture, mark.last)
            axes.plot([low, high], [y, y], color=INK, linewidth=5.0, solid_capstyle="round", zorder=2, clip_on=False)
            axes.plot([(low + high) / 2], [y], own.marker, color=face, markersize=8, markeredgecolor=INK,
                      markeredgewidth=0.7, zorder=3, clip_on=False)  # fmt: skip
        side = transforms.blended_transform_factory(axes.transAxes, axes.transData)
        axes.annotate(",".join(life.letters), (0.0, y), xycoords=side, xytext=(-LEFT + 4, 0),
                      textcoords="offset points", va="center", weight="bold", annotation_clip=False)  # fmt: skip
        _name_marks(axes, picture, life, y)
    if picture.harvest is not None:
        axes.annotate(f"harvest {_short(picture.harvest)}", (_place(picture, picture.harvest), 1.0),
                      xycoords=axes.get_xaxis_transform(), xytext=(RIGHT - 4, 4), textcoords="offset points",
                      ha="right", fontsize=SMALL, annotation_clip=False)  # fmt: skip


def _name_marks(axes: Axes, picture: SeasonDays, life: CropLife, y: float) -> None:
    """Write name and first day over each mark, moved aside where names would touch."""
    per_day = (WIDTH - LEFT - RIGHT) / (axes.get_xlim()[1] - axes.get_xlim()[0])
    wanted, texts = [], []
    for mark in life.marks:
        wanted.append((_place(picture, mark.first) + _place(picture, mark.last)) / 2)
        texts.append(f"{mark.name.split(',')[0]}\n{_span(mark.first, mark.last)}")
    widths = [max(map(len, text.split("\n"))) * LETTER_PT / per_day for text in texts]
    low, high = axes.get_xlim()
    # Names end before the line of harvest, so that it crosses none.
    end = high + (RIGHT - 4.0) / per_day
    if picture.harvest is not None:
        end = _place(picture, picture.harvest) - 3.0 / per_day
    places = side_by_side(wanted, widths, (low - 4.0 / per_day, end), 5.0 / per_day)
    for x, text in zip(places, texts, strict=True):
        axes.annotate(text, (x, y), xytext=(0, 8), textcoords="offset points", ha="center", va="bottom",
                      fontsize=SMALL, linespacing=1.1, annotation_clip=False)  # fmt: skip


def side_by_side(wanted: list[float], widths: list[float], limits: tuple[float, float], gap: float) -> list[float]:
    """Move labels along a line so that neighbours do not touch and none leaves the line, as far as there is room.

    Parameters
    ----------
    wanted : list of float
        Middles, in order [any unit].
    widths : list of float
        Widths [same unit].
    limits : (float, float)
        Ends of the line [same unit].
    gap : float
        Least room between two labels [same unit].

    Examples
    --------
    >>> side_by_side([1.0, 2.0, 9.5], [2.0, 2.0, 2.0], (0.0, 10.0), 0.0)
    [1.0, 3.0, 9.0]
    """
    apart = [(a + b) / 2 + gap for a, b in pairwise(widths)]
    out: list[float] = []
    for i, x in enumerate(wanted):
        out.append(max(x, limits[0] + widths[i] / 2, *([out[-1] + apart[i - 1]] if i else [])))
    for i in reversed(range(len(out))):
        ends = limits[1] - widths[i] / 2
        out[i] = min(out[i], ends, *([out[i + 1] - apart[i]] if i + 1 < len(out) else []))
    return out


def _heat(axes: Axes, picture: SeasonDays) -> None:
    """Draw the sum of heat of each method since its own sowing."""
    top = 1.08 * max(line.degree_days[-1] for line in picture.heat) or 1.0
    axes.set_ylim(0.0, top)
    axes.locator_params(axis="y", nbins=3)
    axes.grid(axis="y", color=GRID, linewidth=0.8)
    _title(axes, "heat since sowing, °C d")
    _lines(axes, picture, [(line.letters, line.first, line.degree_days) for line in picture.heat], top, 0.18 * top)


def _water(axes: Axes, picture: SeasonDays) -> None:
    axes.set_ylim(0.0, 105.0)
    axes.set_yticks([0, 50, 100])
    axes.grid(axis="y", color=GRID, linewidth=0.8)
    _title(axes, "available water, % of usable field capacity")
    _lines(axes, picture, [(line.letters, line.first, line.percent) for line in picture.water], 105.0, 12.0)


def _lines(axes: Axes, picture: SeasonDays, lines: Sequence[DayLine], top: float, step: float) -> None:
    """Draw a line a method and write its letters at the end, at least ``step`` apart below ``top`` [axis units]."""
    for k, (letters, first, values) in enumerate(lines):
        _line(axes, picture, (letters, first, values), k)
    heights = side_by_side_heights([values[-1] for *_, values in lines], top, step)
    for (letters, first, values), y in zip(lines, heights, strict=True):
        x = _place(picture, first) + len(values) - 1
        axes.annotate(",".join(letters), (x, y), xytext=(7, 0), textcoords="offset points", va="center",
                      weight="bold", annotation_clip=False)  # fmt: skip


def side_by_side_heights(heights: list[float], top: float, step: float) -> list[float]:
    """Move the letters at the line ends apart, in the order given.

    Parameters
    ----------
    heights : list of float
        Line ends [any unit].
    top : float
        Upper end of the axis, which begins at 0 [same unit].
    step : float
        Least distance of two [same unit].

    Examples
    --------
    >>> side_by_side_heights([50.0, 50.0], 105.0, 12.0)
    [50.0, 62.0]
    """
    order = sorted(range(len(heights)), key=heights.__getitem__)
    moved = side_by_side([heights[i] for i in order], [step] * len(order), (0.0, top), 0.0)
    return [moved[order.index(i)] for i in range(len(heights))]


def _line(axes: Axes, picture: SeasonDays, line: DayLine, k: int) -> None:
    letters, first, values = line
    start = _place(picture, first)
    own = look(letters[0], picture.letters)
    together = len(letters) > 1
    axes.plot(
        range(start, start + len(values)),
        values,
        color=INK if together else own.colour,
        linestyle=DASHES[k % len(DASHES)],
        linewidth=2.0,
        marker="" if together else own.marker,
        markevery=(3 + 4 * k, BETWEEN_MARKS),
        markersize=6,
        markeredgecolor=INK,
        markeredgewidth=0.6,
        zorder=3,
    )


def _rain(axes: Axes, picture: SeasonDays) -> None:
    """Draw rain as bars; a day without record is a cross, not a dry day."""
    known = [(x, mm) for x, mm in enumerate(picture.rain_mm) if mm is not None]
    axes.bar([x for x, _ in known], [mm for _, mm in known], width=0.9, color=OKABE_ITO["sky"], edgecolor=INK,
             linewidth=0.3, zorder=2)  # fmt: skip
    axes.set_ylim(0.0, max([10.0, *(mm * 1.08 for _, mm in known)]))
    axes.grid(axis="y", color=GRID, linewidth=0.8)
    missing = [x for x, mm in enumerate(picture.rain_mm) if mm is None]
    axes.plot(missing, [0.0] * len(missing), "x", color=INK, markersize=4, clip_on=False, zorder=4)
    axes.locator_params(axis="y", nbins=4)
    _title(axes, "rain, mm a day")


def _months(axes: Axes, picture: SeasonDays) -> None:
    """Rule and name the months on the common axis."""
    days = [picture.first + timedelta(days=i) for i in range(len(picture.rain_mm))]
    starts = [(i, day) for i, day in enumerate(days) if day.day == 1]
    axes.set_xticks([i for i, _ in starts], [f"1 {MONTHS[day.month - 1]}" for _, day in starts])
    axes.tick_params(axis="x", length=4)


def _short(day: date) -> str:
    return said_day(day, year=False)


def _span(first: date, last: date) -> str:
    r"""Write days briefly.

    Examples
    --------
    >>> _span(date(2026, 5, 12), date(2026, 5, 14)).replace("\xa0", " ")
    '12–14 May'
    >>> _span(date(2026, 5, 30), date(2026, 6, 2)).replace("\xa0", " ")
    '30 May–2 Jun'
    """
    if first == last:
        return _short(first)
    return f"{first.day}–{_short(last)}" if first.month == last.month else f"{_short(first)}–{_short(last)}"
