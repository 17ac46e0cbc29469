"""The trade's "up to 70 % more room" (common practice, no source): for which measure and gap it is true."""

import math
from pathlib import Path

import pytest

from evenground.sowing.room_claim import GAPS_M, PLANTS_PER_M2, claim_table, gaps_where_true_m, more_room

PAGE = Path(__file__).parents[2] / "docs" / "growing-space.md"


def test_the_page_has_the_table_as_it_is_computed():
    assert claim_table() in PAGE.read_text(encoding="utf-8")


@pytest.mark.parametrize("gap", GAPS_M)
@pytest.mark.parametrize("plants", PLANTS_PER_M2)
def test_the_ground_of_a_plant_never_changes(gap, plants):
    found = more_room(gap, plants)
    assert found.more_ground == pytest.approx(0.0, abs=1e-11)
    assert 1 + found.more_circle == pytest.approx((1 + found.more_distance) ** 2)
    assert found.more_distance <= 1 + 1e-12  # the spacing within a line is doubled, and no more than that


@pytest.mark.parametrize("plants", PLANTS_PER_M2)
def test_the_claim_is_just_true_at_the_gaps_named(plants):
    circle, distance = gaps_where_true_m(plants)
    assert more_room(circle, plants).more_circle == pytest.approx(0.7)
    assert more_room(distance, plants).more_distance == pytest.approx(0.7)


def test_for_the_circle_the_claim_holds_at_the_narrow_end():
    for plants in PLANTS_PER_M2:
        circle, _ = gaps_where_true_m(plants)
        assert 0.10 < circle < 0.16
    assert more_room(0.25, 9.0).more_circle > 2.0  # wide gaps give the circle far more than the claim says


def test_by_hand():
    # 9 plants/m2 at 75 cm: 14.8 cm apart; across a gap of 10 cm sqrt(10^2 + 14.8^2) = 17.9 cm
    found = more_room(0.10, 9.0)
    assert found.more_distance == pytest.approx(math.hypot(0.10, 1 / 6.75) * 6.75 - 1)


@pytest.mark.parametrize("share", [0.0, 1.1, math.nan])
def test_shares_that_cannot_be(share):
    with pytest.raises(ValueError, match="claimed_share"):
        gaps_where_true_m(9.0, share)
