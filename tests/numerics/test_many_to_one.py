"""Comparisons with one baseline: against tables, scipy's own test, and adaptive integration to high precision."""

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, special, stats

from evenground.numerics.many_to_one import Comparisons, comparisons
from evenground.numerics.t_distribution import quantile, two_sided_p


def equal(count: int, rho: float = 0.5) -> Comparisons:
    return comparisons(np.full((count, count), rho) + (1 - rho) * np.eye(count))


# Two-sided, equal numbers (correlation 1/2), from the tables of Dunnett, Biometrics 20 (1964) 482-491, quoted from
# memory; printed to two places.
TABLE_95 = {
    5: [2.57, 3.03, 3.29, 3.48, 3.62],
    10: [2.23, 2.57, 2.76, 2.89, 2.99],
    20: [2.09, 2.38, 2.54, 2.65, 2.73],
    60: [2.00, 2.27, 2.41, 2.51, 2.58],
    math.inf: [1.96, 2.21, 2.35, 2.44, 2.51],
}
TABLE_99 = {10: [3.17, 3.53, 3.74, 3.88, 3.99]}


@pytest.mark.parametrize(("level", "table"), [(0.95, TABLE_95), (0.99, TABLE_99)])
def test_tables(level: float, table: dict[float, list[float]]) -> None:
    for df, row in table.items():
        for count, printed in enumerate(row, 1):
            assert equal(count).critical_value(level, df) == pytest.approx(printed, abs=0.0051)


def adaptive(limit: float, df: float, loadings: list[float]) -> float:
    """The same chance by two nested adaptive integrations of another library, asked for 1e-11."""
    size = np.asarray(loadings)
    left = np.sqrt(1 - size**2)

    def given_scale(scale: float) -> float:
        def height(z: float) -> float:
            inside = special.ndtr((limit * scale - size * z) / left) - special.ndtr((-limit * scale - size * z) / left)
            return float(np.exp(-0.5 * z * z) / math.sqrt(2 * math.pi) * inside.prod())

        return float(integrate.quad(height, -9, 9, epsabs=1e-12, epsrel=1e-12, limit=400, points=[0.0])[0])

    def height(scale: float) -> float:
        return given_scale(scale) * float(stats.chi.pdf(scale * math.sqrt(df), df)) * math.sqrt(df)

    ends = [0.0, 0.5, 1.0, 2.0, 1.0 + 40.0 / math.sqrt(df)]
    pieces = itertools.pairwise(ends)
    return sum(float(integrate.quad(height, a, b, epsabs=1e-11, limit=200)[0]) for a, b in pieces)


@pytest.mark.parametrize(
    ("loadings", "df", "limit"),
    [
        ([0.5**0.5] * 3, 6.15064, 2.5),
        ([0.9, 0.5, 0.3], 14.2, 2.1),
        ([0.6, -0.5, 0.7], 3.7, 3.0),
        ([0.8, 0.7, 0.6, 0.5, 0.4], 9.0, 2.6),
        ([0.97, 0.98], 5.0, 2.2),
    ],
)
def test_chance_within_a_limit(loadings: list[float], df: float, limit: float) -> None:
    """Unequal correlations, fractional df, negative and near-one correlations, to 1e-9."""
    correlation = np.outer(loadings, loadings)
    np.fill_diagonal(correlation, 1.0)
    assert comparisons(correlation).chance_within(limit, df) == pytest.approx(adaptive(limit, df, loadings), abs=1e-9)


@pytest.mark.parametrize("df", [2.5, 7.3, 40.0, math.inf])
def test_three_of_any_correlation_agree_with_the_product_form_where_both_hold(df: float) -> None:
    """Two different integrals of one chance."""
    correlation = np.outer([0.9, 0.5, 0.3], [0.9, 0.5, 0.3])
    np.fill_diagonal(correlation, 1.0)
    sliced = Comparisons(correlation, None, 0.0)
    assert sliced.chance_within(2.3, df) == pytest.approx(comparisons(correlation).chance_within(2.3, df), abs=1e-11)


def test_three_without_product_form_against_scipy() -> None:
    """scipy's multivariate t box chance is quasi-random, about 1e-5 with this many points."""
    correlation = np.array([[1.0, 0.8, 0.1], [0.8, 1.0, 0.6], [0.1, 0.6, 1.0]])
    ready = comparisons(correlation)
    assert ready.loadings is None
    box = stats.multivariate_t(shape=correlation, df=9)
    theirs = box.cdf([2.2] * 3, lower_limit=[-2.2] * 3, maxpts=200000, random_state=np.random.default_rng(1))
    assert ready.chance_within(2.2, 9) == pytest.approx(theirs, abs=5e-5)


def test_independent_normal_comparisons_multiply() -> None:
    ready = comparisons(np.eye(3))
    assert ready.chance_within(2.0, math.inf) == pytest.approx((1 - two_sided_p(2.0, math.inf)) ** 3, abs=1e-12)


