"""A trial in the database; passes the same tests as the trial folder."""

from __future__ import annotations

import contextlib
import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction

from evenground.adapters.geojson import FIELD_FILE, read_field
from evenground.adapters.plan_file import change_plan_text, read_plan
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.adapters.strips_file import STRIPS_FILE, draw_problems, read_strips, strips_text
from evenground.basis.canonical import plan_hash, records_hash
from evenground.basis.consistency import record_problems
from evenground.basis.errors import InputError, LockedError, problem
from evenground.basis.observations import RECORD_KINDS, Observation, Records, records_of
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.web.trials.models import DrawVersion, FieldVersion, PlanVersion, StoredRecord, Trial


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
        return read_strips(latest.text.encode())[0] if latest is not None else ()

    def records(self) -> Records:
        """Return all records, corrections included, in the order they were stored."""
        every: dict[str, list[Observation]] = {}
        for kind, text in self.trial.records.values_list("kind", "text"):
            every.setdefault(kind, []).append(RECORD_KINDS[kind].model_validate(json.loads(text)))
        return records_of(dict(every))

    def load(self) -> Stored:
        """Read and check everything.

        Raises
        ------
        InputError
            With every problem found.
        """
        read = read_plan(self.plan_text().encode())
        if read.problems or read.plan is None:
            raise InputError(read.problems)
        field_text = self.field_text()
        field = read_field(field_text.encode()).field if field_text is not None else None
        draws, records = self.draws(), self.records()
        problems = record_problems(read.plan, draws[-1] if draws else None, records)
        if problems:
            raise InputError(problems)
        return Stored(read.plan, field, draws, records, plan_hash(read.plan), records_hash(records))

    @contextlib.contextmanager
    def as_folder(self) -> Iterator[Path]:
        """Lay the trial out as a trial folder for as long as it is needed; what is written there is not kept."""
        with tempfile.TemporaryDirectory(prefix="evenground-") as name:
            folder = Path(name)
            (folder / "records").mkdir()
            for file in self.trial.files.all():
                path = folder / file.path
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(bytes(file.content))
            (folder / "trial.toml").write_text(self.plan_text(), encoding="utf-8")
            if (field := self.field_text()) is not None:
                (folder / FIELD_FILE).write_text(field, encoding="utf-8")
            if (draw := self.trial.draws.last()) is not None:
                (folder / STRIPS_FILE).write_text(draw.text, encoding="utf-8")
            records = self.records()
            for kind in RECORD_KINDS:
                if mine := getattr(records, kind):
                    text = rows_text(mine, canonical_columns(kind))
                    (folder / "records" / f"{kind}.csv").write_text(text, encoding="utf-8")
            yield folder

    # Writing

    def save_plan(self, plan_text: str) -> None:
        """Store a new version of the plan, after checking it; earlier versions stay.

        Raises
        ------
        InputError
            If it is not a plan; the stored one stays.
        """
        read = read_plan(plan_text.encode())
        if read.problems or read.plan is None:
            raise InputError(read.problems)
        with self._locked():
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
        with self._locked():
            self.save_plan(change_plan_text(self.plan_text(), changes))

    def save_field(self, text: str) -> None:
        """Store a new version of the field (GeoJSON text), after checking it.

        Raises
        ------
        InputError
            If it is not a field; the stored one stays.
        """
        read = read_field(text.encode())
        if read.problems or read.field is None:
            raise InputError(read.problems)
        with self._locked():
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
        with self._locked():
            plan = read_plan(self.plan_text().encode()).plan
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
                drawn_at=draw.drawn_at,
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
            If an id is there with other content, or a record contradicts what is stored; nothing is stored then.
        """
        with self._locked():
            stored = self.load()
            known = {(r.kind, r.id): r for k in RECORD_KINDS for r in getattr(stored.records, k)}
            new, problems = [], []
            for record in records:
                there = known.setdefault((record.kind, record.id), record)
                if there is record:
                    new.append(record)
                elif there != record:
                    text = "a record with this id and other content is stored; a correction needs an id of its own."
                    file = f"records/{record.kind}.csv"
                    problems.append(
                        problem(text, file=file, field="id", given=record.id, allowed="an id not used before")
                    )
            every: dict[str, Sequence[Observation]] = {
                k: [*getattr(stored.records, k), *(r for r in new if r.kind == k)] for k in RECORD_KINDS
            }
            problems += record_problems(stored.plan, stored.draw, records_of(every))
            if problems:
                raise InputError(problems)
            StoredRecord.objects.bulk_create(self._row(r) for r in new)
        return len(new)

    def _row(self, record: Observation) -> StoredRecord:
        said = record.model_dump(mode="json", exclude_defaults=True)
        return StoredRecord(
            trial=self.trial,
            kind=record.kind,
            record_id=record.id,
            replaces=record.replaces or "",
            text=json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False),
            received_from_id=self.by_id,
            device=self.device,
        )

    @contextlib.contextmanager
    def _locked(self) -> Iterator[None]:
        """Hold the trial's row, so that writers follow one another (SQLite: the whole database)."""
        with transaction.atomic():
            Trial.objects.select_for_update().get(pk=self.trial.pk)
            yield
