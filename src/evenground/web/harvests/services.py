"""What changes on harvest day: a slip is said to belong to a load."""

from __future__ import annotations

from evenground.basis.harvest_records import Weighing
from evenground.basis.record import with_changes
from evenground.web.forms_from_records import new_id
from evenground.web.trials.store import DatabaseStore


def correct_join(*, store: DatabaseStore, weighing: Weighing, load_id: str, who: str) -> None:
    """Say which load a slip belongs to: a weighing that replaces the old one and names the load.

    Parameters
    ----------
    store : DatabaseStore
        Where to.
    weighing : Weighing
        The slip that counts so far; it stays on record.
    load_id : str
        Id of the load, or ``other`` for something that is not of this trial.
    who : str
        Who says so.

    Raises
    ------
    InputError
        If there is no such load, or it was weighed before it was harvested.
    """
    said = {"id": new_id(), "replaces": weighing.id, "load": load_id, "who": who or weighing.who}
    store.append_records([with_changes(weighing, **said)])
