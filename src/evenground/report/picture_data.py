"""Takes the data of each picture out of a verdict."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import LineString, MultiPoint
from shapely.geometry.base import BaseGeometry

from evenground.basis.field import Field, LocalPlane
from evenground.basis.strip import Ring
from evenground.decide.verdict_record import MethodVerdict, Verdict
from evenground.harvest.strips import StripHarvest
from evenground.report.pictures import (
    BeliefCurves,
    BlockLines,
    Curve,
    MapStrip,
    Point,
    Residual,
    ResidualsAlong,
    StripMap,
    TwentyDots,
)
from evenground.report.wording import STATES, number


def twenty_dots(verdict: Verdict, method: MethodVerdict) -> TwentyDots:
    """Return twenty equally likely values of the long-run extra yield [t/ha].

    The i-th is the quantile at (i - 1/2) / 20, so that the share of dots in any range is the chance of that range, to
    the nearest twentieth.
    """
    long_run = method.comparison.posterior.mu
    return TwentyDots(
        gains=tuple(long_run.quantile((i + 0.5) / 20.0) for i in range(20)),
        pays_from=method.worthwhile_gain,
        method=method.comparison.method,
        baseline=method.comparison.baseline,
        unit=verdict.harvest.unit,
    )


def belief_curves(verdict: Verdict, method: MethodVerdict) -> BeliefCurves:
    """Return how belief is spread over this season's, the long-run and next season's extra yield [t/ha]."""
    posterior = method.comparison.posterior
    low, high = posterior.next_season.interval(0.995)
    shown = [0.0, *([method.worthwhile_gain] if math.isfinite(method.worthwhile_gain) else [])]
    grid = np.linspace(min(low, *shown), max(high, *shown), 201)
    named = (("this season", posterior.theta), ("long run", posterior.mu), ("next season", posterior.next_season))
    return BeliefCurves(
        grid=tuple(grid.tolist()),
        curves=tuple(Curve(label, tuple(np.asarray(gain.density(grid)).tolist())) for label, gain in named),
        pays_from=method.worthwhile_gain,
        unit=verdict.harvest.unit,
    )


def residuals_along(verdict: Verdict) -> ResidualsAlong:
    """Return what is left of each strip after method and block, in field order [t/ha]."""
    place = {str(strip.strip): i for i, strip in enumerate(verdict.draw.strips)}
    ordered = sorted(verdict.comparison.residuals, key=lambda r: place.get(r.strip, len(place)))
    rows = tuple(Residual(r.strip, r.method, r.residual) for r in ordered)
    return ResidualsAlong(rows, verdict.harvest.unit)


def block_lines(verdict: Verdict) -> BlockLines:
    """Return the yield of every block under each method [t/ha]; several strips of a method in a block are averaged."""
    baseline = verdict.comparison.baseline
    letters = (baseline, *(m.comparison.method for m in sorted(verdict.methods, key=lambda m: m.comparison.method)))
    found: dict[tuple[int, str], list[float]] = {}
    for strip in verdict.harvest.strips:
        if strip.outcome is not None:
            found.setdefault((strip.block, strip.method), []).append(strip.outcome)
    means = {key: sum(values) / len(values) for key, values in found.items()}
    blocks = sorted({strip.block for strip in verdict.harvest.strips})
    lines = tuple((block, tuple(means.get((block, letter)) for letter in letters)) for block in blocks)
    return BlockLines(letters, lines, verdict.harvest.unit)


def strip_label(strip: StripHarvest | None) -> str:
    """Return what is written in a strip: its weight [t/ha], or what became of it.

    Examples
    --------
    >>> strip_label(None)
    'no weight'
    """
    if strip is None:
        return STATES["missing"]
    return STATES[strip.state] if strip.outcome is None else number(strip.outcome, 1)


def strip_map(verdict: Verdict, field: Field | None) -> StripMap:
    """Return the strips in metres, turned so that they run up the page.

    Parameters
    ----------
    verdict : Verdict
        Its last draw has the outlines in WGS84 [deg].
    field : Field or None
        Outline of the field; without it the strips stand alone.
    """
    points = MultiPoint([at for strip in verdict.draw.strips for at in strip.outline])
    plane = field.plane if field is not None else LocalPlane(points.centroid.x, points.centroid.y)
    turn = math.radians(verdict.draw.heading_deg)
    harvested = {strip.strip: strip for strip in verdict.harvest.strips}
    strips = []
    for strip in sorted(verdict.draw.strips, key=lambda s: s.strip):
        found = harvested.get(strip.strip)
        strips.append(
            MapStrip(
                strip=strip.strip,
                block=strip.block,
                letter=found.method if found is not None else strip.method,
                ring=_turned(plane.to_metres(LineString(strip.outline)), turn),
                label=strip_label(found),
                weighed=found is not None and found.outcome is not None,
            )
        )
    return StripMap(
        strips=tuple(strips),
        boundary=() if field is None else tuple(_turned(plane.to_metres(r), turn) for r in _rings(field)),
        north=(-math.sin(turn), math.cos(turn)),
        names=tuple((method.letter, method.name) for method in verdict.plan.methods),
        unit=verdict.harvest.unit,
    )


def _rings(field: Field) -> list[BaseGeometry]:
    """Return every ring of the field outline, holes and obstacles too."""
    rings: list[BaseGeometry] = []
    for part in (*field.boundary.geoms, *field.obstacles.geoms):
        rings += [part.exterior, *part.interiors]
    return rings


def _turned(line: BaseGeometry, turn: float) -> Ring:
    """Return the points of a line as (across, along) for strips that head ``turn`` radians clockwise from north [m]."""
    cos, sin = math.cos(turn), math.sin(turn)
    return tuple(_point(x * cos - y * sin, x * sin + y * cos) for x, y in line.coords)


def _point(x: float, y: float) -> Point:
    return float(x), float(y)
