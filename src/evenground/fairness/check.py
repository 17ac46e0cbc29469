"""The record every fairness check returns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal


@dataclass(frozen=True)
class Check:
    """One thing that should be alike for all methods.

    Attributes
    ----------
    item : str
        What was looked at.
    state : {"alike", "differs", "unknown"}
        What was found; unknown stays unknown.
    why : str
        Why it matters, in one plain sentence.
    found : str
        What was seen, with units.
    bias_t_per_ha : (float, float) or None
        How much it could move the gain [t/ha], low and high; None where no size is known.
    source : str
        Source of that range, or "common practice, no source".
    action : str
        What to do about it.
    method : str
        Letter of the method that was held against the baseline.
    part_of_question : bool
        Whether the trial asks about this very difference; it then is no bias.
    """

    item: str
    state: Literal["alike", "differs", "unknown"]
    why: str
    found: str
    bias_t_per_ha: tuple[float, float] | None
    source: str
    action: str
    method: str = ""
    part_of_question: bool = False

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``checks`` of ``fairness --json``."""
        return {
            "item": self.item,
            "state": self.state,
            "why": self.why,
            "found": self.found,
            "bias_t_per_ha": list(self.bias_t_per_ha) if self.bias_t_per_ha else None,
            "source": self.source,
            "action": self.action,
            "method": self.method,
            "part_of_question": self.part_of_question,
        }
