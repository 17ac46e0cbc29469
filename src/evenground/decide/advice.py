"""What to do next year: a table of small rules, read from the top; the first that has an answer gives the advice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from evenground.basis.plan import AdviceSection
from evenground.basis.thousands import grouped
from evenground.decide.worth import Action, Advice

# action, reason as half a sentence, name of the limit that decided
Answer = tuple[Action, str, str]


@dataclass(frozen=True)
class Facts:
    """All that the advice looks at, for one method.

    Attributes
    ----------
    gain, worthwhile_gain : float
        As seen, and what it must reach to pay [t/ha].
    expected_net : float
        Expected long-run net [money/ha].
    chance_of_loss : float
        Chance that it is below zero [1].
    blocks : int
        Blocks that hold both methods [1].
    randomised : bool
        Whether the order was drawn, and sown as drawn in at least one block.
    bias : (float, float)
        How much known unfairness could have moved the gain [t/ha].
    value_of_another_year, cost_of_another_year : float
        For this farm [money].
    currency : str
        Of both.
    amount : str
        What gains are counted in: "t" or "GJ".
    """

    gain: float
    worthwhile_gain: float
    expected_net: float
    chance_of_loss: float
    blocks: int
    randomised: bool
    bias: tuple[float, float]
    value_of_another_year: float
    cost_of_another_year: float
    currency: str
    amount: str = "t"


def bias_could_turn_it(gain: float, worthwhile_gain: float, bias: tuple[float, float]) -> bool:
    """Say whether known unfairness could have carried the gain across what it must reach.

    A gain above the line is in doubt if the bias may have lifted it by more than its distance from the line; one below
    if the bias may have lowered it by more.

    Examples
    --------
    >>> bias_could_turn_it(0.6, 0.4, (-0.1, 0.3)), bias_could_turn_it(0.6, 0.4, (-0.3, 0.1))
    (True, False)
    """
    distance = gain - worthwhile_gain
    return bias[1] > distance if distance >= 0.0 else -bias[0] > -distance


def in_hundred(chance: float) -> str:
    """Say a chance as people count; never 0 or 100, which nobody knows.

    Examples
    --------
    >>> in_hundred(0.123), in_hundred(0.0001), in_hundred(0.9999)
    ('12 in 100', 'less than 1 in 100', 'more than 99 in 100')
    """
    n = round(100 * chance)
    if n < 1:
        return "less than 1 in 100"
    return "more than 99 in 100" if n > 99 else f"{n} in 100"


def amount(money: float, currency: str) -> str:
    """Write an amount without pretending to more digits than it has.

    Examples
    --------
    >>> amount(1234.4, "EUR").replace("\N{NARROW NO-BREAK SPACE}", " "), amount(-0.2, "EUR")
    ('1 234 EUR', '0 EUR')
    """
    rounded = round(money)
    return f"{grouped(rounded)} {currency}" if rounded else f"0 {currency}"


def _never_randomised(facts: Facts, limits: AdviceSection) -> Answer | None:  # noqa: ARG001 - a table
    if facts.randomised:
        return None
    return "cannot_tell", "no block was sown as drawn, so the method cannot be told from its ground", "drawn order"


def _few_blocks(facts: Facts, limits: AdviceSection) -> Answer | None:
    if facts.blocks >= limits.fewest_blocks:
        return None
    have = "1 block has" if facts.blocks == 1 else f"{facts.blocks} blocks have"
    text = f"only {have} both methods weighed, and the plan asks for at least {limits.fewest_blocks}"
    return "cannot_tell", text, "advice.fewest_blocks"


def _bias(facts: Facts, limits: AdviceSection) -> Answer | None:  # noqa: ARG001 - a table
    if not bias_could_turn_it(facts.gain, facts.worthwhile_gain, facts.bias):
        return None
    distance = abs(facts.gain - facts.worthwhile_gain)
    text = (
        f"what was not alike for both could have moved the result by {facts.bias[0]:+.1f} to {facts.bias[1]:+.1f} "
        f"{facts.amount}, and only {distance:.1f} {facts.amount} lie between the result and what it must reach"
    )
    return "cannot_tell", text, "possible bias"


def _adopt(facts: Facts, limits: AdviceSection) -> Answer | None:
    if not (facts.expected_net > 0.0 and facts.chance_of_loss <= limits.largest_chance_of_loss):
        return None
    text = (
        f"over the years it is expected to leave {amount(facts.expected_net, facts.currency)} per hectare, and "
        f"the chance of losing money is {in_hundred(facts.chance_of_loss)}, within the limit of "
        f"{in_hundred(limits.largest_chance_of_loss)}"
    )
    return "adopt", text, "advice.largest_chance_of_loss"


def _repeat(facts: Facts, limits: AdviceSection) -> Answer | None:  # noqa: ARG001 - a table
    if not facts.value_of_another_year > facts.cost_of_another_year:
        return None
    text = (
        f"another trial year costs {amount(facts.cost_of_another_year, facts.currency)} and knowing more is worth "
        f"about {amount(facts.value_of_another_year, facts.currency)} to this farm"
    )
    return "repeat", text, "money.trial_cost_per_year"


def _drop(facts: Facts, limits: AdviceSection) -> Answer | None:
    if facts.expected_net > 0.0:
        text = (
            f"the chance of losing money is {in_hundred(facts.chance_of_loss)}, above this farm's limit of "
            f"{in_hundred(limits.largest_chance_of_loss)}, and another trial year would cost "
            f"{amount(facts.cost_of_another_year, facts.currency)} but be worth only about "
            f"{amount(facts.value_of_another_year, facts.currency)}; a farm that accepts the risk would use it, for it "
            f"is expected to leave {amount(facts.expected_net, facts.currency)} per hectare"
        )
        return "drop", text, "advice.largest_chance_of_loss"
    why = "it is not expected to pay for itself"
    text = (
        f"{why}, and another trial year would cost {amount(facts.cost_of_another_year, facts.currency)} but be worth "
        f"only about {amount(facts.value_of_another_year, facts.currency)} to this farm"
    )
    return "drop", text, "money.trial_cost_per_year"


RULES: tuple[Callable[[Facts, AdviceSection], Answer | None], ...] = (
    _never_randomised,
    _few_blocks,
    _bias,
    _adopt,
    _repeat,
    _drop,
)


def advise(facts: Facts, limits: AdviceSection) -> Advice:
    """Say what to do next year, why, and which limit decided.

    Parameters
    ----------
    facts : Facts
        What is known about one method.
    limits : AdviceSection
        The limits as fixed with the draw.

    Returns
    -------
    Advice
        The first rule of the table that has an answer; *drop* always has one.

    Source: docs/decide.md.
    """
    found = next(answer for rule in RULES if (answer := rule(facts, limits)) is not None)
    action, reason, deciding = found
    return Advice(action, _sentence(reason), deciding, facts.value_of_another_year)


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:] + "."
