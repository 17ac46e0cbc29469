"""Two factors in a split plot: does each test err as often as it says, and what would strips as replicates do?"""

from __future__ import annotations

from itertools import product

import numpy as np

from evenground.numerics.blocks import fit_blocks
from evenground.numerics.split_plot import effect_rows, fit_split_plot
from evenground.numerics.t_distribution import two_sided_p
from tests.truth.table import Cell, Floats, Limits, Row, Share, Table

SIMULATIONS = 4_000
LEVELS = (2, 2)
PATTERN, RATE, METHOD = "row pattern: size [%]", "seed rate: size [%]", "method D against A: size [%]"
NAIVE, COVERS = "row pattern, strips as replicates: size [%]", "row pattern: 90 % interval covers [%]"
SETTINGS = tuple(product((4, 6, 8), (-0.3, 0.0, 1.0), (0, 2)))


def table(rng: np.random.Generator, share: float) -> Table:
    """Build the table."""
    rows = tuple(_row(rng, share, *setting) for setting in SETTINGS)
    naive = np.array([row.cells[3].share.value for row in rows if row.labels[1] == "1" and row.cells[3].share])
    return Table(
        "12. Two factors in a split plot",
        "Do the tests of a factor on whole plots and of a factor within them err in 5 % of trials?",
        "Two row patterns on whole plots, two seed rates within them, normal strips, no effect of either; block "
        "variance 1, strip variance 1 within whole plots, covariance of the two strips of a whole plot as given (below "
        "zero: neighbours differ more than strangers). Complete tables: analysis of variance with two errors. Strips "
        "lost: two strips at random places, mixed model with Kenward-Roger, complete blocks where the variance of "
        "whole plots is at zero. Strips as replicates: four methods in blocks, the whole plot forgotten. Limits: 5 % "
        "and 90 % for complete tables, where the t is exact; with strips lost 3.4 to 6.9 % and 87.7 to 92.5 %, as in "
        "table 2; the difference of two methods carries both errors, its degrees of freedom are an approximation: "
        "3.4 to 6.9 %.",
        ("blocks", "covariance within whole plots", "strips lost"),
        (PATTERN, RATE, METHOD, NAIVE, COVERS),
        rows,
        findings=(
            f"Strips taken for replicates on ground where whole plots differ: size {100 * naive.min():.0f} to "
            f"{100 * naive.max():.0f} %.",
        ),
    )


def _row(rng: np.random.Generator, share: float, blocks: int, covariance: float, lost: int) -> Row:
    design = np.array(list(product(range(blocks), *map(range, LEVELS))))
    block, whole, within = design.T
    plot, rows = 2 * block + whole, {e: effect_rows(LEVELS, e)[0] for e in ("whole", "within")}  # type: ignore[arg-type]
    across = np.array([-1.0, 0.0, 0.0, 1.0])
    pair = np.linalg.cholesky(
        np.array([[1.0 + max(covariance, 0), covariance], [covariance, 1.0 + max(covariance, 0)]])
    )
    hits: list[tuple[bool, ...]] = []
    for _ in range(round(SIMULATIONS * share)):
        y = (rng.normal(size=(2 * blocks, 2)) @ pair.T).ravel() + rng.normal(size=blocks)[block]
        keep = np.sort(rng.permutation(len(y))[lost:])
        try:
            fit = fit_split_plot(y[keep], whole[keep], within[keep], block[keep], plot[keep], LEVELS)
        except ValueError:
            # four blocks with two broken ones and whole plots alike can leave too little: the program says so
            continue
        found = [fit.contrast(row) for row in (rows["whole"], rows["within"], across)]
        hits.append((*(one.p <= 0.05 for one in found), _naive(y[keep], design[keep]) <= 0.05, found[0].p > 0.10))
    columns = np.array(hits).T
    exact, near = Limits(0.05, 0.05), Limits(0.034, 0.069)
    size = exact if lost == 0 else near
    covers = Limits(0.90, 0.90) if lost == 0 else Limits(0.877, 0.925)
    limits = (size, size, near, None, covers)
    cells = tuple(Cell(Share.count(one), "", limit) for one, limit in zip(columns, limits, strict=True))
    return Row((str(blocks), f"{covariance:g}", str(lost)), cells)


def _naive(y: Floats, design: np.ndarray) -> float:
    """P-value of the row pattern where all strips of a block count alike."""
    fit = fit_blocks(y, design[:, 1], design[:, 0], 2)
    return float(two_sided_p(float(fit.gains[0] / fit.standard_errors[0]), float(fit.df[0])))
