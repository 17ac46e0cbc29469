"""Entry forms made from the record classes: every kind has one, and a new field or kind needs no work here.

What was typed goes through the reader of tables, so that numbers and dates are understood alike everywhere.
"""

from __future__ import annotations

import csv
import io
import re
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from types import NoneType
from typing import Literal, get_args, get_origin

from django.utils.translation import gettext as _
from pydantic_core import PydanticUndefined

from evenground.adapters.number_style import NumberStyle, find_style, words
from evenground.adapters.record_table import field_types, number_fields, read_records
from evenground.adapters.record_writing import cell_text
from evenground.basis.errors import Problem
from evenground.basis.observations import RECORD_KINDS, Observation, Weighing
from evenground.basis.record import limits_text
from evenground.harvest.slips import LIGHTEST_LOADED_KG
from evenground.web.record_words import HELP, Words, choice_words, field_words, unit_words

HIDDEN = ("id", "replaces")
ASIDE = ("who", "note", "lon", "lat")
MOST_ROWS = 30

How = Literal["number", "whole", "text", "long", "choice", "yes", "day", "moment"]


@dataclass(frozen=True)
class Entry:
    """One field of a form.

    Attributes
    ----------
    name : str
        As in the record.
    label, unit, help : str
        What the page says.
    how : str
        Which control it is.
    choices : tuple
        Value and words, for ``choice``.
    required : bool
        Whether it must be filled in.
    limits : str
        Limits of a number, in words.
    default : str
        What stands in an empty form.
    """

    name: str
    label: Words
    unit: Words
    help: Words
    how: How
    choices: tuple[tuple[str, Words], ...]
    required: bool
    limits: str
    default: str


@dataclass(frozen=True)
class Cell:
    """A field with what is typed in it and what is wrong with that."""

    entry: Entry
    name: str
    value: str
    problems: tuple[Problem, ...] = ()


@dataclass
class Row:
    """One record as it is typed.

    Attributes
    ----------
    kind : str
        Kind of record.
    key : str
        Beginning of the names of its controls.
    values : dict
        Field to text.
    problems : list
        What is wrong with it.
    """

    kind: str
    key: str
    values: dict[str, str]
    problems: list[Problem] = field(default_factory=list)

    def cells(self, names: Iterable[str] | None = None) -> list[Cell]:
        """Return its fields, all or the named ones."""
        wanted = None if names is None else list(names)
        every = {e.name: e for e in entries(self.kind)}
        order = list(every) if wanted is None else [n for n in wanted if n in every]
        return [self._cell(every[n]) for n in order]

    @property
    def main(self) -> list[Cell]:
        """The fields of the kind itself, required ones first."""
        cells = [c for c in self.cells() if c.entry.name not in ASIDE]
        return sorted(cells, key=lambda c: not c.entry.required)

    @property
    def aside(self) -> list[Cell]:
        """Who, where and the note."""
        return [c for c in self.cells() if c.entry.name in ASIDE]

    @property
    def other_problems(self) -> list[Problem]:
        """What is wrong with it beyond single fields."""
        names = {e.name for e in entries(self.kind)}
        return [p for p in self.problems if _first(p.field) not in names]

    @property
    def id(self) -> str:
        """The id its record will have."""
        return self.values.get("id", "")

    @property
    def is_empty(self) -> bool:
        """Whether nobody typed anything in it: everything is as in an empty form."""
        return all(
            self.values.get(e.name, "") in ("", e.default) for e in entries(self.kind) if e.name not in ("time", "who")
        )

    def _cell(self, entry: Entry) -> Cell:
        problems = tuple(p for p in self.problems if _first(p.field) == entry.name)
        return Cell(entry, f"{self.key}-{entry.name}", self.values.get(entry.name, ""), problems)


def _first(path: str) -> str:
    return re.split(r"[.\[]", path)[0]


def entries(kind: str) -> tuple[Entry, ...]:
    """Return the fields of the form for a kind of record, in its order.

    Parameters
    ----------
    kind : str
        A key of ``RECORD_KINDS``.
    """
    model = RECORD_KINDS[kind]
    return tuple(_entry(model, name) for name in model.model_fields if name not in HIDDEN)


def _entry(model: type[Observation], name: str) -> Entry:
    info = model.model_fields[name]
    choices = tuple((c, choice_words(c)) for c in _literals(info.annotation))
    default = "" if info.default in (None, PydanticUndefined) else cell_text(info.default)
    how = _how(model, name, bool(choices))
    return Entry(
        name=name,
        label=field_words(name),
        unit=unit_words(name),
        help=HELP.get(name, ""),
        how=how,
        choices=choices,
        required=info.is_required(),
        limits=limits_text(model, (name,)) if how in ("number", "whole") else "",
        default="" if how == "yes" else default,
    )


