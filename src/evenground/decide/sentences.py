"""The verdict in plain words, always in the same order."""

from __future__ import annotations

import math

from evenground.basis.outcome_plan import PRODUCT_WORDS, OutcomeSection
from evenground.compare.comparison import Priors
from evenground.decide.advice import amount
from evenground.decide.worth import Action, Advice, Budget

NEXT_STEP: dict[Action, str] = {
    "adopt": "use it",
    "repeat": "try again",
    "drop": "leave it",
    "cannot_tell": "cannot tell",
}


def tonnes(value: float) -> str:
    """Write tonnes with one decimal, small ones with two; the sign is left to the words.

    Examples
    --------
    >>> tonnes(-0.62), tonnes(0.04), tonnes(12.0)
    ('0.6', '0.04', '12.0')
    """
    size = abs(value)
    return f"{size:.1f}" if size >= 0.095 else f"{size:.2f}"


def _nothing(value: float) -> bool:
    return float(tonnes(value)) == 0.0


def more_or_less(value: float) -> str:
    """Write a difference with its direction as a word.

    Examples
    --------
    >>> more_or_less(0.6), more_or_less(-0.3), more_or_less(0.001)
    ('0.6 more', '0.3 less', 'nothing')
    """
    return "nothing" if _nothing(value) else f"{tonnes(value)} {'more' if value > 0 else 'less'}"


def what(outcome: OutcomeSection) -> str:
    """Name the outcome in a sentence; grain and cobs with the moisture at which they are counted."""
    moist = outcome.counted == "yield" and outcome.product != "silage"
    at = f" at {outcome.standard_moisture_percent:g} % moisture" if moist else ""
    return f"{outcome.amount} {outcome.what}{at} per hectare"


def seen(
    method: str,
    baseline: str,
    gain: float,
    interval: tuple[float, float],
    outcome: OutcomeSection,
    season: int,
    detectable_gain: float | None,
    *,
    feed_measured: bool = True,
) -> str:
    """Say what was seen; where nothing clear was, say what the trial would have seen.

    Parameters
    ----------
    method, baseline : str
        Letters.
    gain : float
        Method minus baseline [t/ha].
    interval : (float, float)
        Of the gain [t/ha].
    outcome : OutcomeSection
        What was weighed.
    season : int
        Year of harvest.
    detectable_gain : float or None
        As said before sowing [t/ha].
    feed_measured : bool
        Whether any laboratory value is there; without one it is said at once that feed value was not measured.
    """
    if _nothing(gain):
        text = f"In this field, in {season}, {method} gave as much as {baseline}, to the nearest 0.01 {what(outcome)}."
    else:
        side = "more" if gain > 0 else "less"
        text = f"In this field, in {season}, {method} gave {tonnes(gain)} {what(outcome)} {side} than {baseline}."
    clear = interval[0] > 0.0 or interval[1] < 0.0
    if detectable_gain is not None and abs(gain) < detectable_gain and not clear:
        text += (
            f" This trial would have seen {tonnes(detectable_gain)} {outcome.amount}. It did not. A smaller difference "
            "may be there."
        )
    if outcome.product == "silage" and not feed_measured:
        text += " Feed value was not measured."
    return text


def how_far(interval: tuple[float, float], level: float) -> str:
    """Say how far the truth may lie from what was seen.

    Parameters
    ----------
    interval : (float, float)
        Of the gain [t/ha].
    level : float
        Its level [1].
    """
    low, high = interval
    if _nothing(low) or _nothing(high) or (low < 0.0 < high):
        between = f"{more_or_less(low)} and {more_or_less(high)}"
    else:
        near, far = sorted((low, high), key=abs)
        # One decimal for both ends where the far one has it: "0.1 and 0.8", not "0.09 and 0.8".
        closer = f"{abs(near):.1f}" if abs(far) >= 0.095 and abs(near) >= 0.05 else tonnes(near)
        between = f"{closer} and {tonnes(far)} {'more' if low > 0 else 'less'}"
    return (
        f"The true figure is probably between {between}; such a range holds the truth in about {round(20 * level)} of "
        "20 trials."
    )


