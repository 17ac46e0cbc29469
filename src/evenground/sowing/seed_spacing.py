"""Arithmetic of sowing: seeds, spacings, rates and pace. All of it can be redone on paper."""

from __future__ import annotations

from evenground.basis.pace import above_zero

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
    above_zero(plants_per_m2=plants_per_m2, emergence_fraction=emergence_fraction)
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
    above_zero(seeds_per_m2=seeds_per_m2, row_spacing_m=row_spacing_m, lines_per_row=lines_per_row)
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
    above_zero(spacing_m=spacing_m, speed_km_per_h=speed_km_per_h)
    return speed_km_per_h * KM_PER_H_TO_M_PER_S / spacing_m


def units_per_ha(seeds_per_m2: float, kernels_per_unit: float) -> float:
    """Say how many units of seed a hectare takes [1/ha].

    Examples
    --------
    >>> units_per_ha(10.0, 50_000)
    2.0
    """
    above_zero(seeds_per_m2=seeds_per_m2, kernels_per_unit=kernels_per_unit)
    return seeds_per_m2 * M2_PER_HA / kernels_per_unit
