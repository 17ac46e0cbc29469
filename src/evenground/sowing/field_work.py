"""Pace of the work: how fast a metering unit lets the planter go, and what a stop-watch says of the speed."""

from __future__ import annotations

from evenground.basis.pace import above_zero, field_capacity_ha_per_h
from evenground.sowing.seed_spacing import KM_PER_H_TO_M_PER_S

TIMED_RUN_M = 100.0


def speed_at_limit_km_per_h(spacing_m: float, metering_limit_per_s: float) -> float:
    """Say at which speed a metering unit reaches the kernels a second it can bear [km/h].

    Parameters
    ----------
    spacing_m : float
        Distance between seeds of the line it sows [m].
    metering_limit_per_s : float
        Kernels a second it can bear [1/s].

    Raises
    ------
    ValueError
        If either is not above 0.

    Source: spacing x kernels a second, the inverse of kernels a second = speed / spacing.

    Examples
    --------
    >>> round(speed_at_limit_km_per_h(0.13333, 12.5), 2)
    6.0
    """
    above_zero(spacing_m=spacing_m, metering_limit_per_s=metering_limit_per_s)
    return spacing_m * metering_limit_per_s / KM_PER_H_TO_M_PER_S


def speed_from_timed_run_km_per_h(seconds: float, length_m: float = TIMED_RUN_M) -> float:
    """Say how fast a machine drove a measured length [km/h].

    Parameters
    ----------
    seconds : float
        Time for it [s].
    length_m : float
        Length [m].

    Raises
    ------
    ValueError
        If either is not above 0.

    Source: km/h = 360 / seconds for 100 m.

    Examples
    --------
    >>> round(speed_from_timed_run_km_per_h(45.0), 6)
    8.0
    """
    above_zero(seconds=seconds, length_m=length_m)
    return length_m / seconds / KM_PER_H_TO_M_PER_S


def seconds_for(speed_km_per_h: float, length_m: float = TIMED_RUN_M) -> float:
    """Say how long a length takes at a speed [s].

    Parameters
    ----------
    speed_km_per_h : float
        Speed [km/h].
    length_m : float
        Length [m].

    Raises
    ------
    ValueError
        If either is not above 0.

    Source: the inverse of ``speed_from_timed_run_km_per_h``.
    """
    above_zero(speed_km_per_h=speed_km_per_h, length_m=length_m)
    return length_m / (speed_km_per_h * KM_PER_H_TO_M_PER_S)


def hours_for(area_m2: float, speed_km_per_h: float, width_m: float, efficiency_fraction: float) -> float:
    """Say how long some ground takes, turning and filling included [h].

    Parameters
    ----------
    area_m2 : float
        Ground [m2].
    speed_km_per_h : float
        Driving speed [km/h].
    width_m : float
        Working width [m].
    efficiency_fraction : float
        Share of the time that is really worked [1].

    Raises
    ------
    ValueError
        If any is not above 0.

    Source: area / (speed x width x efficiency / 10); Hancock, Swetnam & Benson (1991), AEN-73, University of Kentucky.
    """
    above_zero(area_m2=area_m2)
    return area_m2 / 10_000.0 / field_capacity_ha_per_h(speed_km_per_h, width_m, efficiency_fraction)
