"""What the trial can see: the detectable gain of a layout, and whether the field can answer the question at all."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count

from evenground.basis.plan import Plan
from evenground.numerics.power import detectable_gain

POWER = 0.8
LEVEL = 0.05
# A trial must be able to see a gain no larger than this many times the largest plausible one. Judgement.
TIMES_PLAUSIBLE = 1.0


@dataclass(frozen=True, slots=True)
class DetectableGain:
    """The gain a layout finds four times in five.

    Attributes
    ----------
    t_per_ha, money_per_ha : float or None
        Gain in the trial's outcome [t/ha] and what it is worth [money/ha]; None where one block gives no error.
    power, alpha : float
        Chance to find it [1] and level of the two-sided test [1].
    strip_error_percent : float
        Spread of neighbouring strips sown alike, percent of the expected yield [%].
    source : str
        Where the strip error comes from.
    """

    t_per_ha: float | None
    money_per_ha: float | None
    power: float
    alpha: float
    strip_error_percent: float
    source: str


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
    """Return the gain that so many complete blocks would find four times in five.

    The gain of a method against the baseline has the variance ``2 sigma^2 / blocks`` and
    ``(methods - 1) (blocks - 1)`` residual degrees of freedom; sigma is the strip error, taken as the same for every
    width and length. An error that strips share (one dry-matter sample for several) is not in it.

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
    layout = plan.layout
    gain = None
    if blocks >= 2:
        gain = detectable_gain(
            sigma=layout.strip_error_percent / 100.0 * plan.outcome.expected_t_per_ha,
            variance_factor=2.0 / blocks,
            residual_df=(len(plan.methods) - 1) * (blocks - 1),
            level=LEVEL,
            power=POWER,
        )
    money = None if gain is None else gain * plan.money.value_per_t
    return DetectableGain(gain, money, POWER, LEVEL, layout.strip_error_percent, layout.strip_error_source)


def plausible_gain(plan: Plan) -> float:
    """Return the largest gain that was thought plausible before the season: prior mean plus two SD [t/ha]."""
    percent = plan.prior.gain_mean_percent + 2.0 * plan.prior.gain_sd_percent
    return percent / 100.0 * plan.outcome.expected_t_per_ha


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
    plan: Plan, blocks: int, smallest_p: float, *, blocks_if_shorter: tuple[float, int] | None
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

    Returns
    -------
    Answerable

    Source: definition; the factor beside the plausible gain is judgement.
    """
    seen, plausible = detectable(plan, blocks).t_per_ha, plausible_gain(plan)
    reasons = []
    if blocks < plan.advice.fewest_blocks:
        reasons.append(f"Blocks: {blocks}; with fewer than {plan.advice.fewest_blocks} nothing can be told.")
    if seen is None:
        reasons.append("One block gives no measure of the error.")
    elif seen > TIMES_PLAUSIBLE * plausible:
        reasons.append(
            f"The trial can see {seen:.2f} t/ha; more than {plausible:.2f} t/ha was not thought likely beforehand."
        )
    if smallest_p > LEVEL:
        reasons.append(f"The randomisation test cannot give less than p = {smallest_p:.3g}, whatever comes off.")
    return Answerable(not reasons, tuple(reasons), _helps(plan, blocks, blocks_if_shorter) if reasons else ())


def _helps(plan: Plan, blocks: int, blocks_if_shorter: tuple[float, int] | None) -> tuple[str, ...]:
    needed = blocks_needed(plan)
    helps = [] if needed is None or needed <= blocks else [f"{needed} blocks would do."]
    if blocks_if_shorter is not None:
        metres, more = blocks_if_shorter
        helps.append(f"Strips from {metres:g} m on (shortest_strip_m) would give {more} blocks here.")
    helps.append("Narrower strips: a harvester or planter that fits fewer passes, or fewer guard rows.")
    helps.append("A second year, or a second field, on the same plan: blocks of several trials add up.")
    return tuple(helps)
