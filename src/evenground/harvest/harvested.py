"""One strip after harvest."""

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
        "geometry" (as drawn), "joints" (as drawn, joints measured), "measured" (length and width) or "rows" (rows x
        length x spacing).
    fresh_t : float or None
        Fresh mass of the cut [t]; None if missing. Of strips weighed together each has its part by area.
    dry_matter_fraction : float or None
        Dry matter per fresh matter used for it [kg/kg].
    outcome : float or None
        Outcome per hectare, in the unit of the harvest: that yield, or the starch or energy in it; None if missing.
    state : {"weighed", "missing", "lost", "not_sown", "other_product"}
        What became of it.
    sample_ids : tuple of str
        Samples its dry matter rests on.
    shares_sample_with : tuple of int
        Other strips that use the same figure.
    notes : tuple of str
        In plain words.
    weighed_with : tuple of int
        Other strips in the same sum; they count as one.
    yield_t_per_ha : float or None
        The product's yield [t/ha: dry matter, or the product at the stated moisture]; None if it is missing.
    estimated_sd_fraction : float
        Where its mass was estimated and not weighed: how far it may be off [1]; else 0.
    content : float or None
        Laboratory value its outcome rests on [% or MJ/kg of dry matter]; None where the yield itself is counted.
    product : str
        What it was harvested as; empty where that is what the plan counts.
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
    weighed_with: tuple[int, ...] = ()
    yield_t_per_ha: float | None = None
    content: float | None = None
    estimated_sd_fraction: float = 0.0
    product: str = ""

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
            "yield_t_per_ha": self.yield_t_per_ha,
            "content": self.content,
            "estimated_sd_fraction": self.estimated_sd_fraction,
            "outcome": self.outcome,
            "product": self.product or None,
            "state": self.state,
            "shares_sample_with": list(self.shares_sample_with),
            "weighed_with": list(self.weighed_with),
            "notes": list(self.notes),
        }
