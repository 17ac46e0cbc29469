"""No reception, lost answers, closing, updates, a full disk, signed out, two phones: nothing is lost or doubled."""

from __future__ import annotations

import hashlib
import json
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect

from tests.web.phone.walking import (
    OPENED,
    all_on_the_farm,
    as_json,
    count_plants,
    entries,
    fill,
    go,
    ids,
    keep,
    kept,
    kept_for_the_field,
    open_page,
)

pytestmark = pytest.mark.needs_chromium


def farm_today() -> date:
    return datetime.now(ZoneInfo("Europe/Berlin")).date()


def ids_of(farm, kind: str = "stand_counts") -> list[str]:
    return [r["id"] for r in farm.stored(kind)]


def test_without_reception_from_the_first_visit_on(farm, line, phones):
    context = phones()
    page = open_page(context, line.address)
    kept_for_the_field(page)
    before = ids_of(farm)
    line.mode = "cut"
    page.reload()
    page.wait_for_selector(OPENED)
    count_plants(page, plants="39")
    assert [e["state"] for e in entries(page)] == ["waiting"]
    page.close()
    page = open_page(context, line.address)  # closed and opened again, still without reception
    expect(page.locator("#state")).to_contain_text("1 on this phone")
    made = entries(page)
    assert len(made) == 1
    assert made[0]["fields"]["plants"] == 39
    assert ids_of(farm) == before
    line.mode = "through"
    page.evaluate("window.dispatchEvent(new Event('online'))")
    all_on_the_farm(page, 1)
    expect(page.locator("#state")).to_contain_text("1 on the farm")
    assert ids_of(farm).count(made[0]["id"]) == 1
    assert page.faults == []


def test_an_answer_that_is_lost_stores_once(farm, line, phones):
    page = open_page(phones(), line.address)
    kept_for_the_field(page)
    line.mode = "reply_lost"
    count_plants(page, plants="35")
    count_plants(page, plants="36")
    expect(page.locator("#state")).to_contain_text("no connection")
    assert line.lost >= 1
    made = entries(page)
    assert {e["state"] for e in made} == {"waiting"}
    assert made[0]["id"] in ids_of(farm), "the farm has heard it; only its answer was lost"
    line.mode = "through"
    page.evaluate("window.dispatchEvent(new Event('online'))")
    all_on_the_farm(page, 2)
    for entry in made:
        assert ids_of(farm).count(entry["id"]) == 1
    assert "already" in {e["state"] for e in entries(page)}


def test_it_sends_by_itself_when_the_line_is_back(farm, line, phones):
    page = open_page(phones(), line.address)
    kept_for_the_field(page)
    line.mode = "cut"
    count_plants(page, plants="30")
    line.mode = "through"  # nothing is pressed and no event told: the next try comes by its timer, some seconds later
    all_on_the_farm(page, 1)
    assert ids(entries(page)) <= set(ids_of(farm))


def test_two_phones_counting_the_same_strip(farm, phones):
    one, two = open_page(phones(), farm.address), open_page(phones(), farm.address)
    count_plants(one, strip="7", plants="40", row_unit="2")
    count_plants(two, strip="7", plants="43", row_unit="2")
    all_on_the_farm(one, 1)
    all_on_the_farm(two, 1)
    mine = ids(entries(one)) | ids(entries(two))
    there = [r for r in farm.stored("stand_counts") if r["id"] in mine]
    assert sorted(r["plants"] for r in there) == [40, 43]
    assert len({e["device"] for e in entries(one) + entries(two)}) == 2
    go(two, "phone")
    two.get_by_role("button", name="Get the trials anew").tap()
    go(two, "entries")
    expect(two.locator("main")).to_contain_text("Others have counted in these strips too: 7. Both counts are kept.")


