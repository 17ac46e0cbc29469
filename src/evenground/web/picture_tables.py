"""The numbers of each picture as a table, for whoever cannot or will not read the picture."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from evenground.report.document import Column, Table
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
from evenground.web.numbers import day, number, signed

EVERY = 20  # of 201 grid points of a curve, every twentieth


def numbers_of(picture: Picture) -> Table:
    """Return what a picture shows as a table.

    Parameters
    ----------
    picture : Picture
        The data that are drawn.
    """
    made: Table = _SHOWN_BY[type(picture)](picture)
    return made


def _dots(picture: TwentyDots) -> Table:
    columns = (Column(_("Mark")), Column(_("Extra yield"), picture.unit, "right"), Column(_("Would it pay?")))
    rows = [
        (str(i), signed(gain, 2), _("yes") if gain > picture.pays_from else _("no"))
        for i, gain in enumerate(picture.gains, 1)
    ]
    return Table(_("Twenty equally likely values"), columns, tuple(rows))


def _strips(picture: StripMap) -> Table:
    columns = (
        Column(_("Strip"), "", "right"),
        Column(_("Block"), "", "right"),
        Column(_("Method")),
        Column(_("Result"), picture.unit, "right"),
    )
    rows = tuple((str(s.strip), str(s.block), s.letter, s.label) for s in picture.strips)
    return Table(_("What stands in each strip"), columns, rows)


def _blocks(picture: BlockLines) -> Table:
    letters = tuple(Column(letter, picture.unit, "right") for letter in picture.letters)
    rows = tuple((str(block), *(number(v, 2) for v in values)) for block, values in picture.blocks)
    return Table(_("Each block under each method"), (Column(_("Block"), "", "right"), *letters), rows)


def _curves(picture: BeliefCurves) -> Table:
    columns = (
        Column(_("Extra yield"), picture.unit, "right"),
        *(Column(curve.label, _("height"), "right") for curve in picture.curves),
    )
    rows = tuple(
        (signed(picture.grid[i], 2), *(number(curve.density[i], 3) for curve in picture.curves))
        for i in range(0, len(picture.grid), EVERY)
    )
    return Table(_("How belief is spread"), columns, rows)


def _residuals(picture: ResidualsAlong) -> Table:
    columns = (
        Column(_("Strip"), "", "right"),
        Column(_("Method")),
        Column(_("Left over"), picture.unit, "right"),
    )
    return Table(
        _("What is left of each strip after method and block"),
        columns,
        tuple((r.strip, r.letter, signed(r.value, 2)) for r in picture.residuals),
    )


def _border(picture: BorderPoints) -> Table:
    """Give the line of each side at its far end, in its middle and at the border; of weights alone each weight."""
    sides = (picture.first, picture.second)
    if not picture.first.line:
        weights = tuple((s.letter, number(v, 2)) for s in sides for v in s.value)
        return Table(
            _("Weights of both areas"), (Column(_("Method")), Column(_("Weight"), picture.unit, "right")), weights
        )
    columns = (
        Column(_("Method")),
        Column(_("Distance from the border"), "m", "right"),
        Column(_("Line"), picture.unit, "right"),
        Column(_("May lie off by"), picture.unit, "right"),
    )
    rows = tuple(
        (side.letter, number(abs(at)), number(height, 2), number(off, 2))
        for side in sides
        for at, height, off in (side.line[i] for i in (0, len(side.line) // 2, -1))
    )
    return Table(_("The lines on both sides"), columns, rows)


def _season(picture: SeasonDays) -> Table:
    """Ten days a row: rain, and heat and available water on the last of them."""
    heat = [({h.first + timedelta(days=i): d for i, d in enumerate(h.degree_days)}, h.letters) for h in picture.heat]
    water = [({w.first + timedelta(days=i): p for i, p in enumerate(w.percent)}, w.letters) for w in picture.water]
    columns = (
        Column(_("From")),
        Column(_("To")),
        Column(_("Rain"), "mm", "right"),
        *(Column(_("Heat since sowing %(methods)s") % {"methods": ", ".join(m)}, "°C d", "right") for _h, m in heat),
        *(Column(_("Available water %(methods)s") % {"methods": ", ".join(m)}, "%", "right") for _w, m in water),
    )
    rows = []
    for start in range(0, len(picture.rain_mm), 10):
        part = picture.rain_mm[start : start + 10]
        first = picture.first + timedelta(days=start)
        last = first + timedelta(days=len(part) - 1)
        known = [mm for mm in part if mm is not None]
        rows.append((day(first), day(last), number(sum(known) if known else None), *_on(heat, last), *_on(water, last)))
    return Table(
        _("Rain, heat and water, ten days a row") if heat else _("Rain and water, ten days a row"), columns, tuple(rows)
    )


def _on(lines: list[tuple[dict[date, float], tuple[str, ...]]], on: date) -> list[str]:
    return [number(values.get(on)) for values, _letters in lines]


_SHOWN_BY: dict[type, Callable[[Any], Table]] = {
    TwentyDots: _dots,
    StripMap: _strips,
    BlockLines: _blocks,
    BeliefCurves: _curves,
    ResidualsAlong: _residuals,
    BorderPoints: _border,
    SeasonDays: _season,
}
