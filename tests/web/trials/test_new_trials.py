"""New trials: next year's from this one, and a pattern that tells nothing of the farm it came from."""

from __future__ import annotations

import pytest

from evenground.web.accounts.models import Role, User
from evenground.web.accounts.services import give_role, make_farm
from evenground.web.phone.selectors import trial_for_phone
from evenground.web.trials.services import as_pattern, free_slug, make_trial, next_year, put_away
from evenground.web.trials.store import DatabaseStore

SECRETS = {
    "trial.farm": "Invented farm by the wood",
    "money.seed_price_per_unit": 123.25,
    "herd.heads": 617,
    "people.phones": ["owner: 555-0199"],
    "layout.hazards": ["cable at the gate"],
    "history.slurry": 91.5,
    "layout.seed": 77123,
    "layout.guard_rows": 2,
}


@pytest.fixture
def private(new_trial, owner):
    store = DatabaseStore(new_trial, owner)
    store.change_plan(SECRETS)
    store.save_plan(store.plan_text() + "\n# the neighbour owes us\n")
    return new_trial


def test_next_year_keeps_farm_machines_prices_and_people(private, owner):
    new = next_year(trial=private, by=owner)
    plan, before = DatabaseStore(new).plan(), DatabaseStore(private).plan()
    assert (new.season, new.farm, new.grown_from, new.slug != private.slug) == (
        private.season + 1,
        private.farm,
        private,
        True,
    )
    assert plan.trial.season == private.season + 1
    assert (plan.machines, plan.money, plan.herd, plan.methods) == (
        before.machines,
        before.money,
        before.herd,
        before.methods,
    )
    assert plan.people.phones == before.people.phones
    assert "# the neighbour owes us" in DatabaseStore(new).plan_text()
    assert plan.layout.seed is None  # the same seed would draw the same order again


def test_next_year_leaves_behind_what_belongs_to_this_one(demo_trial, owner):
    new = next_year(trial=demo_trial, by=owner)
    stored = DatabaseStore(new).load()
    assert (stored.draw, stored.records.count) == (None, 0)
    assert stored.field == DatabaseStore(demo_trial).load().field
    assert stored.plan.people.agreements == ()
    assert DatabaseStore(next_year(trial=demo_trial, by=owner, with_field=False)).load().field is None
    told, before = trial_for_phone(new, []), trial_for_phone(demo_trial, [])
    assert set(told["trailers"]) == set(before["trailers"]) != set()
    assert set(told["scales"]) == set(before["scales"]) != set()


def test_next_year_is_shared_with_the_same_people(private, owner):
    helper = User.objects.create_user("helper")
    give_role(user=helper, role=Role.HELPER, trial=private)
    new = next_year(trial=private, by=owner)
    assert [(s.user, s.role) for s in new.shares.all()] == [(helper, Role.HELPER)]
    assert private.shares.count() == 1


def test_a_pattern_tells_nothing_of_the_farm_it_came_from(private):
    other = make_farm(name="Another farm", owner=User.objects.create_user("another"))
    new = as_pattern(trial=private, farm=other, name="Pattern", season=2027, by=None)
    text = DatabaseStore(new).plan_text()
    for secret in ("wood", "123.25", "617", "555-0199", "cable", "91.5", "77123", "neighbour"):
        assert secret not in text
    plan, before = DatabaseStore(new).plan(), DatabaseStore(private).plan()
    assert (plan.methods, plan.machines, plan.advice) == (before.methods, before.machines, before.advice)
    assert (plan.layout.guard_rows, plan.trial.season, new.farm, new.grown_from) == (2, 2027, other, None)
    assert DatabaseStore(new).load().field is None


def test_the_demo_trial_can_be_a_pattern(demo_trial, farm):
    new = as_pattern(trial=demo_trial, farm=farm, name="Again", season=2030, by=None)
    assert DatabaseStore(new).plan().letters == DatabaseStore(demo_trial).plan().letters


def test_names_for_addresses_are_never_used_twice(farm):
    made = [
        make_trial(farm=farm, name=name, season=2026, by=None).slug
        for name in ("Æ Ø", "South!", "South", "日本", "日本")
    ]
    assert len(set(made)) == 5
    assert free_slug("x" * 300, 2026)[:70] == "x" * 70


def test_put_away_and_taken_out_again(new_trial):
    put_away(trial=new_trial)
    assert new_trial.put_away_at is not None
    put_away(trial=new_trial, away=False)
    new_trial.refresh_from_db()
    assert new_trial.put_away_at is None
