"""The map with a real browser: an outline tapped corner by corner, an obstacle in it, a walk with a faked receiver."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect
from shapely.geometry import Point

from evenground.basis.field import LocalPlane, geodesic_area_m2
from evenground.web.trials.store import DatabaseStore

from .conftest import PHONE

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]
PLANE = LocalPlane(10.0, 52.0)


def opened(page: Page, live_server, trial, path: str) -> Page:
    """Open a page of a trial's field; anything fetched from elsewhere is a fault."""

    def own(url: str) -> None:
        if not url.startswith((live_server.url, "data:", "blob:")):
            page.faults.append(f"{url} is not on this machine")

    page.on("request", lambda r: own(r.url))
    page.goto(f"{live_server.url}/trials/{trial.slug}/field/{path}")
    return page


def tap(page: Page, *corners: tuple[int, int]) -> None:
    box = page.locator("#map").bounding_box()
    for x, y in corners:
        page.mouse.move(box["x"] + x, box["y"] + y)
        page.mouse.click(box["x"] + x, box["y"] + y)
        page.wait_for_timeout(350)  # two taps close together would be one double tap


def test_an_outline_and_an_obstacle_are_drawn_and_stored(make_page, live_server, new_trial):
    page = opened(make_page(), live_server, new_trial, "draw/")
    expect(page.locator("#store")).to_be_disabled()
    page.evaluate("evengroundMap.setView([52.0015, 10.003], 16, { animate: false })")
    page.get_by_role("button", name="Draw an area").click()
    tap(page, (300, 100), (600, 100), (600, 300), (300, 300))
    page.get_by_role("button", name="Finish").click()
    page.get_by_label("What are you drawing?").select_option("obstacle")
    page.get_by_role("button", name="Draw an area").click()
    tap(page, (400, 150), (440, 150), (440, 190), (400, 190), (350, 250))
    page.get_by_role("button", name="Take the last corner back").click()
    page.get_by_role("button", name="Finish").click()
    expect(page.locator("#list")).to_contain_text("2. Obstacle")
    metres = page.evaluate(
        "(() => { const a = evengroundMap.containerPointToLatLng([300, 100]);"
        " return evengroundMap.distance(a, evengroundMap.containerPointToLatLng([600, 100])) })()"
    )
    page.get_by_role("button", name="Store the field").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("The field:")
    field = DatabaseStore(new_trial).load().field
    # Source: 300 by 200 pixels at the scale the map itself gives; Leaflet measures on a sphere, 0.3 % off.
    assert geodesic_area_m2(field.boundary) == pytest.approx(metres * metres * 200 / 300, rel=0.01)
    assert geodesic_area_m2(field.obstacles) == pytest.approx((metres / 300 * 40) ** 2, rel=0.02)
    assert page.faults == []


def test_a_corner_is_moved_and_an_obstacle_taken_out(make_page, live_server, demo_trial):
    before = DatabaseStore(demo_trial).load().field
    page = opened(make_page(), live_server, demo_trial, "draw/")
    page.get_by_role("button", name="Remove: 2. Obstacle").click()
    page.get_by_role("button", name="Change its corners: 1. Outline of the field").click()
    page.wait_for_timeout(400)
    corner = page.locator(".leaflet-editing-icon").first.bounding_box()
    page.mouse.move(corner["x"] + 5, corner["y"] + 5)
    page.mouse.down()
    page.mouse.move(corner["x"] + 25, corner["y"] + 5, steps=5)
    page.mouse.up()
    page.get_by_role("button", name="Store the field").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("The field:")
    after = DatabaseStore(demo_trial).load().field
    assert after.obstacles.is_empty
    assert not after.boundary.equals(before.boundary)
    assert abs(geodesic_area_m2(after.boundary) / geodesic_area_m2(before.boundary) - 1) < 0.1
    assert page.faults == []


def test_what_was_not_touched_keeps_every_digit(make_page, live_server, demo_trial):
    before = DatabaseStore(demo_trial).load().field
    page = opened(make_page(), live_server, demo_trial, "draw/")
    page.get_by_role("button", name="Remove: 2. Obstacle").click()
    page.get_by_role("button", name="Store the field").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("The field:")
    assert DatabaseStore(demo_trial).load().field.boundary == before.boundary
    assert page.faults == []


def test_a_walk_round_the_field(make_page, live_server, new_trial):
    """Source: a square of 100 m walked with a receiver that is right; 1 ha."""
    page = opened(make_page(PHONE), live_server, new_trial, "walk/")
    page.context.grant_permissions(["geolocation"])
    corners = [(0, 0), (50, 0), (100, 0), (100, 50), (100, 100), (50, 100), (0, 100), (0, 50)]
    for i, at in enumerate(corners):
        place = PLANE.to_degrees(Point(at))
        page.context.set_geolocation({"longitude": place.x, "latitude": place.y, "accuracy": 4})
        if i == 0:
            page.get_by_role("button", name="Start").click()
        expect(page.locator("#count")).to_have_text(str(i + 1))
    expect(page.locator("#length")).to_have_text(re.compile("^(349|350) m$"))  # on a sphere, for the eye only
    page.reload()
    expect(page.locator("#count")).to_have_text("8")  # nothing is lost
    page.get_by_role("button", name="I am back").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("As walked: 1.00 ha")
    page.get_by_role("button", name="Store this outline").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The field: 1.00 ha")
    assert geodesic_area_m2(DatabaseStore(new_trial).load().field.boundary) == pytest.approx(10_000.0, rel=1e-3)
    opened(page, live_server, new_trial, "walk/")
    expect(page.locator("#count")).to_have_text("0")  # what the farm has, the next walk does not begin with
    assert page.faults == []
