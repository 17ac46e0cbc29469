"""The verdict on a comparison that was never randomised: always "cannot tell", said in the order of every verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from evenground.basis.plan import Plan
from evenground.basis.store import Stored
from evenground.decide.budget import budget
from evenground.decide.sentences import must_reach
from evenground.decide.verdict_record import Provenance
from evenground.fairness.border import REASON, BorderAnswer
from evenground.fairness.border_json import as_dict
from evenground.fairness.border_words import how_far, last_sentence, seen

OUT_OF_TWENTY = (
    "How many of 20 results like this would pay cannot be said: one border is one comparison, and field, date and "
    "machine may have made all of it."
)


@dataclass(frozen=True)
class BorderVerdict:
    """What can be said of two neighbouring areas, one method each.

    Attributes
    ----------
    plan : Plan
        What was meant.
    answer : BorderAnswer
        The step, the range it leaves open, and what could explain it.
    headline : str
        One sentence that answers the farm's question.
    sentences : tuple of str
        Plain words in the fixed order: seen; how far the truth may lie; must reach to pay; out of 20; weakest point;
        next step.
    provenance : Provenance
        How to compute it again.
    """

    plan: Plan
    answer: BorderAnswer
    headline: str
    sentences: tuple[str, ...]
    provenance: Provenance

    def as_dict(self) -> dict[str, Any]:
        """Return the object of ``verdict --json``: that of ``border``, and what a verdict has beside it; never a p."""
        return {
            **as_dict(self.answer),
            "trial": self.plan.trial.name,
            "invented": self.plan.trial.invented,
            "randomised": False,
            "comparisons": [],
            "chance_it_pays": None,
            "chance_it_pays_next_year": None,
            "headline": self.headline,
            "sentence": " ".join(self.sentences),
            "provenance": asdict(self.provenance),
        }


def border_verdict(
    stored: Stored, answer: BorderAnswer, files: Mapping[str, str], *, today: date, version: str
) -> BorderVerdict:
    """Put the answer of a border into the form of a verdict.

    Parameters
    ----------
    stored : Stored
        Plan and hashes; its strips were not drawn.
    answer : BorderAnswer
        From `evenground.fairness.border.border_comparison`.
    files : mapping of str to str
        The files it was read from, and their sha256 (hex).
    today : date
        Day of the computation; only written down.
    version : str
        Program version; only written down.
    """
    plan = stored.plan
    method = next(m for m in plan.methods if m.letter == answer.method)
    origin = Provenance(version, stored.plan_hash, stored.records_hash, {}, today.isoformat(), dict(files))
    return BorderVerdict(
        plan,
        answer,
        f"Cannot tell: two areas side by side do not answer whether {method.name} ({method.letter}) pays.",
        (
            seen(answer),
            how_far(answer),
            must_reach(budget(plan, method)),
            OUT_OF_TWENTY,
            f"Weakest point: {REASON[0].lower()}{REASON[1:]}",
            _next(answer),
        ),
        origin,
    )


def _next(answer: BorderAnswer) -> str:
    """Say what to do next year, with what strips drawn at random would see."""
    return f"Next: draw strips at random. {last_sentence(answer.next_year)}"
