"""What the laboratory found, by strip; two laboratories, methods or energy systems are never mixed or converted."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from evenground.basis.observations import LabValue, current
from evenground.basis.outcome_plan import OutcomeSection
from evenground.harvest.dry_matter import FEWEST_REPEAT_DF
from evenground.harvest.mass import pooled_sd

# How far one laboratory value may be off the crop of its strips (sampling and laboratory together), where several
# strips share it and repeats cannot tell. Judgement, no source; those of starch and energy can be changed in the plan.
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
    shared_sds : tuple of float
        How far the value of each group may be off, standard deviation [unit of the quantity].
    sd_source : str
        Where that comes from: "repeats" or "plan default".
    lab, lab_method, energy_system, energy_edition : str
        What the source is made of; the last two are empty for all but energy.
    """

    quantity: str
    source: str
    by_strip: Mapping[int, float]
    shared: tuple[tuple[int, ...], ...]
    shared_sds: tuple[float, ...] = ()
    sd_source: str = "plan default"
    lab: str = ""
    lab_method: str = ""
    energy_system: str = ""
    energy_edition: str = ""

    @property
    def name(self) -> str:
        """What it is, in words, with who found it."""
        return f"{NAMES[self.quantity][0]} ({self.source})"

    @property
    def unit(self) -> str:
        """Unit in words."""
        return NAMES[self.quantity][1]


def feed_values(records: Iterable[LabValue], outcome: OutcomeSection | None = None) -> tuple[FeedValue, ...]:
    """Gather laboratory values by strip, each laboratory and method or energy system by itself.

    Parameters
    ----------
    records : iterable of LabValue
        All records, corrections included.
    outcome : OutcomeSection or None
        Says how far one value of starch or energy may be off where repeats cannot tell.

    Returns
    -------
    tuple of FeedValue
        By quantity, then source; two sources of one quantity are two entries.
    """
    groups: dict[tuple[str, Source], dict[tuple[int, ...], list[float]]] = {}
    for record in current(records):
        for quantity in NAMES:
            value = getattr(record, quantity)
            if value is not None:
                by_strips = groups.setdefault((quantity, _source(record, quantity)), {})
                by_strips.setdefault(tuple(sorted(record.strips)), []).append(value)
    order, sds = list(NAMES), dict(LAB_SD)
    if outcome is not None:
        sds |= {"starch_percent": outcome.starch_sd_points, "energy_mj_per_kg": outcome.energy_sd_mj_per_kg}
    return tuple(
        _gathered(quantity, source, groups[quantity, source], sds[quantity])
        for quantity, source in sorted(groups, key=lambda key: (order.index(key[0]), key[1]))
    )


# Laboratory, method, energy system and its edition: an energy has a system instead of a method.
Source = tuple[str, str, str, str]


def _source(record: LabValue, quantity: str) -> Source:
    if quantity == "energy_mj_per_kg":
        return record.lab, "", record.energy_system, record.energy_edition
    return record.lab, record.lab_method, "", ""


def _gathered(
    quantity: str, source: Source, by_strips: Mapping[tuple[int, ...], list[float]], default_sd: float
) -> FeedValue:
    repeats = sum(len(v) - 1 for v in by_strips.values())
    pooled = pooled_sd(list(by_strips.values()))
    own = pooled is not None and repeats >= FEWEST_REPEAT_DF
    one_sd = pooled if own and pooled is not None else default_sd
    found: dict[int, float] = {}
    serves: dict[tuple[int, ...], list[int]] = {}
    for strip in sorted({s for key in by_strips for s in key}):
        key = min((k for k in by_strips if strip in k), key=lambda k: (len(k), k))
        found[strip] = statistics.fmean(by_strips[key])
        serves.setdefault(key, []).append(strip)
    several = {key: tuple(strips) for key, strips in serves.items() if len(strips) > 1}
    return FeedValue(
        quantity,
        ", ".join(t for t in source if t),
        found,
        tuple(several.values()),
        tuple(one_sd / len(by_strips[key]) ** 0.5 for key in several),
        "repeats" if own else "plan default",
        *source,
    )


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
