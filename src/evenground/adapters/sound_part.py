"""The sound part of a trial folder: what can be used while some lines are wrong, so that a day goes on."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from evenground.adapters.folder_reading import FolderRead, read_folder
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.canonical import plan_hash, records_hash
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import Records, records_of
from evenground.basis.store import Stored
from evenground.basis.strip import Draw

# A line of these that cannot be read leaves open what its strips gave.
DECIDING = ("loads", "events", "cut_areas")


@dataclass(frozen=True)
class SoundPart:
    """What a folder holds without its faulty lines.

    Attributes
    ----------
    stored : Stored
        Plan, draws and sound records.
    draw : Draw
        The draw that counts.
    problems : tuple of Problem
        What is wrong with the rest.
    unread : tuple of int
        Strips that a faulty line speaks of.
    """

    stored: Stored
    draw: Draw
    problems: tuple[Problem, ...]
    unread: tuple[int, ...]


def sound_part(path: Path) -> SoundPart:
    """Read a trial folder and leave out the lines that are wrong.

    Parameters
    ----------
    path : Path
        The folder; it holds a plan file.

    Raises
    ------
    InputError
        If the plan, the field or the strips are wrong or not there, or a file of records is no table at all.
    """
    read = read_folder(TrialFolder(path).path)
    of_lines = [p for p in read.problems if _line(read, p) is not None]
    if read.plan.plan is None or len(of_lines) < len(read.problems):
        raise InputError(read.problems)
    plan, records = read.plan.plan, _sound(read)
    stored = Stored(plan, read.field, read.draws, records, plan_hash(plan), records_hash(records))
    if stored.draw is None:
        text = "no strips are drawn yet; 'evenground layout' draws them."
        raise InputError([problem(text, file="strips.geojson", allowed="a drawn trial")])
    return SoundPart(stored, stored.draw, read.problems, _unread(read))


def _line(read: FolderRead, fault: Problem) -> tuple[str, int] | None:
    """Return the kind of record and the line a problem speaks of; None where it is not a line of a table."""
    kind = Path(fault.file).stem
    table = read.tables.get(kind)
    if table is None or table.table.file != fault.file or fault.row is None or fault.row not in table.table.lines:
        return None
    return kind, fault.row


def _faulty(read: FolderRead) -> set[tuple[str, int]]:
    return {line for p in read.problems if (line := _line(read, p)) is not None}


def _sound(read: FolderRead) -> Records:
    faulty = _faulty(read)
    return records_of(
        {
            kind: [r for r, line in zip(table.records, table.lines, strict=True) if (kind, line) not in faulty]
            for kind, table in read.tables.items()
        }
    )


def _unread(read: FolderRead) -> tuple[int, ...]:
    """List the strips named in lines that cannot be used, as far as they can be made out."""
    out: set[int] = set()
    for kind, line in _faulty(read):
        if kind in DECIDING:
            table = read.tables[kind].table
            row = table.rows[table.lines.index(line)]
            out |= {int(n) for n in re.findall(r"\d{1,4}", row.get("strips", ""))}
    return tuple(sorted(out))
