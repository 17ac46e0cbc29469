"""The page of all tables: in what order, from which seed, by which command."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.truth import (
    block_rule,
    claims,
    gaussian_fields,
    layouts,
    mishaps,
    placebo_borders,
    power_of_limits,
    restricted_draws,
    shared_figures,
    split_plots,
    uniformity,
)
from tests.truth.table import Table

SEED = 1935
PATH = "docs/truth.md"
COMMAND = f"python -m tests.truth --write {PATH}"
TABLES: dict[str, Callable[[np.random.Generator, float], Table]] = {
    "shared figures": shared_figures.table,
    "block rule": block_rule.table,
    "mishaps": mishaps.table,
    "claims": claims.table,
    "Gaussian fields": gaussian_fields.table,
    "uniformity trials": uniformity.table,
    "restricted draws": restricted_draws.table,
    "borders": placebo_borders.simulated,
    "real borders": placebo_borders.real,
    "layouts": layouts.table,
    "power of limits": power_of_limits.table,
    "split plots": split_plots.table,
}
_HEAD = """# Truth tables

What the tests and intervals really do when the truth is known: simulations with the code of this project, and real
fields that were sown alike throughout. Written by `{command}` (`make truth`); do not edit it by hand.

- Seed {seed}, share {share:g} of the full size. The tests beside the code run a tenth with correspondingly wide limits.
- *size*: how often a 5 % two-sided test sees a gain that is not there. *covers*: how often a 90 % interval holds the
  true gain.
- ±: one Monte Carlo standard error. *quoted*: what the project's statistical contract says, from earlier simulations.
- *limits*: the quoted or nominal value, the slack named above the table, and 3.5 Monte Carlo standard errors on either
  side. A cell outside them says so and is named below its table.
"""


def build(name: str, share: float, seed: int) -> Table:
    """Build one table; each has random numbers of its own, so that any of them can be made alone.

    Parameters
    ----------
    name : str
        A key of `TABLES`.
    share : float
        Share of the full number of simulations.
    seed : int
        Seed of the page.
    """
    return TABLES[name](np.random.default_rng([seed, list(TABLES).index(name)]), share)


def head(share: float, seed: int) -> str:
    """Return the page's head: what it is and how it was made."""
    options = ("" if share == 1 else f" --share {share:g}") + ("" if seed == SEED else f" --seed {seed}")
    return _HEAD.format(command=COMMAND + options, seed=seed, share=share)
