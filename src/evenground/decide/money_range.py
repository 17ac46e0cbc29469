"""What a year with the method is worth on this farm, and what another trial year is worth."""

from __future__ import annotations

import math

from evenground.compare.comparison import MethodComparison, Priors
from evenground.decide.partial_budget import net
from evenground.decide.worth import Budget, MoneyRange
from evenground.numerics.information import value_of_sample_information
from evenground.numerics.normal_posterior import GainPosterior


def money_range(posterior: GainPosterior, budget: Budget, area_ha: float, level: float) -> MoneyRange:
    """Say what the method is worth a year: worst, likely, best.

    Parameters
    ----------
    posterior : GainPosterior
        After the trial; the long-run gain counts [t/ha].
    budget : Budget
        Cost and worth of a tonne; both over short and full years.
    area_ha : float
        Area of the farm it would be used on [ha].
    level : float
        Share of cases that lie between worst and best [1].

    Returns
    -------
    MoneyRange
    """
    low, high = posterior.mu.interval(level)
    ends = [_net(budget, low), _net(budget, high)]
    worst, best = min(ends), max(ends)
    likely = _net(budget, posterior.mu.mean)
    return MoneyRange(
        worst, likely, best, worst * area_ha, likely * area_ha, best * area_ha, chance_of_loss(posterior, budget), level
    )


def _net(budget: Budget, gain: float) -> float:
    return net(gain, budget.value_per_t, budget.chosen.extra_cost_per_ha)


def chance_of_loss(posterior: GainPosterior, budget: Budget) -> float:
    """Say how likely the long-run net is below zero [1].

    Where one more tonne costs more than it is worth, a loss comes from gains that are too large.
    """
    cost, value = budget.chosen.extra_cost_per_ha, budget.value_per_t
    if value > 0.0:
        return 1.0 - posterior.mu.chance_above(budget.chosen.worthwhile_gain)
    if value < 0.0:
        return posterior.mu.chance_above(cost / value)
    return 1.0 if cost > 0.0 else 0.0


def value_of_another_year(
    comparison: MethodComparison, priors: Priors, budget: Budget, area_ha: float, horizon_years: float
) -> float:
    """Say what one more trial year like this one is worth to the farm, before its cost [money].

    Another year would see the long-run gain with the strip error of this year (posterior median), its shared errors and
    a new season's deviation. Not discounted, and the year that passes meanwhile is not charged.

    Parameters
    ----------
    comparison : MethodComparison
        This year's.
    priors : Priors
        For the spread between seasons [t/ha].
    budget : Budget
        Cost and worth of a tonne.
    area_ha, horizon_years : float
        Area [ha] and years the decision counts for [a].

    Source: Raiffa & Schlaifer (1961) as in `evenground.numerics.information`.
    """
    value, posterior = budget.value_per_t, comparison.posterior
    spread = posterior.mu.sd * value
    if not (value > 0.0 and math.isfinite(spread) and spread > 0.0):
        return 0.0
    strips = comparison.variance_factor * posterior.sigma_median**2
    error = math.sqrt(strips + comparison.shared_sd**2 + priors.season_sd**2)
    likely = _net(budget, posterior.mu.mean)
    return value_of_sample_information(likely, spread, error * value) * area_ha * horizon_years
