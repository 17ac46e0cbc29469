"""The crop walk: strips by number alone, scores stored all or none, then put side by side."""

from __future__ import annotations

import re
from html import unescape

import pytest

from evenground.season.score_list import score_list
from evenground.web.forms_from_records import new_id
from evenground.web.trials.store import DatabaseStore


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/season/walk/"


def sent(**scores: dict[str, str]) -> dict[str, str]:
    out = {"time": "2026-07-20T15:00", "who": "Neighbour", "hidden": "true"}
    for strip, values in scores.items():
        out |= {f"{strip}-{n}": v for n, v in {"id": new_id(), **values}.items()}
    return out


def test_the_list_hides_the_methods(browser, page, demo_trial):
    shown = browser.get(f"{page}score/")
    stored = DatabaseStore(demo_trial).load()
    spots = score_list(stored.draw, stored.records)
    assert re.findall(r'<th scope="row">(\d+)<', shown.content.decode()) == [str(s.strip) for s in spots]
    table = text(shown).split("In walking order")[1]
    assert not re.search(r"\b[AB]\b", table)
    assert all(m.name not in text(shown) for m in stored.plan.methods)
    assert "boar" in text(shown)


def test_scores_are_stored_for_the_strips_that_were_looked_at(browser, page, demo_trial):
    values = {"strip1": {"leaf_rolling": "6", "ground_cover_percent": "72,5"}, "strip2": {"leaf_rolling": "3"}}
    answer = browser.post(f"{page}score/", sent(**values, strip3={}))
    assert answer.status_code == 302
    scores = DatabaseStore(demo_trial).records().scores
    assert [(s.strip, s.leaf_rolling, s.ground_cover_percent, s.hidden, s.who) for s in scores] == [
        (1, 6, 72.5, True, "Neighbour"),
        (2, 3, None, True, "Neighbour"),
    ]
    assert "Leaf rolling" in text(browser.get(page))


def test_one_wrong_score_stores_none_and_stays(browser, page, demo_trial):
    answer = browser.post(f"{page}score/", sent(strip1={"leaf_rolling": "6"}, strip2={"leaf_rolling": "11"}))
    assert answer.status_code == 422
    assert "1 to 9" in text(answer)
    assert 'value="11"' in answer.content.decode()
    assert DatabaseStore(demo_trial).records().scores == ()


def test_nothing_scored(browser, page):
    assert browser.post(f"{page}score/", sent()).status_code == 422
    assert "Nothing was written down" in text(browser.get(page))
