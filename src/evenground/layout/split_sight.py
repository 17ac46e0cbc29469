"""What a layout of two factors can see of each: whole plots err by their own spread, strips within them by theirs."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.detectable import place_of
from evenground.layout.ground import LEVEL, POWER, ground_of
from evenground.numerics.power import detectable_gain

JudgedBy = Literal["whole plots", "strips within whole plots"]


@dataclass(frozen=True, slots=True)
class FactorGain:
    """The gain of one factor that a layout finds four times in five.

    Attributes
    ----------
    factor : str
        What is compared, in words.
    judged_by : {"whole plots", "strips within whole plots"}
        Whose spread is its error.
    error_percent : float
        That spread, of one whole plot or strip, percent of the yield [%].
    residual_df : int
        Degrees of freedom it is known on [1].
    standard_error_percent : float
        Predicted standard error of the gain [%].
    t_per_ha, money_per_ha : float or None
        Gain in the outcome [t/ha] and its worth [money/ha]; None with a single block.
    smallest_p : float or None
        Smallest p of its randomisation test [1]; None where it has none.
    """

    factor: str
    judged_by: JudgedBy
    error_percent: float
    residual_df: int
    standard_error_percent: float
    t_per_ha: float | None
    money_per_ha: float | None
    smallest_p: float | None


def factor_gains(plan: Plan, draw: Draw) -> tuple[FactorGain, ...]:
    """Return what a drawn layout of two factors can see of each.

    Answers: how large must the difference between row patterns be, over both rates; between rates, over both patterns;
    and how unlike must the step from rate to rate be in the two patterns?

    Parameters
    ----------
    plan : Plan
        Unevenness, expected yield, money.
    draw : Draw
        Strips as drawn.

    Returns
    -------
    tuple of FactorGain
        Factor on whole plots, factor within, and the two together; empty where the trial has one factor.

    Source: two errors of a split plot (Yates 1935), each predicted from `evenground.layout.ground`; power as
    `evenground.numerics.power`.
    """
    split = draw.split
    if split is None:
        return ()
    upper, lower = len(split.whole_levels), len(split.within_levels)
    blocks = len({strip.block for strip in draw.strips})
    whole = place_of(plan, draw).variance / blocks
    within, common = _within(plan, draw), ground_of(plan).common
    df = upper * (lower - 1) * (blocks - 1)
    lines: tuple[tuple[str, JudgedBy, float, float, int, float, float | None], ...] = (
        (split.whole, "whole plots", whole, 2.0, (upper - 1) * (blocks - 1), 2.0 / lower, split.whole_smallest_p),
        (split.within, "strips within whole plots", within, 2.0 / upper, df, 2.0 / upper, split.within_smallest_p),
        (f"{split.within} by {split.whole}", "strips within whole plots", within, 4.0, df, 4.0, None),
    )
    return tuple(
        _gain(plan, name, judged, variance, factor / blocks, freedom, shared * common, p)
        for name, judged, variance, factor, freedom, shared, p in lines
    )


def _within(plan: Plan, draw: Draw) -> float:
    """Strip error variance within whole plots, their mean [%^2]."""
    here, ground = place_of(plan, draw), ground_of(plan)
    strips = sorted(draw.strips, key=lambda strip: strip.strip)
    plot, first = np.array([strip.whole_plot or 0 for strip in strips]), strips[0]
    parts = [
        float(ground.within_blocks(here.low_m[plot == p], here.high_m[plot == p], first.width_m, first.cut_width_m))
        for p in np.unique(plot)
    ]
    return float(np.mean(parts))


def _gain(
    plan: Plan,
    factor: str,
    judged_by: JudgedBy,
    variance: float,
    variance_factor: float,
    residual_df: int,
    common: float,
    smallest_p: float | None,
) -> FactorGain:
    gain = None
    if residual_df > 0:
        percent = detectable_gain(
            sigma=sqrt(variance),
            variance_factor=variance_factor,
            residual_df=residual_df,
            level=LEVEL,
            power=POWER,
            common_variance=common,
        )
        gain = percent / 100.0 * plan.outcome.expected
    money = None if gain is None else gain * plan.value_of_one
    error = sqrt(variance_factor * variance + common)
    return FactorGain(factor, judged_by, sqrt(variance), residual_df, error, gain, money, smallest_p)


def factor_lines(plan: Plan, draw: Draw) -> list[str]:
    """Return what can be seen of each factor, in plain lines.

    Parameters
    ----------
    plan, draw
        As `factor_gains`.

    Returns
    -------
    list of str

    Source: definition.
    """
    split = draw.split
    if split is None:
        return []
    lines = [
        f"Two things are compared at once: {split.whole} ({', '.join(split.whole_levels)}) and {split.within} "
        f"({', '.join(split.within_levels)}).",
        f"Strips side by side with one {split.whole} form a whole plot: its machine sows them one after another, and "
        f"the driver sets the {split.within} anew at the headland between them.",
    ]
    for one in factor_gains(plan, draw):
        sees = "cannot say" if one.t_per_ha is None else f"{one.t_per_ha:.2f} {plan.outcome.unit}"
        lines.append(f"  {one.factor}: can see {sees} (judged by {one.judged_by}, {one.error_percent:.1f} %).")
    return lines
