"""A trial as a folder of open files: the hand-editable store."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from evenground.adapters.files import write_atomically, writer_lock
from evenground.adapters.folder_reading import RECORDS, FolderRead, read_folder
from evenground.adapters.geojson import FIELD_FILE, LARGEST_GEOJSON_BYTES, field_text
from evenground.adapters.plan_file import LARGEST_PLAN_BYTES, PLAN_FILE, change_plan_text, read_plan
from evenground.adapters.reading import read_bytes
from evenground.adapters.record_appending import appended, check_reading
from evenground.adapters.strips_file import STRIPS_FILE, draw_problems, read_strips, strips_text
from evenground.basis.canonical import plan_hash, records_hash
from evenground.basis.consistency import record_problems
from evenground.basis.errors import InputError, LockedError, Problem, problem
from evenground.basis.field import Field
from evenground.basis.observations import RECORD_KINDS, Observation, Records, records_of
from evenground.basis.store import Stored
from evenground.basis.strip import Draw

VERSIONS = "versions"


class TrialFolder:
    """A trial folder; implements `evenground.basis.store.TrialStore`.

    Parameters
    ----------
    path : Path or str
        The folder.

    Raises
    ------
    InputError
        If there is no such folder, or no plan in it.
    """

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path)
        if not self.path.is_dir():
            raise InputError([problem("there is no such folder.", file=str(path), allowed="a trial folder")])
        if not (self.path / PLAN_FILE).is_file():
            message = f"there is no {PLAN_FILE} in this folder; 'evenground new' makes one."
            raise InputError([problem(message, file=str(path), allowed="a trial folder")])

    @classmethod
    def create(cls, path: Path | str, plan_text: str, field: Field | None = None) -> TrialFolder:
        """Make a new trial folder.

        Parameters
        ----------
        path : Path or str
            A folder that is not there yet, or is empty.
        plan_text : str
            The plan as TOML.
        field : Field or None
            The outline, if there is one.

        Raises
        ------
        InputError
            If the folder holds something already, or the text is not a plan; nothing is written then.
        """
        folder = Path(path)
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            message = "there is something here already; nothing was written."
            raise InputError([problem(message, file=str(path), allowed="a new or empty folder")])
        read = read_plan(plan_text.encode())
        if read.problems:
            raise InputError(read.problems)
        (folder / RECORDS).mkdir(parents=True, exist_ok=True)
        if field is not None:
            write_atomically(folder / FIELD_FILE, field_text(field).encode())
        write_atomically(folder / PLAN_FILE, plan_text.encode())
        return cls(folder)

    # Reading

    def problems(self) -> list[Problem]:
        """List everything that is wrong in the whole folder."""
        return list(read_folder(self.path).problems)

    def notes(self) -> tuple[str, ...]:
        """Say what is not wrong but worth knowing: number styles as read, keys passed over, what is still to do."""
        return read_folder(self.path).notes

    def load(self) -> Stored:
        """Read and check everything.

        Raises
        ------
        InputError
            With every problem found.
        """
        return self._stored(read_folder(self.path))

    def plan_text(self) -> str:
        """Return the text of the plan as it stands."""
        return read_bytes(self.path / PLAN_FILE, PLAN_FILE, LARGEST_PLAN_BYTES).decode("utf-8-sig")

    def _stored(self, read: FolderRead) -> Stored:
        if read.problems or read.plan.plan is None:
            raise InputError(read.problems)
        records = read.records
        plan = read.plan.plan
        return Stored(plan, read.field, read.draws, records, plan_hash(plan), records_hash(records))

    # Writing

    def save_plan(self, plan_text: str) -> None:
        """Store a new version of the plan; the one before is kept in the folder ``versions``.

        Raises
        ------
        InputError
            If it is not a plan; the stored one stays.
        """
        new = plan_text.encode()
        read = read_plan(new)
        if read.problems:
            raise InputError(read.problems)
        with writer_lock(self.path):
            old = read_bytes(self.path / PLAN_FILE, PLAN_FILE, LARGEST_PLAN_BYTES)
            if old != new:
                number = 1 + len(list((self.path / VERSIONS).glob("trial-*.toml")))
                write_atomically(self.path / VERSIONS / f"trial-{number:03d}.toml", old)
                write_atomically(self.path / PLAN_FILE, new)

    def change_plan(self, changes: Mapping[str, object]) -> None:
        """Change single values of the plan; comments, order and unknown keys stay.

        Parameters
        ----------
        changes : mapping
            Key path (``layout.blocks``) to new value; None takes the key out.

        Raises
        ------
        InputError
            If the changed text is not a plan; the stored one stays.
        """
        self.save_plan(change_plan_text(self.plan_text(), changes))

    def append_draw(self, draw: Draw) -> None:
        """Store a draw and lock the trial.

        Raises
        ------
        LockedError
            If there is a draw already and the new one gives no reason.
        InputError
            If the draw is not in order, or the strips stored so far cannot be read.
        """
        with writer_lock(self.path):
            plan = read_plan(read_bytes(self.path / PLAN_FILE, PLAN_FILE, LARGEST_PLAN_BYTES))
            problems = list(plan.problems)
            draws: tuple[Draw, ...] = ()
            if (self.path / STRIPS_FILE).exists():
                draws, faults = read_strips(read_bytes(self.path / STRIPS_FILE, STRIPS_FILE, LARGEST_GEOJSON_BYTES))
                problems += faults
            if draws and not draw.reason.strip():
                raise LockedError(
                    "The strips were drawn already. A new draw needs a reason; the old one stays on record."
                )
            letters = plan.plan.letters if plan.plan is not None else None
            problems += draw_problems(draw, len(draws) + 1, letters, place="draw")
            if problems:
                raise InputError(problems)
            write_atomically(self.path / STRIPS_FILE, strips_text([*draws, draw]).encode())

    def append_records(self, records: Sequence[Observation]) -> int:
        """Store records at the end of their files; one that is there already is left alone.

        Returns
        -------
        int
            Number of records that were new [1].

        Raises
        ------
        InputError
            If an id is there with other content, a record contradicts what is stored, or a file has no column for
            something a record says; nothing is stored then.
        """
        with writer_lock(self.path):
            read = read_folder(self.path)
            stored = self._stored(read)
            new = _new_records(stored.records, records)
            every: dict[str, Sequence[Observation]] = {
                k: [*getattr(stored.records, k), *(r for r in new if r.kind == k)] for k in RECORD_KINDS
            }
            # A stored folder is sound here, so whatever is wrong now comes with the new records.
            problems = record_problems(stored.plan, stored.draw, records_of(every))
            if problems:
                raise InputError(problems)
            contents = {}
            for kind in RECORD_KINDS:
                if mine := [r for r in new if r.kind == kind]:
                    name, table = f"{RECORDS}/{kind}.csv", read.tables.get(kind)
                    old = read_bytes(self.path / name, name) if table is not None else b""
                    contents[kind] = appended(kind, mine, old, table)
                    check_reading(kind, contents[kind], every[kind], read.plan.files.get(name))
            for kind, data in contents.items():
                write_atomically(self.path / RECORDS / f"{kind}.csv", data)
        return len(new)


def _new_records(stored: Records, records: Sequence[Observation]) -> list[Observation]:
    """Leave out what is stored already; the same id with other content is a problem."""
    there = {(r.kind, r.id): r for k in RECORD_KINDS for r in getattr(stored, k)}
    new: list[Observation] = []
    problems = []
    for record in records:
        known = there.setdefault((record.kind, record.id), record)
        if known is record:
            new.append(record)
        elif known != record:
            message = "a record with this id and other content is stored; a correction needs an id of its own."
            file = f"{RECORDS}/{record.kind}.csv"
            problems.append(problem(message, file=file, field="id", given=record.id, allowed="an id not used before"))
    if problems:
        raise InputError(problems)
    return new
