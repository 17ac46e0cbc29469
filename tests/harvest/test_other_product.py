"""Strips harvested as another product than the plan counts: a decision on record, and never compared as one."""

from datetime import date, timedelta

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.observations import current
from evenground.decide.verdict import verdict
from evenground.harvest.strips import harvest

DRAW = small.draw()
LATER = small.AUTUMN + timedelta(days=21)


def decided(strips, n=1, **changes):
    content = {"product": "corn_cob_mix", "note": "too dry to chop", "when": small.AUTUMN, **changes}
    return small.event(strips, "product_changed", n, **content)


def season(*events, **kinds):
    records = small.whole_season(DRAW)
    return small.replaced(records, events=(*records.events, *events), **kinds)


def off(records, plan=None):
    return harvest(plan or small.plan(), DRAW, records)


def of(records, plan=None):
    return verdict(small.stored(plan, DRAW, records), today=date(2025, 12, 1), version="0")


def test_a_strip_of_another_product_does_not_count_and_says_why():
    found = off(season(decided("5+6")))
    for n in (5, 6):
        strip = found.strips[n - 1]
        assert (strip.state, strip.product, strip.outcome, strip.yield_t_per_ha) == (
            "other_product",
            "corn_cob_mix",
            None,
            None,
        )
        assert strip.fresh_t is not None  # what was weighed is not lost
        assert any("harvested as corn-cob mix and not as silage" in note for note in strip.notes)
        assert any("too dry to chop" in note for note in strip.notes)
    assert sum(s.outcome is not None for s in found.strips) == 14


def test_the_comparison_is_that_of_the_other_strips_alone():
    without = tuple(small.event(n, "strip_lost", when=small.AUTUMN) for n in (5, 6))
    assert of(season(decided("5+6"))).main.comparison.gain == pytest.approx(of(season(*without)).main.comparison.gain)


def test_fresh_mass_and_dry_matter_of_two_products_are_never_one_side_result():
    # strips 5 to 8 as corn-cob mix: half the mass at 58 % dry matter
    records = small.whole_season(DRAW)
    cobs = range(5, 9)
    weighed = [
        w.model_copy(update={"gross_kg": 9000 + (w.gross_kg - 9000) / 2}) if int(w.load[1:-2]) in cobs else w
        for w in records.weighings
    ]
    sampled = [small.sample(n, 58.0 + 0.1 * n if n in cobs else 33.0 + 0.05 * (n % 5)) for n in range(1, 17)]
    with_cobs = small.replaced(
        records, weighings=weighed, samples=sampled, events=(*records.events, decided("5+6+7+8"))
    )
    lost = small.replaced(
        records,
        weighings=weighed,
        samples=sampled,
        events=(*records.events, *(small.event(n, "strip_lost", when=small.AUTUMN) for n in cobs)),
    )
    got, want = of(with_cobs), of(lost)
    mine = {s.outcome: s.difference for s in got.side_results}
    theirs = {s.outcome: s.difference for s in want.side_results}
    assert mine["fresh yield"] == pytest.approx(theirs["fresh yield"])
    assert mine["dry matter"] == pytest.approx(theirs["dry matter"])
    # the four strips are compared among themselves, as dry matter, B against A
    dry = {n: got.harvest.strips[n - 1].fresh_t * got.harvest.strips[n - 1].dry_matter_fraction for n in cobs}
    by = {n: got.harvest.strips[n - 1].method for n in cobs}
    step = sum(dry[n] * (1 if by[n] == "B" else -1) for n in cobs) / 2 / 0.135  # ha of a cut
    assert mine["dry matter of strips harvested as corn-cob mix"] == pytest.approx(step)


def test_the_weak_point_names_product_and_method():
    points = of(season(decided("1+4"))).weak_points
    said = next(p for p in points if "corn-cob mix" in p)
    assert said == "strips 1 and 4, all sown with A, were harvested as corn-cob mix and do not count"
    assert not any("gave no value" in p for p in points)


def test_strips_back_to_the_planned_product_count_again():
    back = decided("5", 2, product="silage", note="written down for the wrong strip", when=LATER)
    found = off(season(decided("5+6"), back))
    assert (found.strips[4].state, found.strips[5].state) == ("weighed", "other_product")


def test_after_a_change_of_the_plan_strips_left_as_silage_do_not_count():
    plan = small.plan(outcome={"product": "corn_cob_mix", "standard_moisture_percent": 40.0})
    found = off(season(decided("1+2", product="silage", note="chopped the day before")), plan)
    assert [s.strip for s in found.strips if s.state == "other_product"] == [1, 2]
    assert "harvested as silage and not as corn-cob mix" in " ".join(found.strips[0].notes)


