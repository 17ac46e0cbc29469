"""The base of all records that are checked at the door: frozen, strict about what a number may be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

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


def limits_text(model: type[BaseModel], location: tuple[str | int, ...]) -> str:
    """Say both limits of the field at a location ("0.05 to 2"), or "" where it has none.

    Parameters
    ----------
    model : type
        The record class that was being filled.
    location : tuple
        Where in it, as pydantic reports it.
    """
    if not location or not isinstance(location[-1], str) or location[-1] not in model.model_fields:
        return ""
    low = high = None
    for mark in model.model_fields[location[-1]].metadata:
        low = getattr(mark, "ge", getattr(mark, "gt", low))
        high = getattr(mark, "le", getattr(mark, "lt", high))
    return f"{low} to {high}" if low is not None and high is not None else ""


def problems_of(
    error: ValidationError, *, file: str, row: int | None = None, model: type[BaseModel] | None = None
) -> list[Problem]:
    """Turn a validation error into problem records, one each.

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
    out = []
    for item in error.errors():
        kind, context = item["type"], item.get("ctx", {})
        cause = context.get("error")
        if isinstance(cause, Contradictions):
            out += [Problem(file, row, field, given, allowed, text) for field, given, allowed, text in cause.faults]
            continue
        if kind in _PLAIN:
            allowed, message = _PLAIN[kind]
        elif kind in _ALLOWED:
            key, form = _ALLOWED[kind]
            allowed, message = form.format(context.get(key, "")), "this is outside what is possible."
        else:
            allowed, message = str(context.get("allowed", "")), str(context.get("error", item["msg"]))
        if model is not None:
            allowed = limits_text(model, item["loc"]) or allowed
        given = "" if kind == "missing" else item["input"]
        if isinstance(given, Mapping | list | tuple):
            given = ""
        out.append(Problem(file, row, path_text(item["loc"]), str(given), allowed, message))
    return out


def with_changes(record: Record, **changes: Any) -> Any:  # noqa: ANN401 - returns the type it was given
    """Return a copy of a record with some fields changed, validated again.

    Raises
    ------
    pydantic.ValidationError
        If the changed record is not allowed.
    """
    return type(record).model_validate({**dict(record), **changes})
