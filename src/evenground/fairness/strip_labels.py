"""Checks on what was written down strip by strip in words: hybrid, dressing, tillage, what stood there before."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable

from evenground.basis.observations import Event, current
from evenground.fairness.check import Check
from evenground.fairness.seen import Seen, State, finding

Label = Callable[[Event], str]


def labels(seen: Seen, event: str, label: Label) -> dict[int, frozenset[str]]:
    """Return what was written down for each strip; strips nobody wrote anything down for are left out.

    Parameters
    ----------
    seen : Seen
        The trial.
    event : str
        Kind of entry.
    label : callable
        Takes the words from an entry; small and capital letters are one.
    """
    found: dict[int, set[str]] = defaultdict(set)
    for one in current(seen.records.events):
        words = " ".join(label(one).split()).casefold()
        if one.event == event and words:
            for strip in one.strips:
                found[strip].add(words)
    return {strip: frozenset(words) for strip, words in sorted(found.items())}


def labelled(seen: Seen, item: str, by_strip: dict[int, frozenset[str]], why: str, action: str) -> Check | None:
    """Compare words within blocks; None where a strip of either method has none, so that nothing can be said.

    Parameters
    ----------
    seen : Seen
        The trial, with the method that is looked at.
    item, why, action : str
        As in a finding.
    by_strip : dict
        From `labels`.
    """
    mine = [s for s, letter in seen.sown.items() if letter in seen.pair]
    if not mine or any(s not in by_strip for s in mine):
        return None
    every = sorted({word for s in mine for word in by_strip[s]})
    steps = [seen.within_blocks({s: float(word in by_strip[s]) for s in mine}) for word in every]
    unlike = any(step is not None and abs(step) > 1e-9 for step in steps)
    if any(step is None for step in steps):
        unlike = len({frozenset(w for s in mine if seen.sown[s] == m for w in by_strip[s]) for m in seen.pair}) > 1
    state: State = "differs" if unlike else "alike"
    return finding(seen, item, state, why, _found(seen, mine, by_strip), action)


def _found(seen: Seen, mine: list[int], by_strip: dict[int, frozenset[str]]) -> str:
    """Say which words stand for which method, with the number of strips where there are several."""
    said = []
    for letter in seen.pair:
        counts = Counter(w for s in mine if seen.sown[s] == letter for w in by_strip[s])
        several = len(counts) > 1
        said.append(f"{letter} " + ", ".join(f"{w} ({n} strips)" if several else w for w, n in sorted(counts.items())))
    return "; ".join(said)
