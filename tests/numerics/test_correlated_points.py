"""Generalised least squares and REML for points with exponential correlation."""

import csv
from pathlib import Path

import numpy as np
import pytest

from evenground.numerics.correlated_points import fit_correlated, generalised_least_squares, places_of

CASES = Path(__file__).parent.parent / "cases"


def auto(rho, n=8):
    at = np.arange(n)
    return rho ** np.abs(at[:, None] - at)


def treated(order):
    return np.array([letter == "B" for letter in order], dtype=float)


# Standard error of B - A of eight strips in a row with errors of first-order autocorrelation, sigma 1: generalised
# least squares with mean and treatment, and with a straight trend too. Worked out
# independently from the inverse (tridiagonal) of that correlation; four digits, hence the tolerance.
ERRORS = [
    (0.0, "ABABABAB", 0.7071, 0.7246),
    (0.3, "ABABABAB", 0.5345, 0.5472),
    (0.3, "AABBAABB", 0.6771, 0.7398),
    (0.5, "ABBABAAB", 0.4899, 0.4974),
    (0.5, "AAAABBBB", 0.8165, 1.1583),
    (0.8, "ABBAABBA", 0.3293, 0.3293),
    (0.8, "AAAABBBB", 0.6124, 0.7131),
]


@pytest.mark.parametrize(("rho", "order", "plain", "with_trend"), ERRORS)
def test_errors_of_a_difference_under_autocorrelation(rho, order, plain, with_trend):
    columns = [np.ones(8), treated(order)]
    for more, expected in (([], plain), ([np.arange(8.0)], with_trend)):
        fit = generalised_least_squares(np.column_stack([*columns, *more]), np.zeros(8), auto(rho))
        assert np.sqrt(fit.covariance[1, 1]) == pytest.approx(expected, abs=6e-5)


def field(name):
    with (CASES / "data" / f"agri_{name}_uniformity.csv").open(newline="") as file:
        plots = [p for p in csv.DictReader(file) if p["yield"] not in ("", "NA")]
    at = np.array([[float(p["row"]), float(p["col"])] for p in plots])
    y = np.array([float(p["yield"]) for p in plots])
    return at, y, np.column_stack([np.ones(len(y)), at[:, 1] % 2 == 0])


def reference():
    with (CASES / "r" / "uniformity_exponential.csv").open(newline="") as file:
        return [(row[""], {k: float(v) for k, v in row.items() if k}) for row in csv.DictReader(file)]


@pytest.mark.parametrize(("name", "r"), reference())
def test_known_covariance_agrees_with_r(name, r):
    # R script beside the numbers: tests/cases/r/uniformity_exponential.R. The same matrix, so 1e-5 leaves only the
    # digits printed.
    at, y, x = field(name)
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    covariance = r["sill"] * np.exp(-apart / r["range"]) + r["nugget"] * np.eye(len(y))
    fit = generalised_least_squares(x, y, covariance)
    assert fit.values[1] == pytest.approx(r["estimate"], rel=1e-5)
    assert np.sqrt(fit.covariance[1, 1]) == pytest.approx(r["se"], rel=1e-5)


@pytest.mark.parametrize(("name", "r"), reference())
def test_reml_over_a_grid_comes_near_the_optimum_of_r(name, r):
    # The grid has six reaches, so the best of it lies beside the optimum: error within 3 %, estimate within 3 % of it.
    at, y, x = field(name)
    fit = fit_correlated(places_of(at[:, 0], at[:, 1]), x, y)
    assert fit.coefficients[1] == pytest.approx(r["estimate"], abs=0.03 * r["se"])
    assert np.sqrt(fit.covariance[1, 1]) == pytest.approx(r["se"], rel=0.03)
    assert fit.reach == pytest.approx(r["range"], rel=0.3)


def test_a_fit_equals_generalised_least_squares_at_its_own_variances():
    rng = np.random.default_rng(1)
    at, counts = rng.uniform(0, 50, (40, 2)), rng.integers(1, 5, 40).astype(float)
    x = np.column_stack([np.ones(40), at[:, 0] > 25])
    y = rng.normal(size=40) + 3 * x[:, 1]
    fit = fit_correlated(places_of(at[:, 0], at[:, 1], counts), x, y)
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    covariance = fit.sill * np.exp(-apart / fit.reach) + np.diag(fit.nugget / counts)
    again = generalised_least_squares(x, y, covariance)
    assert again.values == pytest.approx(fit.coefficients, rel=1e-8)
    assert again.covariance == pytest.approx(fit.covariance, rel=1e-8)


def test_independent_errors_give_ordinary_least_squares():
    rng = np.random.default_rng(2)
    at = rng.uniform(0, 1000, (200, 2))
    x = np.column_stack([np.ones(200), np.arange(200) % 2])
    y = rng.normal(size=200)
    fit = fit_correlated(places_of(at[:, 0], at[:, 1]), x, y)
    plain = generalised_least_squares(x, y, np.eye(200))
    # Wherever REML puts the small correlation that chance shows, the answer moves by a part of its error only.
    assert fit.coefficients[1] == pytest.approx(plain.values[1], abs=0.3 * np.sqrt(plain.covariance[1, 1]))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: generalised_least_squares([[1.0]], [1.0, 2.0], np.eye(2)), "same number of rows"),
        (lambda: generalised_least_squares([[np.nan], [1.0]], [1.0, 2.0], np.eye(2)), "finite"),
        (lambda: places_of([1.0, 1.0], [2.0, 2.0]), "all places are the same"),
        (lambda: fit_correlated(places_of([0.0, 1.0], [0.0, 0.0]), np.eye(2), [1.0, 2.0]), "no more places"),
    ],
)
def test_what_cannot_be_fitted_is_said(call, message):
    with pytest.raises(ValueError, match=message):
        call()
