"""The verdict at desk size in a real browser: the sentences first, the pictures drawn, the adviser's page behind."""

from __future__ import annotations

import pytest

from evenground.report.front_page import QUESTIONS

pytestmark = [pytest.mark.needs_chromium, pytest.mark.django_db(transaction=True)]


def test_sentences_pictures_numbers_and_the_page_behind(app, make_page):
    page = make_page()
    page.goto(f"{app}verdict/")
    terms = page.locator("dl.answers").first.locator("dt").all_inner_texts()
    assert tuple(terms) == QUESTIONS
    place = page.locator("dl.answers").first.bounding_box()
    assert place["y"] + place["height"] < 900  # all six sentences on the first screen
    page.wait_for_load_state("networkidle")
    widths = page.evaluate("[...document.querySelectorAll('figure img')].map((i) => i.naturalWidth)")
    assert len(widths) >= 3
    assert all(width > 100 for width in widths)
    numbers = page.locator("details.numbers").first
    assert not numbers.locator("table").is_visible()
    numbers.locator("summary").click()
    assert numbers.locator("tbody tr").count() == 20
    page.click("text=For the adviser")
    page.wait_for_url("**/verdict/adviser/")
    assert page.locator("h2", has_text="For the adviser").is_visible()
    assert page.faults == []


def test_the_report_comes_as_a_file(app, make_page):
    page = make_page()
    page.goto(f"{app}verdict/")
    with page.expect_download(timeout=60_000) as coming:
        page.click("text=Report (PDF)")
        if "/verdict/report/" in page.url:
            page.click("text=Report (PDF)", timeout=60_000)
    path = coming.value.path()
    assert path.read_bytes().startswith(b"%PDF")