def test_worked_example_of_1955() -> None:
    """Dunnett (1955) table I, blood counts, unequal numbers; scipy.stats.dunnett (quasi-random, about 1e-4)."""
    control = [7.40, 8.50, 7.20, 8.24, 9.84, 8.32]
    drug_a, drug_b = [9.76, 8.80, 7.68, 9.36], [12.80, 9.68, 12.16, 9.20, 10.55]
    theirs = stats.dunnett(drug_a, drug_b, control=control, rng=np.random.default_rng(2))
    sizes = np.array([4, 5])
    correlation = np.sqrt(np.outer(sizes / (sizes + 6), sizes / (sizes + 6)))
    np.fill_diagonal(correlation, 1.0)
    ready = comparisons(correlation)
    for t, p in zip(theirs.statistic, theirs.pvalue, strict=True):
        assert ready.p(float(t), 12) == pytest.approx(p, abs=5e-4)


@pytest.mark.parametrize("df", [1.7, 6.15064, 14.0, math.inf])
def test_one_comparison_is_the_ordinary_t(df: float) -> None:
    ready = comparisons([[4.0]])
    assert ready.critical_value(0.9, df) == quantile(0.95, df)
    assert ready.p(2.1, df) == pytest.approx(two_sided_p(2.1, df), rel=1e-12)


def test_comparisons_that_are_copies_are_one_comparison() -> None:
    for rho in (1.0, -1.0):
        ready = comparisons([[1.0, rho], [rho, 1.0]])
        assert ready.critical_value(0.9, 10) == quantile(0.95, 10)


@pytest.mark.parametrize("rho", [0.9, 0.99, 0.999, 0.9999, 0.99999, -0.999])
def test_nearly_the_same_comparison(rho: float) -> None:
    """Two comparisons: chance by adaptive integration over the first and the normal chance of the second given it."""

    def height(z: float) -> float:
        left = math.sqrt(1 - rho**2)
        inside = special.ndtr((2 - rho * z) / left) - special.ndtr((-2 - rho * z) / left)
        return float(np.exp(-0.5 * z * z) / math.sqrt(2 * math.pi) * inside)

    theirs = integrate.quad(height, -2, 2, epsabs=1e-12, limit=400, points=[-1.99, 1.99])[0]
    ours = comparisons([[1.0, rho], [rho, 1.0]]).chance_within(2.0, math.inf)
    assert ours == pytest.approx(theirs, abs=1e-7)


@pytest.mark.parametrize("count", [2, 3, 5])
@pytest.mark.parametrize("df", [2.2, 8.4, 55.0])
@pytest.mark.parametrize("level", [0.8, 0.9, 0.99])
def test_critical_value_and_chance_belong_together(count: int, df: float, level: float) -> None:
    ready = equal(count, 0.4)
    limit = ready.critical_value(level, df)
    assert ready.chance_within(limit, df) == pytest.approx(level, abs=1e-11)
    assert ready.p(limit, df) == pytest.approx(1 - level, abs=1e-11)
    assert quantile(0.5 + level / 2, df) < limit < quantile(1 - (1 - level) / (2 * count), df)


def test_same_answer_every_time_and_in_any_order() -> None:
    covariance = np.array([[2.0, 0.9, 0.8], [0.9, 1.5, 0.7], [0.8, 0.7, 3.0]])
    turn = [2, 0, 1]
    one, other = comparisons(covariance), comparisons(covariance[np.ix_(turn, turn)])
    assert one.critical_value(0.9, 7.5) == one.critical_value(0.9, 7.5)
    assert one.critical_value(0.9, 7.5) == pytest.approx(other.critical_value(0.9, 7.5), abs=1e-10)


def test_small_p_stays_between_its_bounds() -> None:
    ready = equal(3)
    alone = two_sided_p(40.0, 12)
    assert alone <= ready.p(40.0, 12) <= 3 * alone
    assert ready.p(math.inf, 12) == 0.0


def test_more_than_three_without_product_form_says_how_near_it_is() -> None:
    covariance = np.eye(4)
    covariance[0, 1] = covariance[1, 0] = 0.5
    covariance[2, 3] = covariance[3, 2] = 0.4
    assert comparisons(covariance).distance > 0.1
    assert equal(4).distance == 0.0


@pytest.mark.parametrize(
    ("covariance", "message"),
    [
        ([[1.0, 2.0], [2.0, 1.0]], "not symmetric and positive"),
        ([[1.0, 0.2], [0.5, 1.0]], "not symmetric"),
        ([[1.0, 0.2, 0.1], [0.2, 1.0, 0.1]], "square"),
        ([[0.0]], "above zero"),
        ([[np.nan]], "finite"),
    ],
)
def test_covariances_refused(covariance: list[list[float]], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        comparisons(covariance)


@pytest.mark.parametrize(("limit", "df"), [(-1.0, 5.0), (1.0, 0.0), (1.0, math.nan)])
def test_limits_and_df_refused(limit: float, df: float) -> None:
    with pytest.raises(ValueError, match="must not be negative"):
        equal(2).chance_within(limit, df)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.1])
def test_levels_refused(level: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        equal(2).critical_value(level, 5.0)


def test_t_must_be_a_number() -> None:
    with pytest.raises(ValueError, match="not a number"):
        equal(2).p(math.nan, 5.0)
