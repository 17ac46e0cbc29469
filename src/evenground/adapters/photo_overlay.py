"""The photograph with rows drawn and plants numbered, to accept or to correct."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from evenground.adapters.files import write_atomically
from evenground.adapters.photo_file import Photo
from evenground.adapters.svg_figure import OKABE_ITO
from evenground.stand.photo.found import Found, Plant
from evenground.stand.photo.rows import Line, turned_back

LONGEST_SIDE = 4000
"""Larger overlays are made smaller; the rulers still count the photograph's own pixels."""
SHORTEST_SIDE = 1400
RULER, TEXT = 34, 15
PAPER = (255, 255, 255)
FOUND, ADDED, ROW = OKABE_ITO["vermilion"], OKABE_ITO["sky"], OKABE_ITO["yellow"]


def write_overlay(path: Path, photo: Photo, found: Found) -> None:
    """Write the overlay as PNG.

    Parameters
    ----------
    path : Path
        File to write.
    photo : Photo
        The photograph.
    found : Found
        Its plants.
    """
    write_atomically(path, overlay_png(photo, found))


def overlay_png(photo: Photo, found: Found) -> bytes:
    """Return the overlay as PNG: lines in yellow, plants as numbered rings, rulers in pixels of the photograph.

    Parameters
    ----------
    photo : Photo
        The photograph.
    found : Found
        Its plants.
    """
    width, height = photo.size_px
    scale = min(1.0, LONGEST_SIDE / max(width, height))
    scale = max(scale, SHORTEST_SIDE / max(width, height)) if max(width, height) < SHORTEST_SIDE else scale
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    picture = Image.fromarray(photo.pixels).resize(size)
    # paler, so that the marks stand out
    picture = Image.fromarray((np.asarray(picture) * 0.75 + 255 * 0.25).astype(np.uint8))
    sheet = Image.new("RGB", (size[0] + RULER, size[1] + RULER), PAPER)
    sheet.paste(picture, (RULER, RULER))
    brush = ImageDraw.Draw(sheet)
    font = ImageFont.load_default(TEXT)
    for row in found.rows.rows:
        for line in row:
            _draw_line(brush, line, found, scale)
    for number, plant in enumerate(found.plants, 1):
        _draw_plant(brush, plant, number, scale, font)
    _draw_rulers(brush, size, scale, font)
    out = io.BytesIO()
    sheet.save(out, format="PNG")
    return out.getvalue()


def _draw_line(brush: ImageDraw.ImageDraw, line: Line, found: Found, scale: float) -> None:
    along = np.array([line.start_m, line.end_m])
    x, y = turned_back(along, line.across_m(along), found.rows.angle)
    ends = [
        (float(a) / found.pixel_m * scale + RULER, float(b) / found.pixel_m * scale + RULER)
        for a, b in zip(x, y, strict=True)
    ]
    brush.line(ends, fill=ROW, width=2)


def _draw_plant(
    brush: ImageDraw.ImageDraw,
    plant: Plant,
    number: int,
    scale: float,
    font: ImageFont.ImageFont | ImageFont.FreeTypeFont,
) -> None:
    x, y, r = plant.x_px * scale + RULER, plant.y_px * scale + RULER, 7
    colour = FOUND if plant.origin == "found" else ADDED
    brush.ellipse([x - r, y - r, x + r, y + r], outline=colour, width=3)
    if plant.origin != "found":  # told apart by shape too
        brush.rectangle([x - r - 3, y - r - 3, x + r + 3, y + r + 3], outline=colour, width=2)
    brush.text((x + 9, y - 20), str(number), fill="black", font=font, stroke_width=2, stroke_fill="white")


def _draw_rulers(
    brush: ImageDraw.ImageDraw, size: tuple[int, int], scale: float, font: ImageFont.ImageFont | ImageFont.FreeTypeFont
) -> None:
    """Draw rulers with the photograph's own pixels along the top and the left, and ticks every fifth."""
    step = next(s for k in range(1, 7) for s in (10**k, 2 * 10**k, 5 * 10**k) if s * scale >= 80.0)
    for place in range(0, int(size[0] / scale) + 1, step // 5):
        x, long = place * scale + RULER, place % step == 0
        brush.line([x, RULER - (12 if long else 5), x, RULER], fill="black")
        if long:
            brush.text((x + 3, 2), str(place), fill="black", font=font)
    for place in range(0, int(size[1] / scale) + 1, step // 5):
        y, long = place * scale + RULER, place % step == 0
        brush.line([RULER - (12 if long else 5), y, RULER, y], fill="black")
        if long:
            brush.text((1, y + 1), str(place), fill="black", font=ImageFont.load_default(11))
