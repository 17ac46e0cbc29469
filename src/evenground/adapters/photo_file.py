"""A photograph of the stand, and the size of its pixels on the ground: from two marks, or a world file beside it."""

from __future__ import annotations

import io
import math
import struct
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageOps

from evenground.adapters.geotiff_scale import PIXEL_SCALE, scale_of_tile
from evenground.adapters.photo_scale import scale_problems
from evenground.adapters.reading import read_bytes
from evenground.basis.errors import InputError, Problem, problem
from evenground.stand.photo.green import Pixels

LARGEST_BYTES = 250_000_000
LARGEST_PIXELS = 60_000_000
SMALLEST_SIDE = 100
WORK_PIXEL_M = 0.003
"""Finer pictures are made smaller, to at most this: a leaf is then some pixels wide, and noise is averaged away."""
LONGEST_MARK_M = 100.0
FEWEST_MARK_PIXELS = 50
FORMATS = ("JPEG", "PNG", "TIFF")
COLOURS = ("RGB", "RGBA", "RGBX", "P", "CMYK", "YCbCr")
WORLD_FILES = {".jpg": (".jgw", ".jpgw"), ".jpeg": (".jgw", ".jpegw"), ".png": (".pgw", ".pngw")}
_TIFF_WORLD = (".tfw", ".tifw", ".tiffw")


@dataclass(frozen=True)
class Mark:
    """Two points of known distance.

    Attributes
    ----------
    ends_px : tuple of float
        x and y of the one, x and y of the other, from the upper left corner as the photograph is shown [pixels].
    distance_m : float
        Between them, at the height of the plants' middle [m].
    """

    ends_px: tuple[float, float, float, float]
    distance_m: float

    @property
    def pixels(self) -> float:
        """Distance in the photograph [pixels]."""
        return math.dist(self.ends_px[:2], self.ends_px[2:])


@dataclass(frozen=True)
class Photo:
    """A photograph, made smaller where it is finer than needed.

    Attributes
    ----------
    pixels : ndarray of uint8, shape (rows, columns, 3)
        Red, green, blue.
    work_pixel_m, pixel_m : float
        Side on the ground of one of these pixels, and of one of the photograph [m].
    size_px : tuple of int
        Width and height of the photograph as shown [pixels].
    scale : str
        Where the scale comes from, in words.
    """

    pixels: Pixels
    work_pixel_m: float
    pixel_m: float
    size_px: tuple[int, int]
    scale: str


def read_photo(path: Path, mark: Mark | None) -> Photo:
    """Read a JPEG, PNG or TIFF and its scale.

    Parameters
    ----------
    path : Path
        The photograph; a turned one is set upright first, as every viewer shows it.
    mark : Mark or None
        Two marked points; None to take the scale from the picture's own tags (GeoTIFF) or from a world file beside it
        (.jgw, .pgw, .tfw, .wld).

    Raises
    ------
    InputError
        With everything that is wrong with picture and scale: no picture, cut off, too large, without colour; no
        scale, marks that coincide or lie outside, a distance that cannot be, a world file in degrees.
    """
    data = read_bytes(path, path.name, LARGEST_BYTES)
    image, size, problems = _opened(data, path.name)
    if mark is not None:
        pixel_m, words, faults = _from_mark(mark, size)
    elif image is not None and PIXEL_SCALE in (tags := getattr(image, "tag_v2", {})):
        pixel_m, words, faults = scale_of_tile(tags, path.name)
    else:
        pixel_m, words, faults = _from_world_file(path)
    if image is None or problems or faults:
        raise InputError([*problems, *faults])
    factor = max(1, int(WORK_PIXEL_M / pixel_m * (1 + 1e-9)))
    pixels = _loaded(image, path.name, factor)
    return Photo(pixels, pixel_m * factor, pixel_m, size, words)


