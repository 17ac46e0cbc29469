"""The comparison that was never randomised: two areas side by side, one method each, and one border between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from evenground.basis.errors import CannotCompareError
from evenground.fairness.border_sides import Sides
from evenground.fairness.border_spread import (
    MEANS_PERCENT,
    MEANS_SOURCE,
    SPREAD_PERCENT,
    SPREAD_SOURCE,
    Spread,
    spread_of,
)
from evenground.fairness.explanations import Explanation
from evenground.numerics.border_step import BorderStep, bandwidth_for, border_step, cells_near
from evenground.numerics.t_distribution import quantile

Floats = NDArray[np.float64]
# Earlier yields are used where at least this share of the points has them. Judgement.
_LEAST_KNOWN = 0.8
REASON = "The methods were not drawn at random, and one border is one comparison, however many points it has."
LAST = "This cannot tell the method from the field and the date; here is what next year's layout would detect"
"""Beginning of the sentence every answer ends with."""


@dataclass(frozen=True)
class Earlier:
    """What earlier yields of both sides did to the step.

    Attributes
    ----------
    years : tuple of str
        Layers used; their mean, each in proportion to its own mean, is the covariate.
    correlation : float
        Between this season and that mean, within the sides [1].
    slope : float
        What 1 t/ha more in earlier years was worth this season [1].
    step_without : float
        Step without earlier yields [t/ha].
    step_change_scores : float
        Step of the changes since then [t/ha]; only for comparison.
    """

    years: tuple[str, ...]
    correlation: float
    slope: float
    step_without: float
    step_change_scores: float

    @property
    def sentence(self) -> str:
        """Say plainly how much the past was worth."""
        many = "year" if len(self.years) == 1 else "years"
        text = (
            f"Earlier yields of {len(self.years)} {many} are taken into account (correlation {self.correlation:.2f}); "
            f"without them the step is {self.step_without:+.2f} t/ha.".replace("-", "−")
        )
        if self.correlation < 0.5:
            text += " Plain changes since then would be less certain than ignoring the past."
        return text


@dataclass(frozen=True)
class NextYear:
    """What a fair layout would see.

    Attributes
    ----------
    blocks : int
        Blocks of strips [1].
    detectable_t_per_ha : float or None
        Gain it would find four times in five [t/ha].
    strip_error_percent : float
        Assumed spread of strips of a block sown alike [%].
    source : str
        Where that comes from.
    """

    blocks: int
    detectable_t_per_ha: float | None
    strip_error_percent: float
    source: str


@dataclass(frozen=True)
class Setting:
    """What is known besides the yields.

    Attributes
    ----------
    explanations : tuple of Explanation
        What else could explain the step.
    next_year : tuple of NextYear
        What a fair layout would see.
    level : float
        Level of the range [1].
    spread_percent : float
        Spread of steps between neighbouring pieces sown alike in other fields [%].
    spread_source : str
        Where it comes from.
    unit : str
        Unit of the yields, in words.
    """

    explanations: tuple[Explanation, ...] = ()
    next_year: tuple[NextYear, ...] = ()
    level: float = 0.9
    spread_percent: float = SPREAD_PERCENT
    spread_source: str = SPREAD_SOURCE
    unit: str = "t/ha"


@dataclass(frozen=True)
class BorderAnswer:
    """The most honest answer to a comparison that was never randomised.

    Attributes
    ----------
    baseline, method, unit : str
        Both sides, and the unit of the yields in words.
    way : {"points", "weights"}
        From points or samples near the border, or from weights of both sides alone.
    step : float
        Method minus baseline at the border [t/ha].
    step_standard_error : float or None
        Its error by the spread of neighbours, or of several weights [t/ha]; None with one weight a side.
    mean_t_per_ha : float
        Yield level [t/ha].
    spread : Spread
        Steps between neighbouring pieces sown alike.
    interval : (float, float)
        Range of the method's own part, at least this wide [t/ha].
    interval_without_explanations : (float, float)
        The same before known differences are taken off [t/ha].
    level : float
        Level of both [1].
    explanations : tuple of Explanation
        What else could explain the step.
    next_year : tuple of NextYear
        What a fair layout would see.
    fit : BorderStep or None
        How the step was found; None for weights.
    sensitivity : tuple of (float, float)
        Distance from the border [m] and the step with points up to it [t/ha].
    earlier : Earlier or None
        What earlier yields did to it.
    notes : tuple of str
        What was left out or assumed.
    weights : (tuple of float, tuple of float)
        The weights of the baseline's and of the method's side [t/ha]; empty for points.
    """

    baseline: str
    method: str
    unit: str
    way: Literal["points", "weights"]
    step: float
    step_standard_error: float | None
    mean_t_per_ha: float
    spread: Spread
    interval: tuple[float, float]
    interval_without_explanations: tuple[float, float]
    level: float
    explanations: tuple[Explanation, ...]
    next_year: tuple[NextYear, ...]
    fit: BorderStep | None
    sensitivity: tuple[tuple[float, float], ...]
    earlier: Earlier | None
    notes: tuple[str, ...]
    weights: tuple[tuple[float, ...], tuple[float, ...]]

    @property
    def placebo_sd(self) -> float:
        """Spread of steps between neighbouring pieces sown alike [t/ha]."""
        return self.spread.percent / 100.0 * self.mean_t_per_ha


def border_comparison(sides: Sides, setting: Setting) -> BorderAnswer:
    """Say what a border shows and what it cannot.

    The range joins the spread of steps between neighbouring pieces sown alike with the error of this step, by a t
    distribution with degrees of freedom after Satterthwaite; then the known differences are taken off at both ends.

    Parameters
    ----------
    sides : Sides
        What was measured on both sides.
    setting : Setting
        What is known besides.

    Returns
    -------
    BorderAnswer
        Its advice is always "cannot_tell".

    Raises
    ------
    CannotCompareError
        If there are too few points beside the border.

    Source: local-linear step, see `evenground.numerics.border_step`; spread of neighbouring pieces, see docs/border.md.
    """
    if sides.along is None or sides.depth is None:
        return _from_weights(sides, setting)
    try:
        return _from_points(sides, sides.along, sides.depth, setting)
    except ValueError as error:
        advice = "Take more points, or leave the places out to compare the means of both sides."
        raise CannotCompareError(f"The border cannot be compared: {error}. {advice}") from error


def _from_weights(sides: Sides, setting: Setting) -> BorderAnswer:
    one, two = sides.value[~sides.second], sides.value[sides.second]
    several = min(len(one), len(two)) > 1
    error = math.sqrt(one.var(ddof=1) / len(one) + two.var(ddof=1) / len(two)) if several else None
    notes = [
        "Only weights of whole areas: the step is the difference of their means, taken over all their ground, not at "
        "the border; far ground differs more than near ground."
    ]
    if several:
        notes.append("Weights of one area are not replicates of the method; their error says how well it was weighed.")
    if setting.spread_percent < MEANS_PERCENT:
        setting = replace(setting, spread_percent=MEANS_PERCENT, spread_source=MEANS_SOURCE)
    answer = _answer(sides, setting, float(two.mean() - one.mean()), error, float(len(sides.value) - 2), None)
    return replace(answer, notes=(*notes, *answer.notes))


def _from_points(sides: Sides, along: Floats, depth: Floats, setting: Setting) -> BorderAnswer:
    bandwidth = bandwidth_for(depth)
    past, years, notes = _earlier(sides)
    columns = sides.value[:, None] if past is None else np.column_stack([sides.value, past])
    known = np.isfinite(columns).all(axis=1)
    s, d, columns = along[known], depth[known], columns[known]
    fit = border_step(cells_near(s, d, columns, bandwidth), bandwidth)
    answer = _answer(sides, setting, fit.step, fit.standard_error, fit.df, fit)
    return replace(
        answer,
        sensitivity=tuple(_sensitivity(s, d, columns, bandwidth)),
        earlier=None if past is None else _what_the_past_did(s, d, columns, years, fit),
        notes=(*answer.notes, *notes),
    )


def _answer(
    sides: Sides, setting: Setting, step: float, error: float | None, df: float, fit: BorderStep | None
) -> BorderAnswer:
    one, two = sides.value[~sides.second], sides.value[sides.second]
    mean = float(np.mean([one.mean(), two.mean()]))
    spread = spread_of(sides, fit.bandwidth if fit else None, setting.spread_percent, setting.spread_source)
    reach = half_width(spread.percent / 100.0 * mean, spread.df, error or 0.0, df, setting.level)
    sized = [e.bias_t_per_ha for e in setting.explanations if e.state == "differs" and e.bias_t_per_ha]
    low, high = math.fsum(b[0] for b in sized), math.fsum(b[1] for b in sized)
    return BorderAnswer(
        baseline=sides.baseline,
        method=sides.method,
        unit=setting.unit,
        way="points" if fit else "weights",
        step=step,
        step_standard_error=error,
        mean_t_per_ha=mean,
        spread=spread,
        interval=(step - max(high, 0.0) - reach, step - min(low, 0.0) + reach),
        interval_without_explanations=(step - reach, step + reach),
        level=setting.level,
        explanations=(ground_explanation(spread, mean, setting.level), *setting.explanations),
        next_year=setting.next_year,
        fit=fit,
        sensitivity=(),
        earlier=None,
        notes=sides.notes,
        weights=(((), ()) if fit else (tuple(one.tolist()), tuple(two.tolist()))),
    )


def half_width(placebo_sd: float, placebo_df: float, error: float, error_df: float, level: float) -> float:
    """Return half the width of the range around a step [t/ha].

    Parameters
    ----------
    placebo_sd, placebo_df : float
        Spread of steps between pieces sown alike [t/ha], and how many pieces it is worth [1].
    error, error_df : float
        Standard error of this step [t/ha] and its degrees of freedom [1].
    level : float
        Level of the range [1].

    Source: Satterthwaite, Biometrics Bulletin 2 (1946) 110-114.

    Examples
    --------
    >>> round(half_width(1.0, 4.0, 0.0, 1.0, 0.9), 4)
    2.1318
    """
    whole = placebo_sd**2 + error**2
    parts = placebo_sd**4 / placebo_df + error**4 / max(error_df, 1.0)
    return quantile(0.5 + level / 2.0, whole**2 / parts) * math.sqrt(whole) if whole > 0.0 else 0.0


def ground_explanation(spread: Spread, mean_t_per_ha: float, level: float) -> Explanation:
    """Say what soil and field could explain.

    Parameters
    ----------
    spread : Spread
        Steps between neighbouring pieces sown alike.
    mean_t_per_ha : float
        Yield level [t/ha].
    level : float
        Level of the range [1].
    """
    reach = half_width(spread.percent / 100.0 * mean_t_per_ha, spread.df, 0.0, 1.0, level)
    found = f"neighbouring pieces sown alike differ by {spread.percent:.1f} % (standard deviation)"
    return Explanation("soil and field", "unknown", found, (-reach, reach), spread.source)


def _earlier(sides: Sides) -> tuple[Floats | None, tuple[str, ...], tuple[str, ...]]:
    """Return earlier yields on the scale of this season, the layers used, and what was left out."""
    used, left, layers = [], [], []
    for name, values in sides.earlier.items():
        known = np.isfinite(values)
        mean = float(values[known].mean()) if known.any() else 0.0
        parts = [values[known & side] for side in (sides.second, ~sides.second)]
        uneven = max((float(part.std()) for part in parts if len(part)), default=0.0)
        if known.mean() >= _LEAST_KNOWN and mean > 0.0 and uneven > 1e-9 * mean:
            used.append(name)
            layers.append(values / mean)
        else:
            left.append(f"{name}: too few points beside the border have it, or it is the same everywhere; left out.")
    if not layers:
        return None, (), tuple(left)
    return np.mean(layers, axis=0) * float(sides.value.mean()), tuple(used), tuple(left)


def _sensitivity(along: Floats, depth: Floats, columns: Floats, bandwidth: float) -> list[tuple[float, float]]:
    out = []
    for reach in (bandwidth / 2.0, bandwidth, 2.0 * bandwidth):
        try:
            out.append((reach, border_step(cells_near(along, depth, columns, reach), reach).step))
        except ValueError:
            continue  # too few points so near to the border
    return out


def _what_the_past_did(along: Floats, depth: Floats, columns: Floats, years: Sequence[str], fit: BorderStep) -> Earlier:
    h = fit.bandwidth
    change = (columns[:, 0] - columns[:, 1])[:, None]
    cells = cells_near(along, depth, columns, h)
    inside = cells.columns - np.where(
        (cells.depth > 0)[:, None], *(cells.columns[cells.depth > 0].mean(0), cells.columns[cells.depth <= 0].mean(0))
    )
    return Earlier(
        years=tuple(years),
        correlation=float(np.corrcoef(inside.T)[0, 1]) if (inside.std(axis=0) > 0.0).all() else 0.0,
        slope=fit.slope or 0.0,
        step_without=border_step(cells_near(along, depth, columns[:, :1], h), h).step,
        step_change_scores=border_step(cells_near(along, depth, change, h), h).step,
    )
