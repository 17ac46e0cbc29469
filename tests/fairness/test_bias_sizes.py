import pytest

from evenground.fairness.sizes import density_range, sowing_delay_range


def test_sowing_date_range_holds_every_published_step():
    # Illinois 2007-2013 (farmdoc): 0.6 to 1.9 bu/ac lost a day at 216 bu/ac; Penn State: 10 % in 24 days, 20 % in 34;
    # Wisconsin silage: 27 % in 53 days. All of them milder than the steepest step used here.
    low, high = sowing_delay_range(1.0, 1.0)
    for per_day in (-0.6 / 216, -1.9 / 216, -0.10 / 24, -0.20 / 34, -0.27 / 53):
        assert low <= per_day <= high


def test_sowing_date_range_is_the_steepest_step_of_the_table():
    # Nafziger 1994 at 30 000 plants per acre: 81 to 68 % in ten days down, 94 to 99 % in ten days up; exact
    assert sowing_delay_range(1.0, 1.0) == pytest.approx((-0.013, 0.005), rel=1e-12)


@pytest.mark.parametrize("days", [-7.0, -0.5, 0.0, 2.0, 12.0])
def test_range_grows_with_days_and_turns_with_the_sign(days):
    low, high = sowing_delay_range(days, 12.0)
    assert low <= 0.0 <= high
    assert sowing_delay_range(-days, 12.0) == pytest.approx((-high, -low))
    assert sowing_delay_range(2 * days, 12.0) == pytest.approx((2 * low, 2 * high))


def test_silage_density_range_spans_the_disagreeing_trials():
    # Virginia 2015: 2 short tons dry matter per acre over 18 000 seeds per acre; 2014: nothing. Wisconsin: 1.2 short
    # tons per acre over the same 18 000. Per seed and hectare the acre cancels.
    low, high = density_range(1.0, 15.0, "silage")
    assert (low, high) == pytest.approx((0.0, 1.008), abs=0.0005)
    assert low <= 1.2 * 0.90718474 / 18_000 * 10_000 <= high


def test_grain_density_range_has_both_signs():
    # 92 to 97 % from 20 000 to 24 000 plants per acre, 100 to 97 % from 32 000 to 36 000; exact
    per_plant = 4000 / 4046.8564
    low, high = density_range(1.0, 100.0, "grain")
    assert (low, high) == pytest.approx((-3.0 / per_plant, 5.0 / per_plant))


@pytest.mark.parametrize("product", ["silage", "grain"])
def test_fewer_plants_turn_the_range(product):
    low, high = density_range(0.7, 13.0, product)
    assert density_range(-0.7, 13.0, product) == pytest.approx((-high, -low))
