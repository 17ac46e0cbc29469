"""What the laboratory found, by strip; two laboratories, methods or energy systems are never mixed or converted."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from evenground.basis.observations import LabValue, current

# How far one laboratory value may be off the crop of its strips (sampling and laboratory together), where several
# strips share it. Judgement, no source; a sample of its own for each strip makes it needless.
LAB_SD: dict[str, float] = {
    "starch_percent": 2.0,
    "fibre_percent": 2.0,
    "protein_percent": 0.4,
    "digestibility_percent": 1.5,
    "energy_mj_per_kg": 0.1,
}
NAMES: dict[str, tuple[str, str]] = {
    "starch_percent": ("starch", "% of dry matter"),
    "fibre_percent": ("fibre (aNDFom)", "% of dry matter"),
    "protein_percent": ("crude protein", "% of dry matter"),
    "digestibility_percent": ("digestibility", "%"),
    "energy_mj_per_kg": ("energy", "MJ/kg dry matter"),
}


@dataclass(frozen=True)
class FeedValue:
    """One quantity from one laboratory by one method, by strip.

    Attributes
    ----------
    quantity : str
        Field of the record, such as ``starch_percent``.
    source : str
        Laboratory and method, or laboratory and energy system with its edition.
    by_strip : mapping of int to float
        Value of each strip: of its own sample, else of the one shared by the fewest strips [unit of the quantity].
    shared : tuple of tuple of int
        Groups of strips that rest on one value.
    """

    quantity: str
    source: str
    by_strip: Mapping[int, float]
    shared: tuple[tuple[int, ...], ...]

    @property
    def name(self) -> str:
        """What it is, in words, with who found it."""
        return f"{NAMES[self.quantity][0]} ({self.source})"

    @property
    def unit(self) -> str:
        """Unit in words."""
        return NAMES[self.quantity][1]


def feed_values(records: Iterable[LabValue]) -> tuple[FeedValue, ...]:
    """Gather laboratory values by strip, each laboratory and method or energy system by itself.

    Parameters
    ----------
    records : iterable of LabValue
        All records, corrections included.

    Returns
    -------
    tuple of FeedValue
        By quantity, then source; two sources of one quantity are two entries.
    """
    groups: dict[tuple[str, str], dict[tuple[int, ...], list[float]]] = {}
    for record in current(records):
        for quantity in NAMES:
            value = getattr(record, quantity)
            if value is not None:
                by_strips = groups.setdefault((quantity, _source(record, quantity)), {})
                by_strips.setdefault(tuple(sorted(record.strips)), []).append(value)
    order = list(NAMES)
    return tuple(
        _gathered(quantity, source, groups[quantity, source])
        for quantity, source in sorted(groups, key=lambda key: (order.index(key[0]), key[1]))
    )


def _source(record: LabValue, quantity: str) -> str:
    if quantity == "energy_mj_per_kg":
        return f"{record.lab}, {record.energy_system}, {record.energy_edition}"
    return ", ".join(t for t in (record.lab, record.lab_method) if t)


def _gathered(quantity: str, source: str, by_strips: Mapping[tuple[int, ...], list[float]]) -> FeedValue:
    found: dict[int, float] = {}
    serves: dict[tuple[int, ...], list[int]] = {}
    for strip in sorted({s for key in by_strips for s in key}):
        key = min((k for k in by_strips if strip in k), key=lambda k: (len(k), k))
        found[strip] = statistics.fmean(by_strips[key])
        serves.setdefault(key, []).append(strip)
    return FeedValue(quantity, source, found, tuple(tuple(s) for s in serves.values() if len(s) > 1))


def feed_notes(values: Iterable[FeedValue]) -> tuple[str, ...]:
    """Say where one quantity comes from more than one source."""
    sources: dict[str, list[str]] = {}
    for value in values:
        sources.setdefault(value.quantity, []).append(value.source)
    return tuple(
        f"{NAMES[quantity][0]} comes from {len(found)} sources ({'; '.join(found)}), compared apart and never mixed"
        for quantity, found in sources.items()
        if len(found) > 1
    )
