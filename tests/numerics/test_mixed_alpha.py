"""A resolvable incomplete-block design against its published variances.

John & Williams, Cyclic and Computer Generated Designs (1995), p. 146: spring oats, 24 varieties, 3 replicates of 6
blocks of 4. Printed there and computed again with lme4 + pbkrtest: blocks within replicates 0.06194, residual 0.08523,
mean variance of a difference 0.07010875; Kenward-Roger: 0.072959, df 35.9 to 39.4, F 5.36278 on 23 and 35.4983 df.
"""

from __future__ import annotations

import csv
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from evenground.numerics import kenward_roger, mixed

DATA = Path(__file__).parents[1] / "cases" / "data" / "john_williams_alpha.csv"


@pytest.fixture(scope="module")
def alpha():
    with DATA.open(newline="") as file:
        rows = list(csv.DictReader(file))
    variety = np.array([int(r["variety"]) - 1 for r in rows])
    replicate = np.array([int(r["rep"]) - 1 for r in rows])
    _, block = np.unique([r["block"] for r in rows], return_inverse=True)
    design = np.hstack([np.eye(24)[variety], np.eye(3)[replicate][:, 1:]])
    return mixed.fit(np.array([float(r["yield"]) for r in rows]), design, [block])


def contrasts():
    for i, j in combinations(range(24), 2):
        row = np.zeros(26)
        row[i], row[j] = 1.0, -1.0
        yield row


def test_variances(alpha):
    # printed to five decimals
    assert alpha.variances[0] == pytest.approx(0.06194, abs=5e-6)
    assert alpha.residual_variance == pytest.approx(0.08523, abs=5e-6)


def test_mean_variance_of_a_difference(alpha):
    plain = np.mean([row @ alpha.covariance @ row for row in contrasts()])
    assert plain == pytest.approx(0.07010875, abs=5e-8)


def test_kenward_roger(alpha):
    adjusted = kenward_roger.adjust(alpha)
    tests = [adjusted.contrast(row) for row in contrasts()]
    assert np.mean([t.standard_error**2 for t in tests]) == pytest.approx(0.072959, abs=5e-7)
    assert min(t.df for t in tests) == pytest.approx(35.9, abs=0.05)
    assert max(t.df for t in tests) == pytest.approx(39.4, abs=0.05)
    differences = np.hstack([np.eye(24)[1:] - np.eye(24)[0], np.zeros((23, 2))])
    joint = adjusted.f_test(differences)
    assert joint.f == pytest.approx(5.36278, abs=5e-6)
    assert joint.df_denominator == pytest.approx(35.4983, abs=5e-5)
