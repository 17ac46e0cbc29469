"""The step at a border: local-linear, with errors that resemble neighbours."""

import csv
from pathlib import Path

import numpy as np
import pytest

from evenground.numerics.border_step import (
    MOST_CELLS,
    Cells,
    bandwidth_for,
    border_step,
    cells_near,
    pair_differences,
)
from evenground.numerics.correlated_points import places_of
from evenground.numerics.t_distribution import quantile

DEPTH, ALONG = (a.ravel() for a in np.meshgrid((np.arange(12) - 5.5) * 5.0, np.arange(14) * 5.0, indexing="ij"))


def cells(values, covariate=None):
    columns = np.column_stack([values] if covariate is None else [values, covariate])
    return Cells(ALONG, DEPTH, columns, np.ones(len(ALONG)))


@pytest.mark.parametrize("step", [-2.0, 0.0, 3.5])
def test_straight_lines_with_a_step_give_the_step_exactly(step):
    values = 10 + 0.02 * ALONG + np.where(DEPTH > 0, 0.05 * DEPTH + step, -0.03 * DEPTH)
    found = border_step(cells(values), 30.0)
    assert found.step == pytest.approx(step, abs=1e-9)
    assert found.standard_error == pytest.approx(0.0, abs=1e-9)


def test_a_plain_difference_of_means_would_be_fooled_by_a_slope():
    values = 10 + 0.05 * DEPTH
    assert border_step(cells(values), 30.0).step == pytest.approx(0.0, abs=1e-9)
    assert pair_differences(ALONG, DEPTH, values, 30.0).mean() == pytest.approx(1.5)  # 30 m from middle to middle


def test_a_covariate_takes_off_what_it_explains():
    rng = np.random.default_rng(1)
    soil = rng.normal(size=len(DEPTH)) + 2.0 * (DEPTH > 0)
    values = 10 + 0.7 * soil + 0.5 * (DEPTH > 0)
    found = border_step(cells(values, soil), 30.0)
    assert (found.step, found.slope) == pytest.approx((0.5, 0.7), abs=1e-8)


def test_unit_of_the_outcome_does_not_matter():
    values = np.random.default_rng(2).normal(10, 1, len(DEPTH))
    one, thousand = border_step(cells(values), 30.0), border_step(cells(1000 * values), 30.0)
    assert thousand.step == pytest.approx(1000 * one.step)
    assert thousand.standard_error == pytest.approx(1000 * one.standard_error)
    assert thousand.nugget_share == pytest.approx(one.nugget_share)


def test_swapping_the_sides_turns_the_sign():
    values = np.random.default_rng(3).normal(10, 1, len(DEPTH))
    there = border_step(cells(values), 30.0)
    back = border_step(Cells(ALONG, -DEPTH, values[:, None], np.ones(len(ALONG))), 30.0)
    assert back.step == pytest.approx(-there.step)
    assert back.standard_error == pytest.approx(there.standard_error)


def test_the_step_s_own_range_covers_in_a_patchy_field():
    # 300 fields with a reach of 20 m and a nugget, no step: a 90 % range covers at least 90 % less 3.5 Monte Carlo
    # errors of 1.7 %; the degrees of freedom are cautious on purpose, so there is no upper limit but one that sees a
    # range that always covers.
    rng = np.random.default_rng(4)
    places = places_of(ALONG, DEPTH)
    apart = np.hypot(ALONG[:, None] - ALONG, DEPTH[:, None] - DEPTH)
    root = np.linalg.cholesky(np.exp(-apart / 20.0) + 0.5 * np.eye(len(DEPTH)))
    fits = [border_step(cells(root @ rng.normal(size=len(DEPTH))), 30.0, places) for _ in range(300)]
    covered = np.mean([abs(f.step) <= quantile(0.95, f.df) * f.standard_error for f in fits])
    assert 0.84 <= covered <= 0.995
    # and the error it claims is the spread it has, to 15 % (Monte Carlo error of a spread from 300: 4 %)
    claimed = np.sqrt(np.mean([f.standard_error**2 for f in fits]))
    assert claimed == pytest.approx(np.std([f.step for f in fits]), rel=0.15)


def test_points_taken_for_independent_would_claim_too_much():
    rng = np.random.default_rng(5)
    places = places_of(ALONG, DEPTH)
    apart = np.hypot(ALONG[:, None] - ALONG, DEPTH[:, None] - DEPTH)
    root = np.linalg.cholesky(np.exp(-apart / 20.0) + 0.1 * np.eye(len(DEPTH)))
    side = (DEPTH > 0).astype(float)
    x = np.column_stack([np.ones(len(side)), side, DEPTH * (1 - side), DEPTH * side, ALONG])
    inverse = np.linalg.inv(x.T @ x)
    steps, naive = [], []
    for _ in range(100):
        values = root @ rng.normal(size=len(DEPTH))
        left = values - x @ (inverse @ (x.T @ values))
        steps.append(border_step(cells(values), 30.0, places))
        naive.append(np.sqrt((left @ left) / (len(side) - 5) * inverse[1, 1]))
    true = np.std([f.step for f in steps])
    assert np.mean([f.standard_error for f in steps]) == pytest.approx(true, rel=0.25)  # 100 fields: 7 % an error
    assert np.mean(naive) < 0.85 * true


