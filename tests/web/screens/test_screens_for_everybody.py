"""Every page from sowing to verdict: readable for everybody (axe-core), no sideways scrolling, targets large enough."""

from __future__ import annotations

import pytest
from django.test import Client

from .conftest import DESK, PHONE

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]

PAGES = (
    "",
    "plan/",
    "plan/question/",
    "plan/wishes/",
    "plan/money/",
    "plan/people/",
    "plan/entries/methods/1/",
    "plan/entries/methods/new/",
    "plan/versions/",
    "plan/versions/1/",
    "field/",
    "field/draw/",
    "field/walk/",
    "layout/",
    "layout/draw/",
    "sown/",
    "weights/",
    "records/",
    "records/loads/",
    "records/stand_counts/add/?n=2",
    "records/weighings/upload/",
    "sowing/",
    "sowing/as-sown/",
    "stand/",
    "stand/photo/",
    "season/",
    "season/fairness/",
    "season/walk/",
    "season/walk/score/",
    "season/border/",
    "harvest/",
    "verdict/",
    "verdict/adviser/",
)
# Links inside a sentence or a table's text are set in its line; everything else that is tapped has 44 px.
SMALL = """() => [...document.querySelectorAll('button, a.button, a.target, input, select, textarea, summary')]
  .filter((e) => e.type !== 'hidden' && e.offsetParent !== null)
  .map((e) => [e.outerHTML.slice(0, 100), e.closest('label') ? e.closest('label').getBoundingClientRect().height
    : e.getBoundingClientRect().height])
  .filter(([, height]) => height < 43.5)"""


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_pages_for_everybody(app, make_page, size):
    from axe_playwright_python.sync_playwright import Axe

    page, axe, found = make_page(size), Axe(), []
    for address in PAGES:
        answer = page.goto(f"{app}{address}")
        assert answer.status == 200, address
        wide = page.evaluate("document.documentElement.scrollWidth")
        found += [(address, "wider than the screen", wide)] if wide > size["width"] else []
        found += [(address, v["id"], v["nodes"][0]["html"][:160]) for v in axe.run(page).response["violations"]]
        found += [(address, "too small to tap", *small) for small in page.evaluate(SMALL)]
    assert found == []
    assert page.faults == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_by_day_and_by_night(app, make_page, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page, axe = make_page(), Axe()
    page.emulate_media(color_scheme=scheme)
    for address in ("harvest/", "verdict/", "records/stand_counts/add/"):
        page.goto(f"{app}{address}")
        assert axe.run(page, options={"runOnly": ["color-contrast"]}).response["violations"] == []


def test_the_fingerprint_fits_a_phone(live_server, new_trial, make_page, settings):
    """Whoever connects a phone may do it on another phone."""
    settings.NETWORK, settings.DOORSTEP = True, "http://192.168.0.2:8421/"
    settings.AUTHORITY_FINGERPRINT = ":".join(["A3"] * 32)
    person = Client()
    person.force_login(new_trial.farm.memberships.get().user)
    page, name = make_page(PHONE), settings.SESSION_COOKIE_NAME
    page.context.add_cookies([{"name": name, "value": person.cookies[name].value, "url": live_server.url}])
    page.goto(f"{live_server.url}/network/")
    assert "A3:A3" in page.locator("main").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_the_caption_of_a_stacked_table_has_the_whole_width(live_server, new_trial, make_page):
    assert new_trial.pk
    page = make_page(PHONE)
    page.goto(f"{live_server.url}/due/")
    assert page.locator("table.steps-table caption").bounding_box()["width"] > PHONE["width"] / 2
