"""Sentences of the core as a page shows them: names of keys and files give way to what the pages call the same."""

from __future__ import annotations

import functools
import re

from evenground.basis.observations import RECORD_KINDS
from evenground.report.for_readers import for_readers, is_key
from evenground.web import record_words
from evenground.web.planning import plan_words

_WORD = re.compile(r"\b[a-z][a-z0-9]*(?:[_.][a-z0-9]+)+\b")


def core_words(text: str) -> str:
    """Return a sentence of the core in the words of the pages.

    Parameters
    ----------
    text : str
        What the core says; brackets for the command line are left out, names of keys get the label of their field.

    Examples
    --------
    >>> core_words("it is not said how high the field lies (altitude_m): 100 m taken")
    'it is not said how high the field lies: 100 m taken'
    >>> core_words("wet_g and dry_g, or dry_matter_percent")
    '“Before drying” and “After drying”, or “Dry matter”'
    """
    return _WORD.sub(lambda found: _label(found[0]), for_readers(text))


def _label(name: str) -> str:
    """Return what a page calls a key, a choice or a kind of record; a word that is none of these stays."""
    if not is_key(name):
        return name
    if name in RECORD_KINDS:
        return f"“{record_words.kind_words(name)}”"
    words = _plan_labels().get(name) or record_words.FIELDS.get(name)
    if words is not None:
        return f"“{words}”"
    choice = record_words.CHOICES.get(name) or plan_words.CHOICES.get(name)
    return f"“{choice}”" if choice is not None else f"“{plan_words.label_of(name)}”"


@functools.cache
def _plan_labels() -> dict[str, record_words.Words]:
    """Labels of the plan's keys by path and by last name; of two with one name the first is meant."""
    by_path = {path.replace("[]", ""): words for path, words in plan_words.LABELS.items()}
    by_name = {path.rpartition(".")[2]: words for path, words in reversed(by_path.items())}
    return {**by_name, **by_path}
