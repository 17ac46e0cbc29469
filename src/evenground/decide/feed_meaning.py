"""What a gain means in feed for this herd: tonnes, days, and what the feed costs with either method."""

from __future__ import annotations

import math
from dataclasses import dataclass

from evenground.basis.plan import Plan
from evenground.compare.compare import compare
from evenground.compare.comparison import Comparison, Interval, MethodComparison
from evenground.compare.values import StripValues
from evenground.decide.feed_cost import FeedCost, cost_difference, energy_costs, mean_of
from evenground.decide.herd import feed_days, intake_of, storage_loss_of
from evenground.decide.strip_values import as_strip_values, yield_values
from evenground.decide.worth import Budget
from evenground.harvest.strips import Harvest
from evenground.numerics.t_distribution import quantile


@dataclass(frozen=True)
class FeedMeaning:
    """What a gain means in feed; every range is at the level of the comparison.

    Attributes
    ----------
    method, baseline : str
        Letters.
    tonnes : float
        Dry matter more on the farm's area, after storage [t].
    days : float or None
        Days the herd eats from it [1]; None where the plan names no herd.
    costs : tuple of FeedCost
        Baseline and method; empty where the plan names no cost.
    worth_short_year, worth_full_year : float
        The gain on the farm's area in a year short of feed and in one with enough, before storage and before the extra
        cost [money].
    tonnes_interval, days_interval, worth_short_year_interval, worth_full_year_interval : (float, float) or None
        Their ranges: the gain's, for tonnes and days with the errors of storage loss and intake.
    cost_difference_per_t : float or None
        A tonne of dry matter of the method less one of the baseline [money/t].
    cost_difference_interval : (float, float) or None
        Its range, from the gain [money/t].
    sources : str
        What was reckoned with, and where it comes from.
    area_ha, heads : float
        Area of the farm [ha] and animals [1] it was reckoned for; no animals: 0.
    """

    method: str
    baseline: str
    tonnes: float
    days: float | None
    costs: tuple[FeedCost, ...]
    worth_short_year: float
    worth_full_year: float
    tonnes_interval: Interval
    worth_short_year_interval: Interval
    worth_full_year_interval: Interval
    days_interval: Interval | None = None
    cost_difference_per_t: float | None = None
    cost_difference_interval: Interval | None = None
    sources: str = ""
    area_ha: float = 0.0
    heads: float = 0.0


@dataclass(frozen=True)
class _Dry:
    """The comparison in dry matter [t/ha]."""

    found: Comparison
    values: StripValues
    one: MethodComparison
    share: float


def feed_meaning(plan: Plan, harvest: Harvest, found: Comparison, one: MethodComparison, cost: Budget) -> FeedMeaning:
    """Say what a gain means in feed for this herd.

    Parameters
    ----------
    plan : Plan
        Herd, area, costs.
    harvest : Harvest
        What came off, with the laboratory's values.
    found : Comparison
        The comparison of the main outcome.
    one : MethodComparison
        The gain of one method in it.
    cost : Budget
        What the method costs more than the baseline, and what one more unit of the outcome is worth.

    Returns
    -------
    FeedMeaning
        Without days where the plan names no herd, without costs where it names none.

    Source: arithmetic; propagation of errors to first order. Losses and intake as the plan states them with their
    sources, their own errors as judged there.
    """
    dry, area = _dry(plan, harvest, found, one), plan.money.area_ha
    loss, loss_source = storage_loss_of(plan.herd, plan.outcome.product)
    grown, kept = dry.one.gain * dry.share * area, 1.0 - loss / 100.0
    half = 0.5 * (dry.one.interval[1] - dry.one.interval[0]) * dry.share * area
    normal = quantile(0.5 + one.level / 2.0, math.inf)
    off_loss = abs(grown) * normal * plan.herd.storage_loss_sd_points / 100.0 if loss else 0.0
    tonnes_half = math.hypot(half * kept, off_loss)
    eaten, heads = intake_of(plan.herd), plan.herd.heads
    days, days_interval, sources = None, None, [_loss_words(plan, loss, loss_source)]
    if heads is not None and eaten is not None:
        days = feed_days(grown, heads, eaten[0], loss)
        per_t = feed_days(1.0, heads, eaten[0])
        off = plan.herd.intake_sd_percent / 100.0
        days_interval = _around(days, math.hypot(tonnes_half * per_t, days * normal * off))
        sources.append(
            f"an animal eats {eaten[0]:.1f} kg of dry matter of this feed a day, give or take {100 * off:.0f} % "
            f"({eaten[1]})"
        )
    costs, difference, between = _costs(plan, harvest, dry, cost)
    on_farm, ends = one.gain * area, (one.interval[0] * area, one.interval[1] * area)
    return FeedMeaning(
        one.method,
        one.baseline,
        grown * kept,
        days,
        costs,
        worth_short_year=on_farm * cost.value_short_year_per_t,
        worth_full_year=on_farm * cost.value_full_year_per_t,
        tonnes_interval=_around(grown * kept, tonnes_half),
        worth_short_year_interval=_scaled(ends, cost.value_short_year_per_t),
        worth_full_year_interval=_scaled(ends, cost.value_full_year_per_t),
        days_interval=days_interval,
        cost_difference_per_t=difference,
        cost_difference_interval=between,
        sources="; ".join(sources),
        area_ha=area,
        heads=heads or 0.0,
    )


def _loss_words(plan: Plan, loss: float, source: str) -> str:
    give = f", give or take {plan.herd.storage_loss_sd_points:g} points" if loss else ""
    return f"Storage loses {loss:.0f} %{give} ({source})"


def _around(centre: float, half: float) -> Interval:
    return centre - half, centre + half


def _scaled(ends: Interval, factor: float) -> Interval:
    low, high = sorted(factor * end for end in ends)
    return low, high


def _dry(plan: Plan, harvest: Harvest, found: Comparison, one: MethodComparison) -> _Dry:
    """Return the comparison in dry matter; where starch or energy counts, that of the yield itself."""
    share = plan.outcome.dry_share
    if plan.outcome.counted == "yield":
        return _Dry(found, as_strip_values(harvest), one, share)
    values = yield_values(harvest)
    grown = compare(values, one.baseline, level=one.level, reference={})
    return _Dry(grown, values, grown.against_baseline(one.method), share)


def _costs(
    plan: Plan, harvest: Harvest, dry: _Dry, cost: Budget
) -> tuple[tuple[FeedCost, ...], float | None, Interval | None]:
    """Return what the feed of both costs, and the difference with its range; nothing where no cost is named."""
    now = plan.herd.crop_cost_per_ha
    means = {p: dry.found.method_means[p] for p in (dry.one.baseline, dry.one.method)}
    if now is None or min(means.values()) <= 0.0:
        return (), None, None
    per_ha = {dry.one.baseline: now, dry.one.method: now + cost.chosen.extra_cost_per_ha}
    energy = energy_costs(harvest, dry.one, per_ha)
    costs = []
    for letter, all_costs in per_ha.items():
        mean = mean_of(dry.found, dry.values, dry.one, letter, dry.one.level)
        # the cost of a tonne of dry matter is that of a tonne as counted over its share of dry matter
        per_t, between = mean.cost(all_costs / dry.share)
        costs.append(FeedCost(letter, per_t, between, energy[letter]))
    low, high = (
        cost_difference(means[dry.one.baseline] * dry.share, gain * dry.share, *per_ha.values())
        for gain in reversed(dry.one.interval)
    )
    between = None if low is None or high is None else (low, high)
    return tuple(costs), costs[1].per_t - costs[0].per_t, between
