"""What a gain means in feed for this herd: tonnes, days, and what the feed costs with either method."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evenground.basis.plan import Plan
from evenground.compare.compare import compare
from evenground.compare.comparison import MethodComparison
from evenground.decide.advice import amount
from evenground.decide.herd import cost_per_10_mj, cost_per_t, feed_days, intake_of, storage_loss_of
from evenground.decide.strip_values import yield_values
from evenground.decide.worth import Budget
from evenground.harvest.feed_values import FeedValue
from evenground.harvest.strips import Harvest


@dataclass(frozen=True)
class FeedCost:
    """What the feed of one method costs.

    Attributes
    ----------
    method : str
        Letter.
    per_t : float
        A tonne of dry matter [money/t].
    per_10_mj : tuple of (str, float)
        Ten megajoules [money], for each energy system and laboratory; empty without laboratory values.
    """

    method: str
    per_t: float
    per_10_mj: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class FeedMeaning:
    """What a gain means in feed.

    Attributes
    ----------
    tonnes : float
        Dry matter more on the farm's area, after storage [t].
    days : float or None
        Days the herd eats from it [1]; None where the plan names no herd.
    costs : tuple of FeedCost
        Baseline and method; empty where the plan names no cost.
    worth_short_year, worth_full_year : float
        The gain on the farm's area in a year short of feed and in one with enough, before the extra cost [money].
    sources : str
        What was reckoned with, and where it comes from.
    """

    tonnes: float
    days: float | None
    costs: tuple[FeedCost, ...]
    worth_short_year: float = 0.0
    worth_full_year: float = 0.0
    sources: str = ""

    def sentences(self, currency: str) -> tuple[str, ...]:
        """Say it in plain words.

        Parameters
        ----------
        currency : str
            Shown with amounts.
        """
        side = "more" if self.tonnes >= 0.0 else "less"
        text = f"On the farm's area that is {abs(self.tonnes):.1f} t of dry matter {side} after storage"
        if self.days is not None:
            text += f", {abs(self.days):.0f} days of this feed for the herd"
        out = [text + "."]
        if self.sources:
            out.append(f"{self.sources}.")
        worths = (amount(self.worth_short_year, currency), amount(self.worth_full_year, currency))
        out.append(f"It is worth {worths[0]} in a year short of feed and {worths[1]} in a year with enough.")
        if self.costs:
            each = ", ".join(f"{c.method} {c.per_t:.0f} {currency}" for c in self.costs)
            out.append(f"A tonne of dry matter costs: {each}.")
            for i, (source, _) in enumerate(self.costs[0].per_10_mj):
                each = ", ".join(f"{c.method} {c.per_10_mj[i][1]:.3f} {currency}" for c in self.costs)
                out.append(f"Ten megajoules ({source}) cost: {each}.")
        return tuple(out)


def feed_meaning(
    plan: Plan, harvest: Harvest, one: MethodComparison, means: Mapping[str, float], cost: Budget
) -> FeedMeaning | None:
    """Say what a gain means in feed for this herd.

    Parameters
    ----------
    plan : Plan
        Herd, area, costs.
    harvest : Harvest
        What came off, with the laboratory's values.
    one : MethodComparison
        The gain of the main outcome.
    means : mapping
        Mean outcome of each method.
    cost : Budget
        What the method costs more than the baseline, and what one more unit of the outcome is worth.

    Returns
    -------
    FeedMeaning or None
        None where the plan names neither herd nor cost.

    Source: arithmetic; losses and intake as the plan states them with their sources.
    """
    herd = plan.herd
    eaten = intake_of(herd)
    told = herd.heads is not None and eaten is not None
    if not told and herd.crop_cost_per_ha is None:
        return None
    gain, dry_means = _in_dry_matter(plan, harvest, one, means)
    grown = gain * plan.money.area_ha
    loss_percent, loss_source = storage_loss_of(herd)
    days, sources = None, [f"Storage loses {loss_percent:.0f} % ({loss_source})"]
    if herd.heads is not None and eaten is not None:
        days = feed_days(grown, herd.heads, eaten[0], loss_percent)
        sources.append(f"an animal eats {eaten[0]:.1f} kg of dry matter of this feed a day ({eaten[1]})")
    costs: tuple[FeedCost, ...] = ()
    if herd.crop_cost_per_ha is not None:
        now = herd.crop_cost_per_ha
        pairs = ((one.baseline, now), (one.method, now + cost.chosen.extra_cost_per_ha))
        method_of = {s.strip: s.method for s in harvest.strips}
        energies = [v for v in harvest.feed if v.quantity == "energy_mj_per_kg"]
        both = [v for v in energies if {one.baseline, one.method} <= {method_of[s] for s in v.by_strip}]
        costs = tuple(_cost(letter, per_ha, dry_means[letter], both, method_of) for letter, per_ha in pairs)
    on_farm = one.gain * plan.money.area_ha
    return FeedMeaning(
        grown * (1.0 - loss_percent / 100.0),
        days,
        costs,
        worth_short_year=on_farm * cost.value_short_year_per_t,
        worth_full_year=on_farm * cost.value_full_year_per_t,
        sources="; ".join(sources),
    )


def _in_dry_matter(
    plan: Plan, harvest: Harvest, one: MethodComparison, means: Mapping[str, float]
) -> tuple[float, dict[str, float]]:
    """Return the gain and the means in dry matter [t/ha]; where starch or energy counts, those of the yield itself."""
    if plan.outcome.counted != "yield":
        grown = compare(yield_values(harvest), one.baseline, reference={})
        one, means = grown.against_baseline(one.method), grown.method_means
    dry = plan.outcome.dry_share
    return one.gain * dry, {letter: mean * dry for letter, mean in means.items()}


def _cost(
    letter: str, cost: float, yield_t_per_ha: float, energies: Sequence[FeedValue], method_of: Mapping[int, str]
) -> FeedCost:
    tens = []
    for value in energies:
        own = [x for strip, x in value.by_strip.items() if method_of[strip] == letter]
        tens.append((value.source, cost_per_10_mj(cost, yield_t_per_ha, sum(own) / len(own))))
    return FeedCost(letter, cost_per_t(cost, yield_t_per_ha), tuple(tens))
