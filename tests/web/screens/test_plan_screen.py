"""The plan's pages with a real browser: what is wrong is announced beside its field, and the keyboard alone will do."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from evenground.web.trials.store import DatabaseStore

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]


def test_a_wrong_value_is_announced_beside_its_field(make_page, live_server, new_trial):
    page = make_page()
    page.goto(f"{live_server.url}/trials/{new_trial.slug}/plan/wishes/")
    page.get_by_label("Headland").fill("900")
    page.get_by_role("button", name="Store").click()
    field = page.get_by_label("Headland")
    expect(field).to_have_value("900")
    expect(field).to_have_attribute("aria-invalid", "true")
    said = page.locator("#" + field.get_attribute("aria-describedby").split()[-1])
    expect(said).to_contain_text("Allowed: 0 to 200")


def test_by_keyboard_alone(make_page, live_server, new_trial):
    page = make_page()
    page.goto(f"{live_server.url}/trials/{new_trial.slug}/plan/question/")
    page.get_by_label("What do you want to know?").focus()
    page.keyboard.type("Do twin rows pay on sand?")
    page.get_by_label("Name of the trial").focus()
    page.keyboard.press("Enter")  # must store, and not press a button that brings a default back
    expect(page.get_by_role("heading", level=1)).to_have_text("Do twin rows pay on sand?")
    assert DatabaseStore(new_trial).plan().trial.question == "Do twin rows pay on sand?"
