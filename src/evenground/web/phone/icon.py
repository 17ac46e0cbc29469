"""The icon of the phone page, drawn here: strips of a field in two patterns, and a mark for where one stands."""

from __future__ import annotations

import io

from PIL import Image, ImageDraw

PAPER, INK, BLUE, ORANGE = "#fdfcf8", "#1d1d1b", "#0072b2", "#e69f00"  # the two colours are from Okabe and Ito's set


def draw_icon(size: int) -> bytes:
    """Draw the icon as PNG; all of it lies in the inner four fifths, so that a phone may cut any shape out.

    Parameters
    ----------
    size : int
        Width and height [px].
    """
    scale = 4  # drawn larger and made smaller, for smooth edges
    side = size * scale
    image = Image.new("RGB", (side, side), PAPER)
    draw = ImageDraw.Draw(image)
    left, right = round(side * 0.16), round(side * 0.84)
    step = (right - left) / 5
    for number in range(5):
        x0, x1 = left + number * step, left + (number + 1) * step - side * 0.02
        draw.rectangle((x0, left, x1, right), fill=BLUE if number % 2 == 0 else ORANGE)
        if number % 2:
            for line in range(1, 6):
                y = left + line * (right - left) / 6
                draw.line((x0, y, x1, y), fill=INK, width=max(1, side // 90))
    middle, radius = side / 2, side * 0.13
    draw.ellipse(
        (middle - radius, middle - radius, middle + radius, middle + radius), fill=PAPER, outline=INK, width=side // 28
    )
    small = image.resize((size, size), Image.Resampling.LANCZOS).quantize(48)
    out = io.BytesIO()
    small.save(out, "PNG", optimize=True)
    return out.getvalue()
