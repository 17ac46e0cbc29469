from types import SimpleNamespace

import numpy as np
import pytest
from tests import small_trial as small

from evenground.compare.comparison import Priors
from evenground.decide.budget import budget
from evenground.decide.money_range import chance_of_loss, money_range, value_of_another_year
from evenground.numerics.normal_posterior import GainPosterior, Mixture


def normal(mean, sd):
    return Mixture(np.array([1.0]), np.array([mean]), np.array([sd]), mean, sd)


def posterior(mean, sd, sigma=1.0):
    one = normal(mean, sd)
    return GainPosterior(one, one, one, np.array([sigma]), np.array([1.0]))


def of(cost=0.0, value=1.0, carrying=0.0):
    money = {
        "value_short_year_per_t": value, "value_full_year_per_t": value, "harvest_cost_per_t_fresh": carrying,
    }  # fmt: skip
    plan = small.plan(methods=[small.method("A"), small.method("B", extra_cost_per_ha=cost)], money=money)
    return budget(plan, plan.methods[1])


def test_worst_likely_best():
    # 0.5 t, SD 0.4; 90 % of a normal lies within 1.6449 SD; 100 a tonne, 30 a hectare
    got = money_range(posterior(0.5, 0.4), of(30.0, 100.0), 20.0, 0.9)
    assert got.likely == pytest.approx(20.0)
    assert (got.worst, got.best) == pytest.approx((20.0 - 65.794, 20.0 + 65.794), abs=0.001)
    assert (got.worst_farm, got.likely_farm, got.best_farm) == pytest.approx((20 * got.worst, 400.0, 20 * got.best))


LOSS = [
    (0.5, 0.4, 30.0, 100.0, 0.3085),  # 0.2 below the mean is half a standard deviation: table of the normal
    (0.3, 0.4, 30.0, 100.0, 0.5),
    (0.5, 0.4, 30.0, 0.0, 1.0),
    (0.5, 0.4, -30.0, 0.0, 0.0),
    (0.5, 0.4, 0.0, 0.0, 0.0),
]


@pytest.mark.parametrize(("mean", "sd", "cost", "value", "expected"), LOSS)
def test_chance_of_loss(mean, sd, cost, value, expected):
    assert chance_of_loss(posterior(mean, sd), of(cost, value)) == pytest.approx(expected, abs=0.0001)


def test_where_carrying_costs_more_than_a_tonne_brings_more_yield_is_a_loss():
    dear = of(0.0, 10.0, carrying=10.0)  # 10 - 10 / 0.33 < 0
    assert chance_of_loss(posterior(0.5, 0.4), dear) == pytest.approx(0.8944, abs=0.0001)  # P(gain > 0)
    got = money_range(posterior(0.5, 0.4), dear, 1.0, 0.9)
    assert got.worst < got.likely < got.best


# Unit normal loss tables (Raiffa & Schlaifer 1961, worked here without rounding; a Monte Carlo of 4 million draws gave
# 8.3915 for the first): mean and SD of the net per hectare, standard error of another trial, value per hectare
WORKED = [(-10.0, 40.0, 30.0, 8.38448), (0.0, 40.0, 30.0, 12.76615), (20.0, 50.0, 25.0, 9.59621)]


def another(mean, sd, error, *, area=1.0, years=1.0, value=1.0, parts=(1.0, 0.0, 0.0)):
    strips, shared, season = (error * p**0.5 for p in parts)
    one = SimpleNamespace(
        posterior=posterior(mean, sd, sigma=strips or 1.0), variance_factor=1.0 if strips else 0.0, shared_sd=shared
    )
    return value_of_another_year(one, Priors(season_sd=season), of(0.0, value), area, years)


@pytest.mark.parametrize(("mean", "sd", "error", "expected"), WORKED)
@pytest.mark.parametrize("parts", [(1.0, 0.0, 0.0), (0.5, 0.2, 0.3), (0.0, 0.5, 0.5)])
def test_value_of_another_year(mean, sd, error, expected, parts):
    # five decimals shown; strip error, shared error and season add up as squares
    assert another(mean, sd, error, parts=parts) == pytest.approx(expected, abs=0.000005)


def test_value_on_the_farm():
    # the first of them on 50 ha for 5 years: 2,096
    assert another(-10.0, 40.0, 30.0, area=50.0, years=5.0) == pytest.approx(2096.0, abs=0.5)


def test_money_scales_everything():
    assert another(-0.1, 0.4, 0.3, value=100.0) == pytest.approx(another(-10.0, 40.0, 30.0))


@pytest.mark.parametrize("value", [0.0])
def test_where_a_tonne_brings_nothing_another_year_brings_nothing(value):
    assert another(0.1, 0.4, 0.3, value=value) == 0.0


def test_an_unknown_spread_gives_no_value():
    assert another(0.1, float("nan"), 0.3) == 0.0
