"""Answers that stand beside the verdict, named for what they are: at equal plants/m2, and no worse than before."""

from __future__ import annotations

from evenground.decide.verdict_record import MethodVerdict, Verdict
from evenground.report.document import Bullets, Part
from evenground.report.wording import number, percent, span


def beside_parts(verdict: Verdict) -> tuple[Part, ...]:
    """Return the answers beside the main one, or nothing where there are none."""
    said = beside_sentences(verdict)
    return (Bullets(said),) if said else ()


def beside_sentences(verdict: Verdict) -> tuple[str, ...]:
    """Return the same as sentences: first the gain at equal plants/m2, then whether it is no worse."""
    return tuple(text for method in verdict.methods for text in (_equal_plants(method), _not_worse(method)) if text)


def _equal_plants(method: MethodVerdict) -> str:
    one = method.adjusted
    if one is None:
        return ""
    return (
        f"{one.words} The second figure lies within {span(one.interval, 2)} {method.budget.amount}/ha "
        f"({percent(one.level)} interval, {one.df} degrees of freedom)."
    )


def _not_worse(method: MethodVerdict) -> str:
    one, names = method.not_worse, method.comparison
    if one is None:
        return ""
    per_ha = f"{method.budget.amount}/ha"
    seen = "Yes" if one.shown else "Not shown"
    return (
        f"Is {names.method} no worse than {names.baseline} by more than {number(one.largest_loss, 2)} {per_ha}, the "
        f"loss the plan would accept? {seen}: the {percent(one.level)} interval starts at "
        f"{number(one.lowest_gain, 2)} {per_ha}."
    )
