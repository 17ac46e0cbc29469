"""What happened to each strip besides growing: sown otherwise, lost, measured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from evenground.basis.observations import Damage, Event, current
from evenground.basis.strip import Strip
from evenground.harvest.care import damage_notes

_GONE = {"strip_lost": "lost", "not_sown": "not_sown"}
_GONE_WORDS = {"lost": "the strip was lost", "not_sown": "the strip was not sown"}


@dataclass(frozen=True)
class StripFate:
    """One strip as the season left it.

    Attributes
    ----------
    method : str
        Letter as really sown.
    state : {"lost", "not_sown", "other_product"} or None
        None where it counts.
    notes : tuple of str
        In plain words.
    product : str
        What it was harvested as; empty where that is what the plan counts.
    """

    method: str
    state: str | None
    notes: tuple[str, ...]
    product: str = ""


def fate(strip: Strip, events: Iterable[Event], damage: Iterable[Damage] = ()) -> StripFate:
    """Say how one strip was really sown and whether it was lost.

    Where two events of a kind speak about one strip, the later one counts.

    Parameters
    ----------
    strip : Strip
        As drawn.
    events : iterable of Event
        All records, corrections included.
    damage : iterable of Damage
        Patches, corrections included.

    Returns
    -------
    StripFate
    """
    mine = sorted((e for e in current(events) if strip.strip in e.strips), key=lambda e: e.time)
    sown = [e.method for e in mine if e.event == "sown" and e.method is not None]
    gone = [e for e in mine if e.event in _GONE]
    method = sown[-1] if sown else strip.method
    notes = [f"drawn for {strip.method} but sown with {method}; it counts as sown"] if method != strip.method else []
    notes += [_gone_note(e) for e in gone[-1:]]
    notes += [f"damage: {e.note}" for e in mine if e.event == "damage" and e.note]
    notes += damage_notes(damage, strip.strip)
    return StripFate(method, _GONE[gone[-1].event] if gone else None, tuple(notes))


def _gone_note(event: Event) -> str:
    words = _GONE_WORDS[_GONE[event.event]]
    return f"{words}: {event.note}" if event.note else words
