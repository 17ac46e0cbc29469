"""The record end point: stored once, held where it cannot be, never lost, and a clear answer to everything."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from evenground.basis.observations import RECORD_KINDS
from evenground.web.accounts import services as people
from evenground.web.accounts.models import Role, User
from evenground.web.phone import api
from evenground.web.trials.models import HeldEntry, StoredRecord
from evenground.web.trials.store import DatabaseStore

URL = "/phone/api/entries/"
COUNT = {"time": "2026-05-20T10:00", "strips": [1], "length_m": 5, "plants": 38}


def entry(name="c1", kind="stand_counts", **fields):
    return {"kind": kind, "id": name, "fields": {**COUNT, **fields} if kind == "stand_counts" else fields}


def send(client, trial, *entries, device="phone-1"):
    body = json.dumps({"trial": trial.slug, "device": device, "entries": list(entries)})
    answer = client.post(URL, body, content_type="application/json")
    assert answer.status_code == 200, answer.content
    return [(r["id"], r["state"]) for r in answer.json()["results"]]


def ids(trial):
    return set(trial.records.values_list("record_id", flat=True))


def test_an_entry_becomes_a_record_with_who_and_where_from(browser, owner, new_trial):
    assert send(browser, new_trial, entry(who="Al", note="wet")) == [("c1", "stored")]
    row = StoredRecord.objects.get(trial=new_trial)
    assert (row.kind, row.record_id, row.device, row.received_from) == ("stand_counts", "c1", "phone-1", owner)
    (record,) = DatabaseStore(new_trial).load().records.stand_counts
    assert (record.plants, record.length_m, record.note, record.strips) == (38, 5.0, "wet", (1,))


def test_sending_again_stores_once(browser, new_trial):
    batch = [entry(f"c{i}", plants=30 + i) for i in range(20)]
    assert {s for _, s in send(browser, new_trial, *batch)} == {"stored"}
    assert {s for _, s in send(browser, new_trial, *batch, device="another")} == {"already"}
    again = [{**e, "fields": dict(reversed(e["fields"].items()))} for e in batch]
    assert {s for _, s in send(browser, new_trial, *again)} == {"already"}
    assert StoredRecord.objects.count() == 20
    assert HeldEntry.objects.count() == 0


def test_twice_in_one_batch_is_once(browser, new_trial):
    assert send(browser, new_trial, entry(), entry()) == [("c1", "stored"), ("c1", "already")]


def test_one_id_with_two_contents_keeps_both(browser, new_trial):
    assert send(browser, new_trial, entry(), entry(plants=39)) == [("c1", "stored"), ("c1", "held")]
    assert send(browser, new_trial, entry(plants=40)) == [("c1", "held")]
    assert send(browser, new_trial, entry(plants=39)) == [("c1", "held")]
    assert [json.loads(h.text)["plants"] for h in HeldEntry.objects.order_by("pk")] == [39, 40]


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (entry("x", plants=-1), "0 to 100000"),
        (entry("x", plants="many"), "whole number"),
        (entry("x", time="yesterday"), "date and time"),
        (entry("x", time="2020-05-20T10:00"), "within a year"),
        (entry("x", late_plants=50), "late"),
        (entry("x", colour="green"), "does not know this field"),
        (entry("x", note="a\x00b"), "unusual signs"),
        (entry("x", id="y"), "two ways"),
        (entry("x", "tea_leaves", shape="ship"), "no such kind"),
        (entry("x", "weighings", time="2026-09-10T10:00", load="nobody's", gross_kg=9000), "no load"),
        (entry("x", replaces="nobody"), "not there"),
        ({"kind": "stand_counts", "id": "x", "fields": [1, 2]}, "nothing that can be read"),
        ({"kind": "stand_counts", "id": "x"}, "missing"),
    ],
)
def test_what_cannot_be_a_record_is_held_as_it_came_and_stops_nobody(browser, new_trial, bad, says):
    told = send(browser, new_trial, entry("a"), bad, entry("z"))
    assert told == [("a", "stored"), ("x", "held"), ("z", "stored")]
    held = HeldEntry.objects.get()
    assert json.loads(held.text) == bad.get("fields", {})
    assert says in json.dumps(held.problems)
    assert send(browser, new_trial, bad) == [("x", "held")]
    assert HeldEntry.objects.count() == 1


def test_a_strip_that_was_never_drawn_is_held(browser, demo_trial):
    season = demo_trial.season
    when = f"{season}-06-01T10:00"
    assert send(browser, demo_trial, entry("a", time=when), entry("b", time=when, strips=[99])) == [
        ("a", "stored"),
        ("b", "held"),
    ]


def test_a_weighing_that_came_before_its_load_is_stored_when_the_load_comes(browser, new_trial):
    weighing = entry("w1", "weighings", time="2026-09-10T11:00", load="l1", gross_kg=9000, tare_kg=4000)
    load = entry("l1", "loads", time="2026-09-10T10:30", strips=[3], trailer="red")
    assert send(browser, new_trial, weighing, device="weighbridge") == [("w1", "held")]
    assert send(browser, new_trial, load, device="harvester") == [("l1", "stored")]
    assert ids(new_trial) == {"w1", "l1"}
    assert StoredRecord.objects.get(record_id="w1").device == "weighbridge"
    assert HeldEntry.objects.get().settled_at is not None
    assert send(browser, new_trial, weighing) == [("w1", "already")]


def test_in_one_batch_the_order_does_not_matter_for_what_belongs_together(browser, new_trial):
    weighing = entry("w1", "weighings", time="2026-09-10T11:00", load="l1", gross_kg=9000, tare_kg=4000)
    load = entry("l1", "loads", time="2026-09-10T10:30", strips=[3], trailer="red")
    assert {s for _, s in send(browser, new_trial, weighing, load)} == {"stored"}


def test_of_two_corrections_of_one_record_the_second_is_held(browser, new_trial):
    send(browser, new_trial, entry("a"))
    told = send(browser, new_trial, entry("b", replaces="a", plants=40), entry("c", replaces="a", plants=41))
    assert told == [("b", "stored"), ("c", "held")]


def test_an_entry_left_out_by_the_farmer_does_not_come_back(browser, new_trial):
    send(browser, new_trial, entry("x", plants=-1))
    HeldEntry.objects.update(settled_at=timezone.now())
    assert send(browser, new_trial, entry("x", plants=-1), entry("y")) == [("x", "already"), ("y", "stored")]
    assert ids(new_trial) == {"y"}


def test_a_plan_changed_later_does_not_hold_up_what_arrives(browser, new_trial):
    send(browser, new_trial, entry("a"))
    store = DatabaseStore(new_trial)
    store.save_plan(store.plan_text().replace(f"season = {new_trial.season}", f"season = {new_trial.season + 9}"))
    told = send(browser, new_trial, entry("b", time=f"{new_trial.season + 9}-05-20T10:00"))
    assert told == [("b", "stored")]


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"", 400),
        (b"not json", 400),
        (b"[]", 400),
        (b'"text"', 400),
        (b'{"trial": 7, "entries": []}', 400),
        (b'{"trial": "x", "entries": {}}', 400),
        (b'{"trial": "x", "entries": [], "device": 3}', 400),
        (b'{"entries": [NaN]}', 400),
        (b'{"a": ' + b"[" * 100_000, 400),
        (b'{"trial": "no-such", "entries": []}', 404),
        (b'{"trial": "\\u0000", "entries": []}', 404),
        (b'{"trial": "\\ud800", "entries": []}', 404),
        (b"\xff\xfe{", 400),
        (b'{"n": ' + b"9" * 10_000 + b"}", 400),
    ],
)
def test_bodies_that_make_no_sense(browser, new_trial, body, status):
    answer = browser.post(URL, body, content_type="application/json")
    assert (answer.status_code, answer.headers["Content-Type"]) == (status, "application/json")
    assert answer.json()["message"]


NO_ENTRIES = [None, 3, "x", [], {}, {"kind": "loads"}, {"kind": 3, "id": "x"}]
NO_IDS = ["", "a" * 81, "a\x00", "\ud800", " a"]


@pytest.mark.parametrize("raw", [*NO_ENTRIES, *({"kind": "loads", "id": name} for name in NO_IDS)])
def test_what_is_no_entry_is_refused_and_stops_nobody(browser, new_trial, raw):
    answer = browser.post(URL, json.dumps({"trial": new_trial.slug, "entries": [raw, entry("a")]}), "application/json")
    assert [r["state"] for r in answer.json()["results"]] == ["refused", "stored"]


def test_too_much_at_once_is_told(browser, new_trial):
    many = json.dumps({"trial": new_trial.slug, "entries": [entry(f"c{i}") for i in range(api.MOST_ENTRIES + 1)]})
    assert browser.post(URL, many, "application/json").status_code == 413
    large = json.dumps({"trial": new_trial.slug, "entries": [entry(note="x" * api.LARGEST_BODY_BYTES)]})
    assert browser.post(URL, large, "application/json").status_code == 413
    assert StoredRecord.objects.count() == 0


def test_nobody_is_told_to_sign_in_and_strangers_that_there_is_nothing(new_trial):
    body = json.dumps({"trial": new_trial.slug, "entries": [entry()]})
    assert Client(REMOTE_ADDR="192.168.1.7").post(URL, body, "application/json").status_code == 401
    stranger = Client()
    stranger.force_login(User.objects.create_user("stranger"))
    answer = stranger.post(URL, body, "application/json")
    assert answer.status_code == 404
    assert answer.json()["message"]


def test_without_the_token_nothing_is_taken(owner, new_trial):
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    body = json.dumps({"trial": new_trial.slug, "entries": [entry()]})
    assert client.post(URL, body, "application/json").status_code == 403
    token = client.get("/phone/here/").json()["token"]
    answer = client.post(URL, body, "application/json", headers={"X-CSRFToken": token})
    assert answer.json()["results"][0]["state"] == "stored"


def test_a_viewer_is_refused_and_the_phone_keeps_it(new_trial):
    viewer = User.objects.create_user("viewer")
    people.give_role(user=viewer, role=Role.VIEWER, trial=new_trial)
    client = Client()
    client.force_login(viewer)
    assert send(client, new_trial, entry()) == [("c1", "refused")]
    assert (StoredRecord.objects.count(), HeldEntry.objects.count()) == (0, 0)


@pytest.fixture
def driver(new_trial, owner):
    secret = people.make_day_link(trial=new_trial, label="Trailer 2", valid_on=timezone.localdate(), by=owner)
    client = Client(REMOTE_ADDR="192.168.1.9")
    client.post(f"/people/day/{secret}/")
    return client


def test_a_driver_enters_loads_weighings_and_sowing_only(driver, new_trial):
    load = entry("l1", "loads", time="2026-09-10T10:30", strips=[3], trailer="red")
    weighing = entry("w1", "weighings", time="2026-09-10T11:00", load="l1", gross_kg=9000, tare_kg=4000)
    sown = entry("e1", "events", time="2026-05-01T08:00", strips=[3], event="not_sown")
    lost = entry("e2", "events", time="2026-06-01T08:00", strips=[3], event="strip_lost")
    told = send(driver, new_trial, load, weighing, sown, lost, entry("c1"))
    assert told == [("l1", "stored"), ("w1", "stored"), ("e1", "stored"), ("e2", "refused"), ("c1", "refused")]
    assert set(new_trial.records.values_list("device", "received_from")) == {("Trailer 2: phone-1", None)}


def test_a_driver_sees_one_trial_and_three_kinds(driver, new_trial, farm, owner):
    (told,) = driver.get("/phone/api/trials/").json()["trials"]
    assert (told["slug"], told["kinds"]) == (new_trial.slug, ["loads", "weighings", "events"])
    assert driver.get("/phone/api/held/").json()["held"] == []


def test_after_its_day_a_link_ends(driver, new_trial):
    new_trial.day_links.update(valid_on=timezone.localdate() - timedelta(days=1))
    assert driver.get("/phone/api/trials/").status_code == 401


def test_what_a_phone_is_told_of_the_demo_trial(browser, demo_trial):
    said = browser.get("/phone/api/trials/").json()
    (told,) = said["trials"]
    stored = DatabaseStore(demo_trial).load()
    assert said["kinds"] == told["kinds"] == list(RECORD_KINDS)
    assert [m["letter"] for m in told["methods"]] == list(stored.plan.letters)
    assert [s["strip"] for s in told["strips"]] == [s.strip for s in stored.draw.strips]
    for here, there in zip(told["strips"], stored.draw.strips, strict=True):
        # eight decimals of a degree are about a millimetre
        assert here["outline"] == [[pytest.approx(x, abs=1e-8), pytest.approx(y, abs=1e-8)] for x, y in there.outline]
    assert (told["plan_hash"], told["records_hash"]) == (stored.plan_hash, stored.records_hash)
    assert {x["trailer"] for x in told["loads"]} <= set(told["trailers"])
    assert all(m["rows_per_pass"] > 0 for m in told["methods"])
    # the whole demo trial, all a phone needs for the day, in one answer of less than 100 kB
    assert len(browser.get("/phone/api/trials/").content) < 100_000


def test_held_entries_are_shown_until_settled(browser, new_trial):
    send(browser, new_trial, entry("x", plants=-1))
    (held,) = browser.get("/phone/api/held/").json()["held"]
    assert (held["id"], held["trial"], json.loads(held["fields"])["plants"]) == ("x", new_trial.slug, -1)
    HeldEntry.objects.update(settled_at=timezone.now())
    assert browser.get("/phone/api/held/").json()["held"] == []


def test_every_kind_is_described(browser):
    assert set(browser.get("/phone/api/kinds/").json()["kinds"]) == set(RECORD_KINDS)
