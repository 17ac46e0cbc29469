"""A trial in the database; passes the same tests as the trial folder."""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from evenground.adapters.plan_file import change_plan_text
from evenground.adapters.strips_file import draw_problems, strips_text
from evenground.basis.canonical import plan_hash, records_hash
from evenground.basis.consistency import record_problems
from evenground.basis.errors import InputError, LockedError, Problem, problem
from evenground.basis.observations import RECORD_KINDS, Observation, Records, records_of
from evenground.basis.plan import Plan
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.web.trials.appending import Accepted, unreadable
from evenground.web.trials.folder_files import folder_files
from evenground.web.trials.models import DrawVersion, FieldVersion, PlanVersion, StoredRecord, Trial
from evenground.web.trials.parsed import draws_of, field_of, plan_of, record_of, record_text

FIRST_YEAR, LAST_YEAR = 1900, 2200


class DatabaseStore:
    """A trial in the database; implements `evenground.basis.store.TrialStore`.

    Parameters
    ----------
    trial : Trial
        The trial's row.
    by : user or None
        Who writes; kept beside what is written.
    device : str
        The device it came from, where known.
    """

    def __init__(self, trial: Trial, by: AbstractBaseUser | None = None, device: str = "") -> None:
        self.trial, self.device = trial, device
        self.by_id: int | None = by.pk if by is not None else None

    # Reading

    def plan_text(self) -> str:
        """Return the text of the plan as it stands."""
        latest = self.trial.plans.last()
        if latest is None:
            raise InputError([problem("there is no plan yet.", file="trial.toml", allowed="a plan")])
        return latest.text

    def field_text(self) -> str | None:
        """Return the text of `field.geojson` as it stands, or None."""
        latest = self.trial.fields.last()
        return latest.text if latest is not None else None

    def draws(self) -> tuple[Draw, ...]:
        """Return all draws, oldest first."""
        latest = self.trial.draws.last()
        return draws_of(latest.text) if latest is not None else ()

    def records(self) -> Records:
        """Return all records, corrections included, in the order they were stored."""
        every: dict[str, list[Observation]] = {}
        for kind, text in self.trial.records.values_list("kind", "text"):
            every.setdefault(kind, []).append(record_of(kind, text))
        return records_of(dict(every))

    def plan(self) -> Plan:
        """Return the plan as it stands.

        Raises
        ------
        InputError
            If there is none, or this version of the program finds fault with it.
        """
        read = plan_of(self.plan_text())
        if read.problems or read.plan is None:
            raise InputError(read.problems)
        return read.plan

    def load(self) -> Stored:
        """Read and check everything.

        Raises
        ------
        InputError
            With every problem found.
        """
        plan, field_text = self.plan(), self.field_text()
        field = field_of(field_text).field if field_text is not None else None
        draws, records = self.draws(), self.records()
        problems = record_problems(plan, draws[-1] if draws else None, records)
        if problems:
            raise InputError(problems)
        return Stored(plan, field, draws, records, plan_hash(plan), records_hash(records))

    @contextlib.contextmanager
    def as_folder(self, *, photographs: bool = False) -> Iterator[Path]:
        """Lay the trial out as a trial folder for as long as it is needed; what is written there is not kept.

        Parameters
        ----------
        photographs : bool
            Whether photographs are needed too.
        """
        with tempfile.TemporaryDirectory(prefix="evenground-") as name:
            folder = Path(name)
            (folder / "records").mkdir()
            for path, content in folder_files(self.trial, photographs=photographs, history=False):
                (folder / path).parent.mkdir(parents=True, exist_ok=True)
                (folder / path).write_bytes(content)
            yield folder

    # Writing

    def save_plan(self, plan_text: str) -> None:
        """Store a new version of the plan, after checking it; earlier versions stay.

        Raises
        ------
        InputError
            If it is not a plan; the stored one stays.
        """
        read = plan_of(plan_text)
        if read.problems or read.plan is None:
            raise InputError(read.problems)
        with self.locked():
            latest = self.trial.plans.last()
            if latest is None or latest.text != plan_text:
                number = latest.number + 1 if latest is not None else 1
                PlanVersion.objects.create(
                    trial=self.trial,
                    number=number,
                    text=plan_text,
                    plan_hash=plan_hash(read.plan),
                    saved_by_id=self.by_id,
                )
            Trial.objects.filter(pk=self.trial.pk).update(name=read.plan.trial.name, season=read.plan.trial.season)

    def change_plan(self, changes: Mapping[str, object]) -> None:
        """Change single values of the plan; comments, order and unknown keys stay.

        Raises
        ------
        InputError
            If the changed text is not a plan; the stored one stays.
        """
        with self.locked():
            self.save_plan(change_plan_text(self.plan_text(), changes))

    def save_field(self, text: str) -> None:
        """Store a new version of the field (GeoJSON text), after checking it.

        Raises
        ------
        InputError
            If it is not a field; the stored one stays.
        """
        read = field_of(text)
        if read.problems or read.field is None:
            raise InputError(read.problems)
        with self.locked():
            latest = self.trial.fields.last()
            if latest is None or latest.text != text:
                number = latest.number + 1 if latest is not None else 1
                FieldVersion.objects.create(trial=self.trial, number=number, text=text, saved_by_id=self.by_id)

    def append_draw(self, draw: Draw) -> None:
        """Store a draw and lock the trial.

        Raises
        ------
        LockedError
            If there is a draw already and the new one gives no reason.
        InputError
            If the draw is not in order.
        """
        with self.locked():
            plan = plan_of(self.plan_text()).plan
            draws = self.draws()
            if draws and not draw.reason.strip():
                raise LockedError(
                    "The strips were drawn already. A new draw needs a reason; the old one stays on record."
                )
            problems = draw_problems(draw, len(draws) + 1, plan.letters if plan is not None else None, place="draw")
            if problems:
                raise InputError(problems)
            DrawVersion.objects.create(
                trial=self.trial,
                number=len(draws) + 1,
                text=strips_text([*draws, draw]),
                drawn_at=_with_zone(draw.drawn_at),
                saved_by_id=self.by_id,
            )

    def append_records(self, records: Sequence[Observation]) -> int:
        """Store records; one that is there already (same id, same content) is left alone.

        Returns
        -------
        int
            Number of records that were new [1].

        Raises
        ------
        InputError
            If an id is there with other content, a record contradicts what is stored, or its text could not stand in a
            trial folder; nothing is stored then.
        """
        with self.locked():
            stored = self.load()
            known = {(r.kind, r.id): r for k in RECORD_KINDS for r in getattr(stored.records, k)}
            new: list[Observation] = []
            problems: list[Problem] = []
            for record in records:
                there = known.setdefault((record.kind, record.id), record)
                if there is record:
                    new.append(record)
                elif there != record:
                    problems.append(other_content(record.kind, record.id))
            every: dict[str, Sequence[Observation]] = {
                k: [*getattr(stored.records, k), *(r for r in new if r.kind == k)] for k in RECORD_KINDS
            }
            problems += record_problems(stored.plan, stored.draw, records_of(every))
            problems += [p for found in unreadable(new).values() for p in found]
            if problems:
                raise InputError(problems)
            self.add(new)
        return len(new)

    def append_each(self, records: Sequence[Observation]) -> dict[int, tuple[Problem, ...]]:
        """Store every record that can be stored, each judged by itself; the others are left out.

        Parameters
        ----------
        records : sequence of Observation
            Their ids are not stored yet, and none is there twice.

        Returns
        -------
        dict
            Position of a record that was left out to what is wrong with it.
        """
        with self.locked():
            draws = self.draws()
            accepted = Accepted(self.plan(), draws[-1] if draws else None, self.records())
            accepted.take(list(enumerate(records)))
            self.add(accepted.taken)
        return accepted.refused

    def known(self, kinds: Iterable[str], ids: Iterable[str]) -> dict[tuple[str, str], str]:
        """Return the canonical texts of stored records by kind and id, as far as they are there."""
        found = self.trial.records.filter(kind__in=set(kinds), record_id__in=set(ids))
        return {(kind, name): text for kind, name, text in found.values_list("kind", "record_id", "text")}

    def add(self, records: Sequence[Observation]) -> None:
        """Write records that were checked."""
        StoredRecord.objects.bulk_create(self._row(r) for r in records)

    def _row(self, record: Observation) -> StoredRecord:
        return StoredRecord(
            trial=self.trial,
            kind=record.kind,
            record_id=record.id,
            replaces=record.replaces or "",
            text=record_text(record),
            seen_at=_seen_at(record),
            received_from_id=self.by_id,
            device=self.device,
        )

    @contextlib.contextmanager
    def locked(self) -> Iterator[None]:
        """Hold the trial's row, so that writers follow one another (SQLite: the whole database)."""
        with transaction.atomic():
            Trial.objects.select_for_update().get(pk=self.trial.pk)
            yield


def other_content(kind: str, record_id: str) -> Problem:
    """Say that an id stands for something else already."""
    text = "a record with this id and other content is stored; a correction needs an id of its own."
    return problem(text, file=f"records/{kind}.csv", field="id", given=record_id, allowed="an id not used before")


def _seen_at(record: Observation) -> datetime | None:
    """Return when it was seen, with the farm's time zone; None for years nobody farms in."""
    return _with_zone(record.time) if FIRST_YEAR < record.time.year < LAST_YEAR else None


def _with_zone(time: datetime) -> datetime:
    """Take a time that says no zone as one of the farm's clock."""
    return time if time.tzinfo is not None else time.replace(tzinfo=timezone.get_default_timezone())
