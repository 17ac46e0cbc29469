"""What was assumed before the harvest, in the outcome's unit, and the same with half and double each spread."""

from __future__ import annotations

import math
from dataclasses import replace

from evenground.basis.plan import Plan
from evenground.compare.comparison import Priors
from evenground.harvest.strips import Harvest


def priors_of(plan: Plan, harvest: Harvest | None = None) -> Priors:
    """Turn the plan's percentages into the outcome's unit, by the outcome expected before the season.

    Parameters
    ----------
    plan : Plan
        Prior section and expected yield.
    harvest : Harvest or None
        What came off: where strips were estimated and not weighed, their own errors widen the strip error believed
        beforehand, which is meant for strips that were weighed.

    Source: independent errors add as squares.
    """
    prior, percent = plan.prior, plan.outcome.expected / 100.0
    off = [] if harvest is None else [100.0 * s.estimated_sd_fraction for s in harvest.strips if s.outcome is not None]
    strip_error = math.hypot(prior.strip_error_percent, math.sqrt(sum(x * x for x in off) / len(off)) if off else 0.0)
    estimated = "; strips that were estimated and not weighed scatter more" if any(off) else ""
    return Priors(
        gain_mean=prior.gain_mean_percent * percent,
        gain_sd=prior.gain_sd_percent * percent,
        gain_source=prior.gain_source,
        season_sd=prior.season_sd_percent * percent,
        season_source=prior.season_source,
        strip_error_median=strip_error * percent,
        strip_error_log_sd=prior.strip_error_log_sd,
        strip_error_source=prior.strip_error_source + estimated,
    )


def variations(priors: Priors) -> tuple[tuple[str, Priors], ...]:
    """Give half and double of each spread, with a label.

    Parameters
    ----------
    priors : Priors
        As assumed. A spread that is zero or not assumed is not varied.

    Returns
    -------
    tuple of (str, Priors)
    """
    out = []
    for times, word in ((0.5, "halved"), (2.0, "doubled")):
        if priors.gain_sd is not None:
            out.append((f"spread of the long-run gain {word}", replace(priors, gain_sd=times * priors.gain_sd)))
        if priors.season_sd > 0.0:
            out.append((f"spread between seasons {word}", replace(priors, season_sd=times * priors.season_sd)))
        if priors.strip_error_log_sd is not None:
            changed = replace(priors, strip_error_log_sd=times * priors.strip_error_log_sd)
            out.append((f"spread of the strip error {word}", changed))
    return tuple(sorted(out))
