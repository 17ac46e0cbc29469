"""What came off each strip: the result record of the harvest step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class StripHarvest:
    """One strip after harvest.

    Attributes
    ----------
    strip, block : int
        Which strip.
    method : str
        Method as it was really sown.
    drawn_method : str
        Method as drawn.
    cut_area_m2 : float
        Area of the weighed cut [m2].
    area_source : str
        "geometry" or "measured".
    fresh_t : float or None
        Fresh mass of the cut [t]; None if missing.
    dry_matter_fraction : float or None
        Dry matter per fresh matter used for it [kg/kg].
    outcome : float or None
        Outcome per hectare [t/ha of the outcome's unit]; None if the strip is missing.
    state : {"weighed", "missing", "lost", "not_sown"}
        What became of it.
    sample_ids : tuple of str
        Samples its dry matter rests on.
    shares_sample_with : tuple of int
        Other strips that use the same figure.
    notes : tuple of str
        In plain words.
    """

    strip: int
    block: int
    method: str
    drawn_method: str
    cut_area_m2: float
    area_source: str
    fresh_t: float | None
    dry_matter_fraction: float | None
    outcome: float | None
    state: str
    sample_ids: tuple[str, ...] = ()
    shares_sample_with: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``strips`` of ``harvest --json``."""
        return {
            "strip": self.strip,
            "block": self.block,
            "method": self.method,
            "drawn_method": self.drawn_method,
            "cut_area_m2": self.cut_area_m2,
            "area_source": self.area_source,
            "fresh_t": self.fresh_t,
            "dry_matter_fraction": self.dry_matter_fraction,
            "outcome": self.outcome,
            "state": self.state,
            "shares_sample_with": list(self.shares_sample_with),
            "notes": list(self.notes),
        }


@dataclass(frozen=True)
class SharedFigure:
    """One dry-matter figure that serves several strips.

    Attributes
    ----------
    strips : tuple of int
        Strips it serves.
    dry_matter_fraction : float
        The figure [kg/kg].
    sd_fraction : float
        Its sampling standard deviation [kg/kg].
    sd_source : str
        "repeats" or "plan default".
    """

    strips: tuple[int, ...]
    dry_matter_fraction: float
    sd_fraction: float
    sd_source: str


@dataclass(frozen=True)
class Harvest:
    """All strips after harvest.

    Attributes
    ----------
    strips : tuple of StripHarvest
        Every drawn strip, weighed or not, by strip number.
    shared : tuple of SharedFigure
        Dry-matter figures that serve more than one strip.
    unit : str
        Unit of the outcome, in words.
    notes : tuple of str
        What concerns the whole harvest, in plain words.
    """

    strips: tuple[StripHarvest, ...]
    shared: tuple[SharedFigure, ...]
    unit: str
    notes: tuple[str, ...] = ()
