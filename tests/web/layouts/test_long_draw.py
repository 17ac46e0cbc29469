"""A search or a draw that takes long: beside the page, with progress and stop, and nothing half done is ever stored."""

from __future__ import annotations

import threading
import time

import pytest

from evenground.adapters.demo.farm import FIELD_GEOJSON, TRIAL_TOML
from evenground.layout.laid_out import make_draw
from evenground.web import jobs
from evenground.web.layouts import draw_views, draw_words, drawing
from evenground.web.trials.services import make_trial
from evenground.web.trials.store import DatabaseStore
from tests import split_trial

LIMIT_S = 60.0


@pytest.fixture(autouse=True)
def nothing_under_way():
    """Rows of other tests had the same numbers; their work beside the page must not be found here."""
    jobs._JOBS.clear()


@pytest.fixture
def planned(farm, owner):
    """The demo's plan and field, nothing drawn."""
    trial = make_trial(farm=farm, name="Planned", season=2026, by=owner, plan_text=TRIAL_TOML)
    DatabaseStore(trial, owner).save_field(FIELD_GEOJSON)
    return trial


@pytest.fixture
def gate(monkeypatch):
    """A draw that waits until it is let go; requests wait a moment only."""
    opened = threading.Event()

    def slow(*args, **kwargs):
        assert opened.wait(LIMIT_S)
        return make_draw(*args, **kwargs)

    monkeypatch.setattr(drawing, "make_draw", slow)
    monkeypatch.setattr(draw_views, "PATIENCE_S", 0.05)
    yield opened
    opened.set()


def until(what, limit_s: float = LIMIT_S) -> None:
    end = time.monotonic() + limit_s
    while not what():
        assert time.monotonic() < end, "it did not end"
        time.sleep(0.02)


def search(browser, trial) -> str:
    """Search, and return the address below which the draw is."""
    address = f"/trials/{trial.slug}/layout/"
    browser.post(address + "search/")
    until(lambda: browser.get(address + "search/state.json").json()["state"] != "running")
    return address


def state(browser, address) -> str:
    return browser.get(address + "draw/state.json").json()["state"]


def stored(trial) -> int:
    return len(DatabaseStore(trial).draws())


def test_a_long_draw_shows_that_it_goes_on_and_is_stored_once(browser, planned, gate):
    address = search(browser, planned)
    page = browser.post(address + "draw/", follow=True).content.decode()
    assert "The draw is being made" in page
    assert "<progress" in page
    assert state(browser, address) == "running"
    assert "being made" in browser.post(address + "draw/keep/", follow=True).content.decode(), "asked too early"
    assert stored(planned) == 0
    gate.set()
    until(lambda: state(browser, address) == "done")
    assert stored(planned) == 0, "it is stored when the page asks for it, in a request of the person who draws"
    answer = browser.post(address + "draw/keep/")
    assert answer["Location"].endswith("/layout/?drawn=1")
    browser.post(address + "draw/keep/")
    assert stored(planned) == 1


def test_nothing_of_a_draw_is_told_before_it_is_stored(browser, planned, gate):
    address = search(browser, planned)
    browser.post(address + "draw/")
    gate.set()
    until(lambda: state(browser, address) == "done")
    assert browser.get(address + "draw/state.json").json() == {"state": "done"}
    assert 'class="order' not in browser.get(address + "draw/").content.decode()


def test_a_stopped_draw_leaves_nothing_and_can_be_begun_again(browser, planned, gate):
    address = search(browser, planned)
    browser.post(address + "draw/")
    page = browser.post(address + "draw/stop/", follow=True).content.decode()
    assert "Nothing was stored" in page
    gate.set()
    until(lambda: state(browser, address) in ("stopped", "none"))
    browser.post(address + "draw/keep/")
    assert stored(planned) == 0
    browser.post(address + "draw/")
    until(lambda: state(browser, address) != "running")
    browser.post(address + "draw/keep/")
    assert stored(planned) == 1


def test_a_draw_lost_with_the_program_is_drawn_anew(browser, planned, gate):
    """A restart forgets all work beside the pages; the page finds out and offers the draw again."""
    address = search(browser, planned)
    browser.post(address + "draw/")
    jobs._JOBS.clear()
    assert state(browser, address) == "none"
    said = browser.post(address + "draw/keep/", follow=True).content.decode()
    assert "nothing was stored" in said
    assert stored(planned) == 0


def test_a_plan_changed_while_it_is_drawn_is_said(browser, planned, owner, gate):
    address = search(browser, planned)
    browser.post(address + "draw/")
    DatabaseStore(planned, owner).change_plan({"layout.headland_m": 20.0})
    gate.set()
    until(lambda: state(browser, address) != "running")
    said = browser.post(address + "draw/keep/").content.decode()
    assert "the plan was changed while the draw was made" in said
    assert stored(planned) == 0


