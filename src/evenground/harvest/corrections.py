"""Under which id a record counts after corrections."""

from __future__ import annotations

from collections.abc import Iterable

from evenground.basis.observations import Observation


def latest_ids(records: Iterable[Observation]) -> dict[str, str]:
    """Say under which id each record now counts, following corrections to their end.

    Parameters
    ----------
    records : iterable of Observation
        All records of one kind, corrections included.

    Returns
    -------
    dict
        Every id to the id of the last record that stands for it. Corrections that replace each other in a circle
        stand for themselves.
    """
    every = tuple(records)
    follower = {r.replaces: r.id for r in every if r.replaces is not None}
    out = {}
    for record in every:
        at, seen = record.id, {record.id}
        while at in follower and follower[at] not in seen:
            at = follower[at]
            seen.add(at)
        out[record.id] = at
    return out
