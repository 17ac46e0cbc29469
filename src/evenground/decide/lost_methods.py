"""Methods of which too little was weighed: what can no longer be said, and what still can, in plain words."""

from __future__ import annotations

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, SplitDraw
from evenground.compare.comparison import Comparison
from evenground.harvest.strips import Harvest


def lost_methods(plan: Plan, comparison: Comparison) -> tuple[str, ...]:
    """Return the letters of the plan that are missing in the comparison.

    Parameters
    ----------
    plan : Plan
        What was meant.
    comparison : Comparison
        What could be compared.

    Returns
    -------
    tuple of str
        In the plan's order; empty where every method was compared.
    """
    return tuple(m.letter for m in plan.methods if m.letter not in comparison.method_means)


def lost_sentences(plan: Plan, draw: Draw, harvest: Harvest, comparison: Comparison) -> dict[str, str]:
    """Say of each lost method how little was weighed and what that leaves.

    Parameters
    ----------
    plan, draw : Plan, Draw
        What was meant and drawn.
    harvest : Harvest
        What came off the strips.
    comparison : Comparison
        What could be compared.

    Returns
    -------
    dict of str to str
        A sentence or more for each lost letter, in the plan's order. With two factors the last one also says that the
        factors cannot be told apart, and which part of the question each other method still answers.
    """
    names = {m.letter: m.name for m in plan.methods}
    lost = lost_methods(plan, comparison)
    said = {letter: _how_little(letter, names[letter], harvest) for letter in lost}
    if lost and draw.split is not None:
        said[lost[-1]] += " " + _left(draw.split, lost)
    return said


def weak_point(plan: Plan, lost: tuple[str, ...]) -> str:
    """Say as a weak point that two factors cannot be told apart.

    Parameters
    ----------
    plan : Plan
        What was meant.
    lost : tuple of str
        Lost letters.

    Returns
    -------
    str
        Empty where nothing was lost or one factor was compared.
    """
    if not lost or plan.grid is None:
        return ""
    return (
        f"too little of {_listed(lost)} was weighed to tell the two things compared apart, so each other method stands "
        "by itself"
    )


def _how_little(letter: str, name: str, harvest: Harvest) -> str:
    weighed = sum(s.method == letter and s.outcome is not None for s in harvest.strips)
    start = f"Of {letter} ({name})"
    if not weighed:
        return f"{start} no strip gave a value, so nothing can be said about it."
    return f"{start} one strip only gave a value; one strip cannot be told from its ground, so it is not compared."


def _left(split: SplitDraw, lost: tuple[str, ...]) -> str:
    """Say that the factors cannot be told apart, and what each method that is left still answers."""
    whole, within = split.whole, split.within
    still = [_still(split, u, w) for u, row in enumerate(split.letters) for w in range(len(row)) if (u, w) != (0, 0)]
    kept = "; ".join(text for letter, text in still if letter not in lost)
    return (
        f"Without it the {whole} and the {within} cannot be told apart over the whole trial, nor whether the one "
        f"counts differently with the other. Each method that is left is compared with {split.letters[0][0]} by "
        f"itself: {kept}."
    )


def _still(split: SplitDraw, upper: int, lower: int) -> tuple[str, str]:
    """Return a method and what its comparison with the baseline shows."""
    letter = split.letters[upper][lower]
    if upper == 0:
        return letter, f"{letter} shows the {split.within} alone, with {split.whole_levels[0]}"
    if lower == 0:
        return letter, f"{letter} shows the {split.whole} alone, at {split.within_levels[0]}"
    return letter, f"{letter} shows both changed together"


def _listed(letters: tuple[str, ...]) -> str:
    return letters[0] if len(letters) == 1 else f"{', '.join(letters[:-1])} and {letters[-1]}"
