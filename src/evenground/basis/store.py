"""The operations every store of trials offers; the folder and the database implement them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from evenground.basis.field import Field
from evenground.basis.observations import Observation, Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw


@dataclass(frozen=True)
class Stored:
    """A trial as it stands in a store.

    Attributes
    ----------
    plan : Plan
        What was meant.
    field : Field or None
        The field, if its outline is there.
    draws : tuple of Draw
        All draws, oldest first; the last one counts.
    records : Records
        What was seen, corrections included.
    plan_hash, records_hash : str
        Hashes (sha256, hex) of their canonical text.
    """

    plan: Plan
    field: Field | None
    draws: tuple[Draw, ...]
    records: Records
    plan_hash: str
    records_hash: str

    @property
    def draw(self) -> Draw | None:
        """The draw that counts, or None before the first."""
        return self.draws[-1] if self.draws else None


class TrialStore(Protocol):
    """What a store of one trial can do. Nothing stored is ever changed in place or lost."""

    def load(self) -> Stored:
        """Read and check everything.

        Raises
        ------
        InputError
            With every problem found.
        """

    def save_plan(self, plan_text: str) -> None:
        """Store a new version of the plan (its TOML text), after checking it.

        Raises
        ------
        InputError
            If it is not a plan; the stored one stays.
        """

    def append_records(self, records: Sequence[Observation]) -> int:
        """Store records; one that is there already (same id, same content) is left alone.

        Returns
        -------
        int
            Number of records that were new [1].

        Raises
        ------
        InputError
            If an id is there with other content, or a correction names no record; nothing is stored then.
        """

    def append_draw(self, draw: Draw) -> None:
        """Store a draw and lock the trial.

        Raises
        ------
        LockedError
            If there is a draw already and the new one gives no reason.
        """
