"""The plan's pages with a real browser: readable for everybody, no wider than the screen, usable by keyboard alone."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

from evenground.web.planning.parts import PARTS
from evenground.web.trials.store import DatabaseStore

pytestmark = pytest.mark.django_db(transaction=True)
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # the browser's driver runs a loop in this thread
OTHERS = ("", "entries/methods/1/", "entries/methods/new/", "versions/", "versions/1/")


@pytest.fixture
def screen(chromium) -> Iterator[Browser]:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=str(chromium), args=["--no-sandbox"])
        yield browser
        browser.close()


def serious(page: Page) -> list[str]:
    return [v["id"] for v in Axe().run(page).response["violations"] if v["impact"] in ("serious", "critical")]


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
def test_no_serious_findings_and_nothing_wider_than_the_screen(screen, live_server, demo_trial, width, scheme):
    page = screen.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme).new_page()
    page.on("console", lambda m: pytest.fail(m.text) if m.type == "error" else None)
    for path in (*OTHERS, *(f"{p.name}/" for p in PARTS)):
        page.goto(f"{live_server.url}/trials/{demo_trial.slug}/plan/{path}")
        assert serious(page) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path


def test_a_wrong_value_is_announced_beside_its_field(screen, live_server, new_trial):
    page = screen.new_page()
    page.goto(f"{live_server.url}/trials/{new_trial.slug}/plan/wishes/")
    page.get_by_label("Headland").fill("900")
    page.get_by_role("button", name="Store").click()
    field = page.get_by_label("Headland")
    expect(field).to_have_value("900")
    expect(field).to_have_attribute("aria-invalid", "true")
    said = page.locator("#" + field.get_attribute("aria-describedby").split()[-1])
    expect(said).to_contain_text("Allowed: 0 to 200")
    assert serious(page) == []


def test_by_keyboard_alone(screen, live_server, new_trial):
    page = screen.new_page()
    page.goto(f"{live_server.url}/trials/{new_trial.slug}/plan/question/")
    page.get_by_label("What do you want to know?").focus()
    page.keyboard.type("Do twin rows pay on sand?")
    page.get_by_label("Name of the trial").focus()
    page.keyboard.press("Enter")  # must store, and not press a button that brings a default back
    expect(page.get_by_role("heading", level=1)).to_have_text("Do twin rows pay on sand?")
    assert DatabaseStore(new_trial).plan().trial.question == "Do twin rows pay on sand?"
