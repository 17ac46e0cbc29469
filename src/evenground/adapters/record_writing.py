"""Records written as CSV: in the columns, units and number style a file has, and nothing lost."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

from evenground.adapters.number_style import PLAIN, NumberStyle, close_reading, format_number
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import RECORD_KINDS, Observation
from evenground.basis.units import Unit, convert, other_names, split_name

_COMMAND = re.compile(r"'*[=+\-@\t\r]")


def harmless(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would run as a formula; `as_meant` takes it off again.

    A table of records is opened in a spreadsheet by people who did not write it: a note that begins with ``=`` must
    stay a note there. Text that begins with apostrophes before such a sign gets one more, so that nothing is lost.

    Parameters
    ----------
    text : str
        What a cell is to say.

    Examples
    --------
    >>> harmless("=1+1"), harmless("- wet spot"), harmless("wet"), as_meant(harmless("'=1"))
    ("'=1+1", "'- wet spot", 'wet', "'=1")
    """
    return f"'{text}" if _COMMAND.match(text) else text


def as_meant(text: str) -> str:
    """Return what `harmless` was given; other text as it is.

    Parameters
    ----------
    text : str
        A cell.
    """
    return text[1:] if text.startswith("'") and _COMMAND.match(text) else text


def cell_text(value: object, style: NumberStyle = PLAIN) -> str:
    """Write one value as a cell that reads back to the same value."""
    if value is None:
        return ""
    if isinstance(value, float):
        return format_number(value, style)
    if isinstance(value, date):  # a datetime is one too
        return value.isoformat()
    if isinstance(value, tuple):
        return "+".join(str(v) for v in value)
    return str(value)


def number_in_unit(value: float, own: Unit, unit: Unit, style: NumberStyle = PLAIN) -> str:
    """Write a number in another unit with just enough digits to read back to the same float.

    Parameters
    ----------
    value : float
        Number in ``own``.
    own, unit : Unit
        Unit of the field and unit of the column.
    style : NumberStyle
        How the file writes numbers.

    Raises
    ------
    ValueError
        If it would take more than 40 digits: only for temperatures within a billionth of zero.
    """
    exact = convert(Fraction(value), own, unit)
    for digits in range(6, 40):
        text = _decimal_text(exact, digits)
        if float(convert(Fraction(text), unit, own)) == value:
            return close_reading(text.replace(".", style.decimal))
    raise ValueError(f"{value!r} cannot be written in {unit.words}.")


def _decimal_text(value: Fraction, digits: int) -> str:
    """Round a fraction to a number of significant digits, without going through float."""
    with localcontext(prec=digits, rounding=ROUND_HALF_EVEN):
        rounded = (Decimal(value.numerator) / Decimal(value.denominator)).normalize()
        return f"{rounded:f}" if rounded.adjusted() > -7 else str(rounded)


def rows_text(
    records: Sequence[Observation],
    columns: Sequence[str],
    *,
    delimiter: str = ",",
    style: NumberStyle = PLAIN,
    line_end: str = "\n",
    header: bool = True,
) -> str:
    """Write records as lines of a table with these columns, each in the unit its name says.

    Raises
    ------
    InputError
        If a record says something for which there is no column: nothing is dropped silently.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter, lineterminator=line_end)
    if header:
        writer.writerow(columns)
    kinds = {type(r) for r in records}
    origin = {c: (name, unit) for m in kinds for name in m.model_fields for c, unit in _names(name) if c in columns}
    problems = [p for r in records for p in _lost(r, {n for n, _ in origin.values()})]
    if problems:
        raise InputError(dict.fromkeys(problems))
    for record in records:
        writer.writerow([_cell(record, *origin[c], style) if c in origin else "" for c in columns])
    return out.getvalue()


def _names(name: str) -> list[tuple[str, Unit | None]]:
    return [(name, None), *other_names(name).items()]


def _cell(record: Observation, name: str, unit: Unit | None, style: NumberStyle) -> str:
    value, own = getattr(record, name), split_name(name)[1]
    if unit is None or own is None or value is None:
        return harmless(value) if isinstance(value, str) else cell_text(value, style)
    try:
        return number_in_unit(float(value), own, unit, style)
    except ValueError as error:
        file = f"records/{type(record).kind}.csv"
        raise InputError([problem(str(error), file=file, field=name, given=value, allowed=unit.words)]) from error


def _lost(record: Observation, there: set[str]) -> list[Problem]:
    kind = type(record).kind
    return [
        problem(
            "the file has no column for this; add its name to the header line.",
            file=f"records/{kind}.csv",
            row=1,
            field=name,
            given=cell_text(value),
            allowed="a column " + name,
        )
        for name, value in record
        if name not in there and value != type(record).model_fields[name].get_default()
    ]


def canonical_columns(kind: str, units: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Name the columns of a new file of this kind, with units of the user's own where wanted.

    Parameters
    ----------
    kind : str
        A key of ``RECORD_KINDS``.
    units : mapping or None
        Field to the unit it is written in, such as ``{"gross_kg": "lb"}``.

    Raises
    ------
    ValueError
        If a unit does not measure what the field holds.
    """
    out = []
    for name in RECORD_KINDS[kind].model_fields:
        unit = (units or {}).get(name)
        wanted = name if unit is None or name.endswith("_" + unit) else f"{split_name(name)[0]}_{unit}"
        if wanted != name and wanted not in other_names(name):
            raise ValueError(f"{name} cannot be written in {unit}.")
        out.append(wanted)
    return tuple(out)
