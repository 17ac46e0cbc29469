"""Strips typed in one line each: what a form sends, read with all faults said at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.layout.said_draw import SaidStrip

MOST_ROWS = 60
HA_M2 = 10_000.0
SIZES = ("width_m", "length_m")
FIELDS = ("block", "method", "weight", *SIZES, "area_ha", "dry_matter_percent")
MEASURED = ("weight", *SIZES, "area_ha")
ALL = "all"
"""Beginning of the names of the cells that hold for every line."""
LIMITS = {
    "weight": (0.5, 80_000.0),
    "weight_t": (0.001, 80.0),
    "width_m": (0.5, 60.0),
    "length_m": (5.0, 5000.0),
    "area_ha": (0.0003, 50.0),
    "dry_matter_percent": (8.0, 99.0),
    "extra_cost_per_ha": (-2000.0, 2000.0),
    "value_per_t": (0.0, 5000.0),
    "use_ha": (0.1, 20_000.0),
}
WORDS = {
    "block": gettext_lazy("block"),
    "method": gettext_lazy("method"),
    "weight": gettext_lazy("net weight"),
    "width_m": gettext_lazy("weighed width"),
    "length_m": gettext_lazy("weighed length"),
    "area_ha": gettext_lazy("area"),
    "dry_matter_percent": gettext_lazy("dry matter"),
    "extra_cost_per_ha": gettext_lazy("extra cost"),
    "value_per_t": gettext_lazy("what a tonne is worth"),
    "use_ha": gettext_lazy("hectares"),
}
"""What a page calls its cells."""
_GROUPED = re.compile(r"(?<=\d)[ '\u00a0\u2009\u202f\u2019](?=\d{3})")
_EITHER = re.compile(r"[+-]?\d{1,3}[.,]\d{3}")
_PLAIN = re.compile(r"[+-]?\d{1,9}([.,]\d{1,6})?")


@dataclass
class TypedRow:
    """One line: what was typed, what holds for every line, and what is wrong with it."""

    number: int
    values: dict[str, str]
    problems: list[Problem] = field(default_factory=list)
    shared: dict[str, str] = field(default_factory=dict)

    @property
    def empty(self) -> bool:
        """Whether nothing was measured in it."""
        return not any(self.values.get(n, "").strip() for n in MEASURED)

    def text(self, name: str) -> str:
        """Return what a cell says, its own word before that for every line."""
        return self.values.get(name, "").strip() or self.shared.get(name, "").strip()

    def has(self, name: str) -> bool:
        """Whether something was typed into a cell, or for every line."""
        return bool(self.text(name))

    def fault(self, words: str, name: str, *, given: str, allowed: str) -> None:
        """Keep a problem of a cell."""
        field_words = str(WORDS.get(name, name))
        self.problems.append(problem(words, row=self.number or None, field=field_words, given=given, allowed=allowed))

    def number_of(self, name: str, limits: str = "") -> float | None:
        """Return a number; None where it is none, with the problem kept.

        Parameters
        ----------
        name : str
            The cell.
        limits : str
            Which limits hold, where they are not those of the cell's name.
        """
        text, (low, high) = self.text(name), LIMITS[limits or name]
        fitting = sorted({value for value in readings(text) if low <= value <= high})
        if len(fitting) == 1:
            return fitting[0]
        if fitting:
            words = _("this can be read in two ways; write it without the sign between the thousands.")
            allowed = _("%(small)g or %(large)g") % {"small": fitting[0], "large": fitting[-1]}
        else:
            words = _("a number is missing or out of range.")
            allowed = _("%(low)g to %(high)g") % {"low": low, "high": high}
        self.fault(words, limits if limits in WORDS else name, given=text, allowed=allowed)
        return None


def readings(text: str) -> tuple[float, ...]:
    """Return the numbers a text can mean: none, one, or two where a sign may part thousands or decimals.

    Examples
    --------
    >>> readings("33,5"), readings("8 030"), readings("8.030"), readings("1.234,5"), readings("much")
    ((33.5,), (8030.0,), (8.03, 8030.0), (1234.5,), ())
    """
    bare = _GROUPED.sub("", text.strip())
    if _EITHER.fullmatch(bare) and not re.match(r"[+-]?0", bare):
        return float(bare.replace(",", ".")), float(re.sub("[.,]", "", bare))
    if "." in bare and "," in bare:
        last = max(bare.rfind("."), bare.rfind(","))
        bare = re.sub("[.,]", "", bare[:last]) + "." + bare[last + 1 :]
    return (float(bare.replace(",", ".")),) if _PLAIN.fullmatch(bare) else ()


def typed_rows(given: Mapping[str, str]) -> list[TypedRow]:
    """Read the lines a form sent, with what it says for every line."""
    rows = []
    every = {n: given.get(f"{ALL}-{n}", "")[:40] for n in SIZES}
    for i in range(1, MOST_ROWS + 1):
        if f"{i}-method" not in given:
            break
        row = TypedRow(i, {n: given.get(f"{i}-{n}", "")[:40] for n in FIELDS})
        # Where a line has an area of its own, its length follows from the width.
        row.shared = {"width_m": every["width_m"]} if row.values["area_ha"].strip() else dict(every)
        rows.append(row)
    return rows


def filled(rows: list[TypedRow]) -> list[TypedRow]:
    """Return the lines that count: something was measured in them, or all are alike and the block is filled in."""
    if any(not r.empty for r in rows):
        return [r for r in rows if not r.empty]
    return [r for r in rows if all(r.has(n) for n in SIZES) and r.values["block"].strip()]


def said_strips(plan: Plan, rows: list[TypedRow]) -> list[SaidStrip]:
    """Return the strips of the lines that are filled in.

    Raises
    ------
    InputError
        With every fault of every line.
    """
    out, problems = [], []
    for row in rows:
        width, length = size_m(row)
        method, block = row.values["method"].strip().upper(), row.values["block"].strip()
        problems += list(_faults(plan, row, method, block))
        if width is not None and length is not None and not row.problems and block.isdecimal():
            out.append(SaidStrip(int(block), method, width, length))
        problems += row.problems
    if not rows:
        problems.append(problem(_("no strip is filled in."), field=str(WORDS["weight"])))
    if problems:
        raise InputError(problems)
    return out


def size_m(row: TypedRow) -> tuple[float | None, float | None]:
    """Return width and length of a line [m]; where its area and one of both is given, the other follows."""
    if row.has("area_ha") and row.has("width_m") != row.has("length_m"):
        hectares = row.number_of("area_ha")
        known = "width_m" if row.has("width_m") else "length_m"
        first = row.number_of(known)
        other = hectares * HA_M2 / first if hectares is not None and first is not None else None
        return (first, other) if known == "width_m" else (other, first)
    return row.number_of("width_m"), row.number_of("length_m")


def areas_m2(rows: list[TypedRow]) -> list[float]:
    """Return the weighed area of each line [m2]: in hectares as typed, or width times length; 0 where wrong."""
    out = []
    for row in rows:
        if row.has("area_ha") and not (row.has("width_m") and row.has("length_m")):
            out.append((row.number_of("area_ha") or 0.0) * HA_M2)
        else:
            width, length = row.number_of("width_m"), row.number_of("length_m")
            out.append((width or 0.0) * (length or 0.0))
    return out


def methods_of(plan: Plan, rows: list[TypedRow]) -> list[str]:
    """Return the letter of each line; what is none becomes a problem of the line."""
    out = []
    for row in rows:
        letter = row.values["method"].strip().upper()
        if letter not in plan.letters:
            row.problems.append(_no_such_method(plan, row, letter))
        out.append(letter)
    return out


def _no_such_method(plan: Plan, row: TypedRow, letter: str) -> Problem:
    words = _("there is no such method.")
    field_words = str(WORDS["method"])
    return problem(words, row=row.number, field=field_words, given=letter, allowed=", ".join(plan.letters))


def _faults(plan: Plan, row: TypedRow, method: str, block: str) -> Iterator[Problem]:
    if method not in plan.letters:
        yield _no_such_method(plan, row, method)
    if not block.isdecimal() or not 1 <= int(block) <= 99:
        words, field_words = _("blocks are numbered from 1."), str(WORDS["block"])
        yield problem(
            words,
            row=row.number,
            field=field_words,
            given=block,
            allowed=_("%(low)g to %(high)g") % {"low": 1, "high": 99},
        )
