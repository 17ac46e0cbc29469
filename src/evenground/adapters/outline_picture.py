"""Draws the outline of a field with what stands in it, before any strip is laid out: to scale, north up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor, log10
from xml.sax.saxutils import escape, quoteattr

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from evenground.basis.field import Field

SIZE_PX, MARGIN_PX, FOOT_PX = 640.0, 24.0, 44.0
INK, QUIET, GROUND = "#1d1d1b", "#55554f", "#f3f1e8"
# Okabe and Ito's blue and orange, each with a pattern of its own, so that nothing hangs on colour alone.
EDGE, TRACE = "#0072b2", "#b35900"


@dataclass(frozen=True)
class _Paper:
    """How metres become pixels."""

    scale: float
    west_m: float
    north_m: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        return MARGIN_PX + (x - self.west_m) * self.scale, MARGIN_PX + (self.north_m - y) * self.scale


def outline_svg(field: Field, title: str) -> str:
    """Draw a field.

    Parameters
    ----------
    field : Field
        Outline, obstacles, kept edges, traces of earlier years, soil zones.
    title : str
        What the picture shows, for those who cannot see it.
    """
    boundary = field.plane.to_metres(field.boundary)
    west, south, east, north = boundary.bounds
    scale = (SIZE_PX - 2 * MARGIN_PX) / max(east - west, north - south)
    paper = _Paper(scale, west, north)
    width, height = (east - west) * scale + 2 * MARGIN_PX, (north - south) * scale + 2 * MARGIN_PX + FOOT_PX
    width = max(width, 240.0)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.1f} {height:.1f}" width="{width:.0f}" '
        f'height="{height:.0f}" role="img" aria-label={quoteattr(title)}><title>{escape(title)}</title>',
        _PATTERNS,
        f'<path d="{_path(boundary, paper)}" fill="{GROUND}" stroke="{INK}" stroke-width="2" fill-rule="evenodd"/>',
        *_features(field, paper),
        *_scale_bar(paper, height),
        f'<path d="M {width - 20:.0f} {height - 10:.0f} v -26 m -5 8 l 5 -8 l 5 8" fill="none" stroke="{INK}" '
        'stroke-width="2"/>',
        f'<text x="{width - 34:.0f}" y="{height - 12:.0f}" font-size="14" font-family="sans-serif" fill="{INK}" '
        'text-anchor="end">N</text></svg>',
    ]
    return "".join(parts)


def empty_svg(text: str) -> str:
    """Draw an empty sheet with a line of text.

    Parameters
    ----------
    text : str
        Why there is nothing on it.
    """
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 120" width="320" height="120" role="img" '
        f'aria-label={quoteattr(text)}><text x="16" y="64" font-size="15" font-family="sans-serif" fill="{INK}">'
        f"{escape(text)}</text></svg>"
    )


_PATTERNS = (
    "<defs>"
    '<pattern id="lines" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    f'<rect width="7" height="7" fill="#ffffff"/><path d="M0 0 V7" stroke="{INK}" stroke-width="2"/></pattern>'
    '<pattern id="dots" width="9" height="9" patternUnits="userSpaceOnUse">'
    f'<circle cx="4" cy="4" r="1.5" fill="{QUIET}"/></pattern></defs>'
)


def _features(field: Field, paper: _Paper) -> Iterator[str]:
    plane = field.plane
    for zone in field.zones:
        shape = plane.to_metres(zone.shape)
        yield f'<path d="{_path(shape, paper)}" fill="url(#dots)" stroke="{QUIET}" stroke-dasharray="2 3"/>'
        yield _word(shape, paper, f"{zone.layer} {zone.value:g}")
    for trace in field.history:
        shape = plane.to_metres(trace.shape)
        yield f'<path d="{_path(shape, paper)}" fill="none" stroke="{TRACE}" stroke-width="2" stroke-dasharray="8 4"/>'
        yield _word(shape, paper, trace.kind)
    for edge in field.kept_edges:
        shape = plane.to_metres(edge.shape)
        yield f'<path d="{_path(shape, paper)}" fill="none" stroke="{EDGE}" stroke-width="5" stroke-dasharray="1 6"/>'
        yield _word(shape, paper, edge.reason or f"{edge.width_m:g} m")
    if not field.obstacles.is_empty:
        shape = plane.to_metres(field.obstacles)
        yield f'<path d="{_path(shape, paper)}" fill="url(#lines)" stroke="{INK}" fill-rule="evenodd"/>'


def _path(shape: BaseGeometry, paper: _Paper) -> str:
    return " ".join(d for part in shapely.get_parts(shape) for d in _part(part, paper))


def _part(part: BaseGeometry, paper: _Paper) -> Iterator[str]:
    rings = [part.exterior, *part.interiors] if isinstance(part, Polygon) else [part]
    for ring in rings:
        at = [paper.at(float(x), float(y)) for x, y in shapely.get_coordinates(ring)]
        close = " Z" if isinstance(part, Polygon) else ""
        yield "M " + " L ".join(f"{x:.1f} {y:.1f}" for x, y in at) + close


def _word(shape: BaseGeometry, paper: _Paper, text: str) -> str:
    middle = shape.interpolate(0.5, normalized=True) if isinstance(shape, LineString) else shape.representative_point()
    x, y = paper.at(middle.x, middle.y)
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="13" font-family="sans-serif" text-anchor="middle" fill="{INK}" '
        f'stroke="#ffffff" stroke-width="3" paint-order="stroke">{escape(text[:40])}</text>'
    )


def _scale_bar(paper: _Paper, height: float) -> Iterator[str]:
    """Draw a bar of a round length, about 120 px long."""
    wanted = 120.0 / paper.scale
    power = 10.0 ** floor(log10(wanted))
    metres = max(k * power for k in (1.0, 2.0, 5.0) if k * power <= wanted)
    y, length = height - 14.0, metres * paper.scale
    yield f'<path d="M {MARGIN_PX} {y - 5} V {y} H {MARGIN_PX + length:.1f} V {y - 5}" fill="none" stroke="{INK}"/>'
    yield (
        f'<text x="{MARGIN_PX + length + 8:.1f}" y="{y}" font-size="13" font-family="sans-serif" fill="{INK}">'
        f"{metres:g} m</text>"
    )
