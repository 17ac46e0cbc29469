"""Which of many records can be stored: all that contradict neither the trial nor one another, each judged by itself."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass, field

from evenground.adapters.record_table import read_records
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.basis.consistency import record_problems
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import RECORD_KINDS, Observation, Records, records_of
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw

ARRIVING = "arriving"


@dataclass
class Accepted:
    """What a trial holds, and what of the records that arrive goes with it.

    Attributes
    ----------
    plan : Plan
        What was meant.
    draw : Draw or None
        The draw that counts.
    records : Records
        What is stored.
    taken : list of Observation
        New records that can be stored, in their order.
    refused : dict
        Position of a record that cannot be stored to what is wrong with it.
    """

    plan: Plan
    draw: Draw | None
    records: Records
    taken: list[Observation] = field(default_factory=list)
    refused: dict[int, tuple[Problem, ...]] = field(default_factory=dict)

    @functools.cached_property
    def _old(self) -> set[tuple[str, str, str]]:
        """What is wrong without the new records: a plan changed later may contradict what was seen before it."""
        return {_what(p) for p in record_problems(self.plan, self.draw, self.records)}

    def take(self, new: Sequence[tuple[int, Observation]]) -> None:
        """Take every record that can be stored.

        Parameters
        ----------
        new : sequence of (int, Observation)
            Records with their position among what arrived; their ids are neither stored nor used twice.
        """
        unsound = unreadable([r for _, r in new])
        sound = []
        alone = self._alone(new)
        for position, record in new:
            if faults := (*unsound.get(record.id, ()), *alone.get(position, ())):
                self.refused[position] = tuple(faults)
            else:
                sound.append((position, record))
        self._take_sound(sound)

    def _take_sound(self, new: Sequence[tuple[int, Observation]]) -> None:
        """Take them all at once where that goes, else those nobody complains of first, then the others in turn."""
        problems = self._problems(new)
        if not problems:
            self.taken += [r for _, r in new]
            return
        if len(new) == 1:
            self.refused[new[0][0]] = tuple(problems)
            return
        blamed = {p.row for p in problems if p.file == ARRIVING}
        clear = [one for one in new if one[0] not in blamed]
        if clear and len(clear) < len(new):
            self._take_sound(clear)
            self._take_sound([one for one in new if one[0] in blamed])
            return
        half = len(new) // 2
        self._take_sound(new[:half])
        self._take_sound(new[half:])

    def _problems(self, new: Sequence[tuple[int, Observation]]) -> list[Problem]:
        """List what would be wrong with the trial if these were stored and is not wrong now."""
        mine = [r for _, r in new]
        every, places = {}, {}
        position = {id(r): p for p, r in new}
        for kind in RECORD_KINDS:
            here = [*getattr(self.records, kind), *(r for r in (*self.taken, *mine) if r.kind == kind)]
            every[kind] = here
            places.update({(kind, i): (ARRIVING, position[id(r)]) for i, r in enumerate(here) if id(r) in position})
        found = record_problems(self.plan, self.draw, records_of(dict(every)), places)
        return [p for p in found if _what(p) not in self._old] if found else []

    def _alone(self, new: Sequence[tuple[int, Observation]]) -> dict[int, list[Problem]]:
        """List what is wrong with records by themselves, whatever else is stored."""
        every: dict[str, list[Observation]] = {k: [] for k in RECORD_KINDS}
        places = {}
        for position, record in new:
            places[(record.kind, len(every[record.kind]))] = (ARRIVING, position)
            every[record.kind].append(record)
        out: dict[int, list[Problem]] = {}
        for one in record_problems(self.plan, self.draw, records_of(dict(every)), places, complete=False):
            if one.row is not None:
                out.setdefault(one.row, []).append(one)
        return out


def _what(one: Problem) -> tuple[str, str, str]:
    return (one.message, one.field, one.given)


def unreadable(records: Sequence[Observation]) -> dict[str, list[Problem]]:
    """List records that could not be written to a trial folder and read back the same; by id.

    Parameters
    ----------
    records : sequence of Observation
        Of any kind.
    """
    out: dict[str, list[Problem]] = {}
    for kind in RECORD_KINDS:
        mine = [r for r in records if r.kind == kind]
        if not mine or _reads_back(mine, kind):
            continue
        for one in mine:
            if not _reads_back([one], kind):
                message = "this record cannot be written to a table without change; look for unusual signs in its text."
                file = f"records/{kind}.csv"
                out[one.id] = [problem(message, file=file, field="id", given=one.id, allowed="plain text")]
    return out


def _reads_back(records: Sequence[Observation], kind: str) -> bool:
    try:
        text = rows_text(records, canonical_columns(kind))
        data = text.encode()
    except (InputError, UnicodeEncodeError):
        return False
    again = read_records(data, kind, file=f"records/{kind}.csv")
    return not again.problems and list(again.records) == list(records)
