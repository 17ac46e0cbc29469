"""What else could explain a step: sowing days and the heat between them."""

from datetime import date, datetime

import pytest

from evenground.basis.observations import WeatherDay
from evenground.fairness.explanations import heat_between, of_sowing


def day(n, low, high):
    when = date(2026, 5, n)
    return WeatherDay(
        id=f"w{n}", time=datetime(2026, 5, n, 20), day=when, temperature_min_c=low, temperature_max_c=high
    )


def test_heat_between_two_sowing_days_is_that_of_the_days_before_the_later():
    # base 6 with ceiling 30, worked values: 34/12 -> 15, 20/4 -> 6, 9/1 -> 0
    weather = [day(3, 12, 34), day(4, 4, 20), day(5, 1, 9), day(6, 20, 30)]
    sown = {"A": date(2026, 5, 3), "B": date(2026, 5, 6)}
    assert heat_between(weather, sown) == pytest.approx(21.0)
    assert heat_between(weather, {"A": date(2026, 5, 6), "B": date(2026, 5, 3)}) == pytest.approx(21.0)
    assert heat_between(weather, {"A": date(2026, 5, 4), "B": date(2026, 5, 4)}) == 0.0


@pytest.mark.parametrize(
    ("weather", "sown"),
    [
        ([], {"A": date(2026, 5, 3), "B": date(2026, 5, 6)}),
        ([day(4, 4, 20)], {"A": date(2026, 5, 3), "B": date(2026, 5, 6)}),  # the first day is missing
        ([day(3, 4, 20)], {"A": date(2026, 5, 3)}),
    ],
)
def test_heat_that_is_not_known_stays_unknown(weather, sown):
    assert heat_between(weather, sown) is None


@pytest.mark.parametrize(
    ("days", "heat", "state", "words"),
    [
        (None, None, "unknown", "not known"),
        (0.0, 0.0, "alike", "same day"),
        (1.0, None, "differs", "1 day later"),
        (8.0, 62.0, "differs", "8 days later; the earlier sown had 62 degree days"),
        (-3.0, None, "differs", "3 days earlier; the heat between is not known"),
    ],
)
def test_sowing_days_in_words(days, heat, state, words):
    found = of_sowing(days, heat, 12.0)
    assert found.state == state
    assert words in found.found
    assert (found.bias_t_per_ha is not None) == (state == "differs")


def test_the_size_is_the_steepest_published_step_a_day():
    # Nafziger (1994) as tabulated by Purdue: 81 to 68 % over ten days (-1.3 % a day) and 94 to 99 % (+0.5 % a day)
    assert of_sowing(10.0, None, 10.0).bias_t_per_ha == pytest.approx((-1.3, 0.5))
    assert "Nafziger" in of_sowing(10.0, None, 10.0).source
