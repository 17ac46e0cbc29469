"""Did it come up? Plants per square metre by strip and by method, expected against counted."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from evenground.basis.observations import Records, StandCount, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw


@dataclass(frozen=True)
class StripStand:
    """Stand of one strip.

    Attributes
    ----------
    strip, block : int
        Which strip.
    method : str
        Method as really sown.
    plants_per_m2 : float or None
        Plants counted over the ground counted [1/m2]; None without a count.
    counts, plants : int
        Number of counts, and plants in them [1].
    """

    strip: int
    block: int
    method: str
    plants_per_m2: float | None
    counts: int
    plants: int

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``strips`` of ``stand --json``."""
        return dict(self.__dict__)


@dataclass(frozen=True)
class MethodStand:
    """Stand of one method.

    Attributes
    ----------
    method : str
        Which.
    expected_plants_per_m2 : float
        Seeds times expected emergence [1/m2].
    plants_per_m2 : float or None
        Mean of its counted strips [1/m2].
    standard_error : float or None
        Of that mean, from the spread of the strips [1/m2]; None with fewer than two strips.
    strips_counted : int
        [1].
    emergence_fraction : float or None
        Counted plants per seed set [1].
    """

    method: str
    expected_plants_per_m2: float
    plants_per_m2: float | None
    standard_error: float | None
    strips_counted: int
    emergence_fraction: float | None

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``methods`` of ``stand --json``."""
        return dict(self.__dict__)


@dataclass(frozen=True)
class Stand:
    """Stand of the trial.

    Attributes
    ----------
    strips : tuple of StripStand
        Every drawn strip, by number.
    methods : tuple of MethodStand
        In the order of the plan.
    notes : tuple of str
        In plain words.
    """

    strips: tuple[StripStand, ...]
    methods: tuple[MethodStand, ...]
    notes: tuple[str, ...]


def plants_per_m2(plants: int, length_m: float, rows: int, row_spacing_m: float) -> float:
    """Turn a count into plants per square metre [1/m2].

    Parameters
    ----------
    plants : int
        Plants counted [1].
    length_m : float
        Length counted along the row [m].
    rows : int
        Rows counted together; a twin row is one row [1].
    row_spacing_m : float
        Distance between row centres [m].

    Raises
    ------
    ValueError
        If length, rows or spacing are not above zero.

    Source: geometry; 10 / row spacing metres of row are a thousandth of a hectare.

    Examples
    --------
    >>> round(plants_per_m2(95, 10 / 0.75, 1, 0.75), 6)
    9.5
    """
    if not (length_m > 0.0 and rows > 0 and row_spacing_m > 0.0):
        raise ValueError(f"length, rows and spacing must be above 0, not {length_m}, {rows}, {row_spacing_m}")
    return plants / (length_m * rows * row_spacing_m)


def row_length_m(row_spacing_m: float, ground_m2: float = 10.0) -> float:
    """Return the length of row that stands for a piece of ground, by default a thousandth of a hectare [m].

    Parameters
    ----------
    row_spacing_m : float
        Distance between row centres [m]; a twin row is one row, both its lines are counted.
    ground_m2 : float
        The piece [m2].

    Raises
    ------
    ValueError
        If one of them is not above zero.

    Source: geometry; University of Tennessee Extension prints the same for a thousandth of an acre.

    Examples
    --------
    >>> round(row_length_m(0.75), 3), row_length_m(0.5)
    (13.333, 20.0)
    """
    if not (row_spacing_m > 0.0 and ground_m2 > 0.0):
        raise ValueError(f"row spacing and ground must be above 0, not {row_spacing_m}, {ground_m2}")
    return ground_m2 / row_spacing_m


def mean_and_error(values: Sequence[float]) -> tuple[float | None, float | None]:
    """Return the mean of strips and its standard error; None where there are too few [unit of the values]."""
    mean = statistics.fmean(values) if values else None
    return mean, statistics.stdev(values) / math.sqrt(len(values)) if len(values) > 1 else None


def stand(plan: Plan, draw: Draw, records: Records) -> Stand:
    """Say how many plants stand on a square metre, by strip and by method.

    All counts of a strip are added before dividing, so that a longer count weighs more. A count that names several
    strips cannot be told apart and is left out with a note. Where a strip was counted at several stages, the counts at
    three leaves (or without a stage) are its stand; without any, those after the last hoeing, with a note.

    Parameters
    ----------
    plan : Plan
        Methods with row spacing and expected emergence.
    draw : Draw
        The strips.
    records : Records
        Stand counts and events, corrections included.
    """
    counts = current(records.stand_counts)
    sown = sown_methods(draw, records)
    spacing = {m.letter: m.row_pattern.row_spacing_m for m in plan.methods}
    strips = tuple(
        _strip_stand(s.strip, s.block, sown[s.strip], spacing[sown[s.strip]], stand_counts_of(counts, s.strip))
        for s in sorted(draw.strips, key=lambda s: s.strip)
    )
    notes = tuple(f"count {c.id} names several strips and was left out" for c in counts if len(c.strips) > 1)
    notes += _late_counts_notes(counts, strips)
    methods = tuple(
        _method_stand(m.letter, m.seeds_per_m2, m.expected_emergence_fraction, strips) for m in plan.methods
    )
    return Stand(strips, methods, notes)


def stand_counts_of(counts: Sequence[StandCount], strip: int) -> list[StandCount]:
    """Return the counts that tell the stand of a strip: at three leaves, else after the last hoeing."""
    mine = [c for c in counts if c.strips == (strip,)]
    early = [c for c in mine if c.stage in (None, "three_leaves")]
    return early or [c for c in mine if c.stage == "after_last_hoeing"]


def _late_counts_notes(counts: Sequence[StandCount], strips: Iterable[StripStand]) -> tuple[str, ...]:
    late = [
        str(s.strip) for s in strips if any(c.stage == "after_last_hoeing" for c in stand_counts_of(counts, s.strip))
    ]
    text = f"strip {', '.join(late)} was counted only after the last hoeing; losses to the hoe are in its stand"
    return (text,) if late else ()


def sown_methods(draw: Draw, records: Records) -> dict[int, str]:
    """Say with which method each strip was really sown, by strip number; the latest word counts."""
    out = {s.strip: s.method for s in draw.strips}
    for event in sorted(current(records.events), key=lambda e: e.time):
        if event.event == "sown" and event.method is not None:
            out.update({s: event.method for s in event.strips if s in out})
    return out


def _strip_stand(strip: int, block: int, method: str, spacing_m: float, counts: Sequence[StandCount]) -> StripStand:
    plants = sum(c.plants for c in counts)
    length_m = math.fsum(c.length_m * c.rows for c in counts)
    density = plants_per_m2(plants, length_m, 1, spacing_m) if counts else None
    return StripStand(strip, block, method, density, len(counts), plants)


def _method_stand(letter: str, seeds_per_m2: float, emergence: float, strips: Iterable[StripStand]) -> MethodStand:
    values = [s.plants_per_m2 for s in strips if s.method == letter and s.plants_per_m2 is not None]
    mean, error = mean_and_error(values)
    share = None if mean is None else mean / seeds_per_m2
    return MethodStand(letter, seeds_per_m2 * emergence, mean, error, len(values), share)
