"""Seed in the bag: weight, units, reserve, lots."""

import pytest
from tests import small_trial as small

from evenground.sowing.seed_lot import (
    lot_of_strips,
    lot_sentences,
    lot_weight_g,
    lots_of_method,
    seed_kg,
    seed_kg_per_ha,
    seed_need,
    seed_need_of_method,
)


# definition of the thousand-kernel weight: 95 000 x 300 g, 100 000 x 280 g
@pytest.mark.parametrize(("per_m2", "weight", "expected"), [(9.5, 300.0, 28.5), (10.0, 280.0, 28.0)])
def test_kg_per_ha(per_m2, weight, expected):
    assert seed_kg_per_ha(per_m2, weight) == pytest.approx(expected, abs=1e-12)
    assert seed_kg_per_ha(per_m2, None) is None


def test_a_unit_of_50000_kernels_of_300_g_weighs_15_kg():
    assert seed_kg(50_000, 300.0) == 15.0


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan")])
def test_nothing_is_weighed_from_nothing(bad):
    with pytest.raises(ValueError, match="must be above 0"):
        seed_kg(bad, 300.0)
    with pytest.raises(ValueError, match="must be above 0"):
        seed_kg(50_000, bad)


@pytest.mark.parametrize(("unit", "units"), [(50_000, 2.0), (80_000, 1.25)])
def test_units_of_both_sizes(unit, units):
    plan = small.plan(money={"kernels_per_unit": unit}, seed={"reserve_percent": 0.0})
    need = seed_need(plan, 10.0, 10_000.0)
    assert need.units == pytest.approx(units)
    assert need.units_to_buy == -(-units // 1)
    assert need.kg is None


def test_reserve_and_whole_units():
    plan = small.plan(seed={"thousand_kernel_weight_g": 300.0, "reserve_percent": 5.0})
    need = seed_need(plan, 9.5, 14_400.0)
    assert need.units == pytest.approx(14_400 * 9.5 * 1.05 / 50_000)
    assert need.units_to_buy == 3
    assert need.kg == pytest.approx(need.units * 15.0)
    assert need.kg_to_buy == pytest.approx(45.0)
    assert need.units_to_buy >= need.units


def test_a_need_of_exactly_whole_units_is_not_rounded_up():
    plan = small.plan(seed={"reserve_percent": 10.0})
    assert seed_need(plan, 10.0, 10_000.0 / 1.1).units_to_buy == 2


def test_one_lot_goes_everywhere():
    assert lot_sentences(small.plan(), None) == ("All methods are sown from one seed lot.",)
    named = small.plan(seed={"lots": [{"lot": "L7"}]})
    assert "(L7)" in lot_sentences(named, None)[0]


def two(**changes):
    lots = [{"lot": "L1"}, {"lot": "L2", **changes}]
    return small.plan(trial={"name": "t", "season": 2025, "seed_lots": 2}, seed={"lots": lots})


def test_two_lots_change_between_blocks_and_every_block_has_one():
    said = lot_sentences(two(), small.draw())
    assert "never inside one" in said[0]
    assert said[1:] == ("L1: blocks 1 to 4.", "L2: blocks 5 to 8.")


def test_lots_without_names_and_of_unlike_weight():
    unnamed = small.plan(trial={"name": "t", "season": 2025, "seed_lots": 2})
    said = lot_sentences(unnamed, small.draw(("AB",)))[1:]
    assert said[0] == "Lot 2: block 1."
    assert said[1].startswith("More lots than blocks: Lot 1 would be in no block")
    assert "differ in thousand-kernel weight" in lot_sentences(two(thousand_kernel_weight_g=250.0), None)[-1]


def test_in_every_block_all_methods_are_sown_from_the_same_lot():
    plan, draw = two(), small.draw()
    lots = lot_of_strips(plan, draw)
    assert set(lots) == {s.strip for s in draw.strips}
    for block in {s.block for s in draw.strips}:
        assert len({lots[s.strip] for s in draw.strips if s.block == block}) == 1
    for letter in plan.letters:
        assert {lots[s.strip] for s in draw.strips if s.method == letter} == {lot.lot for lot in plan.seed.lots}


def test_the_lots_of_one_method_by_strip():
    said = lots_of_method(two(), small.draw(("AB", "BA")), "A")
    first, second = (lot.lot for lot in two().seed.lots)
    assert said == (
        f"{first}: strip 1.",
        f"{second}: strip 4.",
        "Empty the hopper into its own bag before the other lot goes in.",
    )
    assert lots_of_method(two(), None, "A") == lots_of_method(small.plan(), small.draw(), "A") == ()


def test_whole_units_of_every_lot_are_bought():
    """8 strips of 1800 m2 at 9.5 seeds/m2 with 5 % more: 2.87 units of 50,000; 1.44 of each of two lots, so 2 + 2."""
    draw, one = small.draw(), small.plan()
    need = seed_need_of_method(one, draw, one.methods[0])
    assert (need.units_to_buy, need.units) == (3, pytest.approx(8 * 1800 * 9.5 * 1.05 / 50_000))
    both = two()
    need = seed_need_of_method(both, draw, both.methods[0])
    assert (need.units_to_buy, need.units) == (4, pytest.approx(8 * 1800 * 9.5 * 1.05 / 50_000))
    assert need.kg is None
    assert seed_need_of_method(both, None, both.methods[0]) is None


def test_every_lot_weighs_what_its_label_says():
    lots = [{"lot": "L1", "thousand_kernel_weight_g": 300.0}, {"lot": "L2", "thousand_kernel_weight_g": 250.0}]
    plan = small.plan(trial={"name": "t", "season": 2025, "seed_lots": 2}, seed={"lots": lots})
    assert [lot_weight_g(plan, lot) for lot in ("L1", "L2", "", "L9")] == [300.0, 250.0, None, None]
    need = seed_need_of_method(plan, small.draw(), plan.methods[0])
    kernels = 4 * 1800 * 9.5 * 1.05
    assert need.kg == pytest.approx(kernels * (0.300 + 0.250) / 1000)
    assert need.kg_to_buy == pytest.approx(2 * 15.0 + 2 * 12.5)
