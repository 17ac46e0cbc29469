"""Is there a difference between the methods, and how sure is that? Values per strip in, comparison out."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from evenground.basis.errors import CannotCompareError
from evenground.compare.comparison import Comparison, Interval, MethodComparison, Priors
from evenground.compare.diagnostics import Diagnostics, diagnose
from evenground.compare.each_alone import each_alone
from evenground.compare.estimates import Estimates, estimate
from evenground.compare.plots import strip_means
from evenground.compare.randomisation import randomisation_test
from evenground.compare.reference_set import ReferenceSet
from evenground.compare.shared import gain_weights, one_figure_reason, shared_covariance
from evenground.compare.split_plot import SplitPlot, estimate_split, factor_effects, factor_tests
from evenground.compare.values import StripValues
from evenground.numerics.many_to_one import Comparisons, comparisons
from evenground.numerics.normal_posterior import ErrorPrior, GainData, GainPosterior, GainPrior, gain_posterior
from evenground.numerics.t_distribution import quantile, two_sided_p

Floats = NDArray[np.float64]


def compare(
    values: StripValues,
    baseline: str,
    *,
    level: float = 0.9,
    priors: Priors | None = None,
    reference: Mapping[str, ReferenceSet] | None = None,
    seed: int = 0,
    split: SplitPlot | None = None,
) -> Comparison:
    """Compare every method with the baseline.

    Parameters
    ----------
    values : StripValues
        One row a strip, or several rows (plots) that name their strip [outcome unit]. Methods as sown.
    baseline : str
        Baseline method.
    level : float
        Level of all intervals [1].
    priors : Priors or None
        Assumptions before the data [outcome unit]; None for flat.
    reference : mapping of method to ReferenceSet, or None
        What the draw allowed, for each method but the baseline; None where the order came without a layout: then all
        orders within blocks are taken. A method that is not in the mapping gets no randomisation test.
    seed : int
        Seed for reference sets too large to count.
    split : SplitPlot or None
        How strips lie in whole plots where two factors are compared at once.

    Returns
    -------
    Comparison

    Raises
    ------
    CannotCompareError
        If the baseline is not there, no other method is, or nothing is left to judge the spread of strips by.

    Source: docs/compare.md; Kenward & Roger (1997), Dunnett (1955), Fisher (1935).
    """
    if not 0.0 < level < 1.0:
        raise CannotCompareError(f"the level must lie between 0 and 1, {level} was given.")
    rows, notes = _usable(values, baseline)
    strips, balanced = strip_means(rows)
    if not balanced:
        how = "the strip is a random factor within its block" if split is None else "each strip counts with its mean"
        notes.append(f"Strips have different numbers of plots: {how}.")
    lost = () if split is None else split.lost(strips)
    two = None if split is None or lost else estimate_split(rows, strips, baseline, split)
    if lost:
        fitted = each_alone(rows, strips, baseline)
        notes.append(
            f"Of method {', '.join(lost)} too little was weighed to tell the two factors apart; every other method is "
            f"compared with {baseline} by itself, block by block, and the ranges of all together are wide."
        )
    else:
        fitted = estimate(rows, strips, baseline) if two is None else two.estimates
    notes += [] if two is None else two.notes
    extra = shared_covariance(strips, _weights(strips, baseline, fitted))
    found = diagnose(strips, baseline, fitted.fixed.gains.tolist())
    one = _Each(strips, baseline, level, priors or Priors(), fitted, extra, found)
    if one.together is not None and one.together.distance > 0.01:
        notes.append("The simultaneous intervals are approximate: the comparisons hang together in an uneven way.")
    rng = np.random.default_rng(seed)
    others = [m for m in fitted.methods if m != baseline]
    return Comparison(
        len(strips.strips),
        len(strips.block_order),
        baseline,
        dict(zip(fitted.methods, fitted.means.tolist(), strict=True)),
        fitted.block_effects,
        fitted.block_variance,
        fitted.residual_variance,
        priors or Priors(),
        tuple(one.comparison(i, method, reference, rng) for i, method in enumerate(others)),
        found.residuals,
        (*notes, *found.words),
        seed,
        None if two is None else two.fit.plot_variance,
        () if two is None or split is None else factor_effects(strips, split, two.fit, level, rng),
        () if two is None or split is None else factor_tests(strips, split, two.fit),
    )


def _weights(strips: StripValues, baseline: str, fitted: Estimates) -> Floats:
    """How much each strip counts in each gain, shape (gains, strips)."""
    if fitted.weights is not None:
        return fitted.weights
    ratio = None
    if fitted.block_effects == "random" and fitted.block_variance is not None and fitted.residual_variance > 0:
        ratio = fitted.block_variance / fitted.residual_variance
    return gain_weights(strips, baseline, ratio)


def _usable(values: StripValues, baseline: str) -> tuple[StripValues, list[str]]:
    """Leave out methods with a single strip, and name blocks without the baseline."""
    strips_of = Counter(dict.fromkeys(zip(values.strips, values.methods, strict=True)).keys())
    count = Counter(method for _, method in strips_of)
    if not count:
        raise CannotCompareError("no strip has a value yet, so there is nothing to compare.")
    if baseline not in count:
        there = ", ".join(dict.fromkeys(values.methods)) or "none"
        raise CannotCompareError(f"the baseline {baseline} has no strip; methods that have: {there}.")
    single = [m for m, n in count.items() if n < 2]
    notes = [
        f"Method {m} has one strip only and is left out: one strip cannot be told from its ground." for m in single
    ]
    keep = [i for i, m in enumerate(values.methods) if m not in single]
    methods = {values.methods[i] for i in keep}
    if baseline not in methods or len(methods) < 2:
        raise CannotCompareError(
            "two methods with at least two strips each are needed; strips by method: "
            + ", ".join(f"{m} {n}" for m, n in count.items())
            + "."
        )
    rows = StripValues(
        tuple(values.strips[i] for i in keep),
        tuple(values.methods[i] for i in keep),
        tuple(values.blocks[i] for i in keep),
        tuple(values.outcome[i] for i in keep),
        values.shared,
    )
    if len(rows.block_order) < 2:
        raise CannotCompareError("at least two blocks are needed; one block cannot tell the method from its ground.")
    with_baseline = {b for b, m in zip(rows.blocks, rows.methods, strict=True) if m == baseline}
    for block in rows.block_order:
        if block not in with_baseline:
            notes.append(f"Block {block} has no strip of the baseline {baseline}.")
    return rows, notes


class _Each:
    """Turn the estimates into one comparison a method."""

    def __init__(
        self,
        strips: StripValues,
        baseline: str,
        level: float,
        priors: Priors,
        fitted: Estimates,
        extra: Floats,
        found: Diagnostics,
    ) -> None:
        self.strips, self.baseline, self.level, self.priors = strips, baseline, level, priors
        self.fitted, self.extra, self.found = fitted, extra, found
        self.covariance = fitted.covariance + extra
        spread = np.diag(self.covariance) > 0
        self.together: Comparisons | None = comparisons(self.covariance) if bool(spread.all()) else None

    def comparison(
        self, i: int, method: str, reference: Mapping[str, ReferenceSet] | None, rng: np.random.Generator
    ) -> MethodComparison:
        """Return the comparison of the i-th gain."""
        own_reference = reference.get(method) if reference is not None else None
        gain = float(self.fitted.gains[i])
        error = math.sqrt(float(self.covariance[i, i]))
        df = self._with_shared(i, float(self.fitted.df[i]))
        t = gain / error if error > 0 else math.copysign(math.inf, gain) if gain else 0.0
        reason = one_figure_reason(self.strips, method, self.baseline)
        if error == 0.0:
            reason = "the strips of each method agree exactly within blocks, so there is no spread to judge by."
        test = None
        if not reason and (reference is None or own_reference is not None):
            test = randomisation_test(self.strips, method, self.baseline, own_reference, rng)
        satterthwaite = self._with_shared(i, float(self.fitted.df_satterthwaite[i]))
        data = self.fitted.likelihood(i)
        return MethodComparison(
            method=method,
            baseline=self.baseline,
            gain=gain,
            standard_error=error,
            df=df,
            df_satterthwaite=satterthwaite if math.isfinite(satterthwaite) else None,
            t=t,
            p=None if reason else two_sided_p(t, df),
            interval=_around(gain, error * quantile(0.5 + 0.5 * self.level, df)),
            interval_simultaneous=_around(gain, error * self._critical(df)),
            p_simultaneous=None if reason or self.together is None else self.together.p(t, df),
            level=self.level,
            randomisation=test,
            posterior=self._posterior(i),
            variance_factor=data.variance_factor,
            residual_mean_square=data.mean_square,
            residual_df=data.df,
            shared_sd=math.sqrt(float(self.extra[i, i])),
            no_p_reason=reason,
            gain_with_position=self.found.gain_with_position.get(method),
        )

    def _with_shared(self, i: int, df: float) -> float:
        """Return degrees of freedom with the shared errors, whose size is known (Satterthwaite 1946)."""
        own, shared = float(self.fitted.covariance[i, i]), float(self.extra[i, i])
        return df if shared == 0.0 or own == 0.0 else df * ((own + shared) / own) ** 2

    def _critical(self, df: float) -> float:
        return self.together.critical_value(self.level, df) if self.together else 0.0

    def _posterior(self, i: int) -> GainPosterior:
        """Posterior from the fixed-block analysis (two factors: the gain's own error); the shared error enters once."""
        one, priors = self.fitted.likelihood(i), self.priors
        weights = self.fitted.weights
        weights = gain_weights(self.strips, self.baseline, None) if weights is None else weights
        shared = float(shared_covariance(self.strips, weights)[i, i])
        data = GainData(one.gain, one.variance_factor, one.mean_square, one.df, shared)
        gain = GainPrior(season_sd=priors.season_sd)
        if priors.gain_mean is not None and priors.gain_sd is not None:
            gain = GainPrior(priors.gain_mean, priors.gain_sd, priors.season_sd)
        error = None
        if priors.strip_error_median is not None and priors.strip_error_log_sd is not None:
            error = ErrorPrior(priors.strip_error_median, priors.strip_error_log_sd)
        try:
            return gain_posterior(data, gain, error)
        except ValueError as problem:
            raise CannotCompareError(f"these strips give no answer: {problem}.") from problem


def _around(centre: float, half: float) -> Interval:
    return centre - half, centre + half
