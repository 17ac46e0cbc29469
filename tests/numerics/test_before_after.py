"""Published before-after comparisons of two groups, and the arithmetic of bias."""

import numpy as np
import pytest

from evenground.numerics.before_after import (
    analysis_of_covariance,
    change_scores,
    difference_in_differences,
    ratio_to_explain,
    relative_variances,
    tipping_point,
    units_of,
    without_bias,
)

# Eight units, four of them treated between the two dates (rstudio-pubs-static 197745, before-after-control-impact).
BEFORE = [504, 1218, 495, 1259, 515, 1199, 508, 1326]
AFTER = [504, 1233, 529, 1335, 490, 1133, 347, 1077]
EIGHT = units_of(BEFORE, AFTER, [0, 0, 0, 0, 1, 1, 1, 1])


def test_card_and_krueger():
    # Card & Krueger, American Economic Review 84 (1994): cell means 20.44 -> 21.03 and 23.33 -> 21.17, 2.75 from these
    # rounded cells (the paper's 2.76 comes from unrounded ones).
    assert difference_in_differences(20.44, 21.03, 23.33, 21.17) == pytest.approx(2.75, abs=1e-9)
    # A regression on the same data (H. Lopes, lecture notes 2025) prints intercept 23.380, time -2.283, group -2.949,
    # product 2.750; its implied cell means give the product back to the rounding of four numbers with three decimals.
    cells = (23.380 - 2.949, 23.380 - 2.283 - 2.949 + 2.750, 23.380, 23.380 - 2.283)
    assert difference_in_differences(*cells) == pytest.approx(2.750, abs=2e-3)


def test_separate_slopes_as_printed():
    # Printed with the data: intercept 909.6146, slope 1.0405, condition -155.9272 (57.3534; t -2.719, p 0.053058),
    # product -0.1447; residual SE 81.09 on 4 df. Tolerances: half a unit of the last digit printed.
    contrast, fit = analysis_of_covariance(EIGHT, parallel=False)
    assert fit.coefficients == pytest.approx([909.6146, 1.0405, -155.9272, -0.1447], abs=6e-5)
    assert contrast.standard_error == pytest.approx(57.3534, abs=6e-5)
    assert contrast.t == pytest.approx(-2.719, abs=6e-4)
    assert contrast.p == pytest.approx(0.053058, abs=6e-7)
    assert (np.sqrt(fit.mean_square), fit.df) == (pytest.approx(81.09, abs=6e-3), 4)


def test_change_scores_and_parallel_slopes():
    # Worked out from the same eight units by two-sample t and by least squares, to the digits shown.
    pooled, welch = change_scores(EIGHT), change_scores(EIGHT, equal_variances=False)
    assert pooled.estimate == pytest.approx(-156.5, abs=1e-9)
    assert pooled.standard_error == pytest.approx(52.7601, abs=6e-5)
    assert (pooled.t, pooled.df, pooled.p) == pytest.approx((-2.96626, 6, 0.02508), abs=6e-6)
    assert (welch.df, welch.p) == pytest.approx((3.6394, 0.04649), abs=6e-5)
    parallel, _ = analysis_of_covariance(EIGHT)
    assert (parallel.estimate, parallel.standard_error) == pytest.approx((-155.898, 56.719), abs=6e-4)
    assert (parallel.t, parallel.df, parallel.p) == pytest.approx((-2.749, 5, 0.040), abs=6e-4)


# What prior yields buy: change scores 2 (1 - r), covariance 1 - r^2.
BUYS = [(0.0, 2.0, 1.0), (0.3, 1.4, 0.91), (0.5, 1.0, 0.75), (0.7, 0.6, 0.51), (0.9, 0.2, 0.19)]


@pytest.mark.parametrize(("correlation", "change", "covariance"), BUYS)
def test_what_earlier_yields_buy(correlation, change, covariance):
    assert relative_variances(correlation) == pytest.approx((change, covariance), abs=1e-12)


@pytest.mark.parametrize(("correlation", "change", "covariance"), BUYS)
def test_they_buy_that_in_simulated_fields(correlation, change, covariance):
    # 4,000 pairs of groups of 40: the variance of a contrast is known to 2.2 %, the ratio of two to about 5 % (3 errors
    # and the 1 in 77 that estimating the slope costs).
    rng = np.random.default_rng(20)
    before = rng.normal(size=(4000, 80))
    after = correlation * before + np.sqrt(1 - correlation**2) * rng.normal(size=(4000, 80))
    group = np.repeat([0, 1], 40)

    def contrast(values):
        return values[:, group == 1].mean(axis=1) - values[:, group == 0].mean(axis=1)

    plain = contrast(after).var()
    slopes = [
        analysis_of_covariance(units_of(b, a, group))[0].estimate
        for b, a in zip(before[:1500], after[:1500], strict=True)
    ]
    assert contrast(after - before).var() / plain == pytest.approx(change, rel=0.1)
    assert np.var(slopes) / contrast(after[:1500]).var() == pytest.approx(covariance, rel=0.1)


def test_bias_arithmetic():
    # Observed +0.60 t/ha, 20 mm more water at 0.02 t/ha a millimetre: 0.20 is left, 30 mm would explain all of it.
    assert without_bias(0.60, 0.02, 20.0) == pytest.approx(0.20, abs=1e-12)
    assert tipping_point(0.60, 0.02) == pytest.approx(30.0, abs=1e-12)
    assert without_bias(0.60, 0.02, tipping_point(0.60, 0.02)) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("ratio", "expected"), [(3.9, 7.2630), (1.0, 1.0), (1 / 3.9, 7.2630)])
def test_how_strong_a_hidden_cause_must_be(ratio, expected):
    # VanderWeele & Ding (2017) print 7.26 for 3.9 (from memory); four digits by their formula.
    assert ratio_to_explain(ratio) == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: units_of([1, 2], [1, 2, 3], [0, 1]), "differ in length"),
        (lambda: units_of([1, 2], [1, 2], [1, 1]), "both groups"),
        (lambda: units_of([1, np.nan], [1, 2], [0, 1]), "finite"),
        (lambda: change_scores(units_of([1, 2, 3], [1, 2, 3], [0, 1, 1])), "two units"),
        (lambda: relative_variances(1.2), "between -1 and 1"),
        (lambda: tipping_point(1.0, 0.0), "explains nothing"),
        (lambda: ratio_to_explain(0.0), "above 0"),
    ],
)
def test_bad_input_is_said(call, message):
    with pytest.raises(ValueError, match=message):
        call()
