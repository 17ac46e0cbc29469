"""What was assumed before the harvest, in the outcome's unit, and the same with half and double each spread."""

from __future__ import annotations

from dataclasses import replace

from evenground.basis.plan import Plan
from evenground.compare.comparison import Priors


def priors_of(plan: Plan) -> Priors:
    """Turn the plan's percentages into the outcome's unit, by the yield expected before the season [t/ha].

    Parameters
    ----------
    plan : Plan
        Prior section and expected yield.
    """
    prior, percent = plan.prior, plan.outcome.expected_t_per_ha / 100.0
    return Priors(
        gain_mean=prior.gain_mean_percent * percent,
        gain_sd=prior.gain_sd_percent * percent,
        gain_source=prior.gain_source,
        season_sd=prior.season_sd_percent * percent,
        season_source=prior.season_source,
        strip_error_median=prior.strip_error_percent * percent,
        strip_error_log_sd=prior.strip_error_log_sd,
        strip_error_source=prior.strip_error_source,
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
