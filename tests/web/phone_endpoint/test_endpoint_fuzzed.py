"""Whatever is sent, the end point answers in words, and what it says it has it has."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenground.basis.observations import RECORD_KINDS
from evenground.web.trials.folder_files import folder_files
from evenground.web.trials.models import HeldEntry, StoredRecord
from evenground.web.trials.store import DatabaseStore

URL = "/phone/api/entries/"
LOOK = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

ANY_TEXT = st.text(st.characters(exclude_categories=[]), max_size=12)  # also lone surrogates and control signs
NUMBERS = st.integers(-(2**70), 2**70) | st.floats() | st.sampled_from([0, -0.0, 1e308, 5e-324, 10**400])
ATOMS = st.none() | st.booleans() | NUMBERS | ANY_TEXT
JSON = st.recursive(
    ATOMS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(ANY_TEXT, inner, max_size=4), max_leaves=12
)
TIMES = st.sampled_from(
    ["2026-05-20T10:00", "2026-05-20", "0001-01-01T00:00", "9999-12-31T23:59", "2026-03-29T02:30+02:00", 0, 1e18]
)
GOOD = {
    "time": TIMES,
    "strips": st.lists(st.integers(1, 12), min_size=1, max_size=3) | st.sampled_from(["1+2", 3, "9;9", "0"]),
    "note": ANY_TEXT | st.sampled_from(["two\nlines", "\r", '"', "=1", "\ufeff", " x "]),
    "replaces": st.sampled_from(["e1", "e2", "e3"]),
    "lon": st.floats(-181, 181),
    "length_m": st.floats(0, 600),
    "plants": st.integers(-1, 100_001),
    "trailer": st.sampled_from(["red", ""]),
    "load": st.sampled_from(["e1", "other", "nobody"]),
    "gross_kg": st.floats(0, 90_000),
    "tare_kg": st.floats(0, 41_000),
    "event": st.sampled_from(["sown", "harvested", "tea"]),
    "method": st.sampled_from(["A", "B", "Z", "a"]),
    "dry_matter_percent": st.floats(0, 110),
    "readings": st.lists(st.floats(0, 600), max_size=5) | st.sampled_from(["1 2 3", "3 2"]),
}
FIELDS = st.fixed_dictionaries({}, optional={n: v | JSON if n == "note" else v for n, v in GOOD.items()}) | JSON
ENTRIES = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(["stand_counts", "loads", "weighings", "events", "samples", "spacing_runs", "tea"]),
        "id": st.sampled_from([f"e{i}" for i in range(6)]) | ANY_TEXT,
        "fields": FIELDS,
    }
)


@LOOK
@given(JSON)
def test_any_json_is_answered(browser, new_trial, said):
    for body in (said, {"trial": new_trial.slug, "entries": said}, {"trial": new_trial.slug, "entries": [said]}):
        answer = browser.post(URL, json.dumps(body), content_type="application/json")
        assert answer.status_code in (200, 400, 404, 413)
        assert answer.headers["Content-Type"] == "application/json"


@LOOK
@given(st.binary(max_size=60))
def test_any_bytes_are_answered(browser, new_trial, body):
    assert browser.post(URL, body, content_type="application/json").status_code in (200, 400, 404)
    assert browser.post("/phone/api/photos/", body, content_type="multipart/form-data; boundary=x").status_code in (
        400,
        404,
    )


@LOOK
@given(st.lists(ENTRIES, max_size=8))
def test_what_is_said_to_be_there_is_there_and_the_trial_stays_sound(browser, new_trial, entries):
    body = json.dumps({"trial": new_trial.slug, "device": "phone", "entries": entries})
    answer = browser.post(URL, body, content_type="application/json")
    if answer.status_code != 200:  # NaN and the like are no JSON
        assert answer.status_code == 400
        return
    results = answer.json()["results"]
    assert len(results) == len(entries)
    for sent, told in zip(json.loads(body)["entries"], results, strict=True):
        mine = {"trial": new_trial, "kind": sent["kind"], "record_id": sent["id"]}
        if told["state"] == "stored":
            assert StoredRecord.objects.filter(**mine).count() == 1
        elif told["state"] == "held":
            texts = [json.loads(h.text) for h in HeldEntry.objects.filter(**mine)]
            assert json.dumps(sent["fields"], sort_keys=True) in [json.dumps(t, sort_keys=True) for t in texts]
        elif told["state"] == "refused":
            assert told["problems"]
    again = browser.post(URL, body, content_type="application/json").json()["results"]
    assert {r["state"] for r in again} <= {"already", "held", "refused"}
    stored = DatabaseStore(new_trial).load()  # sound, whatever came
    for path, content in folder_files(new_trial):
        assert path
        assert content is not None
    assert stored.records.count == StoredRecord.objects.filter(trial=new_trial).count()


@pytest.mark.parametrize("kind", list(RECORD_KINDS))
def test_every_kind_takes_what_its_fields_allow_and_holds_the_rest(browser, new_trial, kind):
    wanted = {"time": "2026-05-20T10:00"}
    body = json.dumps({"trial": new_trial.slug, "entries": [{"kind": kind, "id": "x", "fields": wanted}]})
    (told,) = browser.post(URL, body, content_type="application/json").json()["results"]
    assert told["state"] in ("stored", "held")
    assert (told["state"] == "held") == bool(told["problems"])
