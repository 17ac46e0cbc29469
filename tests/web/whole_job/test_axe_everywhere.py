"""Every page for everybody: axe-core, by day and by night, at desk and phone size, by keyboard, large enough to tap.

The colours hang on day and night, the places on the size: bright at the desk and dark on the phone sees all of both.
"""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from .every_page import NO_PAGE_OF_ITS_OWN, pages_of

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]

DESK, PHONE = {"width": 1280, "height": 900}, {"width": 390, "height": 844}
GRAVE = ("serious", "critical")
FEWEST_PAGES = 70  # as many as there were when this was written; fewer would mean that the walk has lost some
NEVER_SAID = re.compile(r"\bsignifican\w*|\bproven\b|\bno difference\b", re.IGNORECASE)
FORM = """() => {
  const away = (e) => e.closest('.hidden') || e.matches('.skip');
  const seen = (e) => e.type !== 'hidden' && e.checkVisibility() && !away(e);
  const tall = (e) => (e.closest('label') ?? e).getBoundingClientRect().height;
  const tapped = 'button, a.button, a.target, input, select, textarea, summary';
  return {
    headings: document.querySelectorAll('h1').length,
    language: document.documentElement.lang,
    mains: document.querySelectorAll('main').length,
    title: document.title,
    wide: document.documentElement.scrollWidth,
    small: [...document.querySelectorAll(tapped)].filter((e) => seen(e) && tall(e) < 43.5)
      .map((e) => `${e.outerHTML.slice(0, 90)} ${tall(e).toFixed(0)} px`),
    words: document.body.innerText,
  };
}"""
# What has the keyboard: where it stands on the screen, and whether a line round it shows that.
FOCUS = """() => {
  const e = document.activeElement, s = getComputedStyle(e), b = e.getBoundingClientRect();
  return { name: e.tagName, ring: s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2,
    shown: b.width > 0 && b.right > 0 && b.bottom > 0 && b.left < innerWidth };
}"""
TO_TAP_SMALLER = (
    # A tick or a dot inside a line of text: the whole line can be tapped, and its label is measured with it.
    'type="checkbox"',
    'type="radio"',
)


class Findings(dict[str, list[str]]):
    """What was found wrong, by kind."""

    def add(self, kind: str, *what: str) -> None:
        if what:
            self.setdefault(kind, []).extend(what)

    def lines(self) -> list[str]:
        return [f"{kind}: {text}" for kind, texts in self.items() for text in texts]


def graver(axe: Axe, page: Page) -> list[str]:
    found = axe.run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found if v["impact"] in GRAVE]


def by_keyboard(page: Page) -> list[str]:
    """Tab twice: both stops must be on the screen and show that they have the keyboard."""
    wrong = []
    for stop in (1, 2):
        page.keyboard.press("Tab")
        focus = page.evaluate(FOCUS)
        if focus["name"] == "BODY" or not focus["ring"] or not focus["shown"]:
            wrong.append(f"stop {stop}: {focus}")
    return wrong


def look_at(page: Page, axe: Axe, address: str, findings: Findings, *, controls: bool = True) -> None:
    def say(kind: str, texts: list[str]) -> None:
        findings.add(kind, *(f"{address} {t}" for t in texts))

    say("axe, desk, bright", graver(axe, page))
    say("keyboard", by_keyboard(page) if controls else [])
    page.set_viewport_size(PHONE)
    page.emulate_media(color_scheme="dark")
    say("axe, phone, dark", graver(axe, page))
    page.emulate_media(color_scheme="light")
    form = page.evaluate(FORM)
    page.set_viewport_size(DESK)
    if form["headings"] != 1:
        say("headings", [f"{form['headings']} h1"])
    if not form["language"] or form["mains"] != 1 or not form["title"]:
        say("frame", [f"lang {form['language']!r}, {form['mains']} main, title {form['title']!r}"])
    if form["wide"] > PHONE["width"]:
        say("wider than the phone", [f"{form['wide']} px"])
    say("too small to tap", [s for s in form["small"] if not any(t in s for t in TO_TAP_SMALLER)])
    say("never said", NEVER_SAID.findall(form["words"]))


@pytest.fixture
def findings() -> Findings:
    return Findings()


@pytest.fixture
def page(chrome, findings):
    context = chrome.new_context(viewport=DESK, locale="en-GB", reduced_motion="reduce", color_scheme="light")
    context.set_default_timeout(30_000)
    page = context.new_page()
    page.on("pageerror", lambda e: findings.add("script", f"{page.url}: {e}"))
    page.on("console", lambda m: findings.add("console", f"{page.url}: {m.text}") if m.type == "error" else None)
    yield page
    context.close()


def test_every_page(page, findings, live_server, demo_trial, browser):
    axe, seen = Axe(), set()
    for address in pages_of(demo_trial, browser):
        page.goto(f"{live_server.url}{address}", wait_until="load")
        look_at(page, axe, address, findings)
        seen.add(address)
    assert findings.lines() == []
    assert len(seen) >= FEWEST_PAGES


def test_the_report_as_one_page(page, findings, demo_trial, browser):
    """The browser lets no script run in the report, axe-core neither: its text is looked at on an empty page."""
    page.set_content(browser.get(f"/trials/{demo_trial.slug}/verdict/report.html").content.decode())
    look_at(page, Axe(), "report.html", findings, controls=False)
    assert findings.lines() == []


def test_a_poor_page_is_found_out(page, findings):
    """The checks above are able to fail: one page with every fault they look for."""
    page.set_content(
        '<title>Poor</title><h1>One</h1><h1>Two</h1><p style="color:#bbb;background:#ccc;width:600px">A proven gain</p>'
        '<a href="#" style="outline:none">first</a><button style="height:20px;padding:0"></button><input>'
    )
    look_at(page, Axe(), "poor", findings)
    kinds = {"axe, desk, bright", "axe, phone, dark", "keyboard", "headings", "frame", "wider than the phone"}
    assert set(findings) == {*kinds, "too small to tap", "never said"}
    assert any("color-contrast" in text for text in findings["axe, desk, bright"])


def test_what_is_left_out_has_an_address():
    from tests.web.accounts.test_permission_matrix import ADDRESSES

    assert set(NO_PAGE_OF_ITS_OWN) <= {name for name, _ in ADDRESSES}
