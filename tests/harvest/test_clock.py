"""Times put right: nights under the date of the evening, and clocks an hour off."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenground.harvest.clock import HOUR, hour_off, night_times
from evenground.harvest.drives import LONGEST_DRIVE, Drives, minutes
from evenground.harvest.slips import Slip

DAY = datetime(2025, 9, 9)


def at(hours, day=0):
    return DAY + timedelta(days=day, hours=hours)


def test_small_hours_of_an_evening_are_the_night_after():
    assert night_times([at(15), at(22), at(0.3)]) == {at(0.3): at(0.3, day=1)}


def test_a_night_that_was_dated_right_stays():
    # work on the evening of the 9th and small hours of the 10th: nothing on the evening of the 10th
    assert night_times([at(15), at(22), at(0.3, day=1)]) == {}


def test_two_long_days_stay_as_they_are():
    # both evenings were worked, and the small hours of the second date follow the first evening
    assert night_times([at(15), at(22), at(0.3, day=1), at(9, day=1), at(21, day=1)]) == {}


@given(st.lists(st.floats(5.0, 23.9), min_size=1, max_size=20))
def test_law_work_by_day_is_never_moved(hours):
    assert night_times([at(h) for h in hours]) == {}


def counts(right, base=1, cost=4):
    """Left over: the least where every scale stands at its right shift, more for each that does not."""

    def left_over(shifts):
        return base + sum(cost for s, by in right.items() if shifts.get(s, timedelta(0)) != by)

    return left_over


def test_right_clocks_are_left_alone():
    assert hour_off({"yard": True, "bridge": True}, counts({"yard": 0 * HOUR, "bridge": 0 * HOUR})) == ({}, ())


@pytest.mark.parametrize("by", [-HOUR, HOUR])
def test_one_wrong_clock_is_moved_and_only_that(by):
    assert hour_off({"yard": True, "bridge": True}, counts({"yard": 0 * HOUR, "bridge": by})) == ({"bridge": by}, ())


def test_two_wrong_clocks_are_both_moved():
    right = {"yard": HOUR, "bridge": -HOUR}
    assert hour_off({"yard": True, "bridge": True}, counts(right)) == (right, ())


def test_a_clock_that_may_be_either_is_doubted():
    assert hour_off({"yard": True}, counts({"yard": HOUR}, cost=2)) == ({}, ("yard",))
    assert hour_off({"yard": True}, counts({"yard": 0 * HOUR}, cost=1)) == ({}, ("yard",))


def test_a_scale_with_few_slips_is_doubted_only_where_a_shift_explains_more():
    assert hour_off({"pads": False}, counts({"pads": 0 * HOUR}, cost=1)) == ({}, ())
    assert hour_off({"pads": False}, counts({"pads": HOUR}, cost=1)) == ({}, ("pads",))


class FakeWeighing:
    """A slip's scale is all that drives look at."""

    scale = "yard"


def slip(after):
    return Slip(FakeWeighing(), DAY + timedelta(minutes=after))


def test_few_drives_accept_any_up_to_the_longest():
    drives = Drives([(DAY, slip(20))] * 4, [])
    assert drives.fits(slip(0), LONGEST_DRIVE)
    assert not drives.fits(slip(0), LONGEST_DRIVE + timedelta(minutes=1))
    assert not drives.fits(slip(0), timedelta(minutes=-1))


def test_many_drives_set_their_own_limits():
    drives = Drives([(DAY, slip(m)) for m in (18, 19, 20, 21, 22, 20, 20)], [])
    low, high = drives.of(slip(0))
    # the middle is 20 minutes; one and a half minutes of spread is less than the quarter hour always left
    assert (low, high) == (timedelta(minutes=5), timedelta(minutes=35))


def test_one_very_long_drive_does_not_stretch_the_limits():
    usual = [(DAY, slip(m)) for m in (18, 19, 20, 21, 22)]
    assert Drives([*usual, (DAY, slip(170))], []).of(slip(0))[1] < timedelta(minutes=40)


def test_a_trailer_is_not_filled_again_within_half_its_shortest_round():
    rounds = [timedelta(minutes=m) for m in (70, 50, 90)]
    assert Drives([], rounds).shortest_round == timedelta(minutes=25)
    assert Drives([], []).shortest_round == timedelta(minutes=30)
    assert Drives([], [timedelta(minutes=4)]).shortest_round == timedelta(minutes=15)


def test_minutes_are_whole():
    assert minutes(timedelta(minutes=24, seconds=40)) == "25 min"
