"""The base of all records that are checked at the door: frozen, strict about what a number may be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, get_args

from pydantic import BaseModel, ConfigDict, ValidationError

from evenground.basis.errors import Problem


class Contradictions(ValueError):  # noqa: N818 - several faults, named as such
    """Several faults found at once by one validator; each becomes a problem of its own.

    Attributes
    ----------
    faults : tuple of (field, given, allowed, message)
    """

    def __init__(self, faults: Iterable[tuple[str, str, str, str]]) -> None:
        self.faults = tuple(faults)
        super().__init__(" ".join(fault[3] for fault in self.faults))


class Record(BaseModel):
    """A frozen value object; units stand in the field names, limits in the field declarations.

    Unknown keys are ignored here because trial files may carry notes of their own; the adapter that reads a file
    keeps them and names them.
    """

    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False, str_strip_whitespace=True)


_ALLOWED = {
    "greater_than": ("gt", "above {}"),
    "greater_than_equal": ("ge", "at least {}"),
    "less_than": ("lt", "below {}"),
    "less_than_equal": ("le", "at most {}"),
    "literal_error": ("expected", "one of {}"),
    "enum": ("expected", "one of {}"),
    "string_pattern_mismatch": ("pattern", "text of the form {}"),
    "string_too_short": ("min_length", "at least {} characters"),
    "string_too_long": ("max_length", "at most {} characters"),
    "too_short": ("min_length", "at least {}"),
    "too_long": ("max_length", "at most {}"),
}
_PLAIN = {
    "missing": ("a value", "this is missing."),
    "finite_number": ("a finite number", "this is not a finite number."),
    "float_parsing": ("a number", "this is not a number."),
    "float_type": ("a number", "this is not a number."),
    "int_parsing": ("a whole number", "this is not a whole number."),
    "int_from_float": ("a whole number", "this is not a whole number."),
    "int_type": ("a whole number", "this is not a whole number."),
    "bool_parsing": ("true or false", "this is neither true nor false."),
    "string_type": ("text", "this is not text."),
    "datetime_parsing": ("a date and time such as 2026-09-14T08:30", "this is not a date and time."),
    "datetime_from_date_parsing": ("a date and time such as 2026-09-14T08:30", "this is not a date and time."),
    "datetime_type": ("a date and time such as 2026-09-14T08:30", "this is not a date and time."),
    "date_parsing": ("a date such as 2026-09-14", "this is not a date."),
    "date_from_datetime_parsing": ("a date such as 2026-09-14", "this is not a date."),
    "date_from_datetime_inexact": ("a date such as 2026-09-14", "this is not a date."),
    "date_type": ("a date such as 2026-09-14", "this is not a date."),
    "tuple_type": ("a list", "this is not a list."),
    "model_type": ("a section with keys", "this is not a section."),
    "model_attributes_type": ("a section with keys", "this is not a section."),
}


def path_text(location: Iterable[str | int]) -> str:
    """Write a location as a key path.

    Examples
    --------
    >>> path_text(("methods", 1, "seeds_per_m2"))
    'methods[1].seeds_per_m2'
    """
    out = ""
    for part in location:
        out += f"[{part}]" if isinstance(part, int) else f".{part}" if out else str(part)
    return out


def models_in(annotation: object) -> tuple[type[BaseModel], ...]:
    """List the record classes inside a type, such as ``Method`` in ``tuple[Method, ...]``.

    Parameters
    ----------
    annotation : type
        A type as written at a field.
    """
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return (annotation,)
    return tuple(m for part in get_args(annotation) for m in models_in(part))


def known_place(model: type[BaseModel], location: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Cut a location where the names of fields end and names of types begin.

    Parameters
    ----------
    model : type
        The record class that was being filled.
    location : tuple
        Where in it, as pydantic reports it.
    """
    out: list[str | int] = []
    here: tuple[type[BaseModel], ...] = (model,)
    for part in location:
        field = next((m.model_fields[part] for m in here if part in m.model_fields), None) if here else None
        if isinstance(part, str) and field is None:
            break
        out.append(part)
        here = models_in(field.annotation) if field is not None else here
    return tuple(out)