def test_a_change_without_a_product_in_some_strips_leaves_them_open():
    found = off(season(small.event("5+6", "product_changed", when=small.AUTUMN, note="dry year")))
    for strip in found.strips:
        assert (strip.state == "missing") == (strip.strip in (5, 6))
    assert any("nobody said to what" in note for note in found.strips[4].notes)


def test_a_change_without_a_product_in_every_strip_belongs_to_the_plan():
    every = "+".join(str(s.strip) for s in DRAW.strips)
    found = off(season(small.event(every, "product_changed", when=small.AUTUMN, note="dry year")))
    assert all(s.state == "weighed" for s in found.strips)


@pytest.mark.parametrize(
    ("kind", "changes", "field"),
    [
        ("product_changed", {"product": "grain"}, "note"),
        ("product_changed", {"product": "grain", "note": "  "}, "note"),
        ("harvested", {"product": "grain", "note": "dry"}, "product"),
    ],
)
def test_a_decision_needs_its_reason_and_its_own_entry(kind, changes, field):
    with pytest.raises(ValidationError) as caught:
        small.event("5", kind, **changes)
    assert caught.value.errors()[0]["ctx"]["error"].faults[0][0] == field


def test_two_products_on_one_trailer_are_never_one_weighed_unit():
    records = small.whole_season(DRAW)
    draw = small.draw(("AAB", "BBA", "AAB", "BAB"))  # two strips of one method in a block
    records = small.whole_season(draw)
    loads = (small.load("1+2"), *(x for x in records.loads if x.strips not in ((1,), (2,))))
    weighings = (
        small.weighing("L1+2-1", 11_000),
        *(w for w in records.weighings if w.load not in ("L1-1", "L2-1")),
    )
    both = small.replaced(records, loads=loads, weighings=weighings)
    united = harvest(small.plan(), draw, both)
    assert united.strips[0].weighed_with == (2,)
    apart = harvest(small.plan(), draw, small.replaced(both, events=(*both.events, decided("2"))))
    assert apart.strips[0].outcome is None
    assert apart.strips[0].weighed_with == ()


def test_a_sample_for_strips_of_two_products_stands_for_neither():
    samples = [small.sample("5+6", 40.0), *(small.sample(n, 33.0) for n in range(1, 17) if n not in (5, 6))]
    found = off(season(decided("6"), samples=samples))
    assert (found.strips[4].state, found.strips[5].state) == ("missing", "other_product")
    assert any("stands for neither" in note for note in found.strips[4].notes)


@pytest.mark.parametrize(("percent", "asked"), [(58.0, True), (20.0, True), (44.0, False), (24.0, False)])
def test_a_dry_matter_far_from_all_others_is_asked_about(percent, asked):
    samples = [small.sample(n, percent if n == 7 else 33.0) for n in range(1, 17)]
    found = off(small.replaced(small.whole_season(DRAW), samples=samples))
    assert any("another product" in note for note in found.strips[6].notes) == asked
    assert not any("another product" in note for s in found.strips if s.strip != 7 for note in s.notes)


def test_a_correction_takes_the_decision_back():
    wrong = decided("5")
    right = small.event("5", "other", 9, replaces=wrong.id, note="not so")
    records = season(wrong, right)
    assert wrong not in current(records.events)
    assert off(records).strips[4].state == "weighed"


def test_json_names_the_product():
    found = off(season(decided("5"))).strips
    assert (found[4].as_dict()["product"], found[0].as_dict()["product"]) == ("corn_cob_mix", None)


def test_another_product_makes_no_harvest_day_and_no_dry_matter_differ():
    # strips of B in four blocks harvested three weeks later and drier, as corn-cob mix
    cobs = [s.strip for s in DRAW.strips if s.method == "B" and s.block <= 4]
    records = season(decided("+".join(map(str, cobs))))
    loads = [x.model_copy(update={"time": LATER}) if x.strips[0] in cobs else x for x in records.loads]
    events = [e for e in records.events if e.event != "harvested"]
    samples = [small.sample(n, 58.0 if n in cobs else 33.0) for n in range(1, 17)]
    checks = of(small.replaced(records, loads=loads, events=events, samples=samples)).fairness
    state = {c.item: c.state for c in checks}
    assert (state["harvest day"], state["dry matter at harvest"]) == ("alike", "alike")
