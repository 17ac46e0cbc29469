"""What the trial can see: the detectable gain of a layout, and whether the field can answer the question at all."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from math import cos, isinf, radians, sin, sqrt

import numpy as np

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.ground import LEVEL, POWER, Floats, ground_of, sight_of, weighing_error_percent
from evenground.layout.other_machines import changes_for, in_words

# A trial must be able to see a gain no larger than this many times the largest plausible one. Judgement.
TIMES_PLAUSIBLE = 1.0


@dataclass(frozen=True, slots=True)
class DetectableGain:
    """The gain a layout finds four times in five.

    Attributes
    ----------
    t_per_ha, money_per_ha : float or None
        Gain in the trial's outcome [t/ha; GJ/ha where energy is counted] and what it is worth [money/ha];
        None where one block gives no error.
    power, alpha : float
        Chance to find it [1] and level of the two-sided test [1].
    strip_error_percent : float
        Spread expected of the strips of a block sown alike, with weighing and sampling, percent of the yield [%].
    source : str
        Where the strip error comes from.
    standard_error_percent : float or None
        Predicted standard error of the gain, averaged over free draws [%].
    """

    t_per_ha: float | None
    money_per_ha: float | None
    power: float
    alpha: float
    strip_error_percent: float
    source: str
    standard_error_percent: float | None = None


@dataclass(frozen=True, slots=True)
class Answerable:
    """Whether the field can answer the question.

    Attributes
    ----------
    can_answer : bool
        False where a reason stands against it.
    reasons : tuple of str
        Why not, in words.
    helps : tuple of str
        What would help, in words.
    """

    can_answer: bool
    reasons: tuple[str, ...] = ()
    helps: tuple[str, ...] = ()


def detectable(plan: Plan, blocks: int) -> DetectableGain:
    """Return the gain that so many complete blocks of strips of the plan's named size would find four times in five.

    The gain of a method against the baseline has the variance ``2 sigma^2 / blocks`` and
    ``(methods - 1) (blocks - 1)`` residual degrees of freedom; sigma is the strip error for the size named in
    ``[unevenness]``, with weighing and sampling. For strips that are laid out use `detectable_of`.

    Parameters
    ----------
    plan : Plan
        Methods, expected yield, strip error, money.
    blocks : int
        Complete blocks [1].

    Returns
    -------
    DetectableGain

    Source: power of the t test, `evenground.numerics.power`; strip error as named in the plan.
    """
    ground, size, per_plot = ground_of(plan), plan.unevenness, sight_of(plan).per_plot
    ends = np.zeros(2 * per_plot), np.full(2 * per_plot, size.strip_length_m)
    variance = float(ground.within_blocks(*ends, size.strip_width_m, size.strip_width_m, per_plot))
    return _gain(plan, blocks * variance, blocks)


def detectable_of(plan: Plan, draw: Draw) -> DetectableGain:
    """Return the gain that the strips of a draw would find four times in five.

    Parameters
    ----------
    plan : Plan
        Expected yield, strip error, unevenness, money.
    draw : Draw
        Strips as drawn.

    Returns
    -------
    DetectableGain
        Its strip error is the one predicted for these strips.

    Source: `evenground.layout.ground`; each strip is taken as beginning where the others of its block do.
    """
    here = place_of(plan, draw)
    return _gain(plan, here.variance, len({strip.block for strip in draw.strips}))


@dataclass(frozen=True, slots=True)
class DrawnPlace:
    """Where the cuts of drawn strips lie, and how unlike they are.

    Attributes
    ----------
    left_m, low_m, high_m : ndarray, shape (strips,)
        Left edge across and ends along the heading, from the first strip on [m].
    variance : float
        Strip error variance within blocks, added over the blocks [%^2]; with two factors that of whole plots' means.
    """

    left_m: Floats
    low_m: Floats
    high_m: Floats
    variance: float


def place_of(plan: Plan, draw: Draw) -> DrawnPlace:
    """Return where the cuts of a draw lie in the frame of its heading, and their strip error variance.

    Parameters
    ----------
    plan : Plan
        Strip error and unevenness.
    draw : Draw
        Strips as drawn.

    Returns
    -------
    DrawnPlace

    Source: a degree of latitude is some 111.2 km; distances within a field are true to a part in 300.
    """
    strips = sorted(draw.strips, key=lambda strip: strip.strip)
    at = np.array([strip.cut_outline[0] for strip in strips])
    north = (at[:, 1] - at[0, 1]) * 111_195.0
    east = (at[:, 0] - at[0, 0]) * 111_195.0 * cos(radians(float(at[0, 1])))
    c, s = cos(radians(draw.heading_deg)), sin(radians(draw.heading_deg))
    left, low = east * c - north * s, east * s + north * c
    high = low + np.array([strip.cut_length_m for strip in strips])
    ground, first = ground_of(plan), strips[0]
    per_plot = 1 if draw.split is None else len(draw.split.within_levels)
    block = np.array([strip.block for strip in strips])
    variance = sum(
        float(ground.within_blocks(low[block == b], high[block == b], first.width_m, first.cut_width_m, per_plot))
        for b in np.unique(block)
    )
    return DrawnPlace(left, low, high, variance)


def gain_of(plan: Plan, variance: float, blocks: int) -> DetectableGain:
    """Return the detectable gain of blocks whose strip error variances add up to a sum [%^2]."""
    return _gain(plan, variance, blocks)


def _gain(plan: Plan, variance: float, blocks: int) -> DetectableGain:
    sight = sight_of(plan)
    percent = sight.gain_percent(variance, blocks)
    gain = None if isinf(percent) else percent / 100.0 * plan.outcome.expected
    money = None if gain is None else gain * plan.value_of_one
    error = sqrt(variance / max(blocks, 1))
    se = None if blocks < 1 else sqrt(sight.factor * variance / blocks**2 + 2.0 * sight.common)
    return DetectableGain(gain, money, POWER, LEVEL, error, _source(plan), se)


def _source(plan: Plan) -> str:
    size = plan.unevenness
    samples = plan.layout.samples_per_strip
    sampled = "one dry-matter figure a method" if samples == 0 else f"{samples} dry-matter sample(s) a strip"
    return (
        f"{plan.layout.strip_error_percent:g} % for {size.strip_width_m:g} x {size.strip_length_m:g} m: "
        f"{plan.layout.strip_error_source}; by size and distance: {size.source}; "
        f"with {sampled} of {plan.outcome.sample_sd_points:g} points{_also(plan)}"
    )


def _also(plan: Plan) -> str:
    """Name what widens the strip error besides: strips not weighed on a weighbridge, and laboratory values."""
    way, off = plan.layout.weighing, weighing_error_percent(plan)
    weighed = f"; strips weighed by {way.replace('_', ' ')}, each {off:.2g} % off" if off else ""
    content = plan.outcome.content_error_percent
    return weighed + (f"; one laboratory value of {plan.outcome.counted} {content:.2g} % off" if content else "")


def plausible_gain(plan: Plan) -> float:
    """Return the largest gain that was thought plausible before the season: prior mean plus two SD [t/ha]."""
    percent = plan.prior.gain_mean_percent + 2.0 * plan.prior.gain_sd_percent
    return percent / 100.0 * plan.outcome.expected


def blocks_needed(plan: Plan) -> int | None:
    """Return the fewest blocks that let the trial see a plausible gain and let the randomisation test reject.

    Parameters
    ----------
    plan : Plan
        Methods, expected yield, strip error, prior of the gain.

    Returns
    -------
    int or None
        Blocks [1]; None where 60 are not enough.

    Source: smallest p of pairs drawn freely is 2 / 2**blocks, so 6 blocks at least; detectable gain as `detectable`.
    """
    limit = TIMES_PLAUSIBLE * plausible_gain(plan)
    for blocks in count(6):
        if blocks > 60:
            return None
        gain = detectable(plan, blocks).t_per_ha
        if gain is not None and gain <= limit:
            return blocks
    return None


def answerable(
    plan: Plan,
    blocks: int,
    smallest_p: float,
    *,
    blocks_if_shorter: tuple[float, int] | None,
    seen: float | None = None,
    strip_width_m: float = 0.0,
) -> Answerable:
    """Say whether the trial can answer its question, and what would help if not.

    Parameters
    ----------
    plan : Plan
        What was meant.
    blocks : int
        Blocks laid out [1].
    smallest_p : float
        Smallest p the randomisation test can give [1].
    blocks_if_shorter : tuple of (float, int) or None
        A shorter strip length [m] and the blocks it would give [1], where it gives more.
    seen : float, optional
        Detectable gain of the strips as laid out [t/ha]; that of strips of the plan's named size where not given.
    strip_width_m : float
        Width of the strips laid out [m]; machines that allow narrower ones are named as a help. 0: none are named.

    Returns
    -------
    Answerable

    Source: definition; the factor beside the plausible gain is judgement.
    """
    seen, plausible = detectable(plan, blocks).t_per_ha if seen is None else seen, plausible_gain(plan)
    reasons, unit = [], f"{plan.outcome.amount}/ha"
    if blocks < plan.advice.fewest_blocks:
        reasons.append(f"Blocks: {blocks}; with fewer than {plan.advice.fewest_blocks} nothing can be told.")
    if seen is None:
        reasons.append("One block gives no measure of the error.")
    elif seen > TIMES_PLAUSIBLE * plausible:
        reasons.append(
            f"The trial can see {seen:.2f} {unit}; more than {plausible:.2f} {unit} was not thought likely beforehand."
        )
    if smallest_p > LEVEL:
        reasons.append(f"The randomisation test cannot give less than p = {smallest_p:.3g}, whatever comes off.")
    helps = _helps(plan, blocks, blocks_if_shorter, strip_width_m) if reasons else ()
    return Answerable(not reasons, tuple(reasons), helps)


def _helps(
    plan: Plan, blocks: int, blocks_if_shorter: tuple[float, int] | None, strip_width_m: float
) -> tuple[str, ...]:
    needed = blocks_needed(plan)
    helps = [] if needed is None or needed <= blocks else [f"{needed} blocks would do."]
    if blocks_if_shorter is not None:
        metres, more = blocks_if_shorter
        helps.append(f"Strips from {metres:g} m on (shortest_strip_m) would give {more} blocks here.")
    if changes := changes_for(plan, strip_width_m):
        helps.append(f"Narrower strips than {strip_width_m:g} m: {in_words(changes)}")
    helps.append("A second year, or a second field, on the same plan: blocks of several trials add up.")
    return tuple(helps)
