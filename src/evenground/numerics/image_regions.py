"""Regions of a picture: the threshold that parts two classes, opening, specks, shades within, streaks, peaks.

`scipy.ndimage` is imported where it is needed, as it takes most of a second.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import BoolArray, FloatArray, IntArray, finite

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Float32Array = NDArray[np.float32]


RELIEF_MOST = 0.75
"""Shades inside a region count at most so much of its outline: a glint is no second outline."""


def two_classes(counts: npt.ArrayLike) -> tuple[int, float, float]:
    """Return where a histogram is best cut in two, and how far the two parts then stand apart.

    Parameters
    ----------
    counts : array_like, shape (bins,)
        How many values fell into each bin [1].

    Returns
    -------
    tuple of (int, float, float)
        Last bin of the lower part; share of the upper part [1]; distance of the two means [bins]. Of equal cuts the
        lowest. A histogram with one occupied bin is cut there, with nothing above it.

    Raises
    ------
    ValueError
        If a count is negative or there is nothing to cut.

    Notes
    -----
    Source: Otsu, IEEE Trans. Systems, Man and Cybernetics 9 (1979) 62-66: the cut with the largest variance between
    the parts.

    Examples
    --------
    >>> two_classes([5, 5, 0, 0, 10])
    (1, 0.5, 3.5)
    """
    n = finite(counts, "counts", 1)
    total = float(n.sum())
    if (n < 0.0).any() or total <= 0.0:
        raise ValueError("counts: none may be negative, and some must be above 0")
    place = np.arange(n.size, dtype=np.float64)
    below = np.cumsum(n) / total
    moment = np.cumsum(n * place) / total
    with np.errstate(divide="ignore", invalid="ignore"):
        between = (moment[-1] * below - moment) ** 2 / (below * (1.0 - below))
    between[~np.isfinite(between) | (below >= 1.0 - 1e-15)] = 0.0
    cut = int(np.argmax(between)) if between.max() > 0.0 else int(np.flatnonzero(n)[-1])
    above = 1.0 - float(below[cut])
    if above <= 1e-15:
        return cut, 0.0, 0.0
    return cut, above, float((moment[-1] - moment[cut]) / above - moment[cut] / below[cut])


def opened(mask: BoolArray, radius: int) -> BoolArray:
    """Take away whatever is too thin to hold a disc.

    Parameters
    ----------
    mask : ndarray of bool, shape (rows, columns)
        The region.
    radius : int
        Radius of the disc [pixels]; 0 leaves the region as it is.
    """
    from scipy.ndimage import binary_opening

    if radius <= 0:
        return mask
    span = np.arange(-radius, radius + 1)
    disc = span[:, None] ** 2 + span**2 <= radius**2
    return np.asarray(binary_opening(mask, disc), dtype=np.bool_)


def without_specks(mask: BoolArray, smallest: int) -> BoolArray:
    """Take away connected regions (eight neighbours) of fewer pixels.

    Parameters
    ----------
    mask : ndarray of bool, shape (rows, columns)
        The region.
    smallest : int
        Pixels a part must have to stay [1].
    """
    from scipy.ndimage import label

    names, _ = label(mask, np.ones((3, 3), dtype=np.int64))
    keep = np.bincount(names.ravel()) >= smallest
    keep[0] = False
    return np.asarray(keep[names], dtype=np.bool_)


def in_relief(mask: BoolArray, bright: npt.ArrayLike, sigma: float, depth: float) -> Float32Array:
    """Return a region with its own lights and shades on it, evened out: edges inside it show beside its outline.

    Parameters
    ----------
    mask : ndarray of bool, shape (rows, columns)
        The region.
    bright : array_like, shape (rows, columns)
        Brightness, any unit, 0 or above.
    sigma : float
        Standard deviation of the Gaussian over which the region's brightness is averaged [pixels]; slower changes, as
        from sun to shade, do not show.
    depth : float
        How much a pixel rises that is brighter than the region round it by all of it, over the height of the outline
        [1].

    Returns
    -------
    ndarray of float32, shape (rows, columns)
        0 outside, about 1 inside, in there at most `RELIEF_MOST` more or less.
    """
    from scipy.ndimage import gaussian_filter

    inside = mask.astype(np.float32)
    values = np.asarray(bright, dtype=np.float32)
    share = np.maximum(gaussian_filter(inside, sigma), np.float32(1e-3))
    mean = np.maximum(gaussian_filter(values * inside, sigma) / share, np.float32(1.0))
    above = np.clip(depth * (values - mean) / mean, -RELIEF_MOST, RELIEF_MOST)
    return np.asarray(inside * (1.0 + above), dtype=np.float32)


def streaks(image: npt.ArrayLike, fine: float, wide: float) -> tuple[Float32Array, Float32Array]:
    """Say at each pixel in which direction streaks run, and how clearly.

    Parameters
    ----------
    image : array_like, shape (rows, columns)
        Brightness, any unit.
    fine, wide : float
        Standard deviation of the Gaussian before the slope is taken, and of that over which slopes are averaged
        [pixels].

    Returns
    -------
    tuple of two ndarrays of float32, shape (rows, columns)
        Angle of the streak from the direction of the columns axis (x) towards that of the rows axis (y) [rad], -pi/2 to
        pi/2; coherence [1], 0 no direction, 1 one direction only.

    Notes
    -----
    The eigenvector of the smaller eigenvalue of the averaged outer product of slopes (structure tensor).
    """
    from scipy.ndimage import gaussian_filter

    values = np.asarray(image, dtype=np.float32)
    along_y = gaussian_filter(values, fine, order=(1, 0))
    along_x = gaussian_filter(values, fine, order=(0, 1))
    xx = gaussian_filter(along_x * along_x, wide)
    yy = gaussian_filter(along_y * along_y, wide)
    xy = gaussian_filter(along_x * along_y, wide)
    spread = np.hypot(xx - yy, 2.0 * xy)
    angle = 0.5 * np.arctan2(-2.0 * xy, yy - xx)
    coherence = spread / np.maximum(xx + yy, np.float32(1e-12))
    return angle.astype(np.float32), coherence.astype(np.float32)


def peaks(image: npt.ArrayLike, radius: int, lowest: float) -> tuple[IntArray, IntArray, FloatArray]:
    """Return the places higher than all others within a square round them.

    Parameters
    ----------
    image : array_like, shape (rows, columns)
        Heights, any unit.
    radius : int
        Half side of the square [pixels].
    lowest : float
        Peaks must be higher than this, in the unit of the image.

    Returns
    -------
    tuple of (ndarray of int, ndarray of int, ndarray of float)
        Row and column of each peak [pixels], and its height. A level top counts once for each of its pixels.
    """
    from scipy.ndimage import maximum_filter

    values = np.asarray(image)
    top = (values > lowest) & (values == maximum_filter(values, 2 * radius + 1, mode="constant", cval=-np.inf))
    rows, columns = np.nonzero(top)
    return rows, columns, values[rows, columns].astype(np.float64)
