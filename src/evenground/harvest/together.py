"""What strips have in common after harvest: one sum for several, errors in several, and values far from all others."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from evenground.basis.observations import Load
from evenground.harvest.harvested import StripHarvest

# Outside this range of the median of all strips a value is more likely a slip of the pen than a crop. Judgement.
LIKELY = (0.6, 1.6)
FEWEST_TO_JUDGE = 4
# Where strips lie close together a smaller distance is strange already: so many robust standard deviations, but never
# nearer than the share named. All of it judgement: nothing is left out for a question.
FEWEST_FOR_SPREAD = 8
ASKED_FROM = (4.0, 0.25)
BARRED_FROM = (5.0, 0.35)
SD_OF_MAD = 1.4826  # of a normal distribution: 1 / its upper quartile
# A strip begun again after this many others is asked about, whatever it weighs: two machines side by side take turns
# on fewer. Judgement.
STRIPS_BETWEEN = 3


@dataclass(frozen=True)
class CommonError:
    """An error of mass or area that sits in more than one strip.

    Attributes
    ----------
    label : str
        What it is, in words.
    strips : tuple of int
        Strips it sits in.
    effects : tuple of float
        What one standard deviation of it does to the outcome of each, with sign [t/ha of the outcome].
    """

    label: str
    strips: tuple[int, ...]
    effects: tuple[float, ...]


def united(strips: tuple[StripHarvest, ...]) -> tuple[StripHarvest, ...]:
    """Give strips that were weighed together one value: their sum over their ground.

    Parameters
    ----------
    strips : tuple of StripHarvest
        Each with its part by area of the sum.
    """
    by_number = {s.strip: s for s in strips}
    return tuple(_of_unit(s, [by_number[n] for n in (s.strip, *s.weighed_with)]) for s in strips)


def _of_unit(strip: StripHarvest, unit: list[StripHarvest]) -> StripHarvest:
    if len(unit) == 1:
        return strip
    area = sum(s.cut_area_m2 for s in unit)
    values = [(s.outcome, s.cut_area_m2) for s in unit]
    if any(value is None for value, _ in values):
        state = "missing" if strip.state == "weighed" else strip.state
        return replace(strip, outcome=None, state=state)
    grown = sum((s.yield_t_per_ha or 0.0) * s.cut_area_m2 for s in unit) / area
    return replace(strip, outcome=sum((value or 0.0) * part for value, part in values) / area, yield_t_per_ha=grown)


def common_errors(
    strips: tuple[StripHarvest, ...],
    masses: Mapping[int, Mapping[str, float]],
    areas: Mapping[int, Mapping[str, float]],
    figures: Mapping[int, tuple[str, float]] | None = None,
) -> tuple[CommonError, ...]:
    """List errors of masses, areas and sensed dry matter that several weighed strips share.

    Parameters
    ----------
    strips : tuple of StripHarvest
        After harvest.
    masses : mapping
        Strip to error name to what one standard deviation does to its fresh mass [t].
    areas : mapping
        Strip to error name to what one standard deviation does to its area, in proportion [1].
    figures : mapping or None
        Strip to the name of an error its dry matter has in common with others, and its size in proportion [1].

    Returns
    -------
    tuple of CommonError
        An error in one strip only is part of that strip's own error and is not listed.

    Source: propagation of errors to first order; mass, area and dry matter are factors of the outcome.
    """
    found: dict[str, dict[int, float]] = {}
    whole = {s.strip: s.fresh_t or 0.0 for s in strips}
    for s in strips:
        if s.outcome is None or s.fresh_t is None:
            continue
        total = s.fresh_t + sum(whole[n] for n in s.weighed_with)
        for name, error_t in masses[s.strip].items():
            found.setdefault(name, {})[s.strip] = s.outcome * error_t / total
        for name, share in areas[s.strip].items():
            found.setdefault(name, {})[s.strip] = -s.outcome * share
        name, share = (figures or {}).get(s.strip, ("", 0.0))
        if name:
            found.setdefault(name, {})[s.strip] = s.outcome * share
    return tuple(
        CommonError(name, tuple(effects), tuple(effects.values()))
        for name, effects in found.items()
        if len(effects) > 1
    )


def plausible(strips: tuple[StripHarvest, ...], amount: str = "t") -> tuple[StripHarvest, ...]:
    """Add a question to strips whose value lies far from all others; nothing is left out for it.

    Parameters
    ----------
    strips : tuple of StripHarvest
        After harvest.
    amount : str
        What the outcome is counted in: "t" or "GJ".
    """
    values = [s.outcome for s in strips if s.outcome is not None]
    if len(values) < FEWEST_TO_JUDGE:
        return strips
    middle, likely = statistics.median(values), _likely(values, ASKED_FROM)
    return tuple(_asked(s, middle, likely, amount) for s in strips)


def _likely(values: Sequence[float], far: tuple[float, float]) -> tuple[float, float]:
    """Between which shares of the middle value nothing is strange: as wide as the strips of this field scatter."""
    middle = statistics.median(values)
    if len(values) < FEWEST_FOR_SPREAD or middle <= 0.0:
        return LIKELY
    spread = SD_OF_MAD * statistics.median(abs(v - middle) for v in values) / middle
    wide = max(far[0] * spread, far[1])
    return max(LIKELY[0], 1.0 - wide), min(LIKELY[1], 1.0 + wide)


def cut_twice(strips: tuple[StripHarvest, ...], loads: Iterable[Load], amount: str = "t") -> tuple[StripHarvest, ...]:
    """Leave out strips that give far too much because loads of them lie before and after loads of other strips.

    Either the strip on one of the loads is wrong, or ground was cut that does not belong to it; nobody knows which.

    Parameters
    ----------
    strips : tuple of StripHarvest
        After harvest.
    loads : iterable of Load
        As they stand after corrections; headlands and opening cuts do not count.
    amount : str
        What the outcome is counted in: "t" or "GJ".
    """
    values = [s.outcome for s in strips if s.outcome is not None]
    if len(values) < FEWEST_TO_JUDGE:
        return strips
    cut = sorted((one for one in loads if one.part == "cut"), key=lambda one: one.time)
    middle, most, turns = statistics.median(values), _likely(values, BARRED_FROM)[1], _turns(cut)

    def judged(s: StripHarvest) -> StripHarvest:
        again = turns.get(s.strip, ())
        if s.outcome is None or len(again) < 2:
            return s
        return _barred(s, middle, again, amount) if s.outcome > most * middle else _begun_again(s, again, cut)

    return tuple(judged(s) for s in strips)


def _turns(loads: Sequence[Load]) -> dict[int, list[datetime]]:
    """When each strip's turn began: the first of its loads, and each load of it after one without it."""
    found: dict[int, list[datetime]] = {}
    before: tuple[int, ...] = ()
    for load in loads:
        for strip in load.strips:
            if strip not in before:
                found.setdefault(strip, []).append(load.time)
        before = load.strips
    return found


