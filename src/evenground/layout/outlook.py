"""Ways to answer the question, side by side, and what the drawn layout is worth beside them."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from shapely.geometry import MultiPolygon

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.detectable import gain_of, place_of
from evenground.layout.draw import allowed_set
from evenground.layout.ground import Ground, ground_of, sight_of
from evenground.layout.laid_out import rasters_of
from evenground.layout.second_field import NOT_DRAWN, SecondLayout, second_layout
from evenground.layout.slot import slot_of_width
from evenground.layout.split_draw import whole_set
from evenground.numerics.contrast_variance import contrasts, mean_contrast_variance
from evenground.numerics.orders import list_orders, sample_allowed
from evenground.numerics.power import detectable_gain

# Orders over which the error of the draw is averaged where there are more; its sampling error is then below 1 %.
_ORDERS = 4000
_LISTED = 2**16
_SEED = 1
_BORDER = "the step between the halves: soil, date, machine, headland; one border is one replicate"
_FIELDS = "everything that differs between fields: soil, earlier crops, dates, drivers"
_YEARS = "two seasons alike by chance; the strips must be drawn anew each year"
_SHARED = "; both fields share it"
_ASSUMED = "; a second field like this one is assumed, as the plan names none (section second_field)"


@dataclass(frozen=True, slots=True)
class Way:
    """One way to answer the question.

    Attributes
    ----------
    name : str
        What would be done.
    standard_error_percent : float or None
        Of the gain [%].
    detectable_t_per_ha, detectable_money_per_ha : float or None
        Gain it could see four times in five [t/ha], and its worth [money/ha]; None where it cannot be said.
    measures_its_error : bool
        Whether its own numbers show how far it may be wrong.
    fooled_by : str
        What could make it say the wrong thing.
    """

    name: str
    standard_error_percent: float | None
    detectable_t_per_ha: float | None
    detectable_money_per_ha: float | None
    measures_its_error: bool
    fooled_by: str


@dataclass(frozen=True, slots=True)
class FewerPasses:
    """The layout if the new machine sows only some of its passes.

    Attributes
    ----------
    blocks : int
        Blocks 1 to this are sown, as drawn [1].
    passes : int
        Passes of the machine [1].
    detectable_t_per_ha : float or None
        Gain they could see [t/ha].
    smallest_p : float
        Smallest p of pairs drawn freely [1].
    """

    blocks: int
    passes: int
    detectable_t_per_ha: float | None
    smallest_p: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the drawn layout is worth.

    Attributes
    ----------
    ways : tuple of Way
        Side by side.
    fewer : tuple of FewerPasses
        From one block less down to two.
    free_error_percent, drawn_error_percent : float
        Predicted standard error of the gain with a free draw within blocks, and with the limits kept [%].
    """

    ways: tuple[Way, ...]
    fewer: tuple[FewerPasses, ...]
    free_error_percent: float
    drawn_error_percent: float


def outlook(plan: Plan, draw: Draw, field_area_m2: float, second_field: MultiPolygon = NOT_DRAWN) -> Outlook:
    """Return the ways to answer the question side by side, and what limits and lost passes would change.

    Parameters
    ----------
    plan : Plan
        Unevenness, expected yield, money.
    draw : Draw
        Strips as drawn.
    field_area_m2 : float
        Area of the field [m2].
    second_field : MultiPolygon
        Another field of the farm where it is drawn, longitude and latitude [deg].

    Returns
    -------
    Outlook

    Raises
    ------
    DoesNotFitError, InputError
        If the machines of the plan do not fit the drawn strips any more.

    Source: `evenground.layout.ground`; steps between pieces from the plan.
    """
    ground = ground_of(plan)
    variance, blocks = place_of(plan, draw).variance, len({s.block for s in draw.strips})
    free, drawn = draw_errors(plan, draw)
    second = second_layout(plan, rasters_of(plan), second_field)
    ways = _ways(plan, ground, variance, blocks, field_area_m2, second)
    return Outlook(ways, fewer_passes(plan, draw), free, drawn)


def draw_errors(plan: Plan, draw: Draw) -> tuple[float, float]:
    """Return the predicted standard error of the gain with a free draw and under the limits [%].

    Answers: what did the limits gain or lose? Averaged over all methods against the baseline; with two factors over the
    levels of the one on whole plots.

    Parameters
    ----------
    plan : Plan
        Unevenness; which method is the baseline.
    draw : Draw
        Strips and limits.

    Returns
    -------
    free, limited : float
        [%]

    Source: ``c'Vc`` averaged over the allowed orders; sampled where there are more than 65,536.
    """
    here, ground, slot = place_of(plan, draw), ground_of(plan), draw.strips[0]
    covariance = ground.covariance(here.left_m, slot.cut_width_m, here.low_m, here.high_m)
    if draw.split is None:
        whole, first = allowed_set(draw), plan.baseline.letter
    else:
        whole, first, lower = whole_set(draw), draw.split.whole_levels[0], len(draw.split.within_levels)
        plots = len(covariance) // lower
        covariance = covariance.reshape(plots, lower, plots, lower).mean((1, 3))
    plan_of_orders, rng = whole.order_plan, np.random.default_rng(_SEED)
    if plan_of_orders.count() <= _LISTED:
        orders = list_orders(plan_of_orders, whole.limits)
    else:
        orders = sample_allowed(plan_of_orders, whole.limits, rng, _ORDERS)[0]
    baseline = whole.letters.index(first) if first in whole.letters else 0
    others = [code for code in plan_of_orders.methods if code != baseline]
    limited = np.mean([mean_contrast_variance(covariance, contrasts(orders, baseline, code)) for code in others])
    sight, blocks = sight_of(plan), len(plan_of_orders.blocks)
    common = 2.0 * sight.common
    return sqrt(sight.factor * here.variance / blocks**2 + common), sqrt(float(limited) + common)


