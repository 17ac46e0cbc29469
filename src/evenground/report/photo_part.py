"""Photographs of the crop walk: those of one spot side by side, or of neighbouring strips, few enough to look at."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from evenground.basis.days import said_day
from evenground.basis.walk_records import RootPit
from evenground.report.document import Part, Photo, Photos
from evenground.report.wording import number, sentence
from evenground.season.crop_walk import CropWalk, Sighting

MOST_ACROSS = 3
MOST_ROWS = 8
MOST_PITS = 6
# Photographs of one strip taken farther apart than this are of two spots: receivers of phones are off by some metres.
ONE_SPOT_M = 15.0
METRES_PER_DEGREE = 111_320.0
CLEANED = "Made small, without what the camera added."


def photo_parts(walk: CropWalk, methods: Mapping[int, str]) -> tuple[Part, ...]:
    """Return the photographs of strips and root pits; nothing where there are none.

    Parameters
    ----------
    walk : CropWalk
        What was seen.
    methods : mapping of int to str
        Method of each strip as sown.
    """
    spots = _spots([s for s in walk.seen if s.photo])
    parts: list[Part] = []
    if spots:
        parts.append(_of_spots(spots, methods))
    pits = [p for p in walk.pits if p.photo]
    if pits:
        shown = tuple(_of_pit(p, methods) for p in pits[:MOST_PITS])
        parts.append(Photos("Root pits", _rows(shown, MOST_ACROSS), _note(len(shown), len(pits))))
    return tuple(parts)


def _of_spots(spots: Sequence[Sequence[Sighting]], methods: Mapping[int, str]) -> Photos:
    """Put each spot into a row of its own; where every spot has one photograph, neighbouring strips stand together."""
    taken = sum(len(spot) for spot in spots)
    if all(len(spot) == 1 for spot in spots):
        across = min(max(len(set(methods.values())), 2), MOST_ACROSS)
        one_each = tuple(_of_strip(spot[0], methods) for spot in spots[: across * MOST_ROWS])
        return Photos("Photographs, neighbouring strips together", _rows(one_each, across), _note(len(one_each), taken))
    fullest = sorted(spots, key=lambda spot: -len(spot))[:MOST_ROWS]
    shown = sorted(fullest, key=lambda spot: spot[0].strip)
    rows = tuple(tuple(_of_strip(s, methods) for s in spread_out(spot, MOST_ACROSS)) for spot in shown)
    return Photos("Photographs, those of the same spot side by side", rows, _note(sum(map(len, rows)), taken))


def spread_out(taken: Sequence[Sighting], most: int) -> tuple[Sighting, ...]:
    """Return the first, the last and some between, evenly, where there are more than can be shown.

    Parameters
    ----------
    taken : sequence of Sighting
        In the order of time.
    most : int
        How many [1]; two at least.
    """
    if len(taken) <= most:
        return tuple(taken)
    return tuple(taken[round(i * (len(taken) - 1) / (most - 1))] for i in range(most))


def _spots(seen: Iterable[Sighting]) -> list[list[Sighting]]:
    """Gather photographs by strip and spot, each in the order of time; one without a place joins the strip's first."""
    spots: list[list[Sighting]] = []
    named: set[tuple[int, str]] = set()
    for one in sorted(seen, key=lambda s: (s.strip, s.day)):
        if (one.strip, one.photo) in named:
            continue
        named.add((one.strip, one.photo))
        for spot in spots:
            if spot[0].strip == one.strip and _near(spot[0], one):
                spot.append(one)
                break
        else:
            spots.append([one])
    return spots


def _near(one: Sighting, two: Sighting) -> bool:
    if one.lon is None or one.lat is None or two.lon is None or two.lat is None:
        return True
    east = (two.lon - one.lon) * math.cos(math.radians(one.lat))
    return METRES_PER_DEGREE * math.hypot(east, two.lat - one.lat) <= ONE_SPOT_M


def _of_strip(one: Sighting, methods: Mapping[int, str]) -> Photo:
    where = _where(one.strip, methods)
    known = [text for text in (one.said, one.note) if text]
    alt = f"Photograph of {where}, {said_day(one.day)}. {' '.join(map(sentence, known)) or 'Nothing is said of it.'}"
    return Photo(one.photo, alt, f"{where[0].upper()}{where[1:]}, {said_day(one.day)}")


def _of_pit(pit: RootPit, methods: Mapping[int, str]) -> Photo:
    where, day = _where(pit.strip, methods), said_day(pit.time)
    deepest = "" if pit.deepest_root_cm is None else f"deepest root {number(pit.deepest_root_cm)} cm"
    known = [text for text in (deepest, pit.note) if text]
    alt = f"Photograph of a root pit in {where}, {day}. {' '.join(map(sentence, known)) or 'Nothing is said of it.'}"
    return Photo(pit.photo, alt, f"Pit in {where}, {day}{f': {deepest}' if deepest else ''}")


def _where(strip: int, methods: Mapping[int, str]) -> str:
    return f"strip {strip} ({methods[strip]})" if strip in methods else f"strip {strip}"


def _rows(photos: Sequence[Photo], across: int) -> tuple[tuple[Photo, ...], ...]:
    return tuple(tuple(photos[i : i + across]) for i in range(0, len(photos), across))


def _note(shown: int, taken: int) -> str:
    if shown == taken:
        return CLEANED
    return f"{shown} of {taken} photographs; the others lie beside the records. {CLEANED}"