def test_a_new_version_with_entries_waiting(farm, line, phones):
    page = open_page(phones(), line.address)
    kept_for_the_field(page)
    line.mode = "cut"
    count_plants(page, plants="28")
    go(page, "depth")
    fill(page, strip="2", depth_cm="5,5")  # half filled, not kept
    page.wait_for_timeout(400)
    old = page.evaluate("document.querySelector('meta[name=version]').content")
    (farm.data / "salt").write_text("new0new0new0")
    line.mode = "through"
    with page.expect_navigation():
        page.evaluate("navigator.serviceWorker.getRegistration('/phone/').then((r) => r.update())")
        page.get_by_role("button", name="Change over now").tap()
    page.wait_for_selector(OPENED)
    assert page.evaluate("document.querySelector('meta[name=version]').content") == "new0new0new0" != old
    assert page.evaluate("caches.keys()") == ["phone-new0new0new0"]
    all_on_the_farm(page, 1)
    assert [e["fields"]["plants"] for e in entries(page)] == [28]
    go(page, "")
    page.get_by_role("link", name="Depth reading strip 2").tap()
    assert page.locator('[data-name="depth_cm"] input').input_value() == "5,5"


def test_signed_out_in_the_middle(farm, phones):
    page = open_page(phones(), farm.address)
    kept_for_the_field(page)
    farm.change("UPDATE accounts_user SET local = 0")
    count_plants(page, plants="27")
    expect(page.locator("#state")).to_contain_text("Sign in again; your 1 entry is safe on this phone")
    expect(page.locator("#state").get_by_role("link", name="Sign in", exact=True)).to_have_attribute(
        "href", "/people/login/?next=/phone/"
    )
    assert [e["state"] for e in entries(page)] == ["waiting"]
    farm.change("UPDATE accounts_user SET local = 1")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    all_on_the_farm(page, 1)
    assert ids(entries(page)) <= set(ids_of(farm))


FULL = """() => {
  const put = IDBObjectStore.prototype.put;
  window.emptied = () => { IDBObjectStore.prototype.put = put; };
  IDBObjectStore.prototype.put = function () { throw new DOMException("no room", "QuotaExceededError"); };
}"""


def test_a_full_phone_says_so_and_claims_nothing(farm, line, phones):
    page = open_page(phones(), line.address)
    kept_for_the_field(page)
    page.evaluate(FULL)
    go(page, "count")
    fill(page, strip="4", length_m="5", plants="38")
    keep(page)
    expect(page.locator("#news")).to_contain_text("This phone is full. This entry is NOT kept yet")
    assert page.locator('[data-name="plants"] input').input_value() == "38"
    assert entries(page) == []
    with page.expect_download() as loading:
        page.get_by_role("button", name="Save it as a file").tap()
    said = json.loads(loading.value.path().read_text())
    assert said["trials"][0]["entries"][0]["fields"]["plants"] == 38
    line.mode = "reply_lost"
    page.get_by_role("button", name="Send it straight to the farm").tap()
    expect(page.locator("#news")).to_contain_text("The farm does not answer. This entry is NOT kept yet")
    line.mode = "through"
    page.get_by_role("button", name="Send it straight to the farm").tap()
    expect(page.locator("#news")).to_contain_text("This entry is on the farm.")
    there = [r for r in farm.stored("stand_counts") if r["id"] == said["trials"][0]["entries"][0]["id"]]
    assert [r["plants"] for r in there] == [38], "sent three ways, stored once"


def test_room_again_and_the_same_entry_is_kept(farm, phones):
    page = open_page(phones(), farm.address)
    page.evaluate(FULL)
    go(page, "depth")
    fill(page, strip="4", depth_cm="5")
    keep(page)
    expect(page.locator("#news")).to_contain_text("NOT kept yet")
    page.evaluate("window.emptied()")
    page.get_by_role("button", name="Try again").tap()
    expect(page.locator("#news")).to_contain_text("Kept on this phone: Depth reading, strip 4")
    all_on_the_farm(page, 1)


def test_entries_as_a_file_from_one_phone_to_another(farm, line, phones):
    page = open_page(phones(), line.address)
    kept_for_the_field(page)
    line.mode = "cut"
    count_plants(page, plants="33")
    count_plants(page, plants="34")
    go(page, "entries")
    with page.expect_download() as loading:
        page.get_by_role("button", name="Save 2 unsent as a file").tap()
    desk = open_page(phones(), farm.address, "entries")
    desk.locator("input[type=file]").set_input_files(loading.value.path())
    expect(desk.locator("#news")).to_contain_text("2 entries brought in.")
    all_on_the_farm(desk, 2)
    line.mode = "through"
    page.evaluate("window.dispatchEvent(new Event('online'))")
    all_on_the_farm(page, 2)  # the first phone can send after all: the farm has them already
    for entry in entries(page):
        assert ids_of(farm).count(entry["id"]) == 1
    assert {e["state"] for e in entries(page)} == {"already"}