def _ways(
    plan: Plan, ground: Ground, variance: float, blocks: int, field_m2: float, second: SecondLayout | None
) -> tuple[Way, ...]:
    side = sqrt(field_m2)
    halves = ground.covariance([0.0, side / 2], side / 2, [0.0, 0.0], [side, side])
    half = hypot(sqrt(halves[0, 0] + halves[1, 1] - 2 * halves[0, 1]), plan.unevenness.border_step_percent)
    fields = sqrt(2.0) * half
    season = f"the season: one year's gain lies {plan.prior.season_sd_percent:g} % (SD) from the long run"
    return (
        _known(plan, "Two halves of this field", half, _BORDER),
        _known(plan, "Two fields", fields, _FIELDS),
        _replicated(plan, "This layout", variance, blocks, season),
        _replicated(plan, "This layout for two years", 2 * variance, 2 * blocks, _YEARS),
        _on_two_fields(plan, variance, blocks, season + _SHARED, second),
    )


def _on_two_fields(plan: Plan, variance: float, blocks: int, fooled_by: str, second: SecondLayout | None) -> Way:
    """Return this layout with the best one on the field the plan names, or with its like where none is named."""
    if second is None:
        name = "This layout on two fields of the farm"
        return _replicated(plan, name, 2 * variance, 2 * blocks, fooled_by + _ASSUMED)
    if second.blocks == 0:
        none = f"{second.name} has no room for one block; the gain is that of this field alone"
        return _replicated(plan, "This layout on two fields of the farm", variance, blocks, none)
    name = f"This layout and {second.blocks} block{'s' if second.blocks > 1 else ''} on {second.name}"
    return _replicated(plan, name, variance + second.variance, blocks + second.blocks, fooled_by)


def _known(plan: Plan, name: str, error_percent: float, fooled_by: str) -> Way:
    """Return a way without replicates: its error is assumed, never measured."""
    gain = detectable_gain(sigma=error_percent, variance_factor=1.0, residual_df=np.inf)
    tonnes = gain / 100.0 * plan.outcome.expected
    return Way(name, error_percent, tonnes, tonnes * plan.value_of_one, False, fooled_by)


def _replicated(plan: Plan, name: str, variance: float, blocks: int, fooled_by: str) -> Way:
    gain = gain_of(plan, variance, blocks)
    return Way(name, gain.standard_error_percent, gain.t_per_ha, gain.money_per_ha, blocks > 1, fooled_by)


def fewer_passes(plan: Plan, draw: Draw) -> tuple[FewerPasses, ...]:
    """Return what is left if the new machine sows only some of its passes, block by block.

    Answers: the machine comes late or breaks down; how many of its passes are worth driving? Where one machine sows
    several of the new methods it needs the passes of all of them to finish a block.

    Parameters
    ----------
    plan : Plan
        Methods and machines.
    draw : Draw
        Strips as drawn.

    Returns
    -------
    tuple of FewerPasses
        From one block fewer down to two blocks.

    Raises
    ------
    DoesNotFitError, InputError
        If the machines of the plan do not fit the drawn strips any more.

    Source: definition; the error is that of `evenground.layout.detectable`.
    """
    variance, blocks = place_of(plan, draw).variance, len({s.block for s in draw.strips})
    each = _new_passes_of_a_block(plan, draw)
    return tuple(
        FewerPasses(b, b * each, gain_of(plan, variance / blocks * b, b).t_per_ha, min(1.0, 2.0 / 2.0**b))
        for b in range(blocks - 1, 1, -1)
    )


def _new_passes_of_a_block(plan: Plan, draw: Draw) -> int:
    """Return the passes of a block that wait for the new machine; of several new machines the busiest one."""
    passes = dict(slot_of_width(plan, draw.strips[0].width_m).passes)
    others = [method for method in plan.methods if not method.baseline]
    new = [method for method in others if method.machine != plan.baseline.machine]
    if new:
        needed = dict.fromkeys((method.machine for method in new), 0)
        for method in new:
            needed[method.machine] += passes[method.machine] * plan.strips_in_block(method.letter)
        return max(needed.values())
    each = max(passes[method.machine] * plan.strips_in_block(method.letter) for method in others)
    # One machine sows everything; of two factors the pattern that is not the baseline's is the new one.
    return each if draw.split is None else each * len(draw.split.within_levels)
