"""Speed and seed lots as written down on the sowing day go before the plan."""

import pytest
from tests import small_trial as small

from evenground.fairness.checks import fairness
from evenground.harvest.strips import harvest

DRAW = small.draw()


def one(item, told, *, plan=None):
    """The finding where each strip's entry carries what ``told`` gives for it."""
    plan = plan or small.plan()
    whole = small.whole_season(DRAW)
    events = [e for e in whole.events if e.event != "sown"]
    events += [small.event(s.strip, "sown", **told(s)) for s in DRAW.strips]
    records = small.replaced(whole, events=events)
    (found,) = [c for c in fairness(plan, DRAW, records, harvest(plan, DRAW, records)) if c.item == item]
    return found


def planned_speed(new):
    return small.plan(
        methods=[
            small.method("A"),
            small.method(
                "B", speed_km_per_h=new, row_pattern={"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2}
            ),
        ]
    )


def by_method(a, b, key="speed_km_per_h"):
    return lambda s: {key: {"A": a, "B": b}[s.method]}


SPEEDS = [
    (by_method(8.0, 8.0), 8.0, "alike", "as sown"),
    (by_method(8.0, 9.2), 8.0, "differs", "B 1.2 km/h faster than A as sown"),
    (by_method(9.2, 8.0), 8.0, "differs", "B 1.2 km/h slower than A as sown"),
    (by_method(8.0, 8.4), 8.0, "alike", "B 0.4 km/h faster"),  # within half a kilometre an hour
    (by_method(8.0, 8.1), 12.0, "alike", "as sown"),  # planned apart, driven alike
    (lambda s: {}, 12.0, "differs", "in the plan"),
    (lambda s: {"speed_km_per_h": 8.0} if s.method == "A" else {}, 8.0, "alike", "in the plan"),
    (lambda s: {"speed_km_per_h": 6.0 + s.block}, 8.0, "alike", "as sown"),  # faster all day, alike within blocks
]


@pytest.mark.parametrize(("told", "planned", "state", "found"), SPEEDS)
def test_speed(told, planned, state, found):
    got = one("speed", told, plan=planned_speed(planned))
    assert got.state == state
    assert found in got.found


SEEDS = [
    (by_method(9.5, 9.5, "seeds_per_m2"), "alike", "by the planters' own counts"),
    (by_method(9.5, 9.7, "seeds_per_m2"), "alike", "B 0.2 seeds/m2 more"),  # within 3 % of 9.5
    (by_method(9.6, 8.4, "seeds_per_m2"), "differs", "B 1.2 seeds/m2 fewer than A by the planters' own counts"),
    (lambda s: {"seeds_per_m2": 9.0} if s.method == "A" else {}, "alike", "in the plan"),
]


@pytest.mark.parametrize(("told", "state", "found"), SEEDS)
def test_the_seed_rate_as_the_planters_counted_it(told, state, found):
    got = one("seed rate", told)
    assert got.state == state
    assert found in got.found


def lots(n):
    return small.plan(trial={"name": "t", "season": 2025, "seed_lots": n})


def block_half(s):
    return {"seed_lot": "L1" if s.block <= 4 else "L2"}


LOTS = [
    (lambda s: {}, 1, "alike", "in the plan"),
    (lambda s: {}, 2, "unknown", "not recorded"),
    (lambda s: {"seed_lot": "L1"}, 1, "alike", "B 8 of lot L1; A 8 of lot L1"),
    (lambda s: {"seed_lot": "L1"}, 2, "alike", "B 8 of lot L1"),
    (by_method("L1", "L2", "seed_lot"), 1, "differs", "B 8 of lot L2; A 8 of lot L1"),
    (block_half, 2, "alike", "B 4 of lot L1, 4 of lot L2"),
    (lambda s: {"seed_lot": "L2" if s.strip == 1 else "L1"}, 2, "differs", "A 7 of lot L1, 1 of lot L2"),
    (lambda s: {"seed_lot": "L1"} if s.strip > 1 else {}, 1, "alike", "1 without a lot"),
    (lambda s: {"seed_lot": "L1"} if s.strip > 1 else {}, 2, "unknown", "1 without a lot"),
    (lambda s: {"seed_lot": "L1"} if s.method == "A" else {}, 2, "unknown", "8 without a lot"),
]


@pytest.mark.parametrize(("told", "planned", "state", "found"), LOTS)
def test_seed_lots(told, planned, state, found):
    got = one("seed lots", told, plan=lots(planned))
    assert got.state == state
    assert found in got.found


def test_a_lot_that_the_plan_does_not_name_is_not_taken_for_the_planned_one():
    def named(lot):
        return small.plan(trial={"name": "t", "season": 2025, "seed_lots": 1}, seed={"lots": [{"lot": lot}]})

    def one_strip(s):
        return {"seed_lot": "L2"} if s.strip == 1 else {}

    assert one("seed lots", one_strip, plan=named("L2")).state == "alike"
    assert one("seed lots", one_strip, plan=named("L1")).state == "unknown"


def test_a_strip_sown_otherwise_counts_where_it_was_sown():
    # strip 2, drawn B, was sown by A's fast planter: it belongs to A
    got = one("speed", lambda s: {"method": "A", "speed_km_per_h": 9.0} if s.strip == 2 else by_method(9.0, 8.0)(s))
    assert "B 1.0 km/h slower than A" in got.found
