"""Two groups before and after: differences in differences, change scores, analysis of covariance, bias arithmetic."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from evenground.numerics.arrays import finite
from evenground.numerics.linear import Contrast, LinearFit, fit, t_contrast


def difference_in_differences(
    treated_before: float, treated_after: float, control_before: float, control_after: float
) -> float:
    """Return how much more the treated group changed than the other [unit of the outcome].

    Parameters
    ----------
    treated_before, treated_after, control_before, control_after : float
        Means of both groups, before and after [any unit].

    Source: Card & Krueger, American Economic Review 84 (1994) 772-793, table 3.

    Examples
    --------
    >>> round(difference_in_differences(20.44, 21.03, 23.33, 21.17), 2)
    2.75
    """
    return (treated_after - treated_before) - (control_after - control_before)


@dataclass(frozen=True)
class Units:
    """Units of two groups, seen before and after.

    Attributes
    ----------
    before, after : ndarray, shape (units,)
        What was measured [any unit].
    treated : ndarray of float, shape (units,)
        1 for the treated group, 0 for the other.
    """

    before: npt.NDArray[np.float64]
    after: npt.NDArray[np.float64]
    treated: npt.NDArray[np.float64]


def units_of(before: npt.ArrayLike, after: npt.ArrayLike, treated: npt.ArrayLike) -> Units:
    """Check and gather units of two groups.

    Parameters
    ----------
    before, after : array_like, shape (units,)
        What was measured [any unit].
    treated : array_like of bool, shape (units,)
        Which belong to the treated group.

    Raises
    ------
    ValueError
        If lengths differ, a number is not finite, or a group is empty.
    """
    b, a, t = finite(before, "before", 1), finite(after, "after", 1), finite(treated, "treated", 1)
    if not len(b) == len(a) == len(t):
        raise ValueError("before, after and treated differ in length")
    if set(np.unique(t)) != {0.0, 1.0}:
        raise ValueError("both groups need at least one unit")
    return Units(b, a, t)


def change_scores(units: Units, *, equal_variances: bool = True) -> Contrast:
    """Compare the changes of both groups: treated minus other.

    Parameters
    ----------
    units : Units
        Both groups; each needs two units.
    equal_variances : bool
        Pooled variance, or each group its own (Welch).

    Returns
    -------
    Contrast
        Estimate, standard error, df, t, p.

    Raises
    ------
    ValueError
        If a group has fewer than two units.

    Source: Student (1908); Welch, Biometrika 34 (1947) 28-35.
    """
    change = units.after - units.before
    groups = [change[units.treated == g] for g in (0.0, 1.0)]
    sizes = np.array([len(g) for g in groups])
    if sizes.min() < 2:
        raise ValueError("each group needs at least two units")
    variances = np.array([g.var(ddof=1) for g in groups])
    step = float(groups[1].mean() - groups[0].mean())
    if equal_variances:
        df = float(sizes.sum() - 2)
        return t_contrast(step, float(((sizes - 1) @ variances) / df * (1.0 / sizes).sum()), df)
    parts = variances / sizes
    total = float(parts.sum())
    return t_contrast(step, total, float(total**2 / (parts**2 / (sizes - 1)).sum()))


def analysis_of_covariance(units: Units, *, parallel: bool = True) -> tuple[Contrast, LinearFit]:
    """Compare both groups after, at the same value before.

    Parameters
    ----------
    units : Units
        Both groups.
    parallel : bool
        One slope for both groups, or one each; with one each the comparison is made at the mean of all before.

    Returns
    -------
    treated_minus_other : Contrast
    found : LinearFit
        Coefficients: intercept, centred before, treated and, unless parallel, their product.

    Raises
    ------
    ValueError
        If there are too few units.

    Source: Cochran, Biometrics 13 (1957) 261-281.
    """
    centred = units.before - units.before.mean()
    columns = [np.ones(len(centred)), centred, units.treated]
    columns += [] if parallel else [centred * units.treated]
    found = fit(units.after, np.column_stack(columns))
    return found.contrast(np.eye(len(columns))[2]), found


def relative_variances(correlation: float) -> tuple[float, float]:
    """Return the variance of a contrast with change scores and with covariance, relative to ignoring the past [1].

    Parameters
    ----------
    correlation : float
        Between before and after [1].

    Returns
    -------
    (float, float)
        2 (1 - r) for change scores and 1 - r^2 for analysis of covariance; below r = 0.5 change scores are worse than
        ignoring the past.

    Raises
    ------
    ValueError
        If the correlation is not between -1 and 1.

    Source: Frison & Pocock, Statistics in Medicine 11 (1992) 1685-1704 (from memory).

    Examples
    --------
    >>> relative_variances(0.5)
    (1.0, 0.75)
    """
    if not -1.0 <= correlation <= 1.0:
        raise ValueError("a correlation lies between -1 and 1")
    return 2.0 * (1.0 - correlation), 1.0 - correlation**2


def without_bias(observed: float, effect_per_unit: float, imbalance: float) -> float:
    """Take what an unequal condition explains off an observed difference [unit of the outcome].

    Parameters
    ----------
    observed : float
        Difference seen.
    effect_per_unit : float
        What one unit of the condition is worth.
    imbalance : float
        How much more of it the second side has.

    Source: additive bias, for example Lash, Fox & Fink, Applying Quantitative Bias Analysis (2009) (from memory).

    Examples
    --------
    >>> round(without_bias(0.60, 0.02, 20.0), 10)
    0.2
    """
    return observed - effect_per_unit * imbalance


def tipping_point(observed: float, effect_per_unit: float) -> float:
    """Return how much of an unequal condition would explain the whole difference.

    Parameters
    ----------
    observed : float
        Difference seen [unit of the outcome].
    effect_per_unit : float
        What one unit of the condition is worth; not 0.

    Raises
    ------
    ValueError
        If the condition is worth nothing.

    Source: as `without_bias`.

    Examples
    --------
    >>> round(tipping_point(0.60, 0.02), 10)
    30.0
    """
    if effect_per_unit == 0.0:
        raise ValueError("a condition that is worth nothing explains nothing")
    return observed / effect_per_unit


def ratio_to_explain(ratio: float) -> float:
    """Return how strong a hidden cause must be, as a ratio with both sides, to explain a ratio away (E-value) [1].

    Parameters
    ----------
    ratio : float
        Ratio seen, above 0; below 1 its inverse counts [1].

    Raises
    ------
    ValueError
        If the ratio is not above 0.

    Source: VanderWeele & Ding, Annals of Internal Medicine 167 (2017) 268-274.

    Examples
    --------
    >>> round(ratio_to_explain(3.9), 4)
    7.263
    """
    if not ratio > 0.0:
        raise ValueError("a ratio lies above 0")
    one = max(ratio, 1.0 / ratio)
    return one + float(np.sqrt(one * (one - 1.0)))
