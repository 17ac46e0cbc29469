"""The crop walk: strips by number alone, scores stored all or none, then put side by side."""

from __future__ import annotations

import io
import re
from html import unescape

import pytest
from PIL import Image

from evenground.basis.observations import Scores
from evenground.season.score_list import score_list
from evenground.web.forms_from_records import new_id
from evenground.web.trials.models import TrialFile
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


def test_the_sheet_to_print(browser, page):
    assert 'href="crop-walk.pdf"' in browser.get(page).content.decode()
    answer = browser.get(f"{page}crop-walk.pdf")
    assert answer.content.startswith(b"%PDF")
    assert "crop-walk.pdf" in answer["Content-Disposition"]


def photographed(demo_trial) -> None:
    """Three strips with one photograph each, one of them lost, and a file nobody named."""
    picture = io.BytesIO()
    Image.new("RGB", (1200, 900), "green").save(picture, "JPEG")
    for name in ("a", "b", "private"):
        TrialFile.objects.create(trial=demo_trial, path=f"photos/{name}.jpg", content=picture.getvalue())
    rows = [Scores(id=f"ph{n}", time="2026-07-20T15:00", strips=(n,), photo=f"photos/{name}.jpg")
            for n, name in enumerate(("a", "b", "gone"), 1)]  # fmt: skip
    DatabaseStore(demo_trial).append_records(rows)


def test_photographs_are_shown_small_and_only_those_a_score_names(browser, page, demo_trial):
    photographed(demo_trial)
    shown = browser.get(page).content.decode()
    assert f'src="{page}photos/photos/a.jpg" alt="Photograph of strip 1 (' in shown
    answer = browser.get(f"{page}photos/photos/a.jpg")
    assert answer["Content-Type"] == "image/jpeg"
    assert Image.open(io.BytesIO(answer.content)).size == (480, 360)
    for name in ("photos/private.jpg", "photos/gone.jpg", "trial.toml", "../trial.toml"):
        assert browser.get(f"{page}photos/{name}").status_code == 404


def test_photographs_stand_in_the_report(browser, page, demo_trial):
    photographed(demo_trial)
    report = browser.get(f"/trials/{demo_trial.slug}/verdict/report.html").content.decode()
    assert report.count('src="data:image/jpeg;base64,') == 2
    assert "photos/gone.jpg" in report
    verdict = browser.get(f"/trials/{demo_trial.slug}/verdict/").content.decode()
    assert f'src="{page}photos/photos/b.jpg"' in verdict