def must_reach(budget: Budget) -> str:
    """Say what the extra yield must reach to pay, and why."""
    cost, value, must = budget.chosen.extra_cost_per_ha, budget.value_per_t, budget.chosen.worthwhile_gain
    unit, more = budget.amount, f"more {budget.amount_words}"
    price, worth = amount(abs(cost), budget.currency), amount(value, budget.currency)
    if must == math.inf:
        return f"One {more} brings nothing here, so it cannot pay its extra cost of {price} per hectare."
    if must == -math.inf:
        return f"It saves {price} per hectare and one {more} brings nothing here, so it pays whatever it yields."
    if _nothing(must):
        return "By the costs in the plan it is no dearer than before, so any extra yield pays."
    if must < 0.0:
        return f"It saves {price} per hectare, so it pays as long as it gives no more than {tonnes(must)} {unit} less."
    return (
        f"It must give {tonnes(must)} {unit} more to pay: it costs {price} more per hectare, and a "
        f"{budget.amount_words} brings {worth}."
    )


def out_of_twenty(chance_it_pays: float, priors: Priors, unit: str = "t") -> str:
    """Say out of 20 results like this how many would pay, with the starting assumption.

    Parameters
    ----------
    chance_it_pays : float
        Chance that the long-run gain is above what it must reach [1].
    priors : Priors
        What was assumed before the harvest [unit/ha].
    unit : str
        What the outcome is counted in: "t" or "GJ".
    """
    n = round(20 * chance_it_pays)
    if n == 0:
        text = "Out of 20 results like this hardly any would pay"
    elif n == 20:
        text = "Out of 20 results like this nearly all would pay"
    else:
        text = f"Out of 20 results like this about {n} would pay and {20 - n} would not"
    return f"{text}. {starting_assumption(priors, unit)}"


def starting_assumption(priors: Priors, unit: str = "t") -> str:
    """Name what was assumed before the harvest."""
    if priors.gain_mean is None or priors.gain_sd is None:
        return "Starting assumption: none, every extra yield was held equally likely."
    return (
        f"Starting assumption before harvest: over the years {more_or_less(priors.gain_mean)}, give or take "
        f"{tonnes(priors.gain_sd)} {unit}."
    )


def next_step(advice: Advice) -> str:
    """Say the next step and its reason."""
    reason = advice.reason[0].lower() + advice.reason[1:]
    return f"Next: {NEXT_STEP[advice.action]}, because {reason}"


def weakest(point: str) -> str:
    """Say the weakest point."""
    return f"Weakest point: {point.rstrip('.')}."


def headline(advice: Advice, method: str, name: str) -> str:
    """Answer the farm's question in one sentence."""
    who = f"{name} ({method})"
    if advice.action == "drop" and advice.deciding == "advice.largest_chance_of_loss":
        return f"Leave it, but narrowly: {who} would more likely pay than not, with more risk than this farm accepts."
    return {
        "adopt": f"Use it: {who} is likely to pay on this farm.",
        "repeat": f"Try again: {who} may pay, and finding out is worth another year.",
        "drop": f"Leave it: {who} is not likely enough to pay, and another trial would cost more than it could bring.",
        "cannot_tell": f"Cannot tell: this trial does not answer whether {who} pays.",
    }[advice.action]


def cannot_say(outcome: OutcomeSection, *, feed_measured: bool = False) -> tuple[str, ...]:
    """List what one season in one field cannot say.

    Parameters
    ----------
    outcome : OutcomeSection
        What was harvested.
    feed_measured : bool
        Whether any laboratory value is there.
    """
    general = (
        "How it does in another kind of year: this was one season.",
        "How it does on other ground: this was one field.",
        "Which part did it: row pattern, machine and driver were changed together where they belong together.",
    )
    if outcome.product == "silage":
        feed = (
            "Feed value beyond what the laboratory measured, which is listed with the other results."
            if feed_measured
            else "Feed value: starch, fibre and energy were not measured; the same dry matter can be another crop."
        )
        return (
            *general,
            feed,
            "Silage quality after the clamp: methods cannot be kept apart there.",
        )
    product = PRODUCT_WORDS[outcome.product]
    if feed_measured:
        return (
            *general,
            f"Quality of the {product} beyond what the laboratory measured, listed with the other results.",
        )
    return (*general, f"Quality of the {product}: only mass and moisture were measured.")
