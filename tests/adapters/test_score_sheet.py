"""The sheet of a crop walk: every strip has boxes in walking order, no method is named, nothing lost stands on it."""

import io

import pytest
from pypdf import PdfReader
from tests import small_trial as small

from evenground.adapters.score_sheet import BOXES, score_content, score_sheet
from evenground.basis.observations import Records

PLAN, DRAW = small.plan(), small.draw()


def said(page) -> str:
    return " ".join(page.extract_text().split())


@pytest.fixture(scope="module")
def pages():
    return PdfReader(io.BytesIO(score_sheet(PLAN, DRAW, Records()))).pages


def test_every_strip_is_on_it_once(pages):
    words = " ".join(said(p) for p in pages)
    ways = words.count("walk up") + words.count("walk down")
    assert ways == len(DRAW.strips)
    assert all(str(s.strip) in words.split() for s in DRAW.strips)


def test_everything_that_is_scored_has_a_box_on_every_page(pages):
    for page in pages:
        text = said(page)
        assert all(name in text for name, _ in BOXES if name != "picture, note")
        assert "1 to 9" in text


def test_the_method_is_hidden(pages):
    text = " ".join(said(p) for p in pages)
    assert not any(m.name in text for m in PLAN.methods)
    assert not {m.letter for m in PLAN.methods} & set(text.split())
    assert "knew the numbers only" in text


def test_the_caution_stands_on_every_page(pages):
    assert all("Local rules go first" in said(p) for p in pages)


def test_strips_are_walked_up_and_down_and_a_lost_one_is_left_out():
    records = Records(events=(small.event("2", "strip_lost"),))
    rows = score_content(PLAN, DRAW, records)["strips"]
    assert [r["strip"] for r in rows[:3]] == ["1", "3", "4"]
    assert [r["way"] for r in rows[:3]] == ["walk up", "walk down", "walk up"]
    assert len(rows) == len(DRAW.strips) - 1


def test_the_same_sheet_each_time():
    assert score_sheet(PLAN, DRAW, Records()) == score_sheet(PLAN, DRAW, Records())
