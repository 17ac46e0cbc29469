"""Reading a trial folder whole: every file, what is wrong in each, and what is wrong between them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from evenground.adapters.geojson import FIELD_FILE, LARGEST_GEOJSON_BYTES, FieldRead, read_field
from evenground.adapters.plan_file import LARGEST_PLAN_BYTES, PLAN_FILE, FileStyle, PlanRead, read_plan
from evenground.adapters.reading import read_bytes
from evenground.adapters.record_table import RecordTable, number_fields, read_records
from evenground.adapters.strips_file import STRIPS_FILE, read_strips
from evenground.adapters.tables import nearest, style_words
from evenground.basis.canonical import plan_hash
from evenground.basis.consistency import record_problems
from evenground.basis.errors import Problem
from evenground.basis.field import Field
from evenground.basis.observations import RECORD_KINDS, Records, records_of
from evenground.basis.strip import Draw
from evenground.basis.units import other_names
from evenground.layout.cross_section import not_whole_passes

RECORDS = "records"
NO_FIELD = (
    f"there is no field outline yet: draw the field in any map program and save it as {FIELD_FILE} in this folder "
    "(GeoJSON, longitude and latitude)."
)


@dataclass(frozen=True)
class FolderRead:
    """Everything a folder holds, sound or not.

    Attributes
    ----------
    plan : PlanRead
        The plan file.
    field : Field or None
        The outline, if there is a sound one.
    draws : tuple of Draw
        Sound draws, oldest first.
    tables : mapping
        Kind of record to its table.
    problems : tuple of Problem
        All that is wrong.
    notes : tuple of str
        All that is worth knowing.
    """

    plan: PlanRead
    field: Field | None
    draws: tuple[Draw, ...]
    tables: Mapping[str, RecordTable]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]

    @property
    def records(self) -> Records:
        """The records that are sound."""
        return records_of({k: t.records for k, t in self.tables.items()})


def read_folder(path: Path) -> FolderRead:
    """Read all files of a trial folder.

    Parameters
    ----------
    path : Path
        The folder; it holds a plan file.

    Raises
    ------
    InputError
        If a file cannot be opened at all or is far too large.
    """
    plan = read_plan(read_bytes(path / PLAN_FILE, PLAN_FILE, LARGEST_PLAN_BYTES))
    outline = _outline(path)
    letters = plan.plan.letters if plan.plan is not None else None
    draws: tuple[Draw, ...] = ()
    faults: list[Problem] = []
    if (path / STRIPS_FILE).exists():
        draws, faults = read_strips(read_bytes(path / STRIPS_FILE, STRIPS_FILE, LARGEST_GEOJSON_BYTES), letters)
    tables = _tables(path, plan.files)
    problems = [*plan.problems, *outline.problems, *faults, *(p for t in tables.values() for p in t.problems)]
    notes = [*plan.notes, *outline.notes, *_plan_changed(plan, draws)]
    notes += [n for t in tables.values() for n in (*t.notes, *_style_note(t))] + _strange_files(path)
    read = FolderRead(plan, outline.field, draws, tables, tuple(problems), tuple(notes))
    return FolderRead(plan, outline.field, draws, tables, (*problems, *_contradictions(read)), tuple(notes))


def _outline(path: Path) -> FieldRead:
    if not (path / FIELD_FILE).exists():
        return FieldRead(None, notes=(NO_FIELD,))
    return read_field(read_bytes(path / FIELD_FILE, FIELD_FILE, LARGEST_GEOJSON_BYTES))


def _plan_changed(plan: PlanRead, draws: tuple[Draw, ...]) -> list[str]:
    if not draws or plan.plan is None or draws[-1].plan_hash == plan_hash(plan.plan):
        return []
    misfits = not_whole_passes(plan.plan, draws[-1].strips)
    return [
        f"{PLAN_FILE}: the plan was changed after the strips were drawn; reports say so.",
        *(f"{PLAN_FILE}: machines: {text}" for text in misfits),
    ]


def _tables(path: Path, files: Mapping[str, FileStyle]) -> dict[str, RecordTable]:
    out = {}
    for kind in RECORD_KINDS:
        name = f"{RECORDS}/{kind}.csv"
        if not (path / name).exists():
            continue
        data, said = read_bytes(path / name, name), files.get(name, FileStyle())
        if data.strip():
            out[kind] = read_records(data, kind, file=name, number_style=said.number_style, date_style=said.date_style)
    return out


def _contradictions(read: FolderRead) -> list[Problem]:
    """List what is wrong between the files, as far as they can be read."""
    if read.plan.plan is None:
        return []
    places = {(k, i): (t.table.file, n) for k, t in read.tables.items() for i, n in enumerate(t.lines)}
    sound = all(not t.problems for t in read.tables.values())
    draw = read.draws[-1] if read.draws else None
    return record_problems(read.plan.plan, draw, read.records, places, complete=sound)


def _style_note(read: RecordTable) -> list[str]:
    """Say how the numbers of a file were read."""
    model = RECORD_KINDS[Path(read.table.file).stem]
    names = [n for f in number_fields(model) for n in (f, *other_names(f))]
    said = style_words(read.table, names) if not read.table.problems else ""
    return [said] if said else []


def _strange_files(path: Path) -> list[str]:
    """Note files in the records folder that no kind of record reads."""
    known = {f"{k}.csv" for k in RECORD_KINDS}
    there = sorted(p.name for p in (path / RECORDS).glob("*") if p.is_file() and not p.name.startswith("."))
    return [
        f"{RECORDS}/{name} is kept but not read." + (f" Is {near} meant?" if (near := nearest(name, known)) else "")
        for name in there
        if name not in known
    ]
