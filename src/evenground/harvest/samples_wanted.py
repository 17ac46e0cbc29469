"""How many dry-matter samples a trial should take, from its own repeats where there are enough."""

from __future__ import annotations

import math
from dataclasses import dataclass

from evenground.basis.observations import Records, current
from evenground.basis.outcome_plan import OutcomeSection
from evenground.basis.plan import Plan
from evenground.harvest.dry_matter import sampling_error
from evenground.harvest.enough_samples import (
    LARGEST_SHARE,
    false_alarms_with_one_sample,
    samples_needed,
    scoops_needed,
)

# What sampling may add to the ranges: the root of one plus its share of the variance, rounded up.
WIDER = math.ceil(100.0 * (math.sqrt(1.0 + LARGEST_SHARE) - 1.0)) / 100.0


@dataclass(frozen=True)
class SamplesWanted:
    """How many samples are enough.

    Attributes
    ----------
    sd_points : float
        How far one sample may be off, in points of dry matter [%].
    source : str
        "repeats" or "plan default".
    per_strip : int
        Samples each strip needs so that sampling hardly widens the answer [1].
    false_alarms : float
        How often a test at 5 % would err that rests on one sample a method in eight blocks and does not know it [1].
    sentences : tuple of str
        The same in plain words.
    scoops : int or None
        Scoops to mix into each sample so that it is off by no more than that [1]; None where drying alone is further
        off.
    """

    sd_points: float
    source: str
    per_strip: int
    false_alarms: float
    sentences: tuple[str, ...]
    scoops: int | None = None


def samples_wanted(plan: Plan, records: Records) -> SamplesWanted:
    """Say how many samples are enough for this trial.

    Parameters
    ----------
    plan : Plan
        Strip error, dry matter expected, and the sampling error where repeats cannot tell.
    records : Records
        Samples taken so far.
    """
    error = sampling_error(current(records.samples), plan.outcome.sample_sd_points)
    points, dry_matter = 100.0 * error.sd_fraction, plan.outcome.expected_dry_matter_percent
    strip_error = plan.layout.strip_error_percent
    n = samples_needed(points, dry_matter, strip_error)
    alarms = false_alarms_with_one_sample(8, points, dry_matter, strip_error)
    where = "as the samples taken twice say" if error.source == "repeats" else "as the plan assumes"
    enough = "one sample of its own is enough" if n == 1 else f"{n} samples of its own are needed"
    outcome = plan.outcome
    scoops = scoops_needed(outcome.scoop_sd_points, outcome.drying_sd_points, points)
    return SamplesWanted(
        points,
        error.source,
        n,
        alarms,
        (
            f"Samples: one is off by about {points:.1f} points of dry matter, {where}. For each strip {enough}, so "
            f"that sampling widens the ranges by less than {100 * WIDER:.0f} %.",
            f"One sample a method instead of one a strip would make a test at 5 % err in {100 * alarms:.0f} of 100 "
            "trials of eight blocks.",
            _mix(scoops, outcome, points),
        ),
        scoops,
    )


def _mix(scoops: int | None, outcome: OutcomeSection, points: float) -> str:
    """Say how many scoops to mix into a sample."""
    if scoops is None:
        return (
            f"Drying alone is off by {outcome.drying_sd_points:g} points; more scoops do not help, a second bag dried "
            "does."
        )
    words = "1 scoop" if scoops == 1 else f"at least {scoops} scoops"
    return (
        f"Mix {words} into each sample: one scoop lies {outcome.scoop_sd_points:g} points from its load (assumed in "
        f"the plan), and the sample shall be off by no more than {points:.1f}."
    )
