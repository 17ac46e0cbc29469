"""What decides where starch or energy is counted: one laboratory's values by one method, never mixed or converted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenground.basis.outcome_plan import LAB_QUANTITY, OutcomeSection
from evenground.harvest.feed_values import NAMES, FeedValue

# What one unit of the laboratory's value is, in the outcome's unit per tonne of dry matter: 1 % of it is 0.01 t, and
# 1 MJ/kg is 1 GJ/t.
PER_T_DRY = {"starch_percent": 0.01, "energy_mj_per_kg": 1.0}


@dataclass(frozen=True)
class Counted:
    """The laboratory values that the main outcome rests on.

    Attributes
    ----------
    quantity : str
        Field of the record; empty where the yield itself is counted.
    value : FeedValue or None
        Values of the one source that counts.
    others : tuple of FeedValue
        Values of the same quantity from other sources; they stay side results.
    refused : str
        Why none can be counted, in plain words; empty where one can.
    """

    quantity: str = ""
    value: FeedValue | None = None
    others: tuple[FeedValue, ...] = ()
    refused: str = ""

    def content(self, strip: int) -> float | None:
        """Return the laboratory's value of a strip [unit of the quantity]; None where there is none."""
        return None if self.value is None else self.value.by_strip.get(strip)

    def missing(self, strip: int) -> str:
        """Say why a strip has no value that counts; "" where it has one or none is needed.

        Parameters
        ----------
        strip : int
            Which strip.
        """
        if not self.quantity or self.refused or self.content(strip) is not None:
            return ""
        name = NAMES[self.quantity][0]
        other = next((v.source for v in self.others if strip in v.by_strip), "")
        if other:
            return f"its {name} is by {other}, which is never mixed with or converted to what is counted"
        return f"no laboratory value of {name} names strip {strip}"


def counted(outcome: OutcomeSection, feed: Sequence[FeedValue]) -> Counted:
    """Find the laboratory values that the main outcome counts.

    Parameters
    ----------
    outcome : OutcomeSection
        What is counted, and whose values.
    feed : sequence of FeedValue
        Everything the laboratories found.

    Returns
    -------
    Counted
        With ``refused`` where no source, or more than one, fits what the plan names.
    """
    if outcome.counted == "yield":
        return Counted()
    quantity = LAB_QUANTITY[outcome.counted]
    there = [v for v in feed if v.quantity == quantity]
    fit = [v for v in there if _fits(outcome, v)]
    if len(fit) == 1:
        return Counted(quantity, fit[0], tuple(v for v in there if v is not fit[0]))
    return Counted(quantity, None, tuple(there), _refusal(outcome, there, fit))


def _fits(outcome: OutcomeSection, value: FeedValue) -> bool:
    wanted = [(outcome.laboratory, value.lab)]
    if outcome.counted == "energy":
        wanted += [(outcome.energy_system, value.energy_system), (outcome.energy_edition, value.energy_edition)]
    else:
        wanted += [(outcome.lab_method, value.lab_method)]
    return all(not named or named.casefold() == found.casefold() for named, found in wanted)


def _refusal(outcome: OutcomeSection, there: Sequence[FeedValue], fit: Sequence[FeedValue]) -> str:
    """Say why nothing can be counted."""
    what = outcome.counted
    if not there:
        return f"{what} is counted, and no laboratory value of it is recorded"
    sources = "; ".join(v.source for v in there)
    if not fit:
        return (
            f"{what} is counted as the plan names it, and the laboratory values are by {sources}; values of two "
            "laboratories or energy systems are never converted"
        )
    return (
        f"{what} is counted, and its values come from {len(fit)} sources ({'; '.join(v.source for v in fit)}), which "
        "are never mixed; name one in the plan (outcome.laboratory or outcome.lab_method)"
    )
