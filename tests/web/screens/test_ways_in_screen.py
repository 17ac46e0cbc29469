"""From an empty app to strips, by the doors and by the draw, with a real browser."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from evenground.adapters.border_areas import AREAS_FILE
from evenground.adapters.border_file import SOWN_FILE
from evenground.adapters.demo.farm import FIELD_GEOJSON, TRIAL_TOML
from evenground.web.trials.models import Trial
from evenground.web.trials.services import make_trial
from evenground.web.trials.store import DatabaseStore

from .conftest import PHONE

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]


def begin(page: Page, live_server, door: str) -> Trial:
    page.goto(live_server.url)
    page.get_by_role("link", name=door).click()
    page.get_by_label("What do you call the trial").fill("By the door")
    if page.get_by_label("What is the farm called").count():
        page.get_by_label("What is the farm called").fill("My farm")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/trials/**")
    return Trial.objects.get(name="By the door")


def test_from_weights_to_the_verdict(make_page, live_server, owner):
    """The shortest way, every field and click counted: with half a minute for each it takes less than 15 minutes."""
    page = make_page()
    begin(page, live_server, "I only have weights")  # three clicks, name of the trial, name of the farm
    touched = 5
    for label, text in (
        ("A what the farm does now", "old way"),
        ("B", "new way"),
        ("Day of harvest", "2026-09-14"),
        ("Weighed width of all strips", "6"),
        ("Weighed length of all strips", "300"),
        ("B costs more than A", "20"),
    ):
        page.get_by_label(label, exact=label == "B").fill(text)
        touched += 1
    page.get_by_label("It was drawn by lot, block by block").check()
    page.get_by_label("How", exact=True).fill("a coin for each pair")
    for strip, (kg, dry) in enumerate(
        [
            (8030, 33.1),
            (8410, 33.4),
            (8120, 32.9),
            (8450, 33.0),
            (7990, 33.3),
            (8500, 33.2),
            (8100, 33.0),
            (8380, 33.5),
        ],
        start=1,
    ):
        page.get_by_label(f"Net weight of strip {strip}").fill(str(kg))
        page.get_by_label(f"Dry matter of strip {strip}").fill(str(dry).replace(".", ","))
        touched += 2
    page.get_by_role("button", name="Store, and to the verdict").click()
    touched += 3  # the lot, how, and this button
    assert touched * 30 <= 15 * 60, "half a minute for each is slow typing; judgement"
    expect(page.get_by_role("navigation", name="Steps of this trial").locator("[aria-current]")).to_have_text("Verdict")
    expect(page.locator("main")).to_contain_text("Out of 20")
    assert page.faults == []


def test_two_areas_are_drawn_on_the_map(make_page, live_server, owner):
    page = make_page()
    trial = begin(page, live_server, "It is already sown")
    DatabaseStore(trial, owner).save_field(FIELD_GEOJSON)
    page.reload()
    page.get_by_text("Not drawn by lot: two areas on a map").click()
    page.wait_for_timeout(500)
    page.locator("#area-map").scroll_into_view_if_needed()
    for letter, left in (("A", 300), ("B", 420)):
        page.get_by_label("Draw the area of").select_option(letter)
        page.locator("#area-sown").fill("2026-05-04" if letter == "A" else "2026-05-09")
        page.get_by_role("button", name="Draw this area").click()
        box = page.locator("#area-map").bounding_box()
        for x, y in ((left, 120), (left + 120, 120), (left + 120, 320), (left, 320)):
            page.mouse.move(box["x"] + x, box["y"] + y)
            page.mouse.click(box["x"] + x, box["y"] + y)
            page.wait_for_timeout(350)
        page.locator("#area-finish").click()
    expect(page.locator("#area-list")).to_contain_text("Area of B, sown on 2026-05-09")
    page.get_by_role("button", name="Store the areas").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Border comparison")
    expect(page.locator("main")).to_contain_text("Two areas, B beside A, share")
    assert trial.files.filter(path=AREAS_FILE).exists()
    assert page.faults == []


def test_the_ground_of_each_method_is_walked_over(make_page, live_server, owner):
    page = make_page(PHONE)
    page.context.grant_permissions(["geolocation"])
    trial = begin(page, live_server, "It is already sown")
    page.get_by_text("Not drawn by lot: walk over it with the phone").click()
    for letter, lon in (("A", 10.0), ("B", 10.0002)):
        page.get_by_label("I am walking over").select_option(letter)
        for i in range(3):
            page.context.set_geolocation({"longitude": lon, "latitude": 52.0 + i * 1e-4, "accuracy": 4})
            if page.locator("#walk-start").is_visible():
                page.locator("#walk-start").click()
            expect(page.locator("#walk-said")).to_contain_text(f"{letter}: {i + 1} places")
        page.context.set_geolocation({"longitude": lon, "latitude": 52.001, "accuracy": 60})
        expect(page.locator("#walk-said")).to_contain_text("too little")
        page.get_by_role("button", name="Pause").click()
    page.reload()  # nothing is lost
    page.get_by_text("Not drawn by lot: walk over it with the phone").click()
    expect(page.locator("#walk-said")).to_contain_text("A: 3 places; B: 3 places")
    page.get_by_role("button", name="Store the places").first.click()
    page.wait_for_url("**/season/border/")
    assert bytes(trial.files.get(path=SOWN_FILE).content).decode().count(",B") == 3
    assert page.faults == []


def test_from_the_search_to_the_draw(make_page, live_server, farm, owner):
    trial = make_trial(farm=farm, name="Planned", season=2026, by=owner, plan_text=TRIAL_TOML)
    DatabaseStore(trial, owner).save_field(FIELD_GEOJSON)
    page = make_page()
    page.goto(f"{live_server.url}/trials/{trial.slug}/layout/")
    page.get_by_role("button", name="Look for layouts").click()
    expect(page.get_by_role("link", name="To the draw")).to_be_visible(timeout=60_000)
    expect(page.locator("main")).to_contain_text("Two halves of this field")
    page.get_by_role("link", name="To the draw").click()
    expect(page.locator("main")).to_contain_text("It can be drawn once")
    assert DatabaseStore(trial).draws() == ()
    page.get_by_role("button", name="Draw", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The strips are drawn")
    (draw,) = DatabaseStore(trial).draws()
    shown = page.locator("ol.order strong").all_inner_texts()
    assert shown == [s.method for s in draw.strips]
    page.go_back()
    page.reload()
    expect(page.get_by_role("button", name="Draw again")).to_be_visible()
    page.get_by_role("button", name="Draw again").click()  # without a reason the browser holds it back
    assert len(DatabaseStore(trial).draws()) == 1
    assert page.faults == []
