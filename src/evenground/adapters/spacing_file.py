"""One spacing run from a table: tape readings or gaps, in centimetres or metres, of one line or of a twin row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from evenground.adapters.number_style import NumberStyle, exact_number
from evenground.adapters.reading import read_bytes
from evenground.adapters.tables import Table, number_cell, parse_table, style_words
from evenground.basis.errors import InputError, Problem, problem

COLUMNS = {"position_cm": 100, "position_m": 1, "gap_cm": 100, "gap_m": 1}
"""Column to how many of its unit make a metre."""
LARGEST_TARGET_M, LARGEST_GAP_M, LONGEST_TAPE_M = Fraction(2), Fraction(20), Fraction(1000)
ONE_LINE = ""


@dataclass(frozen=True)
class LineRun:
    """One line of plants.

    Attributes
    ----------
    line : str
        What the file calls it; "" where the file has one line.
    gaps_m : tuple of Fraction
        From plant to plant [m].
    positions_m : tuple of Fraction or None
        Readings of the tape [m]; None where the file holds gaps.
    """

    line: str
    gaps_m: tuple[Fraction, ...]
    positions_m: tuple[Fraction, ...] | None


@dataclass(frozen=True)
class SpacingFile:
    """What a spacing file holds.

    Attributes
    ----------
    column : str
        The column that was read.
    lines : tuple of LineRun
        One line, or the two of a twin row, in order of appearance.
    target_m : Fraction
        Gap the machine was set to [m].
    notes : tuple of str
        What the user should know about how the file was read.
    """

    column: str
    lines: tuple[LineRun, ...]
    target_m: Fraction
    notes: tuple[str, ...]

    @property
    def gaps_m(self) -> tuple[Fraction, ...]:
        """All gaps, line after line [m]."""
        return tuple(g for line in self.lines for g in line.gaps_m)


@dataclass(frozen=True)
class _Reading:
    """One cell: its line in the file, its text, its value in metres."""

    row: int
    text: str
    value_m: Fraction


def read_spacing_file(path: Path, target_m: float, *, number_style: NumberStyle | None = None) -> SpacingFile:
    """Read a table with one of the columns position_cm, position_m, gap_cm, gap_m, and perhaps a column line.

    Parameters
    ----------
    path : Path
        A delimited text table.
    target_m : float
        Gap the machine was set to [m].
    number_style : NumberStyle or None
        How the file writes numbers, where the user has said so.

    Raises
    ------
    InputError
        With every problem found: a tape that goes back, negative gaps, centimetres among metres, a lone reading,
        cells that are no number, a target that cannot be.
    """
    wrong_target = _target_problems(target_m)
    table = parse_table(
        read_bytes(path, path.name), file=path.name, number_style=number_style, number_columns=list(COLUMNS)
    )
    column, problems = _the_column(table)
    if not column:
        raise InputError([*wrong_target, *problems])
    read, faults = _readings(table, column)
    problems += faults
    target = None if wrong_target else Fraction(repr(float(target_m)))
    for line, readings in read.items():
        problems += _line_problems(table.file, column, line, readings, target)
    if problems or target is None:
        raise InputError([*wrong_target, *problems])
    said = style_words(table, [column])
    lines = tuple(_line(line, column, [r.value_m for r in readings]) for line, readings in read.items())
    return SpacingFile(column, lines, target, (*table.notes, *([said] if said else [])))


def _target_problems(target_m: float) -> list[Problem]:
    allowed = f"above 0, at most {float(LARGEST_TARGET_M):g} (metres)"
    if 0.0 < target_m <= LARGEST_TARGET_M:
        return []
    message = "the target gap cannot be this."
    if LARGEST_TARGET_M < target_m <= 100 * LARGEST_TARGET_M:
        message += f" Is it in centimetres? Then write {target_m / 100:g}."
    return [problem(message, field="--target-m", given=f"{target_m:g}", allowed=allowed)]


def _the_column(table: Table) -> tuple[str, list[Problem]]:
    """Find the one column to read."""
    if table.problems and not table.rows:
        return "", list(table.problems)
    there = [c for c in COLUMNS if c in table.columns]
    allowed = "one of " + ", ".join(COLUMNS)
    if not there:
        message = "there is no column with tape readings or gaps."
        return "", [*table.problems, _in_header(table, message, ", ".join(table.columns), allowed)]
    if len(there) > 1:
        message = "the run is given twice; keep one column."
        return "", [*table.problems, _in_header(table, message, ", ".join(there), allowed)]
    if not table.rows:
        return "", [problem("this table has a header but no rows.", file=table.file, allowed="one row a plant")]
    return there[0], list(table.problems)


def _in_header(table: Table, message: str, given: str, allowed: str) -> Problem:
    return problem(message, file=table.file, row=1, given=given, allowed=allowed)


def _readings(table: Table, column: str) -> tuple[dict[str, list[_Reading]], list[Problem]]:
    """Read the cells, line by line of the row."""
    out: dict[str, list[_Reading]] = {}
    problems: list[Problem] = []
    for row, at in zip(table.rows, table.lines, strict=True):
        _, faults = number_cell(table, at, column, row[column])
        problems += faults
        if not faults:
            value = exact_number(row[column], table.style) / COLUMNS[column]
            out.setdefault(row.get("line", ONE_LINE), []).append(_Reading(at, row[column], value))
    if len(out) > 2:
        message = "a row has one line, or two when it is a twin row."
        given = ", ".join(f"line {name}" for name in out)
        problems.append(problem(message, file=table.file, field="line", given=given, allowed="at most two lines"))
    return out, problems


def _line_problems(
    file: str, column: str, line: str, readings: Sequence[_Reading], target: Fraction | None
) -> list[Problem]:
    """List what is wrong with the readings of one line."""
    if len(readings) < 2:
        message = "a lone reading says nothing about spacing" + (f" (line {line})." if line else ".")
        one = readings[0]
        return [problem(message, file=file, row=one.row, field=column, given=one.text, allowed="two readings or more")]
    odd = _in_the_other_unit(column, readings, target) if target is not None else []
    mixed = _mixed_units(file, column, readings, odd)
    # The other checks look at the readings as they were meant, so that one slip is not reported twice.
    times = _to_the_other(column)
    meant = [_Reading(r.row, r.text, r.value_m * times) if r in odd else r for r in readings]
    return mixed + (_tape if column.startswith("position") else _gaps)(file, column, meant)


def _tape(file: str, column: str, readings: Sequence[_Reading]) -> list[Problem]:
    out = []
    for before, here in pairwise(readings):
        gap = here.value_m - before.value_m
        given = f"{here.text} after {before.text}"
        if gap < 0:
            first = readings[0].value_m
            restarts = here.value_m - first < (before.value_m - first) / 4
            message = "the tape starts again here; write this stretch as a run of its own, or use gaps."
            message = message if restarts else "this reading is smaller than the one before it."
            allowed = "readings that rise from plant to plant"
            out.append(problem(message, file=file, row=here.row, field=column, given=given, allowed=allowed))
        elif gap > LARGEST_GAP_M:
            out.append(_too_far(file, column, here.row, given))
    if readings[0].value_m < 0 or max(r.value_m for r in readings) > LONGEST_TAPE_M:
        odd = readings[0] if readings[0].value_m < 0 else max(readings, key=lambda r: r.value_m)
        allowed = f"0 to {_in_column(column, LONGEST_TAPE_M)}"
        out.append(
            problem("no tape reads this.", file=file, row=odd.row, field=column, given=odd.text, allowed=allowed)
        )
    return out


def _gaps(file: str, column: str, readings: Sequence[_Reading]) -> list[Problem]:
    out = []
    for here in readings:
        if here.value_m < 0:
            message = "a gap cannot be negative."
            out.append(problem(message, file=file, row=here.row, field=column, given=here.text, allowed="0 or above"))
        elif here.value_m > LARGEST_GAP_M:
            out.append(_too_far(file, column, here.row, here.text))
    return out


def _too_far(file: str, column: str, row: int, given: str) -> Problem:
    allowed = f"gaps up to {_in_column(column, LARGEST_GAP_M)}"
    return problem(
        "this gap is too long for a spacing run.", file=file, row=row, field=column, given=given, allowed=allowed
    )


def _in_column(column: str, value_m: Fraction) -> str:
    return f"{float(value_m * COLUMNS[column]):g} {column.rsplit('_', 1)[1]}"


def _to_the_other(column: str) -> Fraction:
    """Return what a value becomes when its number is taken for one in the other unit."""
    return Fraction(100) if COLUMNS[column] == 100 else Fraction(1, 100)


def _in_the_other_unit(column: str, readings: Sequence[_Reading], target: Fraction) -> list[_Reading]:
    """Find readings that make sense only in the other unit.

    A reading is called so when the gap it ends cannot be (negative, beyond 25 targets, or, in a column of
    centimetres, below a fortieth of a target) and in the other unit lies between half and two and a half targets.
    """
    times, cm = _to_the_other(column), COLUMNS[column] == 100
    if column.startswith("gap"):
        return [
            r for r in readings if not _makes_sense(r.value_m, target, cm=cm) and _likely(r.value_m * times, target)
        ]
    odd: list[_Reading] = []
    start, first = readings[0].value_m, (readings[1].value_m - readings[0].value_m)
    if not _makes_sense(first, target, cm=cm) and _likely(first * times, target):
        odd += [readings[0]] if start != 0 else []
        start *= times
    for here in readings[1:]:
        as_said, other = here.value_m - start, here.value_m * times - start
        wrong = not _makes_sense(as_said, target, cm=cm) and _likely(other, target)
        odd += [here] if wrong else []
        start = here.value_m * times if wrong else here.value_m
    return odd


def _mixed_units(file: str, column: str, readings: Sequence[_Reading], odd: Sequence[_Reading]) -> list[Problem]:
    """Say which readings look like the other unit; once for the file where all do."""
    said, meant = ("centimetres", "metres") if COLUMNS[column] == 100 else ("metres", "centimetres")
    if odd and len(odd) == sum(1 for r in readings if r.value_m != 0):
        other = column.replace("_cm", "_m") if said == "centimetres" else column.replace("_m", "_cm")
        message = f"all readings look like {meant}, the column says {said}; is it {other}?"
        return [problem(message, file=file, row=1, field=column, given=odd[0].text, allowed=f"readings in {said}")]
    message = f"this looks like {meant} in a column of {said}."
    return [problem(message, file=file, row=r.row, field=column, given=r.text, allowed=said) for r in odd]


def _makes_sense(gap: Fraction, target: Fraction, *, cm: bool) -> bool:
    return gap == 0 or ((target / 40 if cm else 0) <= gap <= 25 * target)


def _likely(gap: Fraction, target: Fraction) -> bool:
    return target / 2 <= gap <= target * 5 / 2


def _line(line: str, column: str, values: Sequence[Fraction]) -> LineRun:
    if column.startswith("gap"):
        return LineRun(line, tuple(values), None)
    return LineRun(line, tuple(b - a for a, b in pairwise(values)), tuple(values))
