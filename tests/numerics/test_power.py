"""Power by the noncentral t: against the library where that is sound, the normal limit, and simulation."""

import math

import numpy as np
import pytest
from scipy.special import nctdtr, ndtr, ndtri, stdtrit

from evenground.numerics.power import (
    blocks_by_normal,
    blocks_by_t,
    detectable_gain,
    least_significant_difference,
    power_of_gain,
)


@pytest.mark.parametrize("df", [1, 2, 5, 14, 100, 1e5])
@pytest.mark.parametrize("gain", [0.0, 0.7, 2.0, 4.5])
@pytest.mark.parametrize("level", [0.01, 0.05, 0.2])
def test_power_equals_the_library(df, gain, level):
    t = stdtrit(df, 1 - level / 2)
    expected = 1 - nctdtr(df, gain, t) + nctdtr(df, gain, -t)
    power = power_of_gain(gain, sigma=1, variance_factor=1, residual_df=df, level=level)
    assert power == pytest.approx(expected, abs=1e-11)


def test_power_without_a_gain_is_the_level_and_grows():
    powers = [power_of_gain(g, sigma=0.5, variance_factor=0.25, residual_df=3) for g in np.linspace(0, 2, 40)]
    assert powers[0] == pytest.approx(0.05, abs=1e-12)
    assert (np.diff(powers) > 0).all()
    assert power_of_gain(-1, sigma=1, variance_factor=1, residual_df=3) == power_of_gain(
        1, sigma=1, variance_factor=1, residual_df=3
    )


@pytest.mark.parametrize("df", [1, 2, 7, 30, math.inf])
@pytest.mark.parametrize("power", [0.5, 0.8, 0.99])
def test_detectable_gain_has_its_power(df, power):
    gain = detectable_gain(sigma=0.4, variance_factor=0.25, residual_df=df, power=power)
    assert power_of_gain(gain, sigma=0.4, variance_factor=0.25, residual_df=df) == pytest.approx(power, abs=1e-10)


def test_known_error_is_the_sum_of_two_normal_quantiles():
    # The other tail adds 1e-6 to the power at most.
    gain = detectable_gain(sigma=1, variance_factor=1, residual_df=math.inf)
    assert gain == pytest.approx(ndtri(0.975) + ndtri(0.8), rel=1e-5)
    assert detectable_gain(sigma=1, variance_factor=1, residual_df=1e7) == pytest.approx(gain, rel=1e-6)
    assert power_of_gain(1, sigma=1, variance_factor=1, residual_df=math.inf) == pytest.approx(
        ndtr(1 - ndtri(0.975)) + ndtr(-1 - ndtri(0.975))
    )


def test_common_error_sets_a_floor():
    gains = [
        detectable_gain(sigma=0.5, variance_factor=2 / n, residual_df=n - 1, common_variance=0.04) for n in (4, 8, 1000)
    ]
    assert gains == sorted(gains, reverse=True)
    assert gains[-1] == pytest.approx(0.2 * (ndtri(0.975) + ndtri(0.8)), rel=0.01)  # strips add 1/80 of the variance


def test_common_error_power_by_simulation():
    # The test uses a known common variance and Satterthwaite's degrees of freedom of the estimated whole.
    rng = np.random.default_rng(31)
    trials, sigma, factor, df, common, gain = 40_000, 0.5, 2 / 6, 5, 0.04, 1.2
    g = rng.normal(gain, math.sqrt(factor * sigma**2 + common), trials)
    strips = factor * sigma**2 * rng.chisquare(df, trials) / df
    variance = strips + common
    seen = np.abs(g) > stdtrit(df * (variance / strips) ** 2, 0.975) * np.sqrt(variance)
    power = power_of_gain(gain, sigma=sigma, variance_factor=factor, residual_df=df, common_variance=common)
    # Sampling error 0.002; the rest is the approximation, which may cost two points of power here.
    assert seen.mean() == pytest.approx(power, abs=0.03)


def test_smallest_block_number_really_is():
    for cv, difference in [(2, 5), (3, 2), (6, 4), (10, 20)]:
        r = blocks_by_t(cv, difference)

        def needed(blocks, cv=cv, difference=difference):
            return 2 * (cv / difference) ** 2 * (stdtrit(blocks - 1, 0.975) + stdtrit(blocks - 1, 0.8)) ** 2

        assert r >= needed(r)
        assert r == 2 or r - 1 < needed(r - 1)
        assert r >= blocks_by_normal(cv, difference)


@pytest.mark.parametrize(
    "call",
    [
        lambda: power_of_gain(1, sigma=0, variance_factor=1, residual_df=3),
        lambda: power_of_gain(1, sigma=1, variance_factor=0, residual_df=3),
        lambda: power_of_gain(1, sigma=1, variance_factor=1, residual_df=0),
        lambda: power_of_gain(1, sigma=math.nan, variance_factor=1, residual_df=3),
        lambda: detectable_gain(sigma=1, variance_factor=1, residual_df=3, power=0.01),
        lambda: detectable_gain(sigma=1, variance_factor=1, residual_df=3, power=1.0),
        lambda: detectable_gain(sigma=1, variance_factor=1, residual_df=3, common_variance=-1),
        lambda: least_significant_difference(sigma=1, variance_factor=1, residual_df=3, level=1.0),
        lambda: blocks_by_normal(0, 5),
        lambda: blocks_by_t(5, 0),
        lambda: blocks_by_t(5, 0.001),
    ],
)
def test_bad_input_is_refused(call):
    with pytest.raises(ValueError):
        call()
