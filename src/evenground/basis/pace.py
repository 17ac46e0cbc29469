"""How much ground a machine covers in an hour: the one formula that several steps need."""

from __future__ import annotations

import math


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

    Raises
    ------
    ValueError
        If one of them is not a number above zero.

    Source: speed x width x efficiency / 10; Hancock, Swetnam & Benson (1991), AEN-73, University of Kentucky.

    Examples
    --------
    >>> field_capacity_ha_per_h(8.0, 3.0, 0.6)
    1.44
    """
    above_zero(speed_km_per_h=speed_km_per_h, width_m=width_m, efficiency_fraction=efficiency_fraction)
    return speed_km_per_h * width_m * efficiency_fraction / 10.0


def above_zero(**values: float) -> None:
    """Check that every value is a number above zero.

    Raises
    ------
    ValueError
        Naming the first that is not.
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above 0, not {value}")