def _literals(annotation: object) -> tuple[str, ...]:
    """Return the words a field may be, such as those of ``Literal["cm", "m"] | None``."""
    if get_origin(annotation) is Literal:
        return tuple(str(v) for v in get_args(annotation))
    return tuple(v for part in get_args(annotation) for v in _literals(part))


def _how(model: type[Observation], name: str, chosen: bool) -> How:
    types = field_types(model, name) - {NoneType} if not chosen else set()
    if chosen:
        return "choice"
    if name in ("note", "readings"):
        return "long"
    by_type: tuple[tuple[type, How], ...] = (
        (bool, "yes"),
        (datetime, "moment"),
        (date, "day"),
        (float, "number"),
        (int, "whole"),
    )
    return next((how for kind, how in by_type if kind in types), "text")


def empty_row(kind: str, key: str, *, now: datetime, who: str = "", values: Mapping[str, str] | None = None) -> Row:
    """Return an empty form with its defaults and an id of its own.

    Parameters
    ----------
    kind, key : str
        As in `Row`.
    now : datetime
        Local time of the farm, for the time.
    who : str
        Name of the person at the page.
    values : mapping or None
        What stands in it already.
    """
    filled = {e.name: e.default for e in entries(kind)}
    filled |= {"time": f"{now:%Y-%m-%dT%H:%M}", "who": who, "id": new_id(), "replaces": ""}
    return Row(kind, key, {**filled, **(values or {})})


def new_id() -> str:
    """Return an id for a record that is entered at this page."""
    return f"w-{uuid.uuid4()}"


def correction_row(record: Observation, key: str, *, who: str = "") -> Row:
    """Return a form filled with a record, for one that replaces it."""
    values = {n: cell_text(v) for n, v in record}
    values |= {n: "true" if v else "" for n, v in record if isinstance(v, bool)}
    values |= {"id": new_id(), "replaces": record.id, "who": who or record.who}
    return Row(type(record).kind, key, values)


def typed_row(kind: str, key: str, posted: Mapping[str, str]) -> Row:
    """Return the row that was sent under a key."""
    names = [*HIDDEN, *(e.name for e in entries(kind))]
    return Row(kind, key, {n: posted.get(f"{key}-{n}", "").strip() for n in names})


def read_rows(rows: Sequence[Row]) -> list[Observation]:
    """Turn rows of one kind into records; what is wrong is left with each row and nothing is returned for it.

    Parameters
    ----------
    rows : sequence of Row
        As typed; their ``problems`` are filled in.

    Returns
    -------
    list of Observation
        One for each sound row, in order.
    """
    if not rows:
        return []
    kind = rows[0].kind
    names = list(RECORD_KINDS[kind].model_fields)
    styles = [_style(row) for row in rows]
    out: list[Observation] = []
    for row, (style, open_cells) in zip(rows, styles, strict=True):
        row.problems = list(open_cells)
        text = io.StringIO(newline="")
        writer = csv.writer(text)
        writer.writerow(names)
        writer.writerow([" ".join(row.values.get(n, "").split()) for n in names])
        read = read_records(text.getvalue().encode(), kind, file="", number_style=style, date_style="YYYY-MM-DD")
        wrong = {p.field for p in open_cells}
        row.problems += [replace(p, row=None) for p in read.problems if p.field not in wrong]
        row.problems += [p for record in read.records for p in _in_tonnes(record)]
        out += read.records if not row.problems else ()
    return out


def _in_tonnes(record: Observation) -> list[Problem]:
    """Ask at the door whether tonnes were typed where kilograms are asked."""
    if not isinstance(record, Weighing):
        return []
    masses = {"gross_kg": record.gross_kg, "slip_net_kg": record.slip_net_kg, "tare_kg": record.tare_kg}
    small = {n: kg for n, kg in masses.items() if kg is not None and 0.0 < kg < LIGHTEST_LOADED_KG}
    said = _("were tonnes meant? Write %(kg)s kg.")
    return [Problem("", None, n, f"{kg:g}", "kg", said % {"kg": f"{1000.0 * kg:.0f}"}) for n, kg in small.items()]


def _style(row: Row) -> tuple[NumberStyle | None, list[Problem]]:
    """Find how the numbers of a row are written; a cell that can be read in two ways is asked about."""
    numbers = {n: row.values.get(n, "") for n in number_fields(RECORD_KINDS[row.kind])}
    found = find_style(v for v in numbers.values() if v)
    if found.style is not None:
        return found.style, []
    (_first_name, low), (_second_name, high) = found.readings[:2]
    message = _("is this %(low)s or %(high)s? Write it so that it is clear, without a sign between thousands.")
    said = message % {"low": words(low), "high": words(high)}
    name = next(n for n, v in numbers.items() if v.strip() == found.example)
    style = find_style(["1.5"]).style
    return style, [Problem("", None, name, found.example, f"{low:g} / {high:g}", said)]
