"""Strips typed in one line each: what a form sends, read with all faults said at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.plan import Plan
from evenground.layout.said_draw import SaidStrip

MOST_ROWS = 60
HA_M2 = 10_000.0
FIELDS = ("block", "method", "weight", "width_m", "length_m", "area_ha", "dry_matter_percent")
LIMITS = {
    "weight": (0.001, 80_000.0),
    "width_m": (0.5, 60.0),
    "length_m": (5.0, 5000.0),
    "area_ha": (0.003, 50.0),
    "dry_matter_percent": (8.0, 99.0),
}


@dataclass
class TypedRow:
    """One line: what was typed, and what is wrong with it."""

    number: int
    values: dict[str, str]
    problems: list[Problem] = field(default_factory=list)

    @property
    def empty(self) -> bool:
        """Whether nothing was measured in it."""
        return not any(self.values.get(n, "").strip() for n in ("weight", "width_m", "length_m", "area_ha"))

    def has(self, name: str) -> bool:
        """Whether something was typed into a cell."""
        return bool(self.values.get(name, "").strip())

    def number_of(self, name: str) -> float | None:
        """Return a number, with a comma or a point; None where it is none, with the problem kept."""
        low, high = LIMITS[name]
        text = self.values.get(name, "").strip()
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            allowed = _("%(low)g to %(high)g") % {"low": low, "high": high}
            words = _("a number is missing or out of range.")
            self.problems.append(problem(words, row=self.number, field=name, given=text, allowed=allowed))
            return None
        return value


def typed_rows(given: Mapping[str, str]) -> list[TypedRow]:
    """Read the lines a form sent; lines in which nothing was measured are left out at the end."""
    rows = []
    for i in range(1, MOST_ROWS + 1):
        if f"{i}-method" not in given:
            break
        rows.append(TypedRow(i, {n: given.get(f"{i}-{n}", "")[:40] for n in FIELDS}))
    return rows


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
        if width is not None and length is not None and not row.problems:
            out.append(SaidStrip(int(block), method, width, length))
        problems += row.problems
    if not rows:
        problems.append(problem(_("no strip is filled in."), field="weight"))
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
            allowed = ", ".join(plan.letters)
            words = _("there is no such method.")
            row.problems.append(problem(words, row=row.number, field="method", given=letter, allowed=allowed))
        out.append(letter)
    return out


def _faults(plan: Plan, row: TypedRow, method: str, block: str) -> Iterator[Problem]:
    if method not in plan.letters:
        allowed = ", ".join(plan.letters)
        yield problem(_("there is no such method."), row=row.number, field="method", given=method, allowed=allowed)
    if not block.isdecimal() or not 1 <= int(block) <= 99:
        yield problem(_("blocks are numbered from 1."), row=row.number, field="block", given=block, allowed="1 to 99")