def test_a_second_long_draw_without_a_reason_is_not_even_begun(browser, planned, gate):
    gate.set()
    address = search(browser, planned)
    browser.post(address + "draw/")
    until(lambda: state(browser, address) in ("done", "none"))
    browser.post(address + "draw/keep/")
    said = browser.post(address + "draw/", {"reason": " "}, follow=True).content.decode()
    assert "A new draw needs a reason" in said
    assert stored(planned) == 1


def test_without_a_search_the_draw_begins_one_and_shows_it(browser, planned, gate):
    """As after a restart: the request does not wait for the search."""
    address = f"/trials/{planned.slug}/layout/"
    begun = time.monotonic()
    page = browser.get(address + "draw/").content.decode()
    took = time.monotonic() - begun
    assert "Looking for layouts" in page
    assert "search/state.json" in page
    assert "search/stop/" in page
    until(lambda: browser.get(address + "search/state.json").json()["state"] != "running")
    searching = time.monotonic() - begun
    assert took < searching
    assert "can be drawn once" in browser.get(address + "draw/").content.decode()


def test_a_search_that_fails_is_said_and_not_begun_again_for_ever(browser, planned, owner, gate):
    DatabaseStore(planned, owner).change_plan({"layout.headland_m": 190.0})
    address = search(browser, planned)
    first = jobs.latest(("layout", planned.pk))
    for _ in range(2):
        assert "headland" in browser.get(address + "draw/").content.decode()
        assert jobs.latest(("layout", planned.pk)) is first
    DatabaseStore(planned, owner).change_plan({"layout.headland_m": 18.0})
    browser.get(address + "draw/")
    assert jobs.latest(("layout", planned.pk)) is not first, "the plan was mended"


def test_an_old_failure_is_not_shown_for_a_mended_plan(browser, planned, owner):
    DatabaseStore(planned, owner).change_plan({"layout.headland_m": 190.0})
    address = search(browser, planned)
    assert "Nothing fits." in browser.get(address).content.decode()
    DatabaseStore(planned, owner).change_plan({"layout.headland_m": 18.0})
    assert "Nothing fits." not in browser.get(address).content.decode()


def test_work_is_taken_once():
    job = jobs.start(("take", 1), lambda _job: 7, about="plan 1")
    assert job.wait(LIMIT_S)
    assert (job.about, jobs.take(("take", 2))) == ("plan 1", None)
    assert jobs.take(("take", 1)) is job
    assert jobs.take(("take", 1)) is None


def test_running_work_is_not_taken():
    go = threading.Event()
    job = jobs.start(("take", 3), lambda _job: go.wait(LIMIT_S))
    assert not job.wait(0.01)
    assert jobs.take(("take", 3)) is None
    go.set()
    assert job.wait(LIMIT_S)


def test_the_drawn_page_says_it_plainly_and_keeps_terms_for_the_adviser(browser, demo_trial):
    page = browser.get(f"/trials/{demo_trial.slug}/layout/").content.decode()
    plain, _, adviser = page.partition("For the adviser: the terms of the draw")
    assert "by chance alone once in" in plain
    for term in ("possible p", "Seed", "seed", "squared places"):
        assert term not in plain.partition("<main")[2]
    assert "Smallest possible p:" in adviser
    assert "Seed of the draw:" in adviser


def test_a_draw_of_two_factors_says_both_by_name():
    """Once in how many orders: one over the smallest p of each factor's own test."""
    draw = split_trial.draw()
    said = draw_words.orders_said(draw)
    split = draw.split
    assert f"once in {round(1 / split.whole_smallest_p)} for the row pattern" in said
    assert f"once in {round(1 / split.within_smallest_p)} for the seed rate" in said
    kept = draw_words.kept_limits(draw)
    assert any(text.startswith("row pattern: ") for text in kept)
    assert any(text.startswith("seed rate: ") for text in kept)
    assert not any("_" in text for text in kept), "no name of the code"
    assert not any(why.startswith("dropped") for _name, why in draw_words.dropped_limits(draw))
    assert any("(row pattern)" in text for text in draw_words.draw_terms(draw))


def test_the_draw_page_says_beforehand_what_the_draw_will_keep_to(browser, planned):
    """The limits follow from blocks and ground, never from the seed: before and after the draw they are the same."""
    address = search(browser, planned)
    before = browser.get(address + "draw/").content.decode()
    browser.post(address + "draw/")
    until(lambda: state(browser, address) != "running")
    browser.post(address + "draw/keep/")
    (draw,) = DatabaseStore(planned).draws()
    kept, dropped = draw_words.kept_limits(draw), draw_words.dropped_limits(draw)
    assert kept
    for name in (*kept, *(name for name, _why in dropped)):
        assert name in before
