"""What came out for each of two factors, in plain words."""

from __future__ import annotations

from collections.abc import Sequence

from evenground.compare.factor_effect import FactorEffect
from evenground.decide.sentences import more_or_less


def factor_sentences(effects: Sequence[FactorEffect], unit: str) -> tuple[str, ...]:
    """Say what each factor did, and whether the one depends on the other.

    Parameters
    ----------
    effects : sequence of FactorEffect
        From the comparison [t/ha].
    unit : str
        What is counted, such as "t dry matter per hectare".

    Returns
    -------
    tuple of str
        One sentence an effect; empty where the trial has one factor.
    """
    return tuple(_together(one, unit) if " by " in one.factor else _alone(one, unit) for one in effects)


def _alone(one: FactorEffect, unit: str) -> str:
    return (
        f"{one.factor.capitalize()}: {one.level} gave {_amount(one.effect, unit)} than {one.against}, on average over "
        f"the other factor ({_range(one)})."
    )


def _together(one: FactorEffect, unit: str) -> str:
    first, second = one.factor.split(" by ", 1)
    said = f"{one.level} brought {_amount(one.effect, unit)} than {one.against} ({_range(one)})"
    if one.interval[0] <= 0.0 <= one.interval[1]:
        return f"Whether the {first} counts differently from one {second} to the other was not seen: {said}."
    return f"The {first} counts differently from one {second} to the other: {said}. Choose the two together."


def _amount(value: float, unit: str) -> str:
    words = more_or_less(value)
    return f"no {unit} more or less" if words == "nothing" else words.replace(" ", f" {unit} ", 1)


def _range(one: FactorEffect) -> str:
    low, high = (more_or_less(end) for end in one.interval)
    return f"probably between {low} and {high}"
