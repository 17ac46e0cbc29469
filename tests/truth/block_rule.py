"""Block variance from negative to large: size and coverage of the block rule and of the usual rule."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenground.numerics.blocks import fit_blocks_many, lay_out
from tests.truth.clipped_rule import Floats, Ints, fit
from tests.truth.table import Cell, Limits, Row, Share, Table, percent_range

SIMULATIONS = 10_000
BLOCKS = (4, 6, 8, 12)
RATIOS = (-0.3, 0.0, 0.5, 2.0)
OURS, COVERS = "our rule: size [%]", "our rule: covers [%]"
CLIPPED, CLIPPED_COVERS = "clipped: size [%]", "clipped: covers [%]"
UNCLIPPED = "unclipped: size [%]"


@dataclass(frozen=True)
class Design:
    """Which strips there are: name, method and block of each."""

    name: str
    treatments: Ints
    blocks: Ints
    whole: bool


def designs(blocks: int) -> tuple[Design, ...]:
    """Return the five designs with a number of blocks; a lost strip is the first one of the baseline."""
    two = np.tile([0, 1], blocks), np.repeat(np.arange(blocks), 2)
    three = np.tile([0, 1, 2], blocks), np.repeat(np.arange(blocks), 3)
    in_turn = np.array([method for block in range(blocks) for method in ((0, 1), (0, 2), (1, 2))[block % 3]])
    return (
        Design("2 methods", *two, True),
        Design("2 methods, one strip lost", two[0][1:], two[1][1:], False),
        Design("3 methods", *three, True),
        Design("3 methods, one strip lost", three[0][1:], three[1][1:], False),
        Design("3 methods in blocks of two", in_turn, two[1], False),
    )


def draw(rng: np.random.Generator, sets: int, blocks: Ints, ratio: float) -> Floats:
    """Draw strips without gains: residual variance 1, `ratio` the covariance of two strips of one block."""
    y = rng.normal(size=(sets, len(blocks)))
    for block in range(blocks.max() + 1):
        # A block of k strips has covariance I + ratio J; its root scales the block mean by sqrt(1 + ratio k).
        inside = np.flatnonzero(blocks == block)
        mean = y[:, inside].mean(1, keepdims=True)
        y[:, inside] += (np.sqrt(1 + ratio * len(inside)) - 1) * mean
    return y


def table(rng: np.random.Generator, share: float) -> Table:
    """Build the table."""
    cases = [(n, design, ratio) for n in BLOCKS for design in designs(n) for ratio in RATIOS]
    rows = tuple(_row(rng, round(SIMULATIONS * share), *case) for case in cases)
    result = Table(
        "2. Blocks random or fixed",
        "Does the 5 % test err in 5 % and the 90 % interval hold in 90 % of trials, whatever the blocks are like?",
        "Assumed: normal strips, no gain, residual variance 1; block variance is the covariance of two strips of a "
        "block (below zero: neighbours that differ more than strangers). Our rule: blocks random with Kenward-Roger "
        "where the unbounded block variance is positive, else fixed. Clipped: random always, block variance at least "
        "zero. Unclipped: random with a negative block variance too; where that has no estimate the set is left out. "
        "Shown is method B against the baseline. Limits: the quoted range. Complete blocks give the two-way analysis "
        "(two methods: the paired t), so there our rule is exact and the spread of its rows is Monte Carlo error.",
        ("blocks", "design", "block variance / residual"),
        (OURS, COVERS, CLIPPED, CLIPPED_COVERS, UNCLIPPED),
        rows,
        note="The clipped rule errs more here than quoted, and the unclipped one over a wider range. Likely reason: "
        "the quoted designs are not listed in full. The worst rows here are three methods in complete blocks at -0.3, "
        "where a block is nearly singular, and four blocks of two; twelve blocks of two bring the unclipped rule close "
        "to 5 %. The comparison uses neither. Our rule is a little cautious in blocks of two with three methods.",
    )
    return Table(**(result.__dict__ | {"findings": _findings(result)}))


def _findings(result: Table) -> tuple[str, ...]:
    two = [row.cells[4].share for row in result.rows if row.labels[1] == "3 methods in blocks of two"]
    unclipped = np.array([cell.value for cell in two if cell is not None])
    return (
        f"Our rule: size {percent_range(result.values(OURS))} (quoted 4.1-6.1), covers "
        f"{percent_range(result.values(COVERS))} (quoted 88.8-91.5).",
        f"Clipped at zero: size up to {100 * result.values(CLIPPED).max():.1f} % (quoted up to 8.9), covers down to "
        f"{100 * result.values(CLIPPED_COVERS).min():.1f} % (quoted 84.6).",
        f"Unclipped, three methods in blocks of two: size {percent_range(unclipped)} (quoted 6.1-8.4).",
    )


def _row(rng: np.random.Generator, sets: int, count: int, design: Design, ratio: float) -> Row:
    y = draw(rng, sets, design.blocks, ratio)
    methods = int(design.treatments.max()) + 1
    p = fit_blocks_many(y, lay_out(design.treatments, design.blocks, methods)).p[:, 0]
    clipped = fit(y, design.treatments, design.blocks, bounded=True).p
    unclipped = fit(y, design.treatments, design.blocks, bounded=False).p
    unclipped = unclipped[np.isfinite(unclipped)]
    # The true gain is zero, so the 90 % interval holds it wherever p is above 0.10.
    return Row(
        (str(count), design.name, f"{ratio:g}"),
        (
            Cell(Share.count(p <= 0.05), limits=Limits(0.05, 0.05) if design.whole else Limits(0.041, 0.061)),
            Cell(Share.count(p > 0.10), limits=Limits(0.9, 0.9) if design.whole else Limits(0.888, 0.915)),
            Cell(Share.count(clipped <= 0.05)),
            Cell(Share.count(clipped > 0.10)),
            Cell(None if design.whole else Share.count(unclipped <= 0.05)),
        ),
    )
