"""What happened to each strip besides growing: sown otherwise, lost, measured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from evenground.basis.observations import Event, current
from evenground.basis.strip import Strip

_GONE = {"strip_lost": "lost", "not_sown": "not_sown"}
_GONE_WORDS = {"lost": "the strip was lost", "not_sown": "the strip was not sown"}


@dataclass(frozen=True)
class StripFate:
    """One strip as the season left it.

    Attributes
    ----------
    method : str
        Letter as really sown.
    state : {"lost", "not_sown"} or None
        None where nothing ended it.
    cut_area_m2 : float
        Area of the weighed cut [m2].
    area_source : str
        "geometry" or "measured".
    notes : tuple of str
        In plain words.
    """

    method: str
    state: str | None
    cut_area_m2: float
    area_source: str
    notes: tuple[str, ...]


def fate(strip: Strip, events: Iterable[Event]) -> StripFate:
    """Say how one strip was really sown, whether it was lost, and what area was cut for weighing.

    Where two events of a kind speak about one strip, the later one counts.

    Parameters
    ----------
    strip : Strip
        As drawn.
    events : iterable of Event
        All records, corrections included.

    Returns
    -------
    StripFate
    """
    mine = sorted((e for e in current(events) if strip.strip in e.strips), key=lambda e: e.time)
    sown = [e.method for e in mine if e.event == "sown" and e.method is not None]
    gone = [e for e in mine if e.event in _GONE]
    cuts = [e for e in mine if e.event == "cut_measured"]
    method = sown[-1] if sown else strip.method
    notes = [f"drawn for {strip.method} but sown with {method}; it counts as sown"] if method != strip.method else []
    notes += [_gone_note(e) for e in gone[-1:]]
    notes += [f"damage: {e.note}" for e in mine if e.event == "damage" and e.note]
    area, source = _area(strip, cuts)
    return StripFate(method, _GONE[gone[-1].event] if gone else None, area, source, tuple(notes))


def _gone_note(event: Event) -> str:
    words = _GONE_WORDS[_GONE[event.event]]
    return f"{words}: {event.note}" if event.note else words


def _area(strip: Strip, cuts: list[Event]) -> tuple[float, str]:
    if cuts and cuts[-1].length_m is not None and cuts[-1].width_m is not None:
        return cuts[-1].length_m * cuts[-1].width_m, "measured"
    return strip.cut_area_m2, "geometry"
