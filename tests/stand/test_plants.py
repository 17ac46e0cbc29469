import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests import small_trial as small

from evenground.basis.observations import Records, StandCount
from evenground.stand.plants import plants_per_m2, stand

PLAN, DRAW = small.plan(), small.draw()

# Row length that holds a thousandth of an acre, in feet and inches, to the inch: University of Tennessee Extension and
# eXtension; metric: 10 / row spacing metres are a thousandth of a hectare.
ACRE_ROWS = [(15, 34, 10), (20, 26, 2), (30, 17, 5), (36, 14, 6), (38, 13, 9)]
HECTARE_ROWS = [(0.75, 13.333), (0.50, 20.0), (0.375, 26.667)]


@pytest.mark.parametrize(("row_in", "feet", "inches"), ACRE_ROWS)
def test_thousandth_of_an_acre(row_in, feet, inches):
    got = plants_per_m2(30, (feet + inches / 12) * 0.3048, 1, row_in * 0.0254) * 4046.8564
    # the lengths are rounded to the inch, at most half an inch in 13 ft: 0.4 %
    assert got == pytest.approx(30_000, rel=0.004)


@pytest.mark.parametrize(("row_m", "length_m"), HECTARE_ROWS)
def test_thousandth_of_a_hectare(row_m, length_m):
    # lengths printed to the millimetre
    assert plants_per_m2(95, length_m, 1, row_m) == pytest.approx(9.5, rel=4e-5)


@pytest.mark.parametrize("bad", [(0.0, 1, 0.75), (5.0, 0, 0.75), (5.0, 1, 0.0), (math.nan, 1, 0.75)])
def test_no_ground_no_density(bad):
    with pytest.raises(ValueError, match="above 0"):
        plants_per_m2(10, *bad)


def test_by_strip_and_by_method():
    records = Records(stand_counts=[small.count(1, 90), small.count(3, 80), small.count(2, 85)])
    got = stand(PLAN, DRAW, records)
    # strips 1, 4 are A; 2, 3 are B
    assert got.strips[0].plants_per_m2 == pytest.approx(9.0, rel=1e-4)
    assert got.strips[3].plants_per_m2 is None
    a, b = got.methods
    assert (a.strips_counted, b.strips_counted) == (1, 2)
    assert a.standard_error is None
    assert b.plants_per_m2 == pytest.approx(8.25, rel=1e-4)
    assert b.standard_error == pytest.approx(0.25, rel=1e-4)  # (8.5 - 8.0) / sqrt 2 / sqrt 2
    assert b.emergence_fraction == pytest.approx(8.25 / 9.5, rel=1e-4)
    assert b.expected_plants_per_m2 == pytest.approx(9.5 * 0.93)


def test_without_counts_nothing_is_claimed():
    got = stand(PLAN, DRAW, Records())
    assert all(s.plants_per_m2 is None for s in got.strips)
    assert all(m.plants_per_m2 is None and m.emergence_fraction is None for m in got.methods)


@given(st.lists(st.tuples(st.integers(0, 200), st.floats(1.0, 30.0), st.integers(1, 4)), min_size=1, max_size=5))
def test_counting_in_pieces_is_counting_in_one(pieces):
    # law: pieces of a strip add up before they are divided
    counts = [
        StandCount(id=f"C{i}", time=small.DAY, strips="1", length_m=length, rows=rows, plants=plants)
        for i, (plants, length, rows) in enumerate(pieces)
    ]
    got = stand(PLAN, DRAW, Records(stand_counts=counts)).strips[0]
    ground = math.fsum(length * rows for _, length, rows in pieces) * 0.75
    assert got.plants_per_m2 * ground == pytest.approx(sum(p for p, _, _ in pieces), abs=1e-9)


def test_counts_of_two_strips_together_are_left_out_and_named():
    got = stand(PLAN, DRAW, Records(stand_counts=[small.count("1+2", 90)]))
    assert got.strips[0].plants_per_m2 is None
    assert got.notes == ("count C1+2-1 names several strips and was left out",)


def test_a_corrected_count_counts_once():
    wrong, right = small.count(1, 900), small.count(1, 90, 2, replaces="C1-1")
    assert stand(PLAN, DRAW, Records(stand_counts=[wrong, right])).strips[0].plants == 90


def test_a_strip_sown_otherwise_counts_for_what_it_was_sown_with():
    records = Records(stand_counts=[small.count(1, 90)], events=[small.event(1, "sown", method="B")])
    got = stand(PLAN, DRAW, records)
    assert got.strips[0].method == "B"
    assert got.methods[1].strips_counted == 1


def test_entries_are_plain():
    got = stand(PLAN, DRAW, small.whole_season(DRAW))
    assert got.strips[0].as_dict()["strip"] == 1
    assert got.methods[0].as_dict()["strips_counted"] == 8
