"""What is weak about this result: a table of small looks, the one that matters most first."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from evenground.basis.plan import Plan
from evenground.compare.comparison import MethodComparison
from evenground.decide.lost_methods import weak_point
from evenground.fairness.check import Check
from evenground.harvest.names import strip_names
from evenground.harvest.other_product import product_words
from evenground.harvest.strips import Harvest

# Below this share of the gain's variance a shared figure is not worth a warning of its own. Judgement.
SHARED_SHARE = 0.05
# Fewer blocks than this and a free draw of pairs cannot reach 1 in 20 (smallest p 2 / 2**blocks).
BLOCKS_FOR_A_TEST = 6
ALPHA = 0.05
# Unknown items named in one sentence; the table of checks has them all.
NAMED = 5
# What was reckoned to move the result by less than this would be printed as 0.0 [unit of the outcome]. Judgement.
HARDLY = 0.05


@dataclass(frozen=True)
class Looked:
    """What is looked at, for one method.

    Attributes
    ----------
    plan, harvest, comparison : Plan, Harvest, MethodComparison
        The trial and its result.
    checks : tuple of Check
        Fairness of this method.
    blocks : int
        Blocks that hold both methods [1].
    lost : tuple of str
        Methods of which too little was weighed to compare them at all.
    """

    plan: Plan
    harvest: Harvest
    comparison: MethodComparison
    checks: tuple[Check, ...]
    blocks: int
    lost: tuple[str, ...] = ()


def weak_points(looked: Looked) -> tuple[str, ...]:
    """List the weak points in plain words, weakest first.

    Parameters
    ----------
    looked : Looked
        The trial and its result.

    Returns
    -------
    tuple of str
        Never empty: one season is one season.
    """
    return tuple(point for look in LOOKS for point in look(looked))


def _sized_bias(looked: Looked) -> Iterable[str]:
    sized = [c for c in _sized(looked) if _largest(c) >= HARDLY]
    for c in sorted(sized, key=lambda c: -_largest(c)):
        low, high = c.bias_t_per_ha or (0.0, 0.0)
        unit = looked.plan.outcome.amount
        yield f"{c.item}: {c.found}, which could have moved the result by {low:+.1f} to {high:+.1f} {unit}"


def _sized(looked: Looked) -> list[Check]:
    return [c for c in looked.checks if c.state == "differs" and c.bias_t_per_ha and not c.part_of_question]


def _largest(check: Check) -> float:
    return max(map(abs, check.bias_t_per_ha or (0.0,)))


def _hardly_a_bias(looked: Looked) -> Iterable[str]:
    """Name what differed and was reckoned to move next to nothing; it stands behind all others."""
    for c in _sized(looked):
        if _largest(c) < HARDLY:
            unit = looked.plan.outcome.amount
            yield f"{c.item}: {c.found}, which could have moved the result by less than {HARDLY:g} {unit}"


def _one_figure(looked: Looked) -> Iterable[str]:
    if looked.comparison.no_p_reason:
        yield looked.comparison.no_p_reason.rstrip(".")


def _shared(looked: Looked) -> Iterable[str]:
    one = looked.comparison
    if one.standard_error > 0.0 and one.shared_sd**2 > SHARED_SHARE * one.standard_error**2:
        strips = sorted({s for f in looked.harvest.shared for s in f.strips})
        if strips:
            yield f"strips {strip_names(strips)} share dry-matter samples, and a wrong sample is wrong for all of them"
        value = looked.harvest.counted.value
        if value is not None and value.shared:
            strips = sorted({s for group in value.shared for s in group})
            name = looked.plan.outcome.counted
            yield f"strips {strip_names(strips)} share laboratory values of {name}; a wrong one is wrong for all"
        labels = [e.label for e in looked.harvest.common]
        if labels:
            yield f"several strips have one error in common: {labels[0]}" + (
                f" (and {len(labels) - 1} more such errors)" if len(labels) > 1 else ""
            )


def _estimated(looked: Looked) -> Iterable[str]:
    off = {s.strip: s.estimated_sd_fraction for s in looked.harvest.strips if s.estimated_sd_fraction > 0.0}
    if off:
        which = f"strip {strip_names(list(off))} was" if len(off) == 1 else f"strips {strip_names(list(off))} were"
        yield f"{which} estimated and not weighed, each up to {100 * max(off.values()):.0f} % off (standard deviation)"


def _changed_outcome(looked: Looked) -> Iterable[str]:
    yield from looked.harvest.outcome_changes


def _unripe(looked: Looked) -> Iterable[str]:
    if looked.harvest.unripe:
        yield looked.harvest.unripe


def _lost_factors(looked: Looked) -> Iterable[str]:
    text = weak_point(looked.plan, looked.lost)
    if text:
        yield text


def _few_blocks(looked: Looked) -> Iterable[str]:
    if looked.blocks < BLOCKS_FOR_A_TEST:
        yield f"only {looked.blocks} block{'' if looked.blocks == 1 else 's'} could be compared"


def _tests_disagree(looked: Looked) -> Iterable[str]:
    one = looked.comparison
    if one.p is None or one.randomisation is None or one.randomisation.smallest > ALPHA:
        return
    if (one.p < ALPHA) != (one.randomisation.p < ALPHA):
        yield "the two ways to judge chance do not agree; the one that rests on the drawn order goes first"


def _mishaps(looked: Looked) -> Iterable[str]:
    pair = (looked.comparison.method, looked.comparison.baseline)
    swapped = [s.strip for s in looked.harvest.strips if s.method != s.drawn_method and s.method in pair]
    if swapped:
        yield (
            f"strip {strip_names(swapped)} was not sown as drawn"
            if len(swapped) == 1
            else (f"strips {strip_names(swapped)} were not sown as drawn")
        )
    mine = [s for s in looked.harvest.strips if s.drawn_method in pair]
    yield from product_words(mine)
    gone = [s.strip for s in mine if s.outcome is None and s.state != "other_product"]
    if gone:
        yield f"strip{'s' if len(gone) > 1 else ''} {strip_names(gone)} gave no value"


def _unsized_bias(looked: Looked) -> Iterable[str]:
    for c in looked.checks:
        if c.state == "differs" and not c.bias_t_per_ha and not c.part_of_question and c.item != "strips lost":
            yield f"{c.item}: {c.found}"


def _feed_value(looked: Looked) -> Iterable[str]:
    starch = any(value.quantity == "starch_percent" for value in looked.harvest.feed)
    if looked.plan.outcome.product == "silage" and not starch:
        yield "starch was not measured, and the same dry matter with less starch is not the same feed"


def _one_season(looked: Looked) -> Iterable[str]:  # noqa: ARG001 - a table
    yield "it was one season in one field"


def _unknown(looked: Looked) -> Iterable[str]:
    names = [c.item for c in looked.checks if c.state == "unknown"]
    if len(names) > NAMED:
        yield f"not recorded: {', '.join(names[:NAMED])} and {len(names) - NAMED} more (see what was checked)"
    elif names:
        yield "not recorded: " + ", ".join(names)


LOOKS: tuple[Callable[[Looked], Iterable[str]], ...] = (
    _sized_bias,
    _one_figure,
    _changed_outcome,
    _shared,
    _estimated,
    _lost_factors,
    _few_blocks,
    _tests_disagree,
    _mishaps,
    _unsized_bias,
    _unripe,
    _feed_value,
    _one_season,
    _unknown,
    _hardly_a_bias,
)
