import numpy as np
import pytest
from tests import small_trial as small

from evenground.basis.errors import CannotCompareError
from evenground.basis.strip import AppliedLimit
from evenground.compare.compare import compare
from evenground.decide import allowed_orders
from evenground.decide.allowed_orders import blocks_as_drawn, reference_of, references_of
from evenground.decide.strip_values import as_strip_values
from evenground.harvest.strips import harvest

PLAN, DRAW = small.plan(), small.draw()


def values(records, draw=DRAW):
    return as_strip_values(harvest(PLAN, draw, records))


def p_of(records, draw=DRAW, seed=0):
    reference = {"B": reference_of(draw, "B", "A", seed)}
    return compare(values(records, draw), "A", reference=reference).comparisons[0].randomisation


def by_hand(differences, keep=lambda signs: True):
    """Share of sign patterns at least as extreme, by listing them all."""
    n = len(differences)
    patterns = [s for i in range(2**n) if keep(s := [1 if i >> k & 1 else -1 for k in range(n)])]
    sums = np.abs(np.array(patterns) @ np.abs(differences))
    observed = abs(sum(differences))
    return float(np.mean(sums >= observed - 1e-9))


def block_gains(records):
    v = values(records)
    gains = {}
    for m, b, y in zip(v.methods, v.blocks, v.outcome, strict=True):
        gains.setdefault(b, {})[m] = y
    return np.array([g["B"] - g["A"] for g in gains.values() if len(g) == 2])


def test_a_free_draw_tests_over_all_orders():
    season = small.whole_season(DRAW, gain_t_per_ha=0.1)
    got = p_of(season)
    assert (got.size, got.exact) == (256, True)
    assert got.p == pytest.approx(by_hand(block_gains(season)))


def test_the_limits_of_the_draw_are_the_limits_of_the_test():
    limited = DRAW.model_copy(update={"limits": (AppliedLimit(name="equal_orders", bound=0, applied=True),)})
    season = small.whole_season(DRAW, gain_t_per_ha=0.1)
    got = p_of(season, limited)
    # equal AB and BA counts: 70 of 256. By hand: sign of the difference in place order, half of them up
    first = [DRAW.strips[2 * i].method == "A" for i in range(8)]
    gains = block_gains(season) * np.where(first, 1, -1)  # later strip minus earlier strip
    signs = [s for i in range(256) if sum(s := [1 if i >> k & 1 else -1 for k in range(8)]) == 0]
    sums = np.abs(np.array(signs) @ gains)
    assert got.size == 70
    assert got.p == pytest.approx(float(np.mean(sums >= abs(block_gains(season).sum()) - 1e-9)))


def test_a_block_with_a_mishap_leaves_the_test_only():
    season = small.whole_season(DRAW, gain_t_per_ha=0.1)
    swapped = [small.event(3, "sown", n=2, method="A"), small.event(4, "sown", n=2, method="B")]
    records = small.replaced(season, events=[*season.events, *swapped])
    got = p_of(records)
    # seven blocks are left; projected, each of the 128 orders arises twice
    assert got.p == pytest.approx(by_hand(np.delete(block_gains(season), 1)))
    assert len(block_gains(records)) == 8  # the model keeps the block, as sown


def test_a_method_that_was_not_drawn_has_no_reference():
    assert reference_of(DRAW, "C", "A", 0) is None


def test_sets_too_large_to_list_are_sampled_and_the_seed_counts(monkeypatch):
    def refuse(*_args, **_more):
        raise ValueError("too many orders to list")

    monkeypatch.setattr(allowed_orders, "pair_patterns_of", refuse)
    monkeypatch.setattr(allowed_orders, "DRAWS", 4_999)
    season = small.whole_season(DRAW, gain_t_per_ha=0.1)
    one, same, other = (p_of(season, seed=s) for s in (1, 1, 5))
    assert not one.exact
    assert one == same
    assert one.p != other.p
    exact = by_hand(block_gains(season))
    # five standard errors
    assert one.p == pytest.approx(exact, abs=5 * (exact * (1 - exact) / 5000) ** 0.5 + 1 / 5000)


def test_a_draw_that_breaks_its_own_limits_is_named():
    orders = ("AB",) * 8  # eight times AB cannot have come from a draw with as many AB as BA
    broken = small.draw(orders).model_copy(
        update={"limits": (AppliedLimit(name="equal_orders", bound=0, applied=True),)}
    )
    with pytest.raises(CannotCompareError, match="do not agree"):
        reference_of(broken, "B", "A", 0)


LIMITED = DRAW.model_copy(update={"limits": (AppliedLimit(name="equal_orders", bound=0, applied=True),)})
DROPPED = DRAW.model_copy(update={"limits": (AppliedLimit(name="edge", applied=False),)})
SWAP = [small.event(3, "sown", n=2, method="A"), small.event(4, "sown", n=2, method="B")]
LOST = [small.event(1, "strip_lost")]


def after(*events):
    season = small.whole_season(DRAW, gain_t_per_ha=0.1)
    return small.replaced(season, events=[*season.events, *events])


# draw, mishaps, whether the set is free, blocks as drawn
FREE = [
    (DRAW, [], True, 8),
    (DROPPED, [], True, 8),
    (LIMITED, [], False, 8),
    (DRAW, LOST, True, 7),
    (DRAW, SWAP, False, 7),
    (DRAW, SWAP + LOST, False, 6),
]


@pytest.mark.parametrize(("draw", "events", "free", "blocks"), FREE)
def test_free_sets_are_counted_without_listing(draw, events, free, blocks):
    came_off = harvest(PLAN, draw, after(*events))
    assert (references_of(draw, came_off, "A", 0) is None) is free
    assert blocks_as_drawn(came_off, "B", "A") == blocks


@pytest.mark.parametrize("events", [[], LOST])
def test_free_and_listed_sets_give_the_same_p(events):
    records = after(*events)
    listed = p_of(records)
    free = compare(values(records), "A", reference=None).comparisons[0].randomisation
    assert free.p == pytest.approx(listed.p, rel=1e-12)
