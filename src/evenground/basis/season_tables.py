"""Tables the season is read with: soils, heat needs by earliness, coefficients of maize; each row names its source."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import get_args

from evenground.basis.season_plan import EarlinessGroup, SoilWater, Texture

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class SoilTexture:
    """What a soil of one texture holds, lowest and highest.

    Attributes
    ----------
    texture : str
        Which.
    field_capacity, wilting_point, difference : tuple of float
        Water by volume [m3/m3]; the difference is printed by itself, as the two ends of the others do not go together.
    readily_evaporable, totally_evaporable : tuple of float
        Water that evaporates from the top 10 cm, without hindrance and in all [mm].
    source : str
        Where the row comes from.
    """

    texture: str
    field_capacity: Range
    wilting_point: Range
    difference: Range
    readily_evaporable: Range
    totally_evaporable: Range
    source: str


@dataclass(frozen=True, slots=True)
class HeatNeeds:
    """Heat a hybrid needs from sowing, lowest and highest [deg C d, base 6 with ceiling 30].

    Attributes
    ----------
    group : str
        Earliness group, "" where the sums are the farm's own.
    flowering, silage : tuple of float
        To flowering (silking), and to 32 % dry matter of the whole plant [deg C d].
    source : str
        Where they come from.
    """

    group: str
    flowering: Range
    silage: Range
    source: str


@dataclass(frozen=True, slots=True)
class SoilStore:
    """A soil as the water balance takes it.

    Attributes
    ----------
    field_capacity, wilting_point : float
        Water by volume [m3/m3].
    readily_evaporable_mm, totally_evaporable_mm : float
        Water that evaporates from the top 10 cm, without hindrance and in all [mm].
    root_depth_m : float
        Greatest depth of the roots [m].
    start_fraction : float
        Share of the available water there on sowing day [1].
    source : str
        Where the values come from.
    """

    field_capacity: float
    wilting_point: float
    readily_evaporable_mm: float
    totally_evaporable_mm: float
    root_depth_m: float = 1.0
    start_fraction: float = 1.0
    source: str = ""

    @property
    def available(self) -> float:
        """Usable field capacity: water between field capacity and wilting point [mm per m of depth]."""
        return 1000.0 * (self.field_capacity - self.wilting_point)


def _rows(name: str) -> list[dict[str, str]]:
    text = resources.files("evenground.basis").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def soil_textures() -> dict[str, SoilTexture]:
    """Return the texture table by name.

    Source: FAO-56 (Allen et al. 1998), Table 19, p. 144.

    Examples
    --------
    >>> soil_textures()["sandy_loam"].field_capacity
    (0.18, 0.28)
    """
    return {
        r["texture"]: SoilTexture(
            r["texture"],
            (float(r["field_capacity_low"]), float(r["field_capacity_high"])),
            (float(r["wilting_point_low"]), float(r["wilting_point_high"])),
            (float(r["difference_low"]), float(r["difference_high"])),
            (float(r["rew_low_mm"]), float(r["rew_high_mm"])),
            (float(r["tew_low_mm"]), float(r["tew_high_mm"])),
            r["source"],
        )
        for r in _rows("soil_textures.csv")
    }


@cache
def earliness_groups() -> dict[str, HeatNeeds]:
    """Return the heat needs by earliness group; each row of the table names its source.

    Examples
    --------
    >>> earliness_groups()["early"].silage
    (1390.0, 1470.0)
    """
    return {
        r["group"]: HeatNeeds(
            r["group"],
            (float(r["flowering_low"]), float(r["flowering_high"])),
            (float(r["silage_low"]), float(r["silage_high"])),
            r["source"],
        )
        for r in _rows("maize_earliness.csv")
    }


@cache
def maize() -> dict[str, float]:
    """Return the coefficients of maize by name; units, meanings and sources stand in the table.

    Examples
    --------
    >>> maize()["basal_mid"]
    1.15
    """
    return {r["name"]: float(r["value"]) for r in _rows("maize_coefficients.csv")}


def soil_store(soil: SoilWater) -> SoilStore | None:
    """Return what a soil holds; None where the plan says nothing about it.

    Of a texture the middle of the printed difference counts, from the middle of the field capacity down.

    Own values go before the texture. The top 10 cm then hold 1000 (field capacity - wilting point / 2) x 0.1 mm that
    can evaporate (FAO-56 Eq. 73), of which 9 mm go unhindered, or less where there is less: the middle of Table 19.

    Parameters
    ----------
    soil : SoilWater
        What the plan says.
    """
    if soil.field_capacity_percent is not None and soil.wilting_point_percent is not None:
        high, low = soil.field_capacity_percent / 100.0, soil.wilting_point_percent / 100.0
        total = 1000.0 * (high - 0.5 * low) * maize()["evaporation_depth"]
        ready = _middle(soil_textures()[soil.texture].readily_evaporable) if soil.texture else 9.0
        return SoilStore(
            high, low, min(ready, 0.9 * total), total, soil.root_depth_m, soil.start_fraction, "own values"
        )
    if soil.texture is None:
        return None
    row = soil_textures()[soil.texture]
    return SoilStore(
        _middle(row.field_capacity),
        _middle(row.field_capacity) - _middle(row.difference),
        _middle(row.readily_evaporable),
        _middle(row.totally_evaporable),
        soil.root_depth_m,
        soil.start_fraction,
        f"middle of the range of {row.source}",
    )


def _middle(ends: Range) -> float:
    return (ends[0] + ends[1]) / 2.0


TEXTURES: tuple[str, ...] = get_args(Texture)
GROUPS: tuple[str, ...] = get_args(EarlinessGroup)
