"""Standard errors of a difference under neighbour correlation, against a published-form table and against R."""

import json
from pathlib import Path

import numpy as np
import pytest

from evenground.numerics.contrast_variance import (
    ar1_covariance,
    contrasts,
    difference_error,
    mean_contrast_variance,
)
from evenground.numerics.orders import OrderPlan, list_orders

ORDERS = ("ABABABAB", "ABBAABBA", "ABBABAAB", "AABBAABB", "AAAABBBB")
# Computed reference table: standard error of B - A, sigma 1, 8 strips, AR1: least squares / generalised / with trend.
TABLE = {
    0.0: ".7071/.7071/.7246 .7071/.7071/.7071 .7071/.7071/.7071 .7071/.7071/.7859 .7071/.7071/1.4491",
    0.3: ".5398/.5345/.5472 .6340/.6325/.6325 .6095/.5933/.5978 .6861/.6771/.7398 .8375/.8106/1.3455",
    0.5: ".4408/.4264/.4357 .5386/.5371/.5371 .5220/.4899/.4974 .6242/.5941/.6376 .9008/.8165/1.1583",
    0.8: ".2850/.2500/.2541 .3294/.3293/.3293 .3278/.2942/.3002 .4583/.3750/.3911 .8225/.6124/.7131",
}
# nlme::gls with fixed correlation and sigma = 1; script beside it: tests/cases/r/gls_fixed.R.
R = json.loads((Path(__file__).parents[1] / "cases/r/gls_fixed.json").read_text())


def codes(order):
    return np.array([letter == "B" for letter in order], dtype=int)


@pytest.mark.parametrize("rho", TABLE)
def test_five_orders_at_four_correlations(rho):
    for order, printed in zip(ORDERS, TABLE[rho].split(), strict=True):
        found = difference_error(ar1_covariance(8, rho), codes(order))
        expected = [float(x) for x in printed.split("/")]
        # Half of the last printed digit.
        assert [found.least_squares, found.generalised, found.with_trend] == pytest.approx(expected, abs=5.1e-5)


@pytest.mark.parametrize("row", R, ids=lambda row: f"{row['order']} {row['kind']} {row['value']}")
def test_generalised_least_squares_as_in_r(row):
    rho = row["value"] if row["kind"] == "ar1" else float(np.exp(-1 / row["value"]))
    found = difference_error(ar1_covariance(8, rho), codes(row["order"]))
    # Both solve 8 x 8 systems in doubles; nlme whitens first, which costs it some digits.
    assert (found.generalised, found.with_trend) == pytest.approx((row["plain"], row["trend"]), rel=1e-7)


def test_the_mean_over_all_orders_of_pairs_is_that_of_independent_pairs():
    # Signs of pairs are independent over a free draw, so only within-pair variances are left: 2 (1 - rho) / n.
    weights = contrasts(list_orders(OrderPlan.complete(2, 5)))
    assert mean_contrast_variance(ar1_covariance(10, 0.6), weights) == pytest.approx(2 * 0.4 / 5, rel=1e-12)


def test_methods_in_step_with_a_trend_cannot_be_told_apart():
    assert np.isinf(difference_error(ar1_covariance(2, 0.3), [0, 1]).with_trend)


@pytest.mark.parametrize(("covariance", "order"), [(np.eye(3), [0, 1]), (np.eye(2), [0, 0]), (-np.eye(2), [0, 1])])
def test_what_cannot_be_is_refused(covariance, order):
    with pytest.raises(ValueError):
        difference_error(covariance, order)
    with pytest.raises(ValueError, match="rho"):
        ar1_covariance(3, 1.0)
