"""The verdict: the report's own words in their order, pictures with numbers, what is missing, paper."""

from __future__ import annotations

import re
import threading
import time
from datetime import date
from html import unescape

import pytest

from evenground.decide.verdict import verdict
from evenground.report.front_page import QUESTIONS
from evenground.web import jobs
from evenground.web.memory import Kept
from evenground.web.trials.models import StoredRecord
from evenground.web.trials.store import DatabaseStore
from evenground.web.verdicts import computed as memory
from evenground.web.verdicts import paper


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/verdict/"


def test_six_sentences_in_their_order(browser, page, demo_trial):
    shown = text(browser.get(page))
    found = verdict(DatabaseStore(demo_trial).load(), today=date(2026, 11, 1), version="test")
    assert found.headline in shown
    places = [shown.index(f" {question} ") for question in QUESTIONS]
    assert places == sorted(places)
    for sentence in found.main.sentences:
        words = re.sub(r"\s+", " ", sentence).removeprefix("Weakest point: ").removeprefix("Next: ")
        assert words[1:].rstrip(".") in shown
    assert "Invented trial" in shown


@pytest.mark.parametrize("forbidden", ["significant", "proven", "no difference"])
def test_words_nobody_should_read(browser, page, forbidden):
    for address in (page, f"{page}adviser/"):
        assert forbidden not in text(browser.get(address)).lower()


def test_no_p_value_and_no_curve_on_the_farmers_page(browser, page):
    shown = browser.get(page).content.decode()
    assert "belief-" not in shown
    assert not re.search(r"\bp(-value)?\s*[=<]", text(browser.get(page)))
    assert "belief-B.svg" in browser.get(f"{page}adviser/").content.decode()


def test_every_picture_is_there_with_words_and_numbers(browser, page):
    for address in (page, f"{page}adviser/"):
        shown = browser.get(address).content.decode()
        pictures = re.findall(r'<img src="([^"]+\.svg)" alt="([^"]*)"', shown)
        assert pictures
        assert shown.count('<details class="numbers">') == len(pictures)
        for source, alt in pictures:
            assert len(alt) > 40
            answer = browser.get(source)
            assert answer.content.lstrip().startswith(b"<svg")
    assert browser.get(f"{page}pictures/none.svg").status_code == 404


def test_nothing_of_the_report_is_lost_between_the_two_pages(browser, page, demo_trial):
    from evenground.report.build import build
    from evenground.report.document import Heading
    from evenground.report.document import Table as DocumentTable

    stored = DatabaseStore(demo_trial).load()
    document = build(verdict(stored, today=date(2026, 11, 1), version="test"), stored.field)
    both = text(browser.get(page)) + text(browser.get(f"{page}adviser/"))
    for part in document.parts:
        if isinstance(part, Heading):
            assert " ".join(part.text.split()) in both
        if isinstance(part, DocumentTable):
            assert " ".join(part.caption.split()) in both


def test_what_it_rests_on_can_be_changed(browser, page, demo_trial):
    shown = browser.get(page).content.decode()
    for part in ("money", "herd", "prior"):
        address = f"/trials/{demo_trial.slug}/plan/{part}/"
        assert f'href="{address}"' in shown
        assert browser.get(address).status_code == 200


def test_computed_once_until_something_changes(browser, page, demo_trial, monkeypatch):
    calls = []
    real = memory.verdict
    monkeypatch.setattr(memory, "verdict", lambda *a, **k: calls.append(1) or real(*a, **k))
    memory.KEPT.__init__(memory.MOST_KEPT)
    for address in (page, f"{page}adviser/", f"{page}pictures/strip-map.svg", page):
        browser.get(address)
    assert len(calls) == 1
    DatabaseStore(demo_trial).change_plan({"money.area_ha": 31.0})
    browser.get(page)
    assert len(calls) == 2


def test_the_memory_is_bounded():
    kept = Kept(3)
    for k in range(10):
        assert kept.get((k,), lambda k=k: k * k) == k * k
    assert len(kept) == 3
    assert kept.get((9,), lambda: -1) == 81
    assert kept.get((0,), lambda: -1) == -1