def _begun_again(strip: StripHarvest, turns: Sequence[datetime], loads: Sequence[Load]) -> StripHarvest:
    """Ask about a strip that was begun again after several others; it still counts."""
    for first, again in pairwise(turns):
        between = {n for load in loads if first < load.time < again for n in load.strips} - {strip.strip}
        if len(between) >= STRIPS_BETWEEN:
            text = (
                f"cut at {first:%H:%M} and again at {again:%H:%M}, with {len(between)} other strips between: are all "
                "its loads of this strip?"
            )
            return replace(strip, notes=(*strip.notes, text))
    return strip


def _barred(strip: StripHarvest, middle: float, turns: Sequence[datetime], amount: str) -> StripHarvest:
    times = " and again at ".join(f"{time:%H:%M}" for time in turns)
    much = f"{strip.outcome:.1f} {amount}/ha beside {middle:.1f} {amount}/ha of the others"
    text = (
        f"cut at {times}, with other strips between, and {much}: was a load written down for the wrong strip? Correct "
        "the load; until then the strip does not count."
    )
    return replace(strip, outcome=None, state="missing", notes=(*strip.notes, text))


def _asked(strip: StripHarvest, middle: float, likely: tuple[float, float], amount: str) -> StripHarvest:
    if strip.outcome is None or likely[0] * middle <= strip.outcome <= likely[1] * middle:
        return strip
    why = "was a load forgotten" if strip.outcome < middle else "was something weighed that is not of this strip"
    far = f"{strip.outcome:.1f} {amount}/ha is far from the {middle:.1f} {amount}/ha of the others"
    text = f"{far}; {why}, or is a number mistyped?"
    return replace(strip, notes=(*strip.notes, text))
