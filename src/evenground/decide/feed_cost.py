"""What the feed of each method costs, a tonne of dry matter and ten megajoules, and how far that may be off."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from evenground.basis.errors import CannotCompareError
from evenground.compare.compare import compare
from evenground.compare.comparison import Comparison, Interval, MethodComparison
from evenground.compare.values import StripValues
from evenground.decide.feed_outcomes import energy_values
from evenground.decide.herd import cost_per_t
from evenground.harvest.strips import Harvest
from evenground.numerics.t_distribution import quantile

# Ten megajoules are a hundredth of a gigajoule.
TEN_MJ = 0.01


@dataclass(frozen=True)
class Mean:
    """Mean of a method over its strips, and how far it may be off on the ground of these blocks.

    Attributes
    ----------
    value, half : float
        Mean and half the width of its range [unit of the outcome]; infinite where nothing is known of it.
    """

    value: float
    half: float

    def cost(self, per_ha: float) -> tuple[float, Interval | None]:
        """Return what a unit costs, and its range where the mean is surely above zero [money].

        Parameters
        ----------
        per_ha : float
            All costs of a hectare [money/ha].
        """
        low, high = self.value - self.half, self.value + self.half
        sure = low > 0.0 and math.isfinite(high)
        return cost_per_t(per_ha, self.value), (per_ha / high, per_ha / low) if sure else None


@dataclass(frozen=True)
class EnergyCost:
    """What ten megajoules cost, by one laboratory in one energy system.

    Attributes
    ----------
    source : str
        Laboratory, energy system and edition.
    per_10_mj : float
        Ten megajoules [money].
    interval : (float, float) or None
        Its range [money]; None where too few strips have a value.
    beyond_baseline, beyond_baseline_interval : float, (float, float) or None
        How much more than with the baseline, and its range from the gain in energy [money]; None for the baseline
        itself and where the two cannot be compared.
    """

    source: str
    per_10_mj: float
    interval: Interval | None
    beyond_baseline: float | None = None
    beyond_baseline_interval: Interval | None = None


@dataclass(frozen=True)
class FeedCost:
    """What the feed of one method costs as it is brought in, before storage.

    Attributes
    ----------
    method : str
        Letter.
    per_t : float
        A tonne of dry matter [money/t].
    per_t_interval : (float, float) or None
        Its range, from how far the mean of the strips may be off [money/t].
    energy : tuple of EnergyCost
        Ten megajoules, for each energy system and laboratory; empty without laboratory values.
    """

    method: str
    per_t: float
    per_t_interval: Interval | None
    energy: tuple[EnergyCost, ...]


def mean_of(found: Comparison, values: StripValues, one: MethodComparison, letter: str, level: float) -> Mean:
    """Return the mean of a method and how far it may be off, errors that strips share included.

    Parameters
    ----------
    found : Comparison
        Gives the adjusted mean.
    values : StripValues
        What was compared.
    one : MethodComparison
        Gives the spread of the strips; the blocks are taken as they are.
    letter : str
        Whose mean.
    level : float
        Level of the range [1].

    Source: standard error of a mean, root of s^2/n; a shared error adds the mean of its effects, squared.
    """
    mine = {s for s, m in zip(values.strips, values.methods, strict=True) if m == letter}
    own = one.residual_mean_square / len(mine)
    shared = sum(
        (sum(e for s, e in zip(error.strips, error.effect_sd, strict=True) if s in mine) / len(mine)) ** 2
        for error in values.shared
    )
    if not (own + shared < math.inf and one.residual_df > 0):
        return Mean(found.method_means[letter], math.inf)
    if own == 0.0:
        return Mean(found.method_means[letter], math.sqrt(shared) * quantile(0.5 + level / 2.0, math.inf))
    df = one.residual_df * ((own + shared) / own) ** 2  # the shared part has a known size (Satterthwaite 1946)
    return Mean(found.method_means[letter], math.sqrt(own + shared) * quantile(0.5 + level / 2.0, df))


def cost_difference(baseline: float, gain: float, now: float, then: float) -> float | None:
    """Say how much more a tonne costs with the method than with the baseline [money/t]; None where nothing grows.

    Parameters
    ----------
    baseline, gain : float
        Mean of the baseline, and extra yield of the method [t/ha].
    now, then : float
        All costs of a hectare of the baseline and of the method [money/ha].

    Source: arithmetic.

    Examples
    --------
    >>> round(cost_difference(12.0, 1.0, 1800.0, 1820.0), 6)
    -10.0
    """
    if not (baseline > 0.0 and baseline + gain > 0.0):
        return None
    return cost_per_t(then, baseline + gain) - cost_per_t(now, baseline)


def energy_costs(
    harvest: Harvest, one: MethodComparison, costs: Mapping[str, float]
) -> dict[str, tuple[EnergyCost, ...]]:
    """Say what ten megajoules cost with each method, for each laboratory and energy system that has both.

    Parameters
    ----------
    harvest : Harvest
        What came off, with the laboratory's values.
    one : MethodComparison
        Names method, baseline and level.
    costs : mapping
        All costs of a hectare of each of the two [money/ha].

    Returns
    -------
    dict
        Method to its costs; energy a hectare is summed by strip, so a strip without a value does not count.
    """
    out: dict[str, tuple[EnergyCost, ...]] = dict.fromkeys(costs, ())
    for source, values in energy_values(harvest):
        means, beside = _energy_means(values, one)
        for letter, mean in means.items():
            cost, interval = mean.cost(costs[letter] * TEN_MJ)
            found = EnergyCost(source, cost, interval)
            if letter == one.method and beside is not None:
                base, now = means[one.baseline].value, costs[one.baseline]
                more, less = (cost_difference(base, gain, now, costs[letter]) for gain in beside.interval)
                between = None if more is None or less is None else (TEN_MJ * less, TEN_MJ * more)
                found = replace(
                    found,
                    beyond_baseline=cost - cost_per_t(now, base) * TEN_MJ,
                    beyond_baseline_interval=between,
                )
            out[letter] = (*out[letter], found)
    return out


def _energy_means(values: StripValues, one: MethodComparison) -> tuple[dict[str, Mean], MethodComparison | None]:
    """Return energy a hectare of both methods and their comparison; without ranges where there is none.

    Empty where one of the two has no value.
    """
    pair = (one.baseline, one.method)
    by = {p: [v for v, m in zip(values.outcome, values.methods, strict=True) if m == p] for p in pair}
    if not all(by.values()) or min(sum(v) for v in by.values()) <= 0.0:
        return {}, None
    try:
        found = compare(values, one.baseline, level=one.level, reference={})
        beside = found.against_baseline(one.method)
    except (CannotCompareError, KeyError):
        return {p: Mean(sum(v) / len(v), math.inf) for p, v in by.items()}, None
    return {p: mean_of(found, values, beside, p, one.level) for p in pair}, beside
