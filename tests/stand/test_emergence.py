"""Emergence over days."""

from datetime import timedelta

import pytest
from tests import small_trial as small

from evenground.basis.observations import Records
from evenground.stand.emergence import emergence, half_reached

PLAN, DRAW = small.plan(), small.draw()


def counts(strip, by_day):
    return [
        small.count(strip, plants, day, stage="emerging").model_copy(update={"time": small.DAY + timedelta(days=day)})
        for day, plants in by_day.items()
    ]


def sown(*strips):
    return [small.event(s, "sown") for s in strips]


def test_days_to_half():
    seen = [*counts(1, {8: 10, 10: 50, 14: 90}), *counts(4, {8: 0, 12: 80})]
    got = emergence(PLAN, DRAW, Records(stand_counts=seen, events=sown(1, 4)))
    assert got[0].days == (8, 10, 14)
    # half of 90 is 45: 35 of the 40 plants that came between days 8 and 10
    assert got[0].days_to_half == pytest.approx(8 + 2 * 35 / 40)
    assert got[1].days_to_half == pytest.approx(10.0)
    method = got[2]
    assert (method.strip, method.method) == (None, "A")
    assert method.days_to_half == pytest.approx(9.875)
    assert method.standard_error == pytest.approx(0.125)
    assert got[0].as_dict()["days"] == [8, 10, 14]


def test_without_a_sowing_day_nothing_is_said():
    assert emergence(PLAN, DRAW, Records(stand_counts=counts(1, {8: 10, 12: 90}))) == ()


@pytest.mark.parametrize(
    ("plants", "wanted"),
    [([0, 10], 9.0), ([5, 10], 8.0), ([6, 10], None), ([0, 0], None), ([], None), ([0, 8, 8], 9.0), ([0, 10, 9], 8.9)],
)
def test_half_reached(plants, wanted):
    got = half_reached([8, 10, 12][: len(plants)], plants)
    assert got == (None if wanted is None else pytest.approx(wanted))
