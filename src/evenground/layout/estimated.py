"""How uneven this very field is, from its own earlier yields, in the plan's own keys."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from evenground.basis.errors import InputError, problem
from evenground.basis.field import Field, PointLayer
from evenground.basis.plan import Plan
from evenground.numerics.strip_covariance import strip_covariance
from evenground.numerics.variogram import fit_variogram

_SEED = 1
# What the plan allows.
_REACH_M = (1.0, 2000.0)
_ERROR_PERCENT = (0.1, 40.0)


@dataclass(frozen=True, slots=True)
class EstimatedUnevenness:
    """What earlier yields say, ready for the plan.

    Attributes
    ----------
    layer : str
        Which yields.
    points : int
        Points used [1].
    strip_error_percent : float
        For ``layout``: strips of the size the plan names, without weighing and sampling [%].
    reach_across_m, reach_along_m : float
        For ``unevenness``: the same in both directions [m].
    patch_share : float
        For ``unevenness`` [1].
    """

    layer: str
    points: int
    strip_error_percent: float
    reach_across_m: float
    reach_along_m: float
    patch_share: float


def estimate_unevenness(plan: Plan, field: Field, layer: PointLayer) -> EstimatedUnevenness:
    """Return the plan's numbers on unevenness as the earlier yields of a field show them.

    An exponential variogram with nugget is fitted to the yields in percent of their mean. The nugget is taken as the
    variance of the ground one point stands for (field area over number of points), monitor errors and all.

    Parameters
    ----------
    plan : Plan
        Size of strip the strip error is meant for.
    field : Field
        Outline; points outside are left out.
    layer : PointLayer
        Earlier yields.

    Returns
    -------
    EstimatedUnevenness

    Raises
    ------
    InputError
        If there are too few points inside the field, or they do not vary.

    Source: `evenground.numerics.variogram`.
    """
    at = shapely.get_coordinates(field.plane.to_metres(shapely.MultiPoint(np.column_stack((layer.lon, layer.lat)))))
    outline = field.plane.to_metres(field.boundary)
    inside = shapely.contains_xy(outline, at[:, 0], at[:, 1])
    value = np.asarray(layer.value)[inside]
    try:
        if not len(value) or value.mean() <= 0:
            raise ValueError("no point with a value above zero lies inside the field")
        fit = fit_variogram(at[inside, 0], at[inside, 1], 100.0 * value / value.mean(), np.random.default_rng(_SEED))
    except ValueError as error:
        raise InputError([problem(f"{layer.name}: {error}.", file="earlier_yields.csv")]) from error
    width, length = plan.unevenness.strip_width_m, plan.unevenness.strip_length_m
    reach = float(np.clip(fit.reach, *_REACH_M))
    pair = strip_covariance([0.0, width], width, [0.0, 0.0], [length, length], reach, reach)
    smooth = fit.sill * float(pair[0, 0] - pair[0, 1])
    patch = fit.nugget * outline.area / len(value) / (width * length)
    percent = float(np.clip(np.sqrt(smooth + patch), *_ERROR_PERCENT))
    share = patch / (smooth + patch) if smooth + patch > 0 else 0.0
    return EstimatedUnevenness(layer.name, len(value), percent, reach, reach, share)