def test_many_who_ask_at_once_have_it_made_once():
    kept, made = Kept(3), []

    def make():
        time.sleep(0.1)
        made.append(1)
        return 7

    threads = [threading.Thread(target=lambda: kept.get(("a",), make)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert made == [1]


def test_what_fails_is_tried_again():
    kept = Kept(3)

    def fail():
        raise ValueError("not this time")

    with pytest.raises(ValueError, match="not this time"):
        kept.get(("a",), fail)
    assert ("a",) not in kept
    assert kept.get(("a",), lambda: 1) == 1


def test_nothing_weighed_yet_says_what_is_missing(browser, page, demo_trial):
    for kind in ("loads", "weighings"):
        StoredRecord.objects.filter(trial=demo_trial, kind=kind).delete()
    shown = text(browser.get(page))
    assert "No verdict yet" in shown
    assert "no load yet" in shown
    assert "To the harvest" in shown


def test_before_the_draw(browser, new_trial):
    shown = text(browser.get(f"/trials/{new_trial.slug}/verdict/"))
    assert "First the layout" in shown


def test_never_randomised_leads_to_the_border(browser, new_trial):
    new_trial.door = "sown"
    new_trial.save()
    answer = browser.get(f"/trials/{new_trial.slug}/verdict/")
    assert "never drawn at random" in text(answer)
    assert "season/border/" in answer.content.decode()


def test_report_as_one_page_loads_nothing(browser, page):
    answer = browser.get(f"{page}report.html")
    assert "sandbox" in answer["Content-Security-Policy"]
    shown = answer.content.decode()
    assert "<script" not in shown
    assert not re.search(r'(src|href)="(https?:)?//', shown)


def over(job: jobs.Job) -> None:
    end = time.monotonic() + 60
    while job.state == "running" and time.monotonic() < end:
        time.sleep(0.05)


def test_report_on_paper(browser, page, owner, demo_trial):
    answer = browser.get(f"{page}report.pdf")
    if answer.status_code == 302:
        over(jobs.latest(paper.owner_of(demo_trial.pk, owner.pk)))
        answer = browser.get(f"{answer.url}?take")
    assert answer.content.startswith(b"%PDF")


@pytest.fixture
def at_work(browser, page, owner, demo_trial, monkeypatch):
    """A report that is being set: it waits after its first picture until it is let go on."""
    monkeypatch.setattr("evenground.web.verdicts.views.SOON_S", 0.0)
    memory.KEPT.__init__(memory.MOST_KEPT)
    go_on, real = threading.Event(), memory.draw_figure
    monkeypatch.setattr(memory, "draw_figure", lambda figure: go_on.wait(30) and real(figure))
    answer = browser.get(f"{page}report.pdf")
    yield answer.url, jobs.latest(paper.owner_of(demo_trial.pk, owner.pk)), go_on
    go_on.set()
    memory.KEPT.__init__(memory.MOST_KEPT)


def test_report_on_paper_shows_how_far_it_is_and_is_handed_over(browser, at_work):
    address, job, go_on = at_work
    assert "is being set" in text(browser.get(address))
    assert "0 / 7" in text(browser.get(address))
    go_on.set()
    over(job)
    assert "is ready" in text(browser.get(address))
    assert browser.get(f"{address}?take").content.startswith(b"%PDF")


def test_report_on_paper_can_be_stopped(browser, page, at_work):
    address, job, go_on = at_work
    assert browser.post(address).url == page
    go_on.set()
    over(job)
    assert job.state == "stopped"
    assert "was stopped" in text(browser.get(address))


def test_a_report_of_another_trial_is_not_handed_out(browser, new_trial, at_work):
    _address, job, go_on = at_work
    go_on.set()
    over(job)
    other = browser.get(f"/trials/{new_trial.slug}/verdict/report/{job.token}/?take")
    assert other.status_code == 302


@pytest.mark.parametrize(("form", "start"), [("sign", b"%PDF"), ("pack", b"PK"), ("ics", b"BEGIN")])
def test_papers(browser, page, form, start):
    assert browser.get(f"{page}papers/{form}/").content.startswith(start)


def test_no_other_papers(browser, page):
    assert browser.get(f"{page}papers/gpkg/").status_code == 404
