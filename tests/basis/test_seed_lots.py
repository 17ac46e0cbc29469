"""Seed lots dealt out to blocks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests import small_trial as small

from evenground.basis.seed_lots import lots_of_blocks


def two_lots(**section):
    return small.plan(trial={"name": "t", "season": 2025, "seed_lots": 2}, seed=section)


@given(st.sets(st.integers(1, 60), min_size=1, max_size=40))
def test_every_block_has_one_lot_and_the_lots_come_one_after_another(blocks):
    dealt = lots_of_blocks(two_lots(lots=[{"lot": "L1"}, {"lot": "L2"}]), blocks)
    assert list(dealt) == ["L1", "L2"]
    assert [block for part in dealt.values() for block in part] == sorted(blocks)
    assert abs(len(dealt["L1"]) - len(dealt["L2"])) <= 1


def test_a_block_named_twice_counts_once():
    assert lots_of_blocks(two_lots(), [2, 1, 2, 1]) == {"Lot 1": [1], "Lot 2": [2]}


@pytest.mark.parametrize("blocks", [(), (4,)])
def test_more_lots_than_blocks_leave_a_lot_without_any(blocks):
    dealt = lots_of_blocks(two_lots(), blocks)
    assert [block for part in dealt.values() for block in part] == list(blocks)
    assert [] in dealt.values()
