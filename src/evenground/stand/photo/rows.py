"""Rows in a photograph: one direction for all, then each line of plants for itself, then the two lines of twin rows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from evenground.basis.errors import InputError, problem
from evenground.numerics.arrays import FloatArray

BROAD_M = 0.012
"""How widely plants of one line stand beside it, one standard deviation; common practice, no source."""
BESIDE_M = 0.04
"""Farther from its line no plant stands."""
LINES_APART_M = 0.08
WEAKEST = 0.3
"""A line weaker than this share of the strongest, per metre seen, is chance."""
CLOSE_M, WEAKEST_CLOSE = 0.16, 0.6
"""So near to a stronger line it is chance (tips of leaves) below this share of that line."""
SHORTEST_M = 0.5
WIDEST_TWIN_M = 0.30
"""Lines farther apart are rows of their own, unless the user says otherwise; common practice, no source."""


@dataclass(frozen=True)
class Line:
    """One line of plants: across = offset_m + slope * along.

    Attributes
    ----------
    offset_m : float
        Distance from the corner x = y = 0, square to the rows [m].
    slope : float
        How far it runs aside per metre along [1].
    start_m, end_m : float
        Where it enters and leaves the picture, along the rows [m].
    """

    offset_m: float
    slope: float
    start_m: float
    end_m: float

    def across_m(self, along_m: FloatArray) -> FloatArray:
        """Return where the line is at places along the rows [m]."""
        return self.offset_m + self.slope * along_m


@dataclass(frozen=True)
class Rows:
    """All lines of a picture.

    Attributes
    ----------
    angle : float
        Direction of the rows from x towards y [rad], above -pi/2, at most pi/2.
    rows : tuple of tuple of Line
        Rows from one side to the other, each of one line or, in a twin row, two.
    """

    angle: float
    rows: tuple[tuple[Line, ...], ...]


def turned(x_m: FloatArray, y_m: FloatArray, angle: float) -> tuple[FloatArray, FloatArray]:
    """Return places along and across rows that run in the given direction.

    Parameters
    ----------
    x_m, y_m : ndarray of float
        To the right and down [m].
    angle : float
        Direction of the rows [rad].
    """
    c, s = math.cos(angle), math.sin(angle)
    return x_m * c + y_m * s, y_m * c - x_m * s


def turned_back(along_m: FloatArray, across_m: FloatArray, angle: float) -> tuple[FloatArray, FloatArray]:
    """Return x and y of places along and across the rows; the reverse of `turned`.

    Parameters
    ----------
    along_m, across_m : ndarray of float
        Along and across the rows [m].
    angle : float
        Direction of the rows [rad].
    """
    return turned(along_m, across_m, -angle)


def find_rows(
    x_m: FloatArray, y_m: FloatArray, weight: FloatArray, width_m: float, height_m: float, twin: bool | None
) -> Rows:
    """Lay lines through places that may be plants.

    Parameters
    ----------
    x_m, y_m : ndarray of float, shape (n,)
        Places [m].
    weight : ndarray of float, shape (n,)
        How likely each is a plant, any unit.
    width_m, height_m : float
        Size of the picture on the ground [m].
    twin : bool or None
        Whether the rows are twin rows; None to tell from the distances.

    Raises
    ------
    InputError
        If no line can be told.
    """
    if len(x_m) < 4:
        raise no_rows(len(x_m))
    angle = _direction(x_m, y_m, weight, (width_m, height_m))
    along, across = turned(x_m, y_m, angle)
    lines = []
    for offset in _offsets(across, weight, angle, (width_m, height_m)):
        line = _fitted(along, across, weight, offset)
        ends = seen(line[0], line[1], angle, width_m, height_m)
        if ends is not None and ends[1] - ends[0] >= SHORTEST_M:
            lines.append(Line(*line, *ends))
    if not lines:
        raise no_rows(len(x_m))
    return Rows(angle, _paired(lines, twin))


def no_rows(places: int) -> InputError:
    """Return the error that says that no row can be told.

    Parameters
    ----------
    places : int
        How many places might have been plants [1].
    """
    text = "no row of plants can be told in this picture."
    allowed = f"plants in straight lines, at least {SHORTEST_M:g} m of one"
    return InputError([problem(text, field="photo", given=f"{places} places that may be plants", allowed=allowed)])


def _direction(x: FloatArray, y: FloatArray, weight: FloatArray, size: tuple[float, float]) -> float:
    """Return the direction in which the places fall most clearly into lines [rad]."""
    angles, best = np.radians(np.arange(-89.0, 91.0, 1.0)), 0.0
    for step_deg, blur_m in ((0.1, 2.0 * BROAD_M), (0.02, BROAD_M), (0.0, BROAD_M)):
        sharp = [_sharpness(turned(x, y, float(a))[1], weight, blur_m, float(a), size) for a in angles]
        best = float(angles[int(np.argmax(sharp))])
        angles = best + np.radians(step_deg * np.arange(-12, 13))
    return best if -math.pi / 2 < best <= math.pi / 2 else best - math.copysign(math.pi, best)


def _profile(across: FloatArray, weight: FloatArray, blur_m: float) -> tuple[FloatArray, float, float]:
    """Return weights summed by distance square to the rows and blurred; the first bin's place and the bins' width."""
    from scipy.ndimage import gaussian_filter1d

    width = blur_m / 3.0
    low = float(across.min()) - 4.0 * blur_m
    bins = np.bincount(((across - low) / width).astype(np.int64), weight)
    return gaussian_filter1d(np.append(bins, np.zeros(12)), 3.0, mode="constant"), low + 0.5 * width, width


def _sharpness(across: FloatArray, weight: FloatArray, blur_m: float, angle: float, size: tuple[float, float]) -> float:
    """Return how unevenly the places fill the picture's lines: by ground, so that no way across it has an advantage."""
    profile, low, width = _profile(across, weight, blur_m)
    length = _chord_m(low + width * np.arange(profile.size, dtype=np.float64), angle, size)
    return float((profile**2 / np.maximum(length, SHORTEST_M)).sum())