@pytest.mark.parametrize("text", ["no json", "{}", '{"file": "evenground entries 1", "trials": [{"trial": 1}]}', "[]"])
def test_another_file_is_not_brought_in(farm, phones, tmp_path, text):
    path = tmp_path / "some.json"
    path.write_text(text)
    page = open_page(phones(), farm.address, "entries")
    page.locator("input[type=file]").set_input_files(path)
    expect(page.locator("#news")).to_contain_text("This is not a file of entries.")
    assert entries(page) == []


def test_a_clock_that_is_wrong_keeps_its_time_and_says_so(farm, phones):
    context = phones(timezone_id="Europe/Berlin")
    context.add_init_script(
        "const real = Date.now; const back = 3 * 3600 * 1000;"
        "const Slow = class extends Date { constructor(...a) { if (a.length) super(...a); else super(real() - back); }"
        " static now() { return real() - back; } }; globalThis.Date = Slow;"
    )
    page = open_page(context, farm.address)
    expect(page.locator("#news")).to_contain_text("clock is 180 minutes behind the farm's")
    go(page, "note")
    fill(page, strip="3", note="a deer ran through")
    kept(page)
    all_on_the_farm(page, 1)
    (entry,) = entries(page)
    (there,) = [r for r in farm.stored("events") if r["id"] == entry["id"]]
    assert there["time"] == entry["fields"]["time"]
    assert there["note"] == "a deer ran through [phone clock 180 min behind the farm's]"


def test_a_correction_follows_and_changes_nothing(farm, phones):
    page = open_page(phones(), farm.address)
    count_plants(page, strip="6", plants="51")
    all_on_the_farm(page, 1)
    before = as_json(entries(page)[0]["fields"])
    go(page, "entries")
    page.get_by_role("link", name="Stand count, strip 6").tap()
    expect(page.locator("main")).to_contain_text("on the farm")
    page.get_by_role("button", name="Correct it").tap()
    page.wait_for_selector("form")
    fill(page, plants="15")
    kept(page)
    all_on_the_farm(page, 2)
    first, second = entries(page)
    assert as_json(first["fields"]) == before
    assert second["fields"]["replaces"] == first["id"]
    assert {k: v for k, v in second["fields"].items() if k not in ("replaces", "plants")} == {
        k: v for k, v in first["fields"].items() if k != "plants"
    }
    assert {r["id"] for r in farm.stored("stand_counts")} >= {first["id"], second["id"]}
    go(page, "entries")
    expect(page.locator(".list li").nth(1)).to_contain_text("corrected since")


OLD_PHONE = """() => new Promise((resolve, reject) => {
  const asked = indexedDB.open("evenground-phone", 1);
  asked.onupgradeneeded = () => {
    const store = asked.result.createObjectStore("entries", { keyPath: "id" });
    store.createIndex("state", "state");
    asked.result.createObjectStore("facts", { keyPath: "name" });
    store.put({ id: "kept-by-an-old-version", kind: "depths", trial: "TRIAL", device: "old", state: "waiting",
      problems: [], made: "2026-06-01T08:00:00", fields: { time: "2026-06-01T08:00:00", strips: [3], depth_cm: 4.5 } });
  };
  asked.onsuccess = () => { asked.result.close(); resolve(); };
  asked.onerror = () => reject(asked.error);
})"""


def test_entries_of_an_older_version_are_taken_over(farm, phones):
    context = phones()
    page = context.new_page()
    page.goto(f"{farm.address}/phone/manifest.webmanifest")
    slug = farm.rows("SELECT slug FROM trials_trial")[0][0]
    page.evaluate(OLD_PHONE.replace("TRIAL", slug))
    page.close()
    page = open_page(context, farm.address)
    all_on_the_farm(page, 1)
    (entry,) = entries(page)
    assert entry["order"] == 1
    assert [r["depth_cm"] for r in farm.stored("depths") if r["id"] == "kept-by-an-old-version"] == [4.5]


