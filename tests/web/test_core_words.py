"""Sentences of the core on the pages of the demo trial: no names of keys, files or commands, one way to write a day."""

from __future__ import annotations

import html
import re

import pytest

from evenground.report.for_readers import FILES, is_key
from evenground.web.core_words import core_words

PAGES = (
    *("", "plan/", "plan/wishes/", "plan/prior/", "layout/", "sowing/", "stand/", "season/", "season/fairness/"),
    *("season/border/", "season/walk/", "harvest/", "verdict/", "verdict/adviser/", "records/weighings/"),
)


def read_on(page: str) -> str:
    """What a person reads on a page: no tags, no scripts, no values of fields."""
    bare = re.sub(r"(?s)<(script|style|textarea|option|summary)\b.*?</\1>", " ", page)
    return html.unescape(re.sub(r"<[^>]+>", " ", bare))


@pytest.mark.django_db
@pytest.mark.parametrize("page", PAGES)
def test_no_names_that_only_files_know(browser, demo_trial, page):
    text = read_on(browser.get(f"/trials/{demo_trial.slug}/{page}").content.decode())
    assert [w for w in re.findall(r"[a-z][a-z0-9]*(?:[_.][a-z0-9]+)+", text) if is_key(w)] == []
    assert re.findall(rf"\b{FILES}", text) == []
    assert re.findall(r"evenground (?:layout|stand|walk|season|harvest|verdict)\b", text) == []
    assert re.findall(r"\b20\d\d-\d\d-\d\d", text) == []
    assert re.findall(r"\d,\d{3}\b|[ap]\.m\.", re.sub(r"1,234\.5|1.234,5", "", text)) == []
    assert re.findall(r"demo-[a-z]+-\d+", text) == []


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("gross_kg, tare_kg, both, or slip_net_kg", "“Loaded”, “Empty”, both, or “Printed net”"),
        ("layout.strip_error_percent = 4.2", "“Neighbouring strips sown alike differ by” = 4.2"),
        ("the id of a load in loads", "the id of a load in loads"),
        ("my_own words", "my_own words"),
    ],
)
def test_names_get_the_label_of_their_field(said, shown):
    assert core_words(said) == shown
