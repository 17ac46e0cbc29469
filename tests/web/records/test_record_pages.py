"""Records at the table: every kind has a list and a form, several at once, corrections, pasted tables, held entries."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest

from evenground.basis.observations import RECORD_KINDS, current
from evenground.web.forms_from_records import entries, new_id
from evenground.web.trials.models import HeldEntry
from evenground.web.trials.store import DatabaseStore


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(response.content.decode()))


def row(kind: str, key: str = "row0", **values: str) -> dict[str, str]:
    """A row as a browser sends it: every control of the form, defaults where nothing was typed."""
    filled = {e.name: e.default for e in entries(kind) if e.how != "yes"}
    filled |= {"time": "2026-09-20T10:00", "id": new_id(), "replaces": ""}
    return {f"{key}-{name}": value for name, value in {**filled, **values}.items()}


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/records/"


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_every_kind_has_a_list_a_form_and_a_table(browser, page, kind):
    assert browser.get(f"{page}{kind}/").status_code == 200
    form = text(browser.get(f"{page}{kind}/add/?n=3"))
    for entry in entries(kind):
        assert f'name="row2-{entry.name}"' in form
    assert all(name in text(browser.get(f"{page}{kind}/upload/")) for name in RECORD_KINDS[kind].model_fields)


def test_overview_counts_what_is_stored(browser, page, demo_trial):
    records = DatabaseStore(demo_trial).records()
    shown = text(browser.get(page))
    assert f'<td class="right">{len(records.loads)}</td>' in shown
    assert "Dry-matter samples" in shown


def test_no_such_kind(browser, page):
    assert browser.get(f"{page}secrets/").status_code == 404
    assert browser.get(f"{page}secrets/add/").status_code == 404


def test_strangers_see_nothing(client, page):
    assert client.get(page, REMOTE_ADDR="192.0.2.7").status_code in (302, 404)
    assert client.post(f"{page}stubble/add/", row("stubble"), REMOTE_ADDR="192.0.2.7").status_code in (302, 403, 404)


def test_one_record_with_a_comma(browser, page, demo_trial):
    answer = browser.post(f"{page}stubble/add/", row("stubble", strips="7", height_cm="18,5", stubs="4"))
    assert answer.status_code == 302
    (stored,) = DatabaseStore(demo_trial).records().stubble
    assert (stored.strips, stored.height_cm, stored.stubs) == ((7,), 18.5, 4)
    assert "18.5" in text(browser.get(f"{page}stubble/"))


def test_sent_twice_is_stored_once(browser, page, demo_trial):
    sent = row("stubble", strips="7", height_cm="18")
    browser.post(f"{page}stubble/add/", sent)
    browser.post(f"{page}stubble/add/", sent)
    assert len(DatabaseStore(demo_trial).records().stubble) == 1


def test_several_at_once_empty_rows_are_passed_over(browser, page, demo_trial):
    sent = row("stubble", "row0", strips="1", height_cm="20")
    sent |= row("stubble", "row1") | row("stubble", "row2", strips="2+3", height_cm="21")
    assert browser.post(f"{page}stubble/add/", sent).status_code == 302
    assert [r.strips for r in DatabaseStore(demo_trial).records().stubble] == [(1,), (2, 3)]


def test_all_or_nothing_and_what_was_typed_stays(browser, page, demo_trial):
    sent = row("stubble", "row0", strips="1", height_cm="20") | row("stubble", "row1", strips="99", height_cm="-4")
    answer = browser.post(f"{page}stubble/add/", sent)
    assert answer.status_code == 422
    shown = text(answer)
    assert 'value="-4"' in shown
    assert "above 0, at most 150" in shown
    assert DatabaseStore(demo_trial).records().stubble == ()


def test_a_strip_that_is_not_there_is_said_at_its_row(browser, page):
    sent = row("stubble", "row0", strips="1", height_cm="20") | row("stubble", "row1", strips="99", height_cm="21")
    shown = text(browser.post(f"{page}stubble/add/", sent))
    assert shown.index('name="row1-strips"') < shown.index("There is no strip 99 in the draw")


def test_an_open_number_is_asked_about(browser, page, demo_trial):
    sent = row("weighings", trailer="1", gross_kg="9.500")
    answer = browser.post(f"{page}weighings/add/", sent)
    assert answer.status_code == 422
    assert "9.5 or 9500" in text(answer)
    before = len(DatabaseStore(demo_trial).records().weighings)
    assert browser.post(f"{page}weighings/add/", {**sent, "row0-gross_kg": "9500"}).status_code == 302
    assert len(DatabaseStore(demo_trial).records().weighings) == before + 1


def test_one_more_row_keeps_what_was_typed(browser, page):
    shown = text(browser.post(f"{page}stubble/add/", {**row("stubble", strips="5", height_cm="19"), "more": "1"}))
    assert 'name="row1-strips"' in shown
    assert 'value="19"' in shown


def test_nothing_filled_in(browser, page):
    answer = browser.post(f"{page}stubble/add/", row("stubble"))
    assert answer.status_code == 422
    assert "nothing is filled in" in text(answer).lower()


def test_a_correction_strikes_the_old_one_through(browser, page, demo_trial):
    old = DatabaseStore(demo_trial).records().depths[0]
    form = text(browser.get(f"{page}depths/add/?replaces={old.id}"))
    assert f'value="{old.depth_cm:g}"' in form
    assert f'name="replaces" value="{old.id}"' in form
    sent = row("depths", strips=str(old.strips[0]), depth_cm="4.2", replaces=old.id, time=old.time.isoformat())
    assert browser.post(f"{page}depths/add/", {**sent, "replaces": old.id}).status_code == 302
    records = DatabaseStore(demo_trial).records().depths
    assert old in records
    assert old not in current(records)
    shown = text(browser.get(f"{page}depths/"))
    assert shown.count('class="replaced"') == 1
    assert f"<s>{old.depth_cm:g}</s>" in shown


def test_a_correction_of_nothing(browser, page):
    assert browser.get(f"{page}depths/add/?replaces=never-there").status_code == 404


def test_a_pasted_table_is_shown_then_stored_once(browser, page, demo_trial):
    table = "strips;time;height_cm\n1;2026-09-20;18,5\n2;2026-09-20;19,0\n"
    preview = browser.post(f"{page}stubble/upload/", {"text": table})
    assert "18,5 is read as 18.5" in text(preview)
    assert "2 rows, of which 2 are not stored yet" in text(preview)
    assert DatabaseStore(demo_trial).records().stubble == ()
    for _ in range(2):
        assert browser.post(f"{page}stubble/upload/", {"text": table, "store": "1"}).status_code == 302
    assert [r.height_cm for r in DatabaseStore(demo_trial).records().stubble] == [18.5, 19.0]


def test_a_bad_row_stores_nothing(browser, page, demo_trial):
    table = "id,strips,time,height_cm\na,1,2026-09-20,18\n\nb,44,2026-09-20,19\n"
    answer = browser.post(f"{page}stubble/upload/", {"text": table, "store": "1"})
    assert answer.status_code == 422
    assert "line 4" in text(answer)
    assert DatabaseStore(demo_trial).records().stubble == ()


def test_an_open_date_can_be_said(browser, page, demo_trial):
    table = "strips,time,height_cm\n1,04/05/2026 10:00,18\n"
    assert "day/month or month/day" in text(browser.post(f"{page}samples/upload/", {"text": table}))
    sent = {"text": table, "date_style": "DD/MM/YYYY", "store": "1"}
    assert browser.post(f"{page}stubble/upload/", sent).status_code == 302
    assert DatabaseStore(demo_trial).records().stubble[0].time.month == 5


def test_a_table_that_is_none(browser, page):
    assert browser.post(f"{page}stubble/upload/", {"text": ""}).status_code == 422
    assert browser.post(f"{page}stubble/upload/", {"text": "\x00\x01"}).status_code == 422


def test_back_to_a_page_of_this_trial_only(browser, page, demo_trial):
    sent = row("stubble", strips="7", height_cm="18")
    inside = f"/trials/{demo_trial.slug}/harvest/"
    assert browser.post(f"{page}stubble/add/", {**sent, "next": inside}).url == inside
    for outside in ("https://elsewhere.example/", "//elsewhere.example/", "/trials/other/"):
        again = row("stubble", strips="7", height_cm="18")
        assert browser.post(f"{page}stubble/add/", {**again, "next": outside}).url == f"{page}stubble/"


@pytest.fixture
def held(demo_trial) -> HeldEntry:
    said = {"id": "phone-1", "time": "2026-09-20T10:00", "strips": [44], "height_cm": 18}
    wrong = [{"message": "there is no strip 44 in the draw.", "field": "strips"}]
    return HeldEntry.objects.create(
        trial=demo_trial, kind="stubble", record_id="phone-1", text=json.dumps(said), problems=wrong
    )


def test_a_held_entry_is_mended(browser, page, demo_trial, held):
    assert "no strip 44" in text(browser.get(page))
    form = text(browser.get(f"{page}held/{held.pk}/"))
    assert 'value="44"' in form
    sent = row("stubble", strips="4", height_cm="18", id="phone-1")
    assert browser.post(f"{page}held/{held.pk}/", sent).status_code == 302
    (stored,) = DatabaseStore(demo_trial).records().stubble
    assert (stored.id, stored.strips) == ("phone-1", (4,))
    assert browser.get(f"{page}held/{held.pk}/").status_code == 404


def test_one_id_with_two_contents_loses_neither(browser, page, demo_trial, held):
    first = row("stubble", strips="4", height_cm="17", id="phone-1")
    browser.post(f"{page}stubble/add/", first)
    assert browser.post(f"{page}held/{held.pk}/", row("stubble", strips="5", height_cm="18")).status_code == 302
    stored = DatabaseStore(demo_trial).records().stubble
    assert [(r.strips, r.height_cm) for r in stored] == [((4,), 17.0), ((5,), 18.0)]
    assert stored[0].id == "phone-1" != stored[1].id


def test_a_held_entry_still_wrong_stays(browser, page, held):
    assert "no strip 45" in text(browser.post(f"{page}held/{held.pk}/", row("stubble", strips="45", height_cm="1")))
    held.refresh_from_db()
    assert held.settled_at is None


def test_a_held_entry_is_left_out_with_a_reason(browser, page, demo_trial, held):
    assert browser.post(f"{page}held/{held.pk}/", {"leave_out": "1", "reason": ""}).status_code == 422
    assert browser.post(f"{page}held/{held.pk}/", {"leave_out": "1", "reason": "another field"}).status_code == 302
    held.refresh_from_db()
    assert held.settled_at is not None
    assert "another field" in json.dumps(held.problems)
    assert DatabaseStore(demo_trial).records().stubble == ()
