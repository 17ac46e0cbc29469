"""Calibration runs of starter and other fertiliser: flow, rate, turns of the wheel, correction factor."""

from __future__ import annotations

from evenground.basis.pace import above_zero


def kg_per_min(kg_per_ha: float, speed_km_per_h: float, width_m: float) -> float:
    """Say how much must come out in a minute [kg/min].

    Parameters
    ----------
    kg_per_ha : float
        Wanted rate [kg/ha].
    speed_km_per_h : float
        Driving speed [km/h].
    width_m : float
        Working width [m].

    Raises
    ------
    ValueError
        If any is not above 0.

    Source: kg/min = km/h x m x kg/ha / 600, from the calibration chapter of a spreader handbook.

    Examples
    --------
    >>> kg_per_min(300.0, 8.0, 18.0)
    72.0
    """
    above_zero(kg_per_ha=kg_per_ha, speed_km_per_h=speed_km_per_h, width_m=width_m)
    return speed_km_per_h * width_m * kg_per_ha / 600.0


def rate_per_ha(flow_per_min: float, speed_km_per_h: float, width_m: float) -> float:
    """Say which rate a flow gives, dry or liquid [flow unit per ha].

    Parameters
    ----------
    flow_per_min : float
        What comes out in a minute [any unit/min].
    speed_km_per_h : float
        Driving speed [km/h].
    width_m : float
        Working width [m].

    Raises
    ------
    ValueError
        If any is not above 0.

    Source: the inverse of ``kg_per_min``; also in the calibration chapter of a slurry spreader handbook.

    Examples
    --------
    >>> rate_per_ha(4.5, 6.0, 3.0)
    150.0
    """
    above_zero(flow_per_min=flow_per_min, speed_km_per_h=speed_km_per_h, width_m=width_m)
    return flow_per_min * 600.0 / (width_m * speed_km_per_h)


def speed_for_rate_km_per_h(wanted_rate: float, flow_per_min: float, width_m: float) -> float:
    """Say at which speed a fixed flow gives the wanted rate [km/h].

    Parameters
    ----------
    wanted_rate : float
        Wanted rate [flow unit per ha].
    flow_per_min : float
        What comes out in a minute [any unit/min].
    width_m : float
        Working width [m].

    Raises
    ------
    ValueError
        If any is not above 0.

    Source: the inverse of ``kg_per_min``.
    """
    above_zero(wanted_rate=wanted_rate, flow_per_min=flow_per_min, width_m=width_m)
    return flow_per_min * 600.0 / (width_m * wanted_rate)


def kg_per_ha_from_turns(caught_kg: float, turns: float, circumference_m: float, width_m: float) -> float:
    """Say which rate a calibration run by turns of the wheel gave [kg/ha].

    Parameters
    ----------
    caught_kg : float
        What came out, all hoses together [kg].
    turns : float
        Turns of the driving wheel [1].
    circumference_m : float
        Its rolling circumference, measured in the field [m].
    width_m : float
        Working width [m].

    Raises
    ------
    ValueError
        If any is not above 0.

    Source: kg/ha = kg x 10 000 / (turns x circumference x width), geometry.

    Examples
    --------
    >>> kg_per_ha_from_turns(1.8, 20, 2.0, 3.0)
    150.0
    """
    above_zero(caught_kg=caught_kg, turns=turns, circumference_m=circumference_m, width_m=width_m)
    return caught_kg * 10_000.0 / (turns * circumference_m * width_m)


def turns_for(area_m2: float, circumference_m: float, width_m: float) -> float:
    """Say how many turns of the wheel stand for some ground [1].

    Parameters
    ----------
    area_m2 : float
        Ground [m2]; 100 m2 is a hundredth of a hectare.
    circumference_m : float
        Rolling circumference of the wheel [m].
    width_m : float
        Working width [m].

    Raises
    ------
    ValueError
        If any is not above 0.

    Source: geometry.
    """
    above_zero(area_m2=area_m2, circumference_m=circumference_m, width_m=width_m)
    return area_m2 / (circumference_m * width_m)


def correction_factor(wanted: float, found: float) -> float:
    """Say by what the setting is to be multiplied after a calibration run [1].

    Parameters
    ----------
    wanted, found : float
        What should have come out, and what did, in the same unit.

    Raises
    ------
    ValueError
        If either is not above 0.

    Source: wanted / found, for a metering that gives in proportion to its setting; run it again after the change.

    Examples
    --------
    >>> correction_factor(1.8, 1.6)
    1.125
    """
    above_zero(wanted=wanted, found=found)
    return wanted / found