def test_many_points_are_averaged_in_cells_that_keep_to_their_side():
    rng = np.random.default_rng(6)
    s, d = rng.uniform(0, 300, 20_000), rng.uniform(-50, 50, 20_000)
    values = 10 + 1.0 * (d > 0) + rng.normal(size=20_000)
    found = cells_near(s, d, values[:, None], 50.0)
    assert 50 < len(found.depth) <= 1.5 * MOST_CELLS
    assert found.counts.sum() == 20_000
    assert np.average(found.columns[:, 0], weights=found.counts) == pytest.approx(values.mean())
    side = found.depth > 0
    assert np.average(found.columns[side, 0], weights=found.counts[side]) == pytest.approx(values[d > 0].mean())
    fit = border_step(found, 50.0)
    assert abs(fit.step - 1.0) < 4 * fit.standard_error
    # 20,000 independent values of SD 1 in a local-linear step: 4 / sqrt(20,000) = 0.028
    assert fit.standard_error == pytest.approx(0.028, rel=0.3)


BANDWIDTHS = [([-30, 80], 30.0), ([-300, 200], 60.0), ([-12, 7], 7.0)]


@pytest.mark.parametrize(("depth", "expected"), BANDWIDTHS)
def test_the_bandwidth_is_the_shallower_side_but_no_more_than_sixty(depth, expected):
    assert bandwidth_for(depth) == expected


def test_pieces_along_the_border():
    # 60 m long, 30 m to each side: pieces of 15 m; without one side a piece is left out
    along = np.array([0, 0, 20, 20, 40, 40, 60.0])
    depth = np.array([-1, 1, -1, 1, -1, 1, 1.0])
    values = np.array([5, 6, 5, 7, 5, 8, 99.0])
    assert pair_differences(along, depth, values, 30.0).tolist() == [1.0, 2.0, 3.0]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bandwidth_for([1.0, 2.0]), "one side"),
        (lambda: cells_near([0, 1, 2, 3], [-1, -2, -3, 4], np.ones((4, 1)), 10.0), "fewer than 3 points"),
        (lambda: cells_near([0, np.nan], [-1, 1], np.ones((2, 1)), 10.0), "along: every value must be a finite"),
        (
            lambda: border_step(cells_near([0, 2, 1, 1, 0, 2], [-1, -2, -3, 1, 2, 3], np.ones((6, 1)), 5.0), 5.0),
            "too few",
        ),
        (lambda: border_step(cells(DEPTH, np.ones(len(DEPTH))), 30.0), "the covariate is the same"),
    ],
)
def test_what_cannot_be_told_is_said(call, message):
    with pytest.raises(ValueError, match=message):
        call()


CASES = Path(__file__).parent.parent / "cases"


def steps_of_r():
    with (CASES / "r/border_step.csv").open(newline="", encoding="utf-8") as file:
        return [{k: float(v) for k, v in row.items()} for row in csv.DictReader(file)]


@pytest.mark.parametrize("r", steps_of_r(), ids=lambda r: f"row {r['line']:g}")
def test_steps_in_a_wheat_field_agree_with_r(r):
    """Mercer & Hall (1911), cut at three lines; dense REML in R 4.2.2, script tests/cases/r/border_step.R.

    R searches reach and nugget freely, here six reaches are tried: step within a twentieth of its error, error within
    a tenth (the widest apart is the line at row 5, whose best reach lies between two of the six).
    """
    with (CASES / "data/spData_wheat_mercer_hall.csv").open(newline="", encoding="utf-8") as file:
        plots = list(csv.DictReader(file))
    along, north, value = (np.array([float(p[k]) for p in plots]) for k in ("lon", "lat", "yield"))
    depth = north - (r["line"] + 0.5) * 3.3
    near = cells_near(along, depth, value[:, None], 5 * 3.3 - 1e-9)
    found = border_step(near, 5 * 3.3)
    assert found.cells == 250
    assert found.step == pytest.approx(r["step"], abs=0.05 * r["se"])
    assert found.standard_error == pytest.approx(r["se"], rel=0.1)


def test_the_lines_end_in_the_step_and_lie_on_the_points():
    # Straight lines without scatter, level along the border: the lines are known exactly.
    values = 10 + np.where(DEPTH > 0, 0.05 * DEPTH + 2.0, -0.03 * DEPTH)
    found = border_step(cells(values), 30.0)
    depth, fitted = found.lines.depth, found.lines.fitted
    assert depth[0, -1] == depth[1, 0] == 0.0
    assert (depth[0, 0], depth[1, -1]) == (DEPTH.min(), DEPTH.max())
    assert fitted[0] == pytest.approx(10 - 0.03 * depth[0], abs=1e-9)
    assert fitted[1] == pytest.approx(12 + 0.05 * depth[1], abs=1e-9)


@pytest.mark.parametrize("covariate", [False, True])
def test_the_lines_stand_apart_by_the_step_with_scatter_too(covariate):
    rng = np.random.default_rng(5)
    values = rng.normal(10, 1, len(DEPTH))
    found = border_step(cells(values, rng.normal(size=len(DEPTH)) if covariate else None), 30.0)
    assert found.lines.fitted[1, 0] - found.lines.fitted[0, -1] == pytest.approx(found.step)
    assert (found.lines.standard_error > 0).all()
    # a line is least sure at its ends
    assert found.lines.standard_error[0].min() < min(found.lines.standard_error[0, [0, -1]])
    assert len(found.near.depth) == found.cells
