"""Sentences as people read them on paper and on pages: without the names of keys, files and commands in brackets.

On the command line these names help, for there the plan is a file; a reader of the report can do nothing with them.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from pydantic import BaseModel

from evenground.basis.observations import RECORD_KINDS
from evenground.basis.plan import Plan
from evenground.basis.record import models_in
from evenground.report.document import Bullets, Fact, Facts, Figure, Heading, Note, Paragraph, Part, Photos, Table

FILES = r"(?:docs/[\w-]+\.md|(?:basis/|records/)?\w+\.(?:geojson|toml|csv))"
_BRACKET = re.compile(r"\s*\((?P<inside>[^()]+)\)")
_COMMAND = re.compile(r"'?evenground [a-z][a-z -]*'?")
_HOLDS_FILE = re.compile(rf"(?:^|.* (?:in|of) ){FILES}")
_NAME = re.compile(r"[a-z]\w*(?:\.[a-z]\w*)*")
_JOINED = re.compile(r", | or | and ")


def for_readers(text: str) -> str:
    """Leave out brackets that hold only names of keys, files or commands.

    Parameters
    ----------
    text : str
        A sentence of the core. Other brackets, and what people wrote in theirs, stay.

    Examples
    --------
    >>> for_readers("Name soil zones in the plan (soil.zones), or draw them.")
    'Name soil zones in the plan, or draw them.'
    >>> for_readers("judgement (docs/compare.md)"), for_readers("nothing is known (sandy knoll)")
    ('judgement', 'nothing is known (sandy knoll)')
    """
    return _BRACKET.sub(lambda found: "" if _for_the_command_line(found["inside"]) else found[0], text)


def _for_the_command_line(inside: str) -> bool:
    if _COMMAND.fullmatch(inside) or _HOLDS_FILE.fullmatch(inside):
        return True
    first = inside.removeprefix("event ")
    name = _NAME.match(first)
    if name is not None and is_key(name[0]) and first[name.end() :].startswith((" = ", ", with ")):
        return True
    return all(is_key(part) for part in _JOINED.split(inside))


def is_key(word: str) -> bool:
    """Whether a word is a name that only files know; plain words such as "soil" are not.

    Parameters
    ----------
    word : str
        A word, or several joined by dots.
    """
    if "_" not in word and "." not in word:
        return False
    return _NAME.fullmatch(word) is not None and set(word.split(".")) <= _names()


@functools.cache
def _names() -> frozenset[str]:
    """Every name in plan and records, and the choices that go with them."""
    kinds = (name for kind in RECORD_KINDS.values() for name in (*kind.model_fields, *_choices(kind)))
    return frozenset({*_names_in(Plan), *RECORD_KINDS, *kinds})


def _names_in(model: type[BaseModel]) -> Iterator[str]:
    for name, field in model.model_fields.items():
        yield name
        for inner in models_in(field.annotation):
            yield from _names_in(inner)


def _choices(model: type[BaseModel]) -> Iterator[str]:
    """Give the words in quotes in the types of a record's fields, such as those of an event."""
    for field in model.model_fields.values():
        yield from re.findall(r"'([a-z_]+)'", repr(field.annotation))


def parts_for_readers(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Return the parts of a document with all their sentences as readers get them.

    Parameters
    ----------
    parts : iterable of Part
        As the core says them.
    """
    return tuple(with_texts(part, for_readers) for part in parts)


def with_texts(part: Part, said: Callable[[str], str]) -> Part:
    """Return a part with each of its sentences put through a function.

    Parameters
    ----------
    part : Part
        Any part of a document.
    said : callable
        Gets a text, returns it as it is to stand there.
    """
    new: dict[str, Any] = {}
    if isinstance(part, Heading | Paragraph):
        new = {"text": said(part.text)}
    elif isinstance(part, Note):
        new = {"label": said(part.label), "text": said(part.text)}
    elif isinstance(part, Facts):
        new = {"rows": tuple(Fact(said(row.label), said(row.text)) for row in part.rows)}
    elif isinstance(part, Bullets):
        new = {"items": tuple(said(item) for item in part.items)}
    elif isinstance(part, Table):
        rows = tuple(tuple(said(cell) for cell in row) for row in part.rows)
        new = {"caption": said(part.caption), "rows": rows, "note": said(part.note)}
    elif isinstance(part, Figure):
        new = {"alt": said(part.alt), "caption": said(part.caption)}
    elif isinstance(part, Photos):
        shown = tuple(tuple(replace(p, alt=said(p.alt), caption=said(p.caption)) for p in row) for row in part.rows)
        new = {"caption": said(part.caption), "rows": shown, "note": said(part.note)}
    return replace(part, **new)
