"""One REML + Kenward-Roger fit of a 16-strip trial, and many at once; peer: the same fit inside R (lme4 + pbkrtest).

R's start-up is left out: R times itself over repetitions after warming up. Same data, same machine, one thread.
"""

from __future__ import annotations

import csv
import shutil
import statistics
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from evenground.numerics import kenward_roger, mixed
from evenground.numerics.blocks import fit_blocks, fit_blocks_many, lay_out

ROOT = Path(__file__).parent.parent
DATA = ROOT / "tests" / "cases" / "data" / "sim_16strips.csv"
TARGET_MS, TARGET_RATIO = 3.0, 20.0


def median_ms(run: Callable[[], object], repetitions: int) -> float:
    """Median wall-clock time of one call after a few calls to warm up."""
    for _ in range(5):
        run()
    times = []
    for _ in range(repetitions):
        start = time.perf_counter()
        run()
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.median(times)


def r_fit() -> tuple[float | None, list[float]]:
    """Median time inside R and its gain, standard error and df; None where R or its packages are missing."""
    found = shutil.which("Rscript")
    if found is None:
        return None, []
    command = [found, str(Path(__file__).parent / "r" / "mixed.R"), str(DATA), "15"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    if done.returncode:
        return None, []
    peer, *answer = map(float, done.stdout.split())
    return peer, answer


def row(name: str, ours: float, peer: float | None, answer_agrees: bool) -> dict[str, Any]:
    """One line of the table."""
    ratio = None if peer is None else peer / ours
    return {
        "name": name,
        "ours_ms": ours,
        "peer_ms": peer,
        "ratio": ratio,
        "target": f"under {TARGET_MS:g} ms, {TARGET_RATIO:g}x faster than R",
        "reached": ours < TARGET_MS and answer_agrees and (ratio is None or ratio >= TARGET_RATIO),
    }


def run() -> list[dict[str, Any]]:
    """Measure; a fit that does not give R's answer has not reached its target, however fast."""
    with DATA.open(newline="") as file:
        table = list(csv.DictReader(file))
    y = np.array([float(line["yield"]) for line in table])
    treatments = np.array([line["trt"] == "B" for line in table]).astype(np.int64)
    blocks = np.array([int(line["block"]) for line in table])
    design = np.column_stack([np.ones(len(y)), treatments])
    peer, answer = r_fit()

    def general() -> kenward_roger.Contrast:
        return kenward_roger.adjust(mixed.fit(y, design, [blocks])).contrast([0.0, 1.0])

    fit, test = fit_blocks(y, treatments, blocks, 2), general()
    fast = [float(fit.gains[0]), float(fit.standard_errors[0]), float(fit.df[0])]
    any_model = [test.estimate, test.standard_error, test.df]
    agree = [not answer or np.allclose(numbers, answer, rtol=1e-4) for numbers in (fast, any_model)]
    layout = lay_out(treatments, blocks, 2)
    rng = np.random.default_rng(1)
    many = rng.normal(size=(1000, 16)) + rng.normal(size=(1000, 8))[:, blocks - 1]
    each = median_ms(lambda: fit_blocks_many(many, layout), 10) / len(many)
    return [
        row(
            "REML + Kenward-Roger, 16 strips",
            median_ms(lambda: fit_blocks(y, treatments, blocks, 2), 400),
            peer,
            agree[0],
        ),
        row("REML + Kenward-Roger, 16 strips, any-model program", median_ms(general, 400), peer, agree[1]),
        row("REML + Kenward-Roger, 16 strips, each of 1,000 at once", each, peer, agree[0]),
    ]