def _chord_m(place: FloatArray, angle: float, size: tuple[float, float]) -> FloatArray:
    """Return how long lines so far square to the rows are within the picture [m]."""
    wide, high = size[0] * abs(math.sin(angle)), size[1] * abs(math.cos(angle))
    middle = float(turned(np.array([size[0] / 2.0]), np.array([size[1] / 2.0]), angle)[1][0])
    inward = (wide + high) / 2.0 - np.abs(place - middle)
    longest = size[0] * size[1] / max(wide, high)
    chord: FloatArray = longest * np.clip(inward / max(min(wide, high), 1e-9), 0.0, 1.0)
    return chord


def _offsets(across: FloatArray, weight: FloatArray, angle: float, size: tuple[float, float]) -> list[float]:
    """Return where lines stand, square to the rows: peaks of the profile, per metre of line seen."""
    profile, low, width = _profile(across, weight, BROAD_M)
    place = low + width * np.arange(profile.size)
    ends = [seen(float(p), 0.0, angle, *size) for p in place]
    length = np.array([0.0 if e is None else e[1] - e[0] for e in ends])
    height = np.where(length >= SHORTEST_M, profile / np.maximum(length, SHORTEST_M), 0.0)
    # a corner cut off by a line is short, and one plant in it a strong line: it is no measure for the others
    strongest, out = float(height[length >= 0.5 * length.max()].max()), list[tuple[float, float]]()
    half = round(LINES_APART_M / width)
    for i in np.argsort(-height):
        if height[i] < WEAKEST * strongest or strongest == 0.0:
            break
        here = slice(max(0, int(i) - half // 2), int(i) + half // 2 + 1)
        beside = [strong for o, strong in out if abs(place[i] - o) < CLOSE_M]
        apart = all(abs(place[i] - o) >= LINES_APART_M for o, _ in out)
        apart &= not _third(float(place[i]), [o for o, _ in out])
        if height[i] == height[here].max() and apart and height[i] >= WEAKEST_CLOSE * max(beside, default=0.0):
            out.append((float(place[i]), float(height[i])))
    return [o for o, _ in out]


def _third(place: float, stronger: list[float]) -> bool:
    """Say whether a line would be the third within a twin row's width: no row has three, so the weakest is chance."""
    near = sorted([place, *(o for o in stronger if abs(o - place) <= WIDEST_TWIN_M)])
    return any(c - a <= WIDEST_TWIN_M for a, c in zip(near, near[2:], strict=False))


def _fitted(along: FloatArray, across: FloatArray, weight: FloatArray, offset: float) -> tuple[float, float]:
    """Fit one line to the places near it; far ones lose their weight (Tukey's biweight), step by step."""
    near = np.abs(across - offset) < BESIDE_M
    a, c, w = along[near], across[near], weight[near]
    line = (offset, 0.0)
    if len(a) < 5 or np.ptp(a) < SHORTEST_M:
        return line
    for _ in range(10):
        off = (c - line[0] - line[1] * a) / BESIDE_M
        use = w * np.where(np.abs(off) < 1.0, (1.0 - off**2) ** 2, 0.0)
        total = float(use.sum())
        if total <= 0.0:
            return (offset, 0.0)
        a0, c0 = float(use @ a) / total, float(use @ c) / total
        spread = float(use @ (a - a0) ** 2)
        slope = float(use @ ((a - a0) * (c - c0))) / (spread + total * 0.1)
        line = (c0 - slope * a0, slope)
    return line


def seen(offset_m: float, slope: float, angle: float, width_m: float, height_m: float) -> tuple[float, float] | None:
    """Return where a line enters and leaves the picture, along the rows [m]; None where it does not cross it.

    Parameters
    ----------
    offset_m : float
        Distance from the corner, square to the rows [m].
    slope : float
        How far it runs aside per metre along [1].
    angle : float
        Direction of the rows [rad].
    width_m, height_m : float
        Size of the picture on the ground [m].

    Examples
    --------
    >>> seen(1.0, 0.0, 0.0, 3.0, 2.0)
    (0.0, 3.0)
    """
    low, high = -math.inf, math.inf
    c, s = math.cos(angle), math.sin(angle)
    for start, rise, size in ((-offset_m * s, c - slope * s, width_m), (offset_m * c, s + slope * c, height_m)):
        if abs(rise) < 1e-12:
            if not 0.0 <= start <= size:
                return None
            continue
        ends = sorted(((0.0 - start) / rise, (size - start) / rise))
        low, high = max(low, ends[0]), min(high, ends[1])
    return (low, high) if low < high else None


def _paired(lines: list[Line], twin: bool | None) -> tuple[tuple[Line, ...], ...]:
    """Join neighbouring lines to twin rows where they stand close, and clearly closer than to the next."""
    middle = [line.offset_m + line.slope * (line.start_m + line.end_m) / 2.0 for line in lines]
    order = sorted(range(len(lines)), key=lambda i: middle[i])
    gaps = [middle[b] - middle[a] for a, b in pairwise(order)]
    out: list[tuple[Line, ...]] = []
    i = 0
    while i < len(order):
        join = False
        if i + 1 < len(order) and twin is not False:
            beside = gaps[i + 1] if i + 1 < len(gaps) else gaps[i - 1] if i > 0 else math.inf
            join = gaps[i] < 0.7 * beside and (twin is True or gaps[i] <= WIDEST_TWIN_M)
        out.append(tuple(lines[k] for k in order[i : i + 1 + join]))
        i += 1 + join
    return tuple(out)