def _opened(data: bytes, file: str) -> tuple[Image.Image | None, tuple[int, int], list[Problem]]:
    """Open the picture without reading its pixels; return it, its size as shown, and what is wrong with it."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(data), formats=FORMATS)
            if image.width * image.height > LARGEST_PIXELS:  # before anything is unpacked
                return None, (0, 0), [_too_large(file, f"{image.width} x {image.height} pixels")]
            turned = image.getexif().get(0x0112, 1) in (5, 6, 7, 8)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        return None, (0, 0), [_too_large(file, "far more")]
    except (OSError, SyntaxError, ValueError, struct.error, EOFError, KeyError, TypeError):
        text = "this is no picture that can be read."
        return None, (0, 0), [problem(text, file=file, field="photo", allowed="JPEG, PNG or TIFF")]
    width, height = image.size[::-1] if turned else image.size
    problems = []
    if min(width, height) < SMALLEST_SIDE:
        text, allowed = "this picture is too small.", f"{SMALLEST_SIDE} pixels and more each way"
        problems.append(problem(text, file=file, field="photo", given=f"{width} x {height}", allowed=allowed))
    if image.mode not in COLOURS:
        text = "this picture has no colours of eight bits, so nothing in it can be called green."
        allowed = "a colour picture, eight bits a colour"
        problems.append(problem(text, file=file, field="photo", given=f"mode {image.mode}", allowed=allowed))
    return image, (width, height), problems


def _too_large(file: str, given: str) -> Problem:
    text, allowed = "this picture is too large; cut it into tiles.", f"at most {LARGEST_PIXELS / 1e6:g} million pixels"
    return problem(text, file=file, field="photo", given=given, allowed=allowed)


def _loaded(image: Image.Image, file: str, factor: int) -> Pixels:
    """Read the pixels, set upright, made smaller by a whole factor."""
    try:
        shown = ImageOps.exif_transpose(image.convert("RGB") if image.mode != "RGB" else image)
        return np.array(shown.reduce(factor) if factor > 1 else shown, dtype=np.uint8)
    except (OSError, SyntaxError, ValueError, struct.error, EOFError, MemoryError) as error:
        text = "this picture is cut off or damaged; copy it again."
        raise InputError([problem(text, file=file, field="photo", allowed="a whole picture")]) from error


def _from_mark(mark: Mark, size: tuple[int, int]) -> tuple[float, str, list[Problem]]:
    """Return the side of a pixel by two marks [m], in words, and what is wrong with them."""
    problems = []
    given = " ".join(f"{v:g}" for v in mark.ends_px)
    x0, y0, x1, y1 = mark.ends_px
    if not all(math.isfinite(v) for v in mark.ends_px):
        problems.append(problem("the marks must be numbers.", field="--mark", given=given, allowed="X1 Y1 X2 Y2"))
    elif size != (0, 0) and not (max(x0, x1) <= size[0] and max(y0, y1) <= size[1] and min(mark.ends_px) >= 0.0):
        text, allowed = "a mark lies outside the picture.", f"x 0 to {size[0]}, y 0 to {size[1]} pixels"
        problems.append(problem(text, field="--mark", given=given, allowed=allowed))
    elif mark.pixels < FEWEST_MARK_PIXELS:
        text = "the two marks are the same point." if mark.pixels == 0 else "the two marks are too close together."
        allowed = f"{FEWEST_MARK_PIXELS} pixels apart and more"
        problems.append(problem(text, field="--mark", given=given, allowed=allowed))
    if not 0.05 <= mark.distance_m <= LONGEST_MARK_M:
        text, allowed = "the marks cannot be this far apart.", f"0.05 to {LONGEST_MARK_M:g} (metres)"
        problems.append(problem(text, field="--distance-m", given=f"{mark.distance_m:g}", allowed=allowed))
    if problems:
        return 0.0, "", problems
    pixel_m = mark.distance_m / mark.pixels
    words = f"two marks {mark.distance_m:g} m and {mark.pixels:.0f} pixels apart"
    return pixel_m, words, scale_problems(pixel_m, "", "--mark")


def _from_world_file(path: Path) -> tuple[float, str, list[Problem]]:
    """Return the side of a pixel by the world file beside the picture [m], in words, and what is wrong with it."""
    endings = (*WORLD_FILES.get(path.suffix.lower(), _TIFF_WORLD), ".wld")
    there = {p.name.lower(): p for p in path.parent.iterdir() if p.stem == path.stem} if path.parent.is_dir() else {}
    beside = next((there[n] for n in ((path.stem + e).lower() for e in endings) if n in there), None)
    if beside is None:
        text = "the picture has no scale: mark two points of known distance, or put its world file beside it."
        allowed = "--mark X1 Y1 X2 Y2 --distance-m D, or " + ", ".join(path.stem + e for e in endings)
        return 0.0, "", [problem(text, file=path.name, field="--mark", allowed=allowed)]
    name = beside.name
    lines = read_bytes(beside, name, 10_000).decode("latin-1").split()
    try:
        a, d, b, e, c, f = (float(v) for v in lines)
        if not all(math.isfinite(v) for v in (a, d, b, e, c, f)):
            raise ValueError
    except ValueError:
        text, allowed = "this is no world file.", "six numbers, one a line"
        return 0.0, "", [problem(text, file=name, given=" ".join(lines)[:60], allowed=allowed)]
    side_x, side_y = math.hypot(a, d), math.hypot(b, e)
    if abs(c) <= 180.0 and abs(f) <= 90.0 and side_x < 1e-5:
        text = "this world file is in degrees; save the picture again in a metric system (UTM, for example)."
        return 0.0, "", [problem(text, file=name, given=f"{side_x:g} a pixel", allowed="metres a pixel")]
    area = abs(a * e - b * d)
    if abs(side_x - side_y) > 0.02 * max(side_x, side_y) or area < 0.98 * side_x * side_y or area == 0.0:
        text = "the pixels are not square."
        given = f"{side_x:g} by {side_y:g}"
        return 0.0, "", [problem(text, file=name, given=given, allowed="both sides alike within 2 %")]
    pixel_m = math.sqrt(area)
    return pixel_m, f"world file {name}, taken as metres", scale_problems(pixel_m, name, "")
