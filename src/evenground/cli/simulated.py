"""What the commands share that simulate a stand: ask for it, watch it grow, say how the room is spread."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from rich.console import Console
from rich.progress import Progress

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.method import RowPattern
from evenground.basis.thousands import grouped
from evenground.sowing.stand_simulation import (
    ASSUMED,
    SHARES,
    SowingQuality,
    StandSpace,
    piece_for,
    simulate_stand,
    stand_space,
)

FEWEST_PLANTS, MOST_PLANTS = 100, 5_000_000
# The limits of `SowingQuality`, by the option that gives the figure.
LIMITS = {"--precision": (0.0, 0.28), "--misses": (0.0, 0.5), "--doubles": (0.0, 0.5), "--emergence": (0.05, 1.0)}


def check_plants(plants: int) -> None:
    """Refuse a number of plants that cannot be simulated."""
    if not FEWEST_PLANTS <= plants <= MOST_PLANTS:
        text, allowed = "that many plants cannot be simulated.", f"{FEWEST_PLANTS} to {MOST_PLANTS}"
        raise InputError([problem(text, field="--simulate", given=plants, allowed=allowed)])


def quality_of(precision: float, misses: float, doubles: float, emergence: float) -> SowingQuality:
    """Make what the planter does to the stand from the options; all that cannot be is told at once."""
    given = dict(zip(LIMITS, (precision, misses, doubles, emergence), strict=True))
    text = "no planter sows like that; this is a share, not percent."
    more = "more plants than seeds cannot come up; this is a share, not percent."
    faults: list[Problem] = [
        problem(
            more if name == "--emergence" and given[name] > high else text,
            field=name,
            given=f"{given[name]:g}",
            allowed=f"{low:g} to {high:g}",
        )
        for name, (low, high) in LIMITS.items()
        if not low <= given[name] <= high
    ]
    if faults:
        raise InputError(faults)
    return SowingQuality(precision, misses, doubles, ASSUMED.lateral_sd_m, emergence)


def quality_words(quality: SowingQuality) -> str:
    """Say with what a stand was simulated; a figure nobody gave is common practice."""
    figures = (
        f"Precision {100 * quality.precision:.3g} %, misses {100 * quality.miss_share:.3g} %, doubles "
        f"{100 * quality.double_share:.3g} %, emergence {100 * quality.emergence_fraction:.3g} %"
    )
    return f"{figures}: common practice, no source." if quality == ASSUMED else f"{figures}."


def simulated(pattern: RowPattern, seeds_per_m2: float, plants: int, quality: SowingQuality, seed: int) -> StandSpace:
    """Simulate a stand of about so many plants, with a bar on standard error where someone watches."""
    rows, length = piece_for(pattern, seeds_per_m2, plants, quality)
    stand = simulate_stand(pattern, seeds_per_m2, rows, length, quality, np.random.default_rng(seed))
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("growing space", total=1.0)
        return stand_space(stand, lambda share: bar.update(task, completed=share))


def spread_table(stands: Mapping[str, StandSpace]) -> tuple[list[str], list[list[str]]]:
    """Return head and rows of a table that tells how the room of the plants is spread, by method."""
    head = ["of 100 plants, so many have at most", *(f"{100 * share:.0f}" for share in SHARES)]
    land = [
        [f"{name} land, cm2".strip(), *(grouped(1e4 * value) for value in stand.growing_space_m2)]
        for name, stand in stands.items()
    ]
    near = [
        [f"{name} nearest plant, cm".strip(), *(f"{100 * value:.1f}" for value in stand.nearest_neighbour_m)]
        for name, stand in stands.items()
    ]
    return head, land + near