def limits_text(model: type[BaseModel], location: tuple[str | int, ...]) -> str:
    """Say the limits of the number at a location ("0.05 to 2"), or "" where it has none.

    Parameters
    ----------
    model : type
        The record class that was being filled.
    location : tuple
        Where in it, as pydantic reports it.
    """
    here: tuple[type[BaseModel], ...] = (model,)
    marks: list[object] = []
    for part in (p for p in known_place(model, location) if isinstance(p, str)):
        field = next(m.model_fields[part] for m in here if part in m.model_fields)
        here, marks = models_in(field.annotation), [*field.metadata, *_marks(field.annotation)]
    low = _limit(marks, "ge")
    above = _limit(marks, "gt")
    high = _limit(marks, "le")
    below = _limit(marks, "lt")
    if low and high:
        return f"{low} to {high}"
    first = f"above {above}" if above else f"at least {low}" if low else ""
    last = f"below {below}" if below else f"at most {high}" if high else ""
    return ", ".join(t for t in (first, last) if t)


def _limit(marks: Iterable[object], name: str) -> str:
    """Write the first limit of a name, in digits and never as a power of ten; "" where there is none."""
    value = next((v for m in marks if (v := getattr(m, name, None)) is not None), None)
    return "" if value is None else f"{value:.12g}"


def _marks(annotation: object) -> Iterator[object]:
    """Limits written inside a type, as in ``Annotated[float, Field(ge=0)] | None``."""
    for mark in getattr(annotation, "__metadata__", ()):
        yield from getattr(mark, "metadata", ())
    for part in get_args(annotation):
        yield from _marks(part)


def problems_of(
    error: ValidationError, *, file: str, row: int | None = None, model: type[BaseModel] | None = None
) -> list[Problem]:
    """Turn a validation error into problem records, one for each field.

    Parameters
    ----------
    error : ValidationError
        What pydantic found.
    file : str
        The file the data came from.
    row : int or None
        The line, where the data came from a table.
    model : type or None
        The record class, so that both limits can be said at once.

    Returns
    -------
    list of Problem
    """
    out: list[Problem] = []
    errors = error.errors()
    for item in errors:
        if item["type"] == "too_short" and any(e["loc"][: len(item["loc"])] == item["loc"] != e["loc"] for e in errors):
            continue  # the list is short only because one of its entries is wrong
        place = known_place(model, item["loc"]) if model is not None else item["loc"]
        cause = item.get("ctx", {}).get("error")
        if isinstance(cause, Contradictions):
            for field, given, allowed, text in cause.faults:
                out.append(
                    Problem(file, row, ".".join(t for t in (path_text(place), field) if t), given, allowed, text)
                )
            continue
        allowed, message = _said(item)
        if model is not None and (limits := limits_text(model, place)):
            allowed = f"{limits} or {allowed}" if "one of" in allowed else limits
        given = "" if item["type"] == "missing" or isinstance(item["input"], Mapping | list | tuple) else item["input"]
        one = Problem(file, row, path_text(place), str(given), allowed, message)
        same = [p for p in out if (p.field, p.given) == (one.field, one.given)]
        if same:  # a field that may be of two types is one problem, with the fuller list of what is allowed
            one = Problem(file, row, one.field, one.given, max(same[0].allowed, allowed, key=len), same[0].message)
            out.remove(same[0])
        out.append(one)
    return out


def _said(item: Any) -> tuple[str, str]:  # noqa: ANN401 - pydantic's own error record
    """Say what is allowed and what is wrong for one validation error."""
    kind, context = item["type"], item.get("ctx", {})
    if kind in _PLAIN:
        return _PLAIN[kind]
    if context.get("pattern") == "^[A-Z]$":
        return "one capital letter", "this is not a method letter."
    if kind in _ALLOWED:
        key, form = _ALLOWED[kind]
        return form.format(context.get(key, "")), "this is outside what is possible."
    return str(context.get("allowed", "")), str(context.get("error", item["msg"]))


def with_changes(record: Record, **changes: Any) -> Any:  # noqa: ANN401 - returns the type it was given
    """Return a copy of a record with some fields changed, validated again.

    Raises
    ------
    pydantic.ValidationError
        If the changed record is not allowed.
    """
    return type(record).model_validate({**dict(record), **changes})
