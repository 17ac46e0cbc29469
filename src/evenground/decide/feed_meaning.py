"""What a gain means in feed for this herd: tonnes, days, and what the feed costs with either method."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evenground.basis.plan import Plan
from evenground.compare.comparison import MethodComparison
from evenground.decide.herd import cost_per_10_mj, cost_per_t, feed_days
from evenground.harvest.feed_values import FeedValue
from evenground.harvest.outcome import outcome_per_fresh


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
    """

    tonnes: float
    days: float | None
    costs: tuple[FeedCost, ...]

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
        if self.costs:
            each = ", ".join(f"{c.method} {c.per_t:.0f} {currency}" for c in self.costs)
            out.append(f"A tonne of dry matter costs: {each}.")
            for i, (source, _) in enumerate(self.costs[0].per_10_mj):
                each = ", ".join(f"{c.method} {c.per_10_mj[i][1]:.3f} {currency}" for c in self.costs)
                out.append(f"Ten megajoules ({source}) cost: {each}.")
        return tuple(out)


def feed_meaning(
    plan: Plan,
    one: MethodComparison,
    means: Mapping[str, float],
    extra_cost_per_ha: float,
    feed: tuple[FeedValue, ...],
    method_of: Mapping[int, str],
) -> FeedMeaning | None:
    """Say what a gain means in feed for this herd.

    Parameters
    ----------
    plan : Plan
        Herd, area, costs.
    one : MethodComparison
        The gain [t/ha of the outcome].
    means : mapping
        Mean outcome of each method [t/ha].
    extra_cost_per_ha : float
        What the method costs more than the baseline [money/ha].
    feed : tuple of FeedValue
        Laboratory values.
    method_of : mapping
        Strip to method as sown.

    Returns
    -------
    FeedMeaning or None
        None where the plan names neither herd nor cost.

    Source: arithmetic; losses and intake as the plan states them with their sources.
    """
    herd = plan.herd
    told = herd.heads is not None and herd.intake_kg is not None
    if not told and herd.crop_cost_per_ha is None:
        return None
    dry = 1.0 if plan.outcome.product == "silage" else 1.0 / outcome_per_fresh(1.0, plan.outcome)
    grown = one.gain * dry * plan.money.area_ha
    days = None
    if herd.heads is not None and herd.intake_kg is not None:
        days = feed_days(grown, herd.heads, herd.intake_kg, herd.storage_loss_percent)
    costs: tuple[FeedCost, ...] = ()
    if herd.crop_cost_per_ha is not None:
        pairs = ((one.baseline, herd.crop_cost_per_ha), (one.method, herd.crop_cost_per_ha + extra_cost_per_ha))
        energies = [v for v in feed if v.quantity == "energy_mj_per_kg"]
        both = [v for v in energies if {one.baseline, one.method} <= {method_of[s] for s in v.by_strip}]
        costs = tuple(_cost(letter, cost, means[letter] * dry, both, method_of) for letter, cost in pairs)
    return FeedMeaning(grown * (1.0 - herd.storage_loss_percent / 100.0), days, costs)


def _cost(
    letter: str, cost: float, yield_t_per_ha: float, energies: Sequence[FeedValue], method_of: Mapping[int, str]
) -> FeedCost:
    tens = []
    for value in energies:
        own = [x for strip, x in value.by_strip.items() if method_of[strip] == letter]
        tens.append((value.source, cost_per_10_mj(cost, yield_t_per_ha, sum(own) / len(own))))
    return FeedCost(letter, cost_per_t(cost, yield_t_per_ha), tuple(tens))
