"""Joints between passes: what rows that run closer or wider there do to the weighed area."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from evenground.basis.harvest_records import CutArea


@dataclass(frozen=True)
class Joint:
    """Joints between passes of one method.

    Attributes
    ----------
    measured : int
        Number of measurements [1].
    mean_m : float
        Mean distance between the outer rows of neighbouring passes [m].
    planned_m : float
        Row spacing of the plan [m].
    area_factor : float or None
        True ground of the weighed cut over the planned one [1]: above 1, the yield was reckoned on too small an area
        and is too high. None where only the harvest knows which of the joints lie in the rows that were cut.
    """

    measured: int
    mean_m: float
    planned_m: float
    area_factor: float | None


def joint_effect(joints: Sequence[float], row_spacing_m: float, rows_per_pass: int, joints_in_cut: int = 1) -> Joint:
    """Say what joints wider or narrower than the rows do to the weighed area.

    Parameters
    ----------
    joints : sequence of float
        Measured distances between outer rows of neighbouring passes [m].
    row_spacing_m : float
        Row spacing of the plan [m].
    rows_per_pass : int
        Rows of one pass [1].
    joints_in_cut : int
        Joints inside (or, half each, at the two sides of) the weighed cut for every pass of rows cut [1].

    Raises
    ------
    ValueError
        If there is no measurement, or a value is not above 0.

    Source: geometry, (rows x spacing + joints x (joint - spacing)) / (rows x spacing).

    Examples
    --------
    >>> round(joint_effect([0.80], 0.75, 8).area_factor, 5)  # 6.05 m instead of 6 m
    1.00833
    """
    if not joints or min(joints) <= 0.0 or row_spacing_m <= 0.0 or rows_per_pass < 1 or joints_in_cut < 0:
        raise ValueError("joints, row spacing and rows must be above 0")
    mean = math.fsum(joints) / len(joints)
    planned = rows_per_pass * row_spacing_m
    return Joint(len(joints), mean, row_spacing_m, (planned + joints_in_cut * (mean - row_spacing_m)) / planned)


def joints_of_strip(joints: Sequence[float], row_spacing_m: float) -> Joint:
    """Gather the joints inside a strip, measured after sowing, before anyone knows which rows are cut.

    Parameters
    ----------
    joints : sequence of float
        Measured joints [m].
    row_spacing_m : float
        Row spacing of the plan [m].

    Raises
    ------
    ValueError
        If there is no measurement, or a value is not above 0.

    Examples
    --------
    >>> joints_of_strip([0.80, 0.70], 0.75).mean_m
    0.75
    """
    if not joints or not all(math.isfinite(v) and v > 0.0 for v in (*joints, row_spacing_m)):
        raise ValueError("joints and row spacing must be above 0")
    return Joint(len(joints), math.fsum(joints) / len(joints), row_spacing_m, None)


def joints_of_cut(cut: CutArea, row_spacing_m: float, inside: Sequence[float] = ()) -> Joint | None:
    """Say what the joints measured at a weighed cut do to its area; None where none was measured.

    A gap at the side of the cut counts half, as the other half belongs to the rows left standing. The mean is that of
    the joints inside the cut; of the gaps at its sides only where there is none inside.

    Parameters
    ----------
    cut : CutArea
        What was measured.
    row_spacing_m : float
        Row spacing of the plan [m].
    inside : sequence of float
        Joints inside the strip measured after sowing [m]; they count where the cut names none.

    Source: geometry, as `joint_effect`.

    Examples
    --------
    >>> from datetime import datetime
    >>> cut = CutArea(id="1", time=datetime(2026, 9, 15), strips="7", rows=8, length_m=200, joints="0.80")
    >>> round(joints_of_cut(cut, 0.75).area_factor, 5)
    1.00833
    """
    sides = [gap for gap in (cut.left_gap_m, cut.right_gap_m) if gap is not None]
    known = cut.joints or tuple(inside)[: cut.rows - 1]
    measured = list(known) or sides
    if not measured:
        return None
    wider = math.fsum(j - row_spacing_m for j in known) + 0.5 * math.fsum(g - row_spacing_m for g in sides)
    planned = cut.rows * row_spacing_m
    return Joint(len(measured), math.fsum(measured) / len(measured), row_spacing_m, (planned + wider) / planned)
