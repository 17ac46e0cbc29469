"""Slips: net mass by every way of weighing, and what cannot be."""

from datetime import timedelta

import pytest
from tests import small_trial as small

from evenground.basis.observations import Weighing
from evenground.harvest.slips import TARE_SD_KG, slips_of, trailer_key, without_doubles

T0 = small.AUTUMN


def w(n, minutes=0, **changes):
    return Weighing(id=f"W{n}", time=T0 + timedelta(minutes=minutes), **changes)


def nets(*weighings):
    return slips_of(weighings, {}, {x.id: x.time for x in weighings})


def test_gross_minus_own_tare_and_net_as_printed():
    a, b = nets(w(1, gross_kg=14_250, tare_kg=9_100), w(2, 1, slip_net_kg=5_150))
    assert (a.net_kg, a.how) == (5_150, "gross minus tare")
    assert (b.net_kg, b.how) == (5_150, "net as printed")


def test_the_nearest_of_several_tares_counts_and_its_error_is_named():
    early = w(1, -60, trailer="3", tare_kg=9_000)
    late = w(2, 20, trailer="Trailer 3", tare_kg=9_060)
    slip = nets(early, late, w(3, 5, trailer="3", gross_kg=15_000))[0]
    assert slip.net_kg == 5_940
    assert slip.how == "gross minus the tare of 09:20"
    assert slip.errors == {"the tare of trailer 3 at 09:20": TARE_SD_KG}


def test_one_tare_in_the_morning_is_one_error_for_all_its_loads():
    morning = w(1, -90, trailer="3", tare_kg=9_000)
    slips = nets(morning, *(w(n, 40 * n, trailer="3", gross_kg=15_000) for n in range(2, 6)))
    assert len({tuple(s.errors) for s in slips}) == 1


def test_a_trailer_tared_often_has_the_spread_of_its_own_tares():
    # standard deviation of 9000, 9020, 9040, 9060: 25.82 (n - 1)
    tares = [w(n, 60 * n, trailer="3", tare_kg=9_000 + 20 * n) for n in range(4)]
    slip = nets(*tares, w(9, 70, trailer="3", gross_kg=15_000))[0]
    assert next(iter(slip.errors.values())) == pytest.approx(25.82, abs=0.005)


def test_the_same_tare_on_every_slip_was_stored_not_read():
    slips = nets(*(w(n, 50 * n, trailer="3", gross_kg=15_000 + n, tare_kg=9_000) for n in range(3)))
    assert all(s.errors == {"the stored tare of trailer 3": TARE_SD_KG} for s in slips)


def test_a_tare_read_again_and_again_may_come_out_alike_on_a_coarse_scale():
    """In steps of 20 kg the same tare comes back; with others between it was read, not stored."""
    read = (9_000, 9_020, 9_000, 8_980, 9_000)
    slips = nets(*(w(n, 50 * n, trailer="3", gross_kg=15_000, tare_kg=kg) for n, kg in enumerate(read)))
    assert all(s.errors == {} and s.how == "gross minus tare" for s in slips)


def test_cumulative_readings_count_what_was_added():
    slips = nets(
        w(1, 0, trailer="3", gross_kg=14_000, tare_kg=9_000),
        w(2, 15, trailer="3", gross_kg=17_500, cumulative=True),
        w(3, 30, trailer="3", gross_kg=22_000, cumulative=True),
    )
    assert [s.net_kg for s in slips] == [5_000, 3_500, 4_500]


FAULTS = [
    ([w(1, trailer="3", gross_kg=14_000)], "no tare of trailer 3"),
    ([w(1, gross_kg=14_000)], "no tare of a trailer without name"),
    ([w(1, trailer="3", gross_kg=14.25)], "were tonnes meant"),
    ([w(1, slip_net_kg=5.15)], "were tonnes meant"),
    ([w(0, -9, trailer="3", tare_kg=9_000), w(1, trailer="3", gross_kg=8_500)], "not more than the trailer's tare"),
    ([w(1, trailer="3", gross_kg=14_000, cumulative=True)], "no sound reading"),
    (
        [w(0, trailer="3", gross_kg=14_000, tare_kg=9_000), w(1, 9, trailer="3", gross_kg=13_000, cumulative=True)],
        "not heavier than the reading before it",
    ),
    (
        [w(n, 30 * n, trailer="3", gross_kg=15_000, tare_kg=9_000 + n) for n in range(2)]
        + [w(5, 90, trailer="3", gross_kg=15_000, tare_kg=7_700)],
        "not that of this trailer",
    ),
]


@pytest.mark.parametrize(("weighings", "words"), FAULTS, ids=[f[1] for f in FAULTS])
def test_what_cannot_be_is_said_and_has_no_mass(weighings, words):
    slip = nets(*weighings)[-1]
    assert slip.net_kg is None
    assert words in slip.fault


def test_a_cumulative_reading_on_a_wrong_one_is_wrong_too():
    slips = nets(w(1, trailer="3", gross_kg=14.0), w(2, 9, trailer="3", gross_kg=17_500, cumulative=True))
    assert [s.net_kg for s in slips] == [None, None]


def test_a_slip_typed_twice_counts_once_and_is_named():
    kept, faults, notes = without_doubles([w(1, slip="118", gross_kg=9_999), w(2, 3, slip="118", gross_kg=9_999)])
    assert [x.id for x in kept] == ["W1"]
    assert faults == {}
    assert notes == ["slip 118 at 09:00 is there twice; it counts once"]


def test_one_number_with_two_masses_is_left_open():
    kept, faults, _ = without_doubles([w(1, slip="118", gross_kg=9_999), w(2, slip="118", gross_kg=9_989)])
    assert len(kept) == 2
    assert set(faults) == {"W1", "W2"}
    assert all("with different entries" in text for text in faults.values())


def test_the_same_number_on_two_scales_is_two_slips():
    kept, faults, notes = without_doubles(
        [w(1, slip="118", scale="yard", gross_kg=9_999), w(2, slip="118", scale="bridge", gross_kg=7_777)]
    )
    assert (len(kept), faults, notes) == (2, {}, [])


def test_something_of_another_field_is_no_slip_of_this_one():
    assert nets(w(1, load="other", gross_kg=20_000, tare_kg=9_000)) == ()


@pytest.mark.parametrize(("name", "key"), [("3", "3"), ("Trailer 3", "3"), (" RED ", "red"), ("trailer", "trailer")])
def test_trailers_are_spelled_alike(name, key):
    assert trailer_key(name) == key
