"""The notes of the plan's template as help beside a field: without what label, unit and choices say already."""

from __future__ import annotations

import re
from collections.abc import Sequence

from evenground.basis.thousands import grouped
from evenground.web.planning.plan_words import Words

_UNIT = re.compile(
    r", (?:in points(?: of (?:%|dry matter))?|%|m|cm|g|kg|kg/ha|t|t/ha|ha|ha a year|km/h|MJ/kg|GJ/ha|litres|degrees|"
    r"degrees Celsius|money/\w+(?: fresh matter)?|per m2)(?=$|[,:])"
)
_ALONE = ("m", "cm", "kg", "%", "t", "ha")
_TICK = re.compile(r"^true (?P<when>for|if|by) ")
_LITTLE = frozenset(
    [
        "a",
        "an",
        "and",
        "by",
        "for",
        "from",
        "if",
        "in",
        "is",
        "it",
        "its",
        "of",
        "once",
        "one",
        "or",
        "per",
        "so",
        "that",
        "the",
        "true",
        "what",
        "which",
        "you",
    ]
)
# The template speaks of lines of a file; a page has fields and other pages instead.
_ON_A_PAGE = (
    ("without this line,", "if left empty,"),
    ("without this line", "if left empty,"),
    ("the name used above", "methods name their planter by it"),
    ("id of the machine below that", "name of the machine that"),
    ("id of the ", "name of the "),
    ("true for ", "tick it for "),
    ("true if ", "tick it if "),
    ("true by ", "tick it by "),
    ("false: ", "no tick: "),
)


def help_words(note: str, label: Words, unit: Words, choices: Sequence[tuple[str, Words]] = ()) -> str:
    """Return what a field's help says.

    Parameters
    ----------
    note : str
        What the template says behind the key.
    label, unit : str
        What stands before the field.
    choices : sequence of tuple
        Value and words of each choice.

    Examples
    --------
    >>> help_words("sowing depth, cm; common practice, no source", "Sowing depth", "cm")
    'common practice, no source'
    >>> help_words("hire or own: all ways are shown", "Counted as", "", [("hire", "hired"), ("own", "my own")])
    'all ways are shown'
    """
    clauses = [_without_choices(c, choices) for c in note.split("; ")]
    if unit:
        clauses = [_UNIT.sub("", c) for c in clauses if c not in _ALONE]
    clauses = [_beyond(c.removeprefix("and "), str(label)) for c in clauses]
    text = "; ".join(c for c in clauses if c)
    for of_files, of_pages in _ON_A_PAGE:
        text = text.replace(of_files, of_pages)
    return text


def _beyond(clause: str, label: str) -> str:
    """Return what a clause says beyond the label: nothing, what follows on the label's words, or all of it."""
    if _says(clause, label):
        return ""
    first, sign, rest = clause.partition(": ")
    if not sign or not _says(first, label):
        first, sign, rest = clause.partition(", ")
        if not sign or not _says(first, label) or not _says(label, first):  # "taxes" alone is not the whole label
            return clause
    return "" if _says(rest, label) else rest


def _says(clause: str, label: str) -> bool:
    """Whether a clause has no word that is not in the label."""
    return _words_of(_TICK.sub("", clause)) <= _words_of(label)


def _words_of(text: str) -> set[str]:
    return set(re.findall(r"[\w₂%-]+", text.casefold())) - _LITTLE


def _without_choices(clause: str, choices: Sequence[tuple[str, Words]]) -> str:
    """Leave out a list of the choices, which stand below; a choice in a sentence gets its own words."""
    if not choices:
        return clause
    values = sorted((re.escape(value) for value, _words in choices if value), key=len, reverse=True)
    one = rf"\"?(?:{'|'.join(values)})\"?"
    listed = re.fullmatch(rf"{one}(?:(?:, | or |, or ){one})+(?:: (?P<rest>.*))?", clause)
    if listed is not None:
        return listed["rest"] or ""
    named = {value: str(words) for value, words in choices}
    unclear = rf"\"(?:{'|'.join(values)})\"|\b(?:{'|'.join(v for v in values if '_' in v) or '(?!)'})\b"
    return re.sub(unclear, lambda found: named[found[0].strip('"')], clause)


def limits_words(text: str) -> str:
    """Write large limits with spaces between thousands; one that only a file could reach is none to a person.

    Examples
    --------
    >>> limits_words("1 to 20"), limits_words("0 to 9.22337203685e+18")
    ('1 to 20', '')
    """
    return "" if "e+" in text else re.sub(r"\d{5,}", lambda found: grouped(int(found[0])), text)


def lines_in_words(text: str, choices: Sequence[tuple[str, Words]]) -> str:
    """Return lines of choices as lines of their words; other lines as they are.

    Examples
    --------
    >>> lines_in_words("edge", [("edge", "no method favoured at the edge strips")])
    'no method favoured at the edge strips'
    """
    known = {value: str(words) for value, words in choices}
    return "\n".join(known.get(line, line) for line in text.split("\n"))
