"""Harvest day at the table in a real browser: a load, its slip, what is missing, and nothing typed is lost."""

from __future__ import annotations

import pytest

from evenground.web.trials.models import StoredRecord
from evenground.web.trials.store import DatabaseStore

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def morning(demo_trial):
    for kind in ("loads", "weighings", "samples"):
        StoredRecord.objects.filter(trial=demo_trial, kind=kind).delete()
    StoredRecord.objects.filter(trial=demo_trial, record_id="demo-harvest").delete()


def fill(page, kind, **values):
    for name, value in values.items():
        page.fill(f"#{kind}-{name}", value)


def test_a_load_from_the_field_to_the_table(app, morning, make_page, demo_trial, owner):
    page = make_page()
    page.goto(f"{app}harvest/")
    assert page.locator("#open h2").inner_text() == "0 of 18 strips are known"
    fill(page, "loads", strips="7", trailer="red", time="2026-08-28T14:10")
    page.click("#enter-loads button")
    page.wait_for_selector("text=Stored.")
    assert "The load of strip 7 at 14:10, trailer red has no weight yet." in page.locator("#open").inner_text()
    fill(page, "weighings", trailer="red", gross_kg="11 640", tare_kg="5400", slip="12", time="2026-08-28T14:32")
    page.click("#enter-weighings button")
    page.wait_for_selector("text=Stored.")
    fill(page, "samples", strips="7", wet_g="500", dry_g="170", time="2026-08-28T14:40")
    page.click("#enter-samples button")
    page.wait_for_selector("text=1 of 18 strips are known")
    row = page.locator("tr", has=page.locator("th", has_text="7")).first.inner_text()
    assert "6.24" in row
    assert "34.0" in row
    assert page.faults == []


def test_news_arrive_without_taking_away_what_is_being_typed(app, morning, make_page, demo_trial, owner):
    page = make_page()
    page.clock.install()
    page.goto(f"{app}harvest/")
    page.fill("#weighings-gross_kg", "116")
    load = {"id": "phone-7", "time": "2026-08-28T14:10", "strips": "7", "trailer": "red"}
    from evenground.basis.observations import Load

    DatabaseStore(demo_trial, owner).append_records([Load.model_validate(load)])
    page.clock.run_for(9000)
    page.wait_for_selector("#open :text('The load of strip 7 at 14:10')")
    assert page.input_value("#weighings-gross_kg") == "116"
    assert page.evaluate("document.activeElement.id") == "weighings-gross_kg"
    assert page.faults == []


def test_what_is_wrong_stands_beside_its_field(app, morning, make_page, demo_trial):
    page = make_page()
    page.goto(f"{app}harvest/")
    fill(page, "weighings", trailer="red", gross_kg="9.500", time="2026-08-28T14:32")
    page.click("#enter-weighings button")
    page.wait_for_selector("#weighings-gross_kg-wrong")
    assert "9.5 or 9500" in page.locator("#weighings-gross_kg-wrong").inner_text()
    assert page.input_value("#weighings-gross_kg") == "9.500"
    assert page.get_attribute("#weighings-gross_kg", "aria-invalid") == "true"
    assert DatabaseStore(demo_trial).records().weighings == ()


def test_by_keyboard_alone(app, morning, make_page, demo_trial):
    page = make_page()
    page.goto(f"{app}harvest/")
    page.focus("#loads-strips")
    page.keyboard.type("3")
    page.keyboard.press("Tab")
    page.keyboard.type("green")
    page.fill("#loads-time", "2026-08-28T09:00")
    page.focus("#loads-trailer")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Stored.")
    assert [load.strips for load in DatabaseStore(demo_trial).records().loads] == [(3,)]
