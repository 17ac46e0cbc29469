"""R itself (lme4, pbkrtest, lmerTest) as judge on data it has never seen, unbalanced, with a covariate."""

import csv
import json
import subprocess
from pathlib import Path

import numpy as np
import pytest

from evenground.numerics import kenward_roger, mixed, satterthwaite
from evenground.numerics.arrays import cross

SCRIPT = Path(__file__).parent.parent / "cases" / "r" / "live_mixed.R"


@pytest.mark.needs_r
@pytest.mark.parametrize("seed", [20261125, 7])
def test_fresh_data(rscript: Path, tmp_path: Path, seed: int) -> None:
    """Data that R sees for the first time here; tolerances as in test_mixed_reference.py."""
    entropy = np.random.SeedSequence(seed).entropy
    rng = np.random.default_rng(entropy)
    block, trt = np.repeat(np.arange(10), 8), np.tile(np.repeat(np.arange(4), 2), 10)
    kept = np.sort(rng.permutation(80)[:67])
    block, trt, plot = block[kept], trt[kept], cross(block, trt)[kept]
    x = rng.normal(size=67)
    y = (
        11
        + 0.3 * trt
        + 0.2 * x
        + 2.0 * rng.normal(size=10)[block]
        + rng.normal(size=40)[plot]
        + 0.5 * rng.normal(size=67)
    )
    with (tmp_path / "fresh.csv").open("w", newline="") as file:
        csv.writer(file).writerows(
            [
                ["y", "trt", "block", "plot", "x"],
                *zip(map(repr, y.tolist()), trt, block, plot, map(repr, x.tolist()), strict=True),
            ]
        )
    command = [str(rscript), str(SCRIPT), str(tmp_path / "fresh.csv")]
    theirs = json.loads(subprocess.run(command, capture_output=True, check=True, timeout=120, text=True).stdout)
    design = np.column_stack([np.ones(67), *(trt == level for level in (1, 2, 3)), x]).astype(float)
    fit = mixed.fit(y, design, [plot, block])
    adjusted = kenward_roger.adjust(fit)
    note = f"data set from seed {entropy}"
    assert not theirs["singular"], note
    assert fit.log_likelihood == pytest.approx(theirs["logLik"], abs=1e-8), note
    for k, row in enumerate(np.eye(5)):
        test = adjusted.contrast(row)
        assert test.estimate == pytest.approx(theirs["estimate"][k], rel=1e-5, abs=1e-6), note
        assert test.standard_error == pytest.approx(theirs["se"][k], rel=1e-5), note
        assert test.df == pytest.approx(theirs["df"][k], rel=1e-4), note
        assert satterthwaite.contrast(fit, row).df == pytest.approx(theirs["satterthwaite"][k], rel=1e-4), note
    joint = adjusted.f_test(np.eye(5)[1:4])
    assert (joint.f, joint.df_denominator) == pytest.approx((theirs["F"], theirs["den"]), rel=1e-5), note
