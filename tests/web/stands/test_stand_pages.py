"""The stand: counts that are enough, plants, row units, spacing, depth, growing space, sheets."""

from __future__ import annotations

import re
from html import unescape

import pytest

from evenground.decide.stand_outcomes import stand_compared
from evenground.stand.summary import stand_summary
from evenground.web.numbers import number, signed, span
from evenground.web.trials.store import DatabaseStore


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/stand/"


def test_the_page_says_what_the_core_says(browser, page, demo_trial):
    shown = text(browser.get(page))
    stored = DatabaseStore(demo_trial).load()
    found = stand_summary(stored.plan, stored.draw, stored.records)
    one = found.counts_needed[0]
    assert f"takes {one.counts} counts of {one.count_length_m:.1f} m of row in each strip" in shown
    for strip in found.stand.strips:
        assert f" {strip.strip} {strip.block} {strip.method} {strip.plants_per_m2:.1f} " in shown
    method = found.method_spacings[0]
    assert f"{100 * method.quality_of_feed:.1f} {100 * method.misses:.1f} {100 * method.multiples:.1f}" in shown
    assert all(word in shown for word in ("Spaced right", "Misses", "Doubles", "ISO 7256-1"))


def test_before_the_draw_the_page_says_what_is_missing(browser, new_trial):
    answer = browser.get(f"/trials/{new_trial.slug}/stand/")
    assert answer.status_code == 200
    assert "not drawn yet" in text(answer)


def test_the_picture_is_a_file_of_its_own_with_words_and_numbers(browser, page):
    shown = browser.get(page).content.decode()
    alt = re.search(r'<img src="space.svg" alt="([^"]+)"', shown).group(1)
    assert "nearest plant" in alt
    picture = browser.get(f"{page}space.svg")
    assert picture["Content-Type"].startswith("image/svg+xml")
    assert picture.content.lstrip().startswith(b"<svg")
    assert "sandbox" in picture["Content-Security-Policy"]


def test_the_count_sheet(browser, page):
    answer = browser.get(f"{page}count-sheet.pdf")
    assert answer.content.startswith(b"%PDF")
    assert "count-sheet.pdf" in answer["Content-Disposition"]


def test_numbers_follow_the_language(browser, page, demo_trial):
    german = text(browser.get(page, HTTP_ACCEPT_LANGUAGE="de"))
    assert re.search(r"\d,\d", german)


def test_methods_are_held_together_and_the_measured_room_is_shown(browser, page, demo_trial):
    shown = text(browser.get(page))
    stored = DatabaseStore(demo_trial).load()
    found = stand_summary(stored.plan, stored.draw, stored.records)
    for one in stand_compared(found, stored.plan, stored.draw):
        assert (
            f"{one.outcome}, {one.unit.replace('m2', 'm²')} {signed(one.difference, 2)} {span(one.interval)}" in shown
        )
    assert "B against A" in shown
    assert "The strip is the unit" in shown
    room = next(s for s in found.spacings if s.space is not None)
    assert f" {room.strip} {room.method} {room.space.plants} {100 * room.space.nearest_m:.1f} " in shown
    twin = next(t for s in found.spacings for t in s.staggers)
    assert twin.words in shown
    assert number(twin.mean_phase, 2) in shown
