"""The variogram fit: truths it must find again, bounded work, and what it refuses."""

import csv
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from scipy.linalg import cholesky

from evenground.numerics.variogram import MOST_PAIRS, fit_variogram


def surface(points, reach, sill, nugget, seed, size=300.0):
    rng = np.random.default_rng(seed)
    at = rng.uniform(0, size, (points, 2))
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    root = cholesky(sill * np.exp(-apart / reach) + nugget * np.eye(points), lower=True)
    return at, 100 + root @ rng.normal(size=points)


def test_a_known_surface_is_found_again_on_average():
    fits = [
        fit_variogram(*at.T, z, np.random.default_rng(1)) for at, z in (surface(500, 20, 16, 9, s) for s in range(8))
    ]
    # One field tells reach to about a third; the mean of eight fields to about an eighth: 3 standard errors allowed.
    assert np.mean([f.reach for f in fits]) == pytest.approx(20, rel=0.4)
    assert np.mean([f.nugget for f in fits]) == pytest.approx(9, rel=0.25)
    assert np.mean([f.nugget + f.sill for f in fits]) == pytest.approx(25, rel=0.15)


def test_pure_noise_is_all_nugget_or_shorter_than_the_points_are_apart():
    rng = np.random.default_rng(3)
    fit = fit_variogram(rng.uniform(0, 300, 800), rng.uniform(0, 300, 800), rng.normal(size=800), rng)
    at_30_m = fit.nugget + fit.sill * (1 - np.exp(-30 / fit.reach))
    assert at_30_m == pytest.approx(1.0, rel=0.15)


def test_ten_thousand_points_take_bounded_work():
    rng = np.random.default_rng(4)
    start = perf_counter()
    fit = fit_variogram(rng.uniform(0, 800, 10_000), rng.uniform(0, 800, 10_000), rng.normal(size=10_000), rng)
    assert fit.pairs <= MOST_PAIRS
    assert perf_counter() - start < 3.0


def test_the_wheat_of_mercer_and_hall_as_the_docs_print_it():
    # Own fit, printed in docs/layout.md; it guards the table, it is no outside check.
    with (Path(__file__).parents[1] / "cases/data/spData_wheat_mercer_hall.csv").open(newline="") as file:
        plots = [(float(p["lat"]), float(p["lon"]), float(p["yield"])) for p in csv.DictReader(file)]
    lat, lon, grain = np.array(plots).T
    row, column = (np.unique(v, return_inverse=True)[1] for v in (lat, lon))
    fit = fit_variogram(column * 2.45, row * 3.30, 100 * grain / grain.mean(), np.random.default_rng(1))
    assert (fit.nugget, fit.sill, fit.reach) == pytest.approx((70, 69, 8.6), rel=0.01)


@pytest.mark.parametrize(
    "values", [np.ones(50), np.arange(20.0), np.r_[np.arange(49.0), np.nan]], ids=["same", "few", "nan"]
)
def test_what_cannot_be_fitted_is_refused(values):
    at = np.arange(len(values), dtype=float)
    with pytest.raises(ValueError, match="points"):
        fit_variogram(at, at, values, np.random.default_rng(1))
