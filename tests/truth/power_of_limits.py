"""What limits on the draw cost the randomisation test in power: the reason why they stop at a smallest p of 1 %."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtrit

from evenground.basis.layout_plan import LimitName
from evenground.layout.limits import _ladder, fix_limits
from evenground.numerics.order_limits import Limit
from evenground.numerics.orders import OrderPlan, list_orders
from evenground.numerics.power import detectable_gain
from evenground.numerics.tightening import tighten
from tests.truth.table import Cell, Floats, Limits, Row, Share, Table

TRIALS = 20_000
BLOCKS = (6, 7, 8, 9, 10, 12)
NAMES: tuple[LimitName, ...] = ("equal_orders", "linear_trend", "edge", "quadratic_trend")
T_TEST, FREE, TO_FIVE, TO_ONE = "t test [%]", "free draw [%]", "limits down to 5 % [%]", "limits down to 1 % [%]"
# What the limits are for is not worth more than this much power, by the program's own rule (docs/layout.md).
MOST_LOST = 0.07


def table(rng: np.random.Generator, share: float) -> Table:
    """Build the table."""
    rows = tuple(_row(rng, blocks, round(TRIALS * share)) for blocks in BLOCKS)
    eight = [row for row in rows if int(row.labels[0]) >= 8]
    lost = [max(row.cells[1].share.value - row.cells[3].share.value for row in eight if _full(row))]  # type: ignore[union-attr]
    return Table(
        "11. What limits on the draw cost in power",
        "How often is a gain found that the t test finds four times in five, when the draw keeps limits?",
        "Two methods, pairs with independent normal strips of SD 1, the gain that a t test finds with power 0.8; 5 % "
        f"randomisation test over the allowed orders. All four limits ({', '.join(NAMES)}), each as strict as leaves "
        "the smallest p at or below 5 %, or at or below 1 %; the program takes the second where the blocks allow it. "
        "Limits: the t test 80 % (noncentral t), which checks the simulation itself; the program's draw from 8 blocks "
        f"on at most {100 * MOST_LOST:g} points below 78 %, about what a free draw of 8 and more blocks has.",
        ("blocks", "orders: free", "down to 5 %", "down to 1 %"),
        (T_TEST, FREE, TO_FIVE, TO_ONE),
        rows,
        findings=(f"From 8 blocks on limits down to 1 % cost at most {100 * lost[0]:.1f} points of power.",),
        note="A set whose smallest p lies just below 5 % rejects for its most extreme order only. With 6 and 7 blocks "
        "no limit leaves 1 % within reach, so the two columns are the same.",
    )


def _full(row: Row) -> bool:
    return all(cell.share is not None for cell in row.cells)


def _row(rng: np.random.Generator, blocks: int, trials: int) -> Row:
    plan = OrderPlan.complete(2, blocks)
    fixed = np.random.default_rng(1)
    ladders = [_ladder(plan, name, (), fixed) for name in NAMES]
    to_five = tighten(plan, ladders, fixed, baseline=0, share=1.0, level=0.05).limits
    sets = [_signs(plan, limits) for limits in ((), to_five, fix_limits(plan, NAMES, 0).limits)]
    gain = detectable_gain(sigma=1.0, variance_factor=2.0 / blocks, residual_df=blocks - 1)
    noise = rng.normal(scale=np.sqrt(2.0), size=(trials, blocks))
    found = [_found(rng, signs, noise, gain) for signs in sets]
    t = (noise + gain).mean(1) / (noise.std(1, ddof=1) / np.sqrt(blocks))
    seen = np.abs(t) >= stdtrit(blocks - 1, 0.975)
    kept = Limits(0.78 - MOST_LOST, 1.0) if blocks >= 8 else None
    return Row(
        (str(blocks), *(str(len(signs)) for signs in sets)),
        (Cell(Share.count(seen), "80", Limits(0.8, 0.8)), Cell(found[0]), Cell(found[1]), Cell(found[2], "", kept)),
    )


def _signs(plan: OrderPlan, limits: tuple[Limit, ...]) -> Floats:
    """Every allowed order as one sign a pair."""
    return np.where(list_orders(plan, limits)[:, 1::2] == 1, 1.0, -1.0)


def _found(rng: np.random.Generator, signs: Floats, noise: Floats, gain: float) -> Share:
    """Share of trials, each with an order drawn from the set, in which its randomisation test reaches 5 %."""
    hits = []
    for part in np.array_split(noise, max(1, len(noise) * len(signs) // 4_000_000)):
        drawn = signs[rng.integers(len(signs), size=len(part))]
        later_minus_earlier = drawn * gain + part
        observed = np.abs((drawn * later_minus_earlier).sum(1))
        extreme = np.abs(later_minus_earlier @ signs.T) >= observed[:, None] - 1e-9
        hits.append(extreme.mean(1) <= 0.05)
    return Share.count(np.concatenate(hits))