def test_what_the_farm_cannot_take_as_it_is_stays_in_sight(farm, phones):
    page = open_page(phones(), farm.address)
    go(page, "note")
    fill(page, strip="3", note="of another year", time="2019-05-01T10:00:00")
    kept(page)
    all_on_the_farm(page, 1)
    assert entries(page)[0]["state"] == "held"
    expect(page.locator("#state")).to_contain_text("1 needs a look")
    go(page, "entries")
    page.get_by_role("link", name="Note with photo, strip 3").tap()
    expect(page.locator(".problems")).to_contain_text("2026")
    page.get_by_role("button", name="Correct it").tap()
    fill(page, time="2026-06-01T10:00:00")
    kept(page)
    all_on_the_farm(page, 2)
    second = entries(page)[1]
    assert second["state"] == "stored"
    assert "replaces" not in second["fields"], "what was never a record cannot be replaced"
    expect(page.locator("#state")).not_to_contain_text("needs a look")


def test_the_browser_sends_after_the_page_was_closed(farm, line, phones):
    """Background sync, where a browser has it: the worker sends, no page is open."""
    context = phones()
    page = open_page(context, line.address)
    kept_for_the_field(page)
    line.mode = "cut"
    count_plants(page, plants="26")
    (entry,) = entries(page)
    page.goto("about:blank")
    outside = context.new_page()
    outside.goto(f"{line.address}/phone/manifest.webmanifest")  # of the same machine, without the page's scripts
    session = context.new_cdp_session(outside)
    numbers: list[str] = []
    session.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda said: numbers.extend(
            r["registrationId"] for r in said["registrations"] if r["scopeURL"].startswith(line.address)
        ),
    )
    session.send("ServiceWorker.enable")
    outside.wait_for_timeout(500)
    line.mode = "through"
    session.send(
        "ServiceWorker.dispatchSyncEvent",
        {"origin": line.address, "registrationId": numbers[-1], "tag": "send", "lastChance": False},
    )
    for _ in range(100):
        if entry["id"] in ids_of(farm):
            break
        outside.wait_for_timeout(100)
    assert ids_of(farm).count(entry["id"]) == 1


def test_a_driver_sees_only_what_the_day_is_about(farm, phones):
    trial = farm.rows("SELECT id FROM trials_trial")[0][0]
    farm.change(
        "INSERT INTO accounts_daylink (trial_id, label, secret_hash, valid_on, made_at) VALUES (?, 'driver', ?, ?, ?)",
        trial,
        hashlib.sha256(b"invented secret of the day").hexdigest(),
        farm_today().isoformat(),
        "2026-01-01 00:00:00",
    )
    farm.change("UPDATE accounts_user SET local = 0")
    context = phones()
    page = context.new_page()
    page.goto(f"{farm.address}/people/day/invented secret of the day/")
    page.locator("main button").click()
    page.wait_for_url("**/phone/")
    page.wait_for_selector(".list a")
    assert page.locator(".list strong").all_inner_texts() == ["As sown", "Load", "Weighing"]
    go(page, "load")
    fill(page, strip="3", trailer="green")
    kept(page)
    all_on_the_farm(page, 1)
    assert entries(page)[0]["state"] == "stored"


def test_a_half_filled_form_can_be_thrown_away(farm, phones):
    page = open_page(phones(), farm.address, "depth")
    fill(page, strip="3", depth_cm="4")
    page.wait_for_timeout(400)
    page.reload()
    page.wait_for_selector(OPENED)
    go(page, "")
    page.get_by_role("link", name="Depth reading strip 3").tap()
    page.locator("details.more > summary").tap()
    page.get_by_role("button", name="Throw this form away").tap()
    page.get_by_role("button", name="Really? Tap once more").tap()
    page.get_by_role("link", name="All entries").wait_for()
    expect(page.locator("main")).not_to_contain_text("Half filled")
    assert entries(page) == []
