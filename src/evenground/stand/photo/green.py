"""What is green in a photograph: excess green, one threshold for the picture, specks left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.basis.errors import InputError, problem
from evenground.numerics.arrays import BoolArray
from evenground.numerics.image_regions import opened, two_classes, without_specks

Pixels = npt.NDArray[np.uint8]

LEVELS = 256
"""Steps excess green is counted in, from -1 to 2."""
DARKEST = 45
"""Red, green and blue together; below it colour is noise. Common practice, no source."""
LEAST_CONTRAST = 0.08
"""Mean excess green of plants, and over that of ground, below which nothing is green. Common practice, no source."""
SMALLEST_M2 = 1.0e-4
"""Green parts below a square centimetre are specks. Common practice, no source."""
THINNEST_M = 0.003
"""What is thinner is no leaf. Common practice, no source."""
SMOOTHED_M = 0.0025
"""Pixels so small are averaged with their eight neighbours: in shade their colour is mostly noise."""
_BAND_PIXELS = 4_000_000


@dataclass(frozen=True)
class Green:
    """Where a photograph is green.

    Attributes
    ----------
    mask : ndarray of bool, shape (rows, columns)
        True on plants.
    threshold : float
        Excess green above which a pixel is a plant [1].
    contrast : float
        Mean excess green of plants less that of ground [1].
    share : float
        Share of the picture that is green [1].
    """

    mask: BoolArray
    threshold: float
    contrast: float
    share: float


def excess_green(pixels: Pixels) -> npt.NDArray[np.float32]:
    """Say how much greener than grey each pixel is.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (rows, columns, 3)
        Red, green, blue.

    Returns
    -------
    ndarray of float32, shape (rows, columns)
        2 g - r - b of the shares r, g, b of red, green and blue in their sum [1]: 0 grey, 2 pure green, -1 no green;
        pixels too dark to have a colour count as 0.

    Notes
    -----
    Source: Woebbecke, Meyer, Von Bargen & Mortensen, Trans. ASAE 38 (1995) 259-269.

    Examples
    --------
    >>> excess_green(np.array([[[0, 200, 0], [80, 80, 80], [60, 120, 60]]], dtype=np.uint8)).tolist()
    [[2.0, 0.0, 0.5]]
    """
    total = pixels.sum(axis=2, dtype=np.float32)
    share = pixels[..., 1] / np.maximum(total, 1.0, dtype=np.float32)
    return np.where(total < DARKEST, 0.0, 3.0 * share - 1.0).astype(np.float32)


def find_green(pixels: Pixels, pixel_m: float) -> Green:
    """Part plants from ground.

    Parameters
    ----------
    pixels : ndarray of uint8, shape (rows, columns, 3)
        Red, green, blue.
    pixel_m : float
        Side of a pixel on the ground [m].

    Raises
    ------
    InputError
        If nothing in the picture is green.
    """
    counts = np.zeros(LEVELS)
    for _, part in _bands(pixels, pixel_m):
        counts += np.bincount(_level(excess_green(part)).ravel(), minlength=LEVELS)
    cut, share, apart = two_classes(counts)
    contrast, threshold = apart * 3.0 / LEVELS, (cut + 1) * 3.0 / LEVELS - 1.0
    mean = float(counts @ (np.arange(LEVELS) + 0.5) / counts.sum())
    greener = (mean + (1.0 - share) * apart) * 3.0 / LEVELS - 1.0
    if share == 0.0 or min(contrast, greener) < LEAST_CONTRAST:
        text = "nothing in this picture is green enough to be a plant."
        raise InputError(
            [
                problem(
                    text,
                    field="photo",
                    given=f"excess green {greener:.2f} at its greenest, {contrast:.2f} above the rest",
                    allowed=f"young maize on bare ground: {LEAST_CONTRAST:g} and more in both",
                )
            ]
        )
    mask = np.empty(pixels.shape[:2], dtype=np.bool_)
    for band, part in _bands(pixels, pixel_m):
        mask[band] = _level(excess_green(part)) > cut
    mask = without_specks(opened(mask, int(THINNEST_M / 2.0 / pixel_m)), max(2, round(SMALLEST_M2 / pixel_m**2)))
    return Green(mask, threshold, contrast, float(mask.mean()))


def _level(index: npt.NDArray[np.float32]) -> npt.NDArray[np.uint8]:
    """Return the histogram bin of each value."""
    level: npt.NDArray[np.uint8] = np.clip((index + 1.0) * (LEVELS / 3.0), 0, LEVELS - 1).astype(np.uint8)
    return level


def _bands(pixels: Pixels, pixel_m: float) -> Iterator[tuple[slice, Pixels]]:
    """Cut the picture into bands of rows, to need little room at a time; fine pixels lose their noise."""
    from scipy.ndimage import uniform_filter

    rows = max(1, _BAND_PIXELS // pixels.shape[1])
    for start in range(0, pixels.shape[0], rows):
        part = pixels[max(0, start - 1) : start + rows + 1]
        if pixel_m <= SMOOTHED_M:
            part = uniform_filter(part, (3, 3, 1))
        yield slice(start, start + rows), part[min(start, 1) :][:rows]
