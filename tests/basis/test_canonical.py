"""Hashes depend on what is said, not on how it is written or in which order."""

from __future__ import annotations

from tests import small_trial as t

from evenground.basis.canonical import canonical_text, later_changes, plan_hash, records_hash
from evenground.basis.plan import Plan
from evenground.basis.record import with_changes


def test_order_of_keys_does_not_matter_but_values_do():
    plan = t.plan()
    turned = Plan.model_validate(dict(reversed(plan.model_dump().items())))
    assert plan_hash(turned) == plan_hash(plan)
    assert plan_hash(with_changes(plan, layout={"guard_rows": 2})) != plan_hash(plan)


def test_order_of_records_does_not_matter_but_values_do():
    records = t.whole_season(t.draw())
    turned = with_changes(records, loads=tuple(reversed(records.loads)))
    assert records_hash(turned) == records_hash(records)
    assert records_hash(with_changes(records, loads=records.loads[1:])) != records_hash(records)


def test_the_text_is_json_without_spaces_and_with_all_digits():
    text = canonical_text([t.sample(1, 33.1)])
    assert '"dry_g":null,"dry_matter_percent":33.1,' in text
    assert '"id":"S1-1"' in text


def test_later_changes_are_listed_value_by_value():
    plan = t.plan()
    kept = canonical_text(plan)
    assert later_changes(kept, plan) == ()
    assert later_changes("", plan) == ()
    money = plan.money.model_copy(update={"area_ha": 40.0})
    changed = plan.model_copy(update={"money": money})
    assert later_changes(kept, changed) == (f"money.area_ha: {plan.money.area_ha} before, 40.0 now",)


def test_a_plan_kept_before_a_key_was_known_is_not_changed_by_that_key():
    plan = t.plan()
    kept = canonical_text(plan).replace('"guard_rows":1,', "")
    assert kept != canonical_text(plan)
    assert later_changes(kept, plan) == ()
    assert later_changes(kept, with_changes(plan, layout={"guard_rows": 3})) == (
        "layout.guard_rows: nothing before, 3 now",
    )


def test_whom_to_call_and_where_to_drive_in_are_no_change_of_the_plan():
    plan = t.plan()
    there = with_changes(
        plan,
        layout={"entrance": {"lon": 9.5, "lat": 51.5, "text": "north lane"}, "hazards": ["power line"]},
        people={"phones": ["farm: 000 000"]},
    )
    assert there.layout.entrance is not None
    assert plan_hash(there) == plan_hash(plan)
    assert later_changes(canonical_text(plan), there) == ()
    moved = with_changes(there, layout={"entrance": {"lon": 9.6, "lat": 51.5}})
    assert later_changes(canonical_text(there), moved) == ()
    assert plan_hash(with_changes(there, people={"agreed": ["both drivers"]})) != plan_hash(plan)
