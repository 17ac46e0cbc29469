"""What was stuck into the ground at the strips: listed when set, ticked off before a harvester comes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from evenground.basis.observations import Event, current
from evenground.harvest.names import strip_names

_WAY = {"marker_set": 1, "marker_out": -1}
DANGER = "a bar breaks the harvester, and swallowed splinters kill cattle"


@dataclass(frozen=True)
class Marker:
    """A marker that is still in the ground.

    Attributes
    ----------
    strips : tuple of int
        Where.
    what : str
        Which, as entered; may be empty.
    """

    strips: tuple[int, ...]
    what: str

    @property
    def words(self) -> str:
        """Marker and place, such as "M12 at strip 3"."""
        many = "s" if len(self.strips) > 1 else ""
        return f"{self.what or 'a marker'} at strip{many} {strip_names(self.strips)}"


def markers_left(events: Iterable[Event]) -> tuple[Marker, ...]:
    """Name the markers that were set and not taken out again.

    Parameters
    ----------
    events : iterable of Event
        As recorded; corrections are followed here.

    Returns
    -------
    tuple of Marker
        In the order they were set. A marker set twice must be taken out twice; one without a name counts by its strip.
    """
    left: Counter[tuple[tuple[int, ...], str]] = Counter()
    found: dict[tuple[tuple[int, ...], str], Marker] = {}
    for one in current(events):
        way = _WAY.get(one.event)
        if way is None:
            continue
        key = one.strips, one.what.strip().casefold()
        left[key] += way
        if way > 0:
            found.setdefault(key, Marker(one.strips, one.what.strip()))
    return tuple(marker for key, marker in found.items() if left[key] > 0)


def marker_notes(events: Iterable[Event]) -> tuple[str, ...]:
    """Say that markers are still in the crop; nothing where none is.

    Parameters
    ----------
    events : iterable of Event
        As recorded.

    Returns
    -------
    tuple of str
        One sentence or none, without its full stop.
    """
    left = ", ".join(marker.words for marker in markers_left(events))
    if not left:
        return ()
    return (f"markers still in the field by the records: {left}; no harvest before each is out: {DANGER}",)
