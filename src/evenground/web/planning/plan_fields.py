"""Form fields made from the sections of the plan: every key has one, and a new key needs no work here."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from django.utils import formats
from django.utils.translation import gettext as _
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from evenground.adapters.number_style import NumberStyle, find_style, parse_number
from evenground.basis.errors import Problem, problem
from evenground.basis.record import Record, limits_text, models_in
from evenground.basis.units import other_names
from evenground.web.planning.default_sources import comments
from evenground.web.planning.help_words import help_words, limits_words, lines_in_words
from evenground.web.planning.plan_words import Words, choice_of, general, label_of, unit_of

How = Literal["number", "whole", "text", "long", "choice", "yes", "day", "lines", "open"]
"""``open``: a number or one of some words, such as a heading or "best"."""
LONG = 300
MOST_LINES = 60
WAS = "was-"
"""Beginning of the name of the hidden field that keeps what a field said when the page was shown."""
DIGITS = 12


@dataclass(frozen=True)
class PlanField:
    """One key of the plan as a control.

    Attributes
    ----------
    path : str
        Key path, such as ``layout.headland_m`` or ``methods[1].name``.
    label, unit, help : str
        What the page says; the help names where a default comes from.
    how : str
        Which control it is.
    choices : tuple
        Value and words.
    required : bool
        Whether it has to be filled in.
    limits : str
        Limits of a number, in words.
    longest : int
        Longest text [1]; 0 where there is no limit.
    default : str or None
        What the default reads; None where there is no default, "" where the default is nothing.
    text : str
        What the control shows.
    was : str
        What it showed when the page was made.
    numbers : tuple of type
        Number types an entry may be, for lists and ``open``.
    problems : tuple of Problem
        What is wrong with it.
    """

    path: str
    label: Words
    unit: Words
    help: str
    how: How
    choices: tuple[tuple[str, Words], ...]
    required: bool
    limits: str
    longest: int
    default: str | None
    text: str
    was: str
    numbers: tuple[type, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def id(self) -> str:
        """Name for labels: no signs that a selector would trip over."""
        return re.sub(r"\W+", "-", self.path).strip("-")

    @property
    def at_default(self) -> bool:
        """Whether it says what the default says."""
        return self.default is None or self.text == self.default

    @property
    def default_words(self) -> str:
        """The default as a page shows it; "" where it is nothing."""
        if self.how == "yes":
            return _("no") if not self.default else _("yes")
        known = dict(self.choices)
        return str(known.get(self.default or "", self.default or "")).replace("\n", "; ")


def fields_of(
    model: type[Record], prefix: str, value: Record | None, currency: str, more: Mapping[str, tuple[str, ...]]
) -> tuple[PlanField, ...]:
    """Return the fields of a section or of an entry of a list, records inside included, lists of records not.

    Parameters
    ----------
    model : type
        The record class.
    prefix : str
        Its key path.
    value : Record or None
        What it says now; None for a new one.
    currency : str
        Shown where the unit is money.
    more : mapping
        Key path without entry numbers to the values it may take, for keys that name something else of the plan.
    """
    return tuple(_fields(model, prefix, value, currency, more))


def _fields(
    model: type[Record], prefix: str, value: Record | None, currency: str, more: Mapping[str, tuple[str, ...]]
) -> Iterator[PlanField]:
    for name, info in model.model_fields.items():
        path = f"{prefix}.{name}"
        inner = models_in(info.annotation)
        if inner and _is_list(info.annotation):
            continue
        now = info.get_default() if value is None else getattr(value, name)
        if inner:
            there = now if isinstance(now, Record) else None
            yield from _fields(inner[0], path, there, currency, more)  # type: ignore[arg-type]
        else:
            yield _field(model, info, path, None if now is PydanticUndefined else now, currency, more)


def _is_list(annotation: object) -> bool:
    return get_origin(annotation) is tuple or any(_is_list(part) for part in get_args(annotation))


def _field(
    model: type[Record], info: FieldInfo, path: str, now: object, currency: str, more: Mapping[str, tuple[str, ...]]
) -> PlanField:
    name = path.rsplit(".", 1)[-1]
    words, numbers, optional = _words(info.annotation), _numbers(info.annotation), _may_be_none(info.annotation)
    longest = next((m.max_length for m in _marks(info) if getattr(m, "max_length", None)), 0)
    how = _how(info.annotation, words, numbers, longest)
    choices = tuple((w, choice_of(w)) for w in words) if how in ("choice", "lines") else ()
    if how in ("text", "choice") and general(path) in more:
        how, choices = "choice", tuple((v, v) for v in more[general(path)])
    listed = choices if how == "lines" else ()
    if how == "choice" and optional:
        choices = (("", _("not said")), *choices)
    default = None if info.is_required() else lines_in_words(shown(info.get_default(), how), listed)
    text = lines_in_words(shown(now, how), listed)
    label, unit = label_of(path), unit_of(path, currency)
    return PlanField(
        path=path,
        label=label,
        unit=unit,
        help=help_words(comments().get(general(path), ""), label, unit, choices),
        how=how,
        choices=choices,
        required=info.is_required() and how != "yes",
        limits=limits_words(limits_text(model, (name,))) if how in ("number", "whole", "open") else "",
        longest=longest if how in ("text", "long") else 0,
        default=default,
        text=text,
        was=text,
        numbers=numbers,
    )


def _how(annotation: object, words: tuple[str, ...], numbers: tuple[type, ...], longest: int) -> How:
    types = set(_plain(annotation))
    if _is_list(annotation):
        return "lines"
    if bool in types:
        return "yes"
    if words:
        return "open" if numbers else "choice"
    if date in types:
        return "day"
    if numbers:
        return "number" if float in numbers else "whole"
    return "long" if longest > LONG else "text"


def _plain(annotation: object) -> Iterator[type]:
    if isinstance(annotation, type):
        yield annotation
    elif get_origin(annotation) is not Literal:
        for part in get_args(annotation):
            yield from _plain(part)


def _words(annotation: object) -> tuple[str, ...]:
    if get_origin(annotation) is Literal:
        return tuple(str(v) for v in get_args(annotation))
    return tuple(v for part in get_args(annotation) for v in _words(part))


def _numbers(annotation: object) -> tuple[type, ...]:
    return tuple(dict.fromkeys(t for t in _plain(annotation) if t in (int, float)))


def _may_be_none(annotation: object) -> bool:
    return NoneType in set(_plain(annotation))


def _marks(info: FieldInfo) -> Iterable[Any]:
    yield from info.metadata
    for part in get_args(info.annotation):
        yield from getattr(part, "__metadata__", ())


def shown(value: object, how: How) -> str:
    """Return a value as a control shows it: decimal sign of the reader's language, no sign between thousands.

    Parameters
    ----------
    value : object
        As in the plan; None is nothing.
    how : str
        The control.
    """
    if value is None:
        return ""
    if how == "yes" or isinstance(value, bool):
        return "true" if value else ""
    if isinstance(value, BaseModel):
        return ""
    if isinstance(value, float):
        return f"{value:.{DIGITS}g}".replace(".", str(formats.get_format("DECIMAL_SEPARATOR")))
    if isinstance(value, tuple | list):
        return "\n".join(shown(v, "text") for v in value)
    return value.isoformat() if isinstance(value, date) else str(value)


# What was typed ---------------------------------------------------------------------------------------------------


def typed_into(fields: Iterable[PlanField], posted: Mapping[str, str]) -> tuple[PlanField, ...]:
    """Return the fields with what was typed into them.

    Parameters
    ----------
    fields : iterable of PlanField
        As the plan says it now.
    posted : mapping
        Key path to text; a field that was not sent keeps its text, a box that was not ticked is empty.
    """
    out = []
    for one in fields:
        was = posted.get(f"{WAS}{one.path}")
        if was is None:
            out.append(one)
            continue
        text = posted.get(one.path, "").replace("\r\n", "\n").strip()
        out.append(replace(one, text=text, was=was.replace("\r\n", "\n")))
    return tuple(out)


def read_changes(fields: Iterable[PlanField]) -> tuple[dict[str, object], list[Problem]]:
    """Return what was changed, ready for the plan.

    Parameters
    ----------
    fields : iterable of PlanField
        With what was typed; untouched fields are passed over, so that what somebody else changed meanwhile stays.

    Returns
    -------
    changes : dict
        Key path to value; None takes the key out.
    problems : list of Problem
        Numbers that can be read in two ways.
    """
    touched = [f for f in fields if f.text != f.was]
    style, problems = _style_of(touched)
    return {f.path: _value(f, style) for f in touched}, problems


def _style_of(touched: Iterable[PlanField]) -> tuple[NumberStyle, list[Problem]]:
    """Find how the numbers that were typed are written; what can be read in two ways is asked about."""
    cells = [(f.path, cell.strip()) for f in touched if f.numbers for cell in f.text.split("\n") if cell.strip()]
    found = find_style(cell for _path, cell in cells)
    if found.style is not None:
        return found.style, []
    said = " / ".join(f"{value:g}" for _style, value in found.readings)
    path = next((p for p, cell in cells if cell == found.example), "")
    text = _("this number can be read in two ways; write it without a sign between thousands.")
    style = find_style(["1.5"]).style
    assert style is not None  # the example decides it
    return style, [problem(text, field=path, given=found.example, allowed=said)]


def _value(one: PlanField, style: NumberStyle) -> object:
    """Return what was typed as a value of the plan; what is no number stays text, and the plan refuses it."""
    if one.how == "yes":
        return one.text == "true"
    if not one.text:
        # Text keeps its line with the note behind it; what has no default is taken out.
        return "" if one.how in ("text", "long") and one.default is not None else None
    if one.how == "lines":
        values = {str(words).casefold(): value for value, words in one.choices}
        lines = [line.strip() for line in one.text.split("\n") if line.strip()][:MOST_LINES]
        entries = [values.get(line.casefold(), line) for line in lines]
        return [_number(entry, one.numbers, style) if one.numbers else entry for entry in entries]
    if one.how in ("number", "whole", "open"):
        return _number(one.text, one.numbers, style)
    if one.how == "day":
        return _day(one.text)
    return one.text


def _number(text: str, numbers: tuple[type, ...], style: NumberStyle) -> object:
    try:
        value = parse_number(text, style)
    except ValueError:
        return text
    return int(value) if float not in numbers and value == int(value) else value


def _day(text: str) -> object:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return text


def to_default(one: PlanField, model_default: object) -> object:
    """Return the value that brings a field back to its default; None takes the key out.

    Parameters
    ----------
    one : PlanField
        The field.
    model_default : object
        The default of the record class.
    """
    if model_default is None or one.default is None:
        return None
    return list(model_default) if isinstance(model_default, tuple) else model_default


def default_of(model: type[Record], path: Iterable[str]) -> object:
    """Return the default of a key of a record class.

    Parameters
    ----------
    model : type
        The class.
    path : iterable of str
        Names of the keys down to it.
    """
    here: type[BaseModel] = model
    default: object = None
    for name in path:
        info = here.model_fields[name]
        default = None if info.is_required() else info.get_default(call_default_factory=True)
        inner = models_in(info.annotation)
        here = inner[0] if inner else here
    return default


def with_problems(
    fields: Iterable[PlanField], problems: Iterable[Problem]
) -> tuple[tuple[PlanField, ...], list[Problem]]:
    """Put each problem beside its field.

    Returns
    -------
    fields : tuple of PlanField
        With their problems.
    others : list of Problem
        Problems of no field here.
    """
    every, left = list(fields), list(problems)
    out = []
    for one in every:
        mine = [p for p in left if _about(p.field, one.path)]
        left = [p for p in left if p not in mine]
        out.append(replace(one, problems=tuple(mine)))
    return tuple(out), left


def _about(field: str, path: str) -> bool:
    """Whether a problem's field is this key, an entry of it, or the same key in another unit."""
    return field.startswith((f"{path}[", f"{path}.")) or field in (path, *other_paths(path))


def other_paths(path: str) -> tuple[str, ...]:
    """Return the key paths under which the same may stand in another unit."""
    parent, _dot, name = path.rpartition(".")
    return tuple(f"{parent}.{other}" for other in other_names(name))
