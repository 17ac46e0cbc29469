"""A planter's log turned into entries that can be kept with the other records."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from evenground.basis.observations import Event, Observation, Records, current
from evenground.sowing.as_sown import PlanterLog, StripSown
from evenground.sowing.sown_strips import LOG_READER, begun, km_per_h, part_words

ID_DIGITS = 16
"""Hex digits of the log's hash in an id: two logs of one trial share them by chance once in 10^19."""


def log_entries(log: PlanterLog, found: Iterable[StripSown], digest: str) -> tuple[Event, ...]:
    """Make one entry for each strip that a planter was in.

    Parameters
    ----------
    log : PlanterLog
        The log; it must have dates.
    found : iterable of StripSown
        What `as_sown` found in it.
    digest : str
        Hash of the log's content in hex digits; with the strip it makes the id, so that the same log stored twice is
        stored once.

    Returns
    -------
    tuple of Event
        ``sown`` with the log's method where half of the strip and more was sown, or less of a strip drawn for it;
        ``other`` where a smaller part of another method's strip was sown, which leaves that strip's method as it is.

    Raises
    ------
    ValueError
        If the log has no dates.
    """
    if log.start is None:
        raise ValueError("a log without dates cannot be kept: its entries would have no time")
    out = []
    for one in found:
        at = begun(log, one)
        if one.state != "not in this log" and at is not None:
            out.append(_entry(one, at, f"log-{digest[:ID_DIGITS]}-{one.strip}"))
    return tuple(out)


def _entry(one: StripSown, at: datetime, key: str) -> Event:
    shared = {"id": key, "time": at, "who": LOG_READER, "strips": (one.strip,), "note": _note(one)}
    if one.state == "partly other method":
        return Event.model_validate({**shared, "event": "other"})
    speed = km_per_h(one.speed_m_per_s)
    told = {
        "method": one.sown,
        "stops": one.stops,
        "rows_off": one.rows_off,
        "speed_km_per_h": None if not speed else round(speed, 2),
        "rows_off_m": round(one.rows_off_m, 1),
        "lifted_m": round(one.lifted_m, 1),
        "overlap_m2": round(one.overlap_m2, 1),
        "sown_fraction": round(one.sown_fraction, 3),
        "seeds_per_m2": None if not one.seeds_per_m2 else round(one.seeds_per_m2, 3),
    }
    return Event.model_validate({**shared, "event": "sown", **told})


def _note(one: StripSown) -> str:
    if one.state in ("partly", "partly other method"):
        return part_words(one)
    parts = [
        (one.rows_off_m >= 0.5, f"{one.rows_off_m:.0f} m of single row left out"),
        (one.lifted_m >= 0.5, f"{one.lifted_m:.0f} m driven lifted"),
        (one.overlap_m2 >= 0.5, f"{one.overlap_m2:.0f} m2 sown twice"),
    ]
    return ", ".join([f"{100 * one.sown_fraction:.0f} % of it sown", *(text for there, text in parts if there)])


def seen_before(entries: Iterable[Event], records: Records) -> dict[int, datetime]:
    """Find strips in which something of the crop was seen on a day before these entries say they were sown.

    Parameters
    ----------
    entries : iterable of Event
        Entries ``sown``.
    records : Records
        Counts, spacing, depths, loads and samples count as seen.

    Returns
    -------
    dict
        Strip to the first time anything was seen there.
    """
    kinds: tuple[tuple[Observation, ...], ...] = (
        records.stand_counts,
        records.spacing_runs,
        records.depths,
        records.loads,
        records.samples,
    )
    first: dict[int, datetime] = {}
    for record in (r for kind in kinds for r in current(kind)):
        for strip in getattr(record, "strips", ()):
            first[strip] = min(record.time, first.get(strip, record.time), key=lambda t: t.date())
    sown = {s: e.time for e in entries if e.event == "sown" for s in e.strips}
    return {s: first[s] for s, at in sown.items() if s in first and first[s].date() < at.date()}
