"""Arithmetic of sowing: seeds, spacings, rates and pace. All of it can be redone on paper."""

from __future__ import annotations

import math

M2_PER_HA = 10_000.0
KM_PER_H_TO_M_PER_S = 1.0 / 3.6


def seeds_for_plants(plants_per_m2: float, emergence_fraction: float) -> float:
    """Say how many seeds give the wanted plants [1/m2].

    Parameters
    ----------
    plants_per_m2 : float
        Plants wanted [1/m2].
    emergence_fraction : float
        Share of seeds that become plants [1].

    Source: seed breeders' seed-rate tables, kernels/m2 = plants/m2 / emergence.
    """
    _above_zero(plants_per_m2=plants_per_m2, emergence_fraction=emergence_fraction)
    return plants_per_m2 / emergence_fraction


def in_line_spacing_m(seeds_per_m2: float, row_spacing_m: float, lines_per_row: int = 1) -> float:
    """Say how far apart the seeds of one line lie [m].

    Parameters
    ----------
    seeds_per_m2 : float
        Seeds set [1/m2].
    row_spacing_m : float
        Distance between row centres [m].
    lines_per_row : int
        1 for single rows, 2 for twin rows [1]: each line then carries half of the seeds.

    Source: geometry; spacing = 1 / (seeds/m2 x row spacing), as in seed breeders' tables.

    Examples
    --------
    >>> round(in_line_spacing_m(9.5 / 0.95, 0.75), 3), round(in_line_spacing_m(9.5 / 0.95, 0.75, 2), 3)
    (0.133, 0.267)
    """
    _above_zero(seeds_per_m2=seeds_per_m2, row_spacing_m=row_spacing_m, lines_per_row=lines_per_row)
    return lines_per_row / (seeds_per_m2 * row_spacing_m)


def kernels_per_second(spacing_m: float, speed_km_per_h: float) -> float:
    """Say how many kernels a second one metering unit must give [1/s].

    Parameters
    ----------
    spacing_m : float
        Distance between seeds of the line it sows [m].
    speed_km_per_h : float
        Driving speed [km/h].

    Source: speed over spacing.

    Examples
    --------
    >>> round(kernels_per_second(in_line_spacing_m(10.0, 0.75), 6.0), 2)
    12.5
    """
    _above_zero(spacing_m=spacing_m, speed_km_per_h=speed_km_per_h)
    return speed_km_per_h * KM_PER_H_TO_M_PER_S / spacing_m


def units_per_ha(seeds_per_m2: float, kernels_per_unit: float) -> float:
    """Say how many units of seed a hectare takes [1/ha].

    Examples
    --------
    >>> units_per_ha(10.0, 50_000)
    2.0
    """
    _above_zero(seeds_per_m2=seeds_per_m2, kernels_per_unit=kernels_per_unit)
    return seeds_per_m2 * M2_PER_HA / kernels_per_unit


def field_capacity_ha_per_h(speed_km_per_h: float, width_m: float, efficiency_fraction: float) -> float:
    """Say how much ground a machine covers in an hour, turning and filling included [ha/h].

    Parameters
    ----------
    speed_km_per_h : float
        Driving speed [km/h].
    width_m : float
        Working width [m].
    efficiency_fraction : float
        Share of the time that is really worked [1].

    Source: speed x width x efficiency / 10; Hancock, Swetnam & Benson (1991), AEN-73, University of Kentucky.

    Examples
    --------
    >>> field_capacity_ha_per_h(8.0, 3.0, 0.6)
    1.44
    """
    _above_zero(speed_km_per_h=speed_km_per_h, width_m=width_m, efficiency_fraction=efficiency_fraction)
    return speed_km_per_h * width_m * efficiency_fraction / 10.0


def _above_zero(**values: float) -> None:
    """Raise ValueError naming the first value that is not a number above zero."""
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above 0, not {value}")
