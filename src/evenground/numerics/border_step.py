"""The step at a border between two neighbouring areas: straight lines on both sides, errors that resemble neighbours.

Source: local-linear step at a border, Hahn, Todd & van der Klaauw, Econometrica 69 (2001) 201-209 (from memory); the
errors as in `evenground.numerics.correlated_points`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import FloatArray, finite
from evenground.numerics.correlated_points import Places, fit_correlated, places_of
from evenground.numerics.linear import independent_columns

LARGEST_BANDWIDTH = 60.0
"""Ground farther from the border than this says little about the border [m]. Judgement."""
MOST_CELLS = 300
"""More points than this are averaged in square cells, so that work stays bounded."""
_MOST_SEGMENTS = 12
_FEWEST_A_SIDE = 3
_LINE_POINTS = 13


@dataclass(frozen=True)
class Cells:
    """Points near a border, averaged in cells where there are many.

    Attributes
    ----------
    along, depth : ndarray, shape (cells,)
        Place along the border and distance from it, positive on the second side [m].
    columns : ndarray, shape (cells, columns)
        Means of what was measured.
    counts : ndarray, shape (cells,)
        Points behind each [1].
    """

    along: FloatArray
    depth: FloatArray
    columns: FloatArray
    counts: FloatArray


@dataclass(frozen=True)
class BorderLines:
    """The straight line on each side, in the middle of the border and at the mean of the covariate.

    Attributes
    ----------
    depth : ndarray, shape (2, points)
        From the far end of the first side to the border, and from the border to the far end of the second [m].
    fitted, standard_error : ndarray, shape (2, points)
        Height of the line there, and its error [unit of the outcome].
    """

    depth: FloatArray
    fitted: FloatArray
    standard_error: FloatArray


@dataclass(frozen=True)
class BorderStep:
    """The step at a border.

    Attributes
    ----------
    step, standard_error : float
        Second side minus first, at the border, and its error by the spread of neighbours [unit of the outcome].
    df : float
        Degrees of freedom of that error [1]: paired pieces along the border less one.
    slope : float or None
        Slope on the covariate [1]; None without one.
    reach, nugget_share : float
        How far errors resemble each other [m]; share of their variance that is each point's own [1].
    bandwidth : float
        Distance from the border up to which points count [m].
    cells : int
        Places the fit rests on [1].
    pair_differences : ndarray
        Second side minus first in each piece along the border [unit of the outcome].
    near : Cells
        What the fit rests on.
    lines : BorderLines
        The lines between which the step stands.
    """

    step: float
    standard_error: float
    df: float
    slope: float | None
    reach: float
    nugget_share: float
    bandwidth: float
    cells: int
    pair_differences: FloatArray
    near: Cells
    lines: BorderLines


def bandwidth_for(depth: npt.ArrayLike) -> float:
    """Return how far from a border points count: to the far end of the shallower side, but no farther than 60 m.

    Parameters
    ----------
    depth : array_like, shape (points,)
        Distance from the border, positive on the second side [m].

    Returns
    -------
    float
        [m]

    Raises
    ------
    ValueError
        If one side has no points.

    Source: judgement. A depth chosen to make the error small would trust the straight lines of the model; both sides
    equally deep is what a farmer would weigh.

    Examples
    --------
    >>> bandwidth_for([-30.0, -5.0, 5.0, 80.0]), bandwidth_for([-300.0, 200.0])
    (30.0, 60.0)
    """
    d = finite(depth, "depth", 1)
    if not ((d < 0).any() and (d > 0).any()):
        raise ValueError("one side of the border has no points")
    return min(LARGEST_BANDWIDTH, float(-d.min()), float(d.max()))


def cells_near(along: npt.ArrayLike, depth: npt.ArrayLike, columns: npt.ArrayLike, bandwidth: float) -> Cells:
    """Keep points within a distance of a border, averaged in square cells where there are more than 300.

    Parameters
    ----------
    along, depth : array_like, shape (points,)
        Place along the border and distance from it, positive on the second side [m].
    columns : array_like, shape (points, columns)
        What was measured.
    bandwidth : float
        Largest distance from the border [m].

    Returns
    -------
    Cells
        No cell lies on both sides.

    Raises
    ------
    ValueError
        If fewer than three points are left on a side.

    Source: definition.
    """
    s, d, v = finite(along, "along", 1), finite(depth, "depth", 1), finite(columns, "columns", 2)
    near = np.abs(d) <= bandwidth * (1.0 + 1e-9)
    s, d, v = s[near], d[near], v[near]
    if min(int((d <= 0).sum()), int((d > 0).sum())) < _FEWEST_A_SIDE:
        raise ValueError(f"fewer than {_FEWEST_A_SIDE} points within {bandwidth:g} m on one side of the border")
    if len(s) <= MOST_CELLS:
        return Cells(s, d, v, np.ones(len(s)))
    size = float(np.sqrt(2.0 * bandwidth * max(float(np.ptp(s)), bandwidth) / MOST_CELLS))
    key = np.column_stack([np.floor((s - s.min()) / size), np.where(d > 0, np.ceil(d / size), np.floor(d / size) - 1)])
    _, which, counts = np.unique(key, axis=0, return_inverse=True, return_counts=True)
    sums = np.zeros((len(counts), 2 + v.shape[1]))
    np.add.at(sums, which.reshape(-1), np.column_stack([s, d, v]))
    means = sums / counts[:, None]
    return Cells(means[:, 0], means[:, 1], means[:, 2:], counts.astype(np.float64))


def border_step(cells: Cells, bandwidth: float, places: Places | None = None) -> BorderStep:
    """Estimate the step at a border.

    The outcome is a straight line in the distance from the border on each side, a straight line along it, a step at
    it and, where a second column is given, a slope on that covariate (analysis of covariance).

    Parameters
    ----------
    cells : Cells
        First column the outcome, second (if any) the covariate.
    bandwidth : float
        Distance up to which the cells reach [m]; carried along.
    places : Places, optional
        The cells' places taken apart, where many outcomes are fitted at the same ones.

    Returns
    -------
    BorderStep

    Raises
    ------
    ValueError
        If there are too few places to tell a step from a slope.

    Source: see the module.
    """
    whole, kept = _design(cells)
    design = whole[:, kept]
    if len(design) < design.shape[1] + 2:
        raise ValueError(f"{len(design)} places are too few to tell a step from a slope")
    fit = fit_correlated(places or places_of(cells.along, cells.depth, cells.counts), design, cells.columns[:, 0])
    pairs = pair_differences(cells.along, cells.depth, cells.columns[:, 0], bandwidth)
    return BorderStep(
        step=float(fit.coefficients[1]),
        standard_error=float(np.sqrt(fit.covariance[1, 1])),
        df=float(max(len(pairs) - 1, 1)),
        slope=float(fit.coefficients[2]) if cells.columns.shape[1] > 1 else None,
        reach=fit.reach,
        nugget_share=fit.nugget / (fit.nugget + fit.sill) if fit.sill > 0.0 else 1.0,
        bandwidth=bandwidth,
        cells=len(design),
        pair_differences=pairs,
        near=cells,
        lines=_lines(cells, kept, fit.coefficients, fit.covariance),
    )


def _lines(cells: Cells, kept: npt.NDArray[np.intp], coefficients: FloatArray, covariance: FloatArray) -> BorderLines:
    """Return the fitted line of each side from its farthest place to the border."""
    middle = 1 + cells.columns.shape[1]  # intercept, side and covariates come before the slopes
    sides = []
    for side, (low, high) in enumerate(((float(cells.depth.min()), 0.0), (0.0, float(cells.depth.max())))):
        depth = np.linspace(low, high, _LINE_POINTS)
        at = np.zeros((_LINE_POINTS, middle + 3))
        at[:, 0], at[:, 1], at[:, middle + side] = 1.0, side, depth
        x = at[:, kept]
        sides.append((depth, x @ coefficients, np.sqrt(np.einsum("ij,jk,ik->i", x, covariance, x))))
    depth, fitted, error = (np.array(part) for part in zip(*sides, strict=True))
    return BorderLines(depth, fitted, error)


def _design(cells: Cells) -> tuple[FloatArray, npt.NDArray[np.intp]]:
    """Return intercept, side, covariate if any, slopes on both sides and along; and which columns say something."""
    side = (cells.depth > 0).astype(np.float64)
    along = cells.along - cells.along.mean()
    covariates = cells.columns[:, 1:] - cells.columns[:, 1:].mean(axis=0)
    slopes = np.column_stack([cells.depth * (1.0 - side), cells.depth * side, along])
    design = np.column_stack([np.ones(len(side)), side, covariates, slopes])
    kept = independent_columns(design)
    if not set(range(2 + covariates.shape[1])) <= set(kept.tolist()):
        raise ValueError("the covariate is the same everywhere on each side, or one side has no places")
    return design, kept


def pair_differences(along: npt.ArrayLike, depth: npt.ArrayLike, values: npt.ArrayLike, bandwidth: float) -> FloatArray:
    """Return second side minus first, piece by piece along a border.

    Parameters
    ----------
    along, depth, values : array_like, shape (points,)
        Place along the border, distance from it [m], and what was measured.
    bandwidth : float
        Largest distance from the border [m]; pieces are half as long, and at most 12.

    Returns
    -------
    ndarray
        One difference of means for each piece that has both sides.

    Source: definition.

    Examples
    --------
    >>> pair_differences([0, 0, 10, 10], [-1, 1, -1, 1], [5.0, 6.0, 7.0, 9.0], 10.0).tolist()
    [1.0, 2.0]
    """
    s, d, v = finite(along, "along", 1), finite(depth, "depth", 1), finite(values, "values", 1)
    near = np.abs(d) <= bandwidth * (1.0 + 1e-9)
    s, d, v = s[near], d[near], v[near]
    length = float(np.ptp(s))
    count = int(np.clip(np.floor(length / (bandwidth / 2.0)), 1, _MOST_SEGMENTS))
    piece = np.minimum((s - s.min()) / max(length, 1e-9) * count, count - 1e-9).astype(np.int64)
    found = []
    for k in range(count):
        first, second = v[(piece == k) & (d <= 0)], v[(piece == k) & (d > 0)]
        if len(first) and len(second):
            found.append(float(second.mean() - first.mean()))
    return np.array(found)
