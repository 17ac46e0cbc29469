"""Results of the decision step: budget, money range, advice. How they are computed stands beside in this package."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Action = Literal["adopt", "repeat", "drop", "cannot_tell"]


@dataclass(frozen=True)
class BudgetLine:
    """One line of a partial budget.

    Attributes
    ----------
    item : str
        What it is, in words.
    per_ha : float
        Cost against the baseline [money/ha]; negative is a saving.
    """

    item: str
    per_ha: float


@dataclass(frozen=True)
class WayBudget:
    """Partial budget of a method under one way of getting its machine.

    Attributes
    ----------
    way : str
        "hire", "own" or "shared".
    lines : tuple of BudgetLine
        What changes against the baseline.
    extra_cost_per_ha : float
        Their sum [money/ha].
    worthwhile_gain : float
        Gain that just pays over short and full years [t/ha]; infinite where one more tonne is worth nothing and the
        method costs more, minus infinite where it then costs less.
    worthwhile_gain_short_year, worthwhile_gain_full_year : float or None
        The same at each of the two values [t/ha]; None where a tonne is worth nothing.
    break_even_ha : float or None
        Area per year above which owning is cheaper than hiring [ha/a]; None for hire or where it never is.
    """

    way: str
    lines: tuple[BudgetLine, ...]
    extra_cost_per_ha: float
    worthwhile_gain: float
    worthwhile_gain_short_year: float | None
    worthwhile_gain_full_year: float | None
    break_even_ha: float | None


@dataclass(frozen=True)
class Budget:
    """Partial budget of one method against the baseline.

    Attributes
    ----------
    method, baseline : str
        Letters.
    currency : str
        Currency of all amounts.
    amount, amount_words : str
        What the outcome is counted in: "t" and "tonne", or "GJ" and "gigajoule".
    ways : tuple of WayBudget
        All ways of getting the machine, side by side.
    chosen : WayBudget
        The one the verdict counts.
    value_per_t, value_short_year_per_t, value_full_year_per_t : float
        Worth of one more unit of the outcome after carrying it in [money/t, or money/GJ where energy is counted].
    """

    method: str
    baseline: str
    currency: str
    ways: tuple[WayBudget, ...]
    chosen: WayBudget
    value_per_t: float
    value_short_year_per_t: float
    value_full_year_per_t: float
    amount: str = "t"
    amount_words: str = "tonne"


@dataclass(frozen=True)
class MoneyRange:
    """What a year with the method is worth on this farm, after the extra cost.

    Attributes
    ----------
    worst, likely, best : float
        Net per hectare [money/ha]: low end, mean and high end of the long-run gain at ``level``.
    worst_farm, likely_farm, best_farm : float
        The same on the farm's area [money/a].
    chance_of_loss : float
        Chance that the long-run net is below zero [1].
    level : float
        Level of worst and best [1].
    """

    worst: float
    likely: float
    best: float
    worst_farm: float
    likely_farm: float
    best_farm: float
    chance_of_loss: float
    level: float


@dataclass(frozen=True)
class Advice:
    """What to do next year.

    Attributes
    ----------
    action : {"adopt", "repeat", "drop", "cannot_tell"}
        Screen words: use it, try again, leave it, cannot tell.
    reason : str
        One plain sentence.
    deciding : str
        Name of the limit that decided, as it stands in the plan.
    value_of_another_year : float
        Expected worth of one more trial year for this farm, before its cost [money].
    """

    action: Action
    reason: str
    deciding: str
    value_of_another_year: float

    def as_dict(self) -> dict[str, Any]:
        """Return the ``advice`` key of the JSON."""
        return {
            "action": self.action,
            "reason": self.reason,
            "deciding": self.deciding,
            "value_of_another_year": self.value_of_another_year,
        }
