"""The layout pages: questions, search with stop, the draw that cannot be repeated until one likes it, exports."""

from __future__ import annotations

import html
import io
import time
import zipfile
from xml.etree import ElementTree

import pytest

from evenground.adapters.demo.farm import FIELD_GEOJSON, TRIAL_TOML
from evenground.adapters.hand_over import FORMATS
from evenground.web import jobs
from evenground.web.trials.services import make_trial
from evenground.web.trials.store import DatabaseStore


@pytest.fixture
def planned(farm, owner):
    """The demo's plan and field, nothing drawn."""
    trial = make_trial(farm=farm, name="Planned", season=2026, by=owner, plan_text=TRIAL_TOML)
    DatabaseStore(trial, owner).save_field(FIELD_GEOJSON)
    return trial


def wait(browser, trial, limit_s: float = 30.0) -> None:
    end = time.monotonic() + limit_s
    while time.monotonic() < end:
        if browser.get(f"/trials/{trial.slug}/layout/search/state.json").json()["state"] != "running":
            return
        time.sleep(0.05)
    raise AssertionError("the search did not end")


def searched(browser, trial) -> str:
    """Search for layouts and return the address of the draw."""
    browser.post(f"/trials/{trial.slug}/layout/search/")
    wait(browser, trial)
    return f"/trials/{trial.slug}/layout/draw/"


def draws(trial):
    return DatabaseStore(trial).draws()


def test_without_a_field_it_says_what_is_missing(browser, new_trial):
    page = browser.get(f"/trials/{new_trial.slug}/layout/").content.decode()
    assert "outline of the field is missing" in page
    assert f"/trials/{new_trial.slug}/field/" in page


def test_the_search_shows_layouts_with_what_each_gives_and_takes(browser, planned):
    address = f"/trials/{planned.slug}/layout/"
    assert browser.post(address + "search/").status_code == 302
    wait(browser, planned)
    page = browser.get(address).content.decode()
    for words in ("The trial can see", "Weighings", "The harvest chain waits", "Share of the field", "halves"):
        assert words in page
    assert not draws(planned), "looking draws nothing"


def test_a_search_can_be_stopped(browser, planned):
    address = f"/trials/{planned.slug}/layout/"
    browser.post(address + "search/")
    browser.post(address + "search/stop/")
    wait(browser, planned)
    state = browser.get(address + "search/state.json").json()["state"]
    assert state in ("stopped", "done")


def test_a_draw_is_stored_and_the_next_needs_a_reason(browser, planned):
    address = searched(browser, planned)
    assert "can be drawn once" in browser.get(address).content.decode()
    browser.post(address)
    first = draws(planned)
    assert len(first) == 1
    browser.post(address)
    browser.post(address, {"reason": "   "})
    assert draws(planned) == first, "a second draw without a reason changes nothing"
    browser.post(address, {"reason": "the new planner has another width"})
    both = draws(planned)
    assert both[0] == first[0]
    assert both[1].reason == "the new planner has another width"
    page = browser.get(f"/trials/{planned.slug}/layout/").content.decode()
    assert "Earlier draws" in page


def test_lost_passes_and_another_machine_are_said_on_the_drawn_page(browser, planned, owner):
    """The planter comes late (fewer passes), or another one comes that would drive into the next strip."""
    browser.post(searched(browser, planned))
    address = f"/trials/{planned.slug}/layout/"
    page = browser.get(address).content.decode()
    assert "If the new machine sows fewer passes" in page
    assert "blocks, can see" in page
    assert "does not fit the strips any more" not in page
    new = next(m for m in DatabaseStore(planned).load().plan.methods if not m.baseline).machine
    plan = DatabaseStore(planned).load().plan
    k = [m.id for m in plan.machines].index(new)
    DatabaseStore(planned, owner).change_plan({f"machines[{k}].rows": plan.machines[k].rows + 2})
    page = html.unescape(browser.get(address).content.decode())
    assert "does not fit the strips any more" in page
    assert "not whole passes" in page
    refused = html.unescape(browser.get(address + "hand-over/pack/").content.decode())
    assert "not whole passes" in refused


def test_draws_differ_from_trial_to_trial(browser, farm, owner):
    """The seed comes from the machine; equal orders in eight draws of many hundred orders would be a fixed seed."""
    orders = set()
    text = TRIAL_TOML.replace("\nseed = ", "\n# seed = ")
    for i in range(8):
        trial = make_trial(farm=farm, name=f"T{i}", season=2026, by=owner, plan_text=text)
        DatabaseStore(trial, owner).save_field(FIELD_GEOJSON)
        browser.post(searched(browser, trial))
        orders.add("".join(s.method for s in draws(trial)[0].strips))
    assert len(orders) > 1


def test_history_takes_none_dont_know_and_a_direction(browser, planned):
    address = f"/trials/{planned.slug}/layout/history/"
    browser.post(address, {"slurry": "none", "drains": "don't know", "ploughing": "direction", "ploughing-deg": "92,5"})
    said = DatabaseStore(planned).plan().history
    assert (said.slurry, said.drains, said.ploughing) == ("none", "don't know", 92.5)
    page = browser.post(address, {"slurry": "direction", "slurry-deg": "north"}, follow=True).content.decode()
    assert "history.slurry" in page
    assert DatabaseStore(planned).plan().history.slurry == "none"


def test_questions_of_the_ground_come_one_by_one(browser, new_trial, owner):
    store = DatabaseStore(new_trial, owner)
    store.save_field(FIELD_GEOJSON)
    address, asked = f"/trials/{new_trial.slug}/layout/", []
    for answer in ("none", "don't know") * 5:
        page = browser.get(address).content.decode()
        kind = page.split('class="ask"')[1].split('<button name="')[1].split('"')[0]
        asked.append(kind)
        browser.post(address + "history/", {kind: answer, f"{kind}-deg": ""})
    assert len(set(asked)) == 10, "each is asked once"
    assert 'class="ask"' not in browser.get(address).content.decode()
    assert "all answered" in browser.get(address).content.decode()
    assert "not asked" not in str(store.plan().history)


def test_the_list_for_others_says_nothing_of_the_place(browser, demo_trial):
    text = browser.get(f"/trials/{demo_trial.slug}/layout/strips.csv").content.decode()
    lines = text.splitlines()
    strips = DatabaseStore(demo_trial).load().draw.strips
    assert len(lines) == len(strips) + 1
    assert lines[1].split(",")[:4] == ["1", "1", strips[0].method, f"{strips[0].width_m:.2f}"]
    lon, lat = strips[0].outline[0]
    assert f"{lon:.3f}" not in text
    assert f"{lat:.3f}" not in text


def test_the_draw_is_shown_strip_by_strip(browser, planned):
    answer = browser.post(searched(browser, planned), follow=True)
    page = answer.content.decode()
    shown = [part.split("</strong>")[0] for part in page.split('class="order reveal"')[1].split("<strong>")[1:]]
    strips = sorted(draws(planned)[0].strips, key=lambda s: s.strip)
    assert shown[: len(strips)] == [s.method for s in strips]
    assert page.count(' begins"') == len({s.block for s in strips}) - 1


def test_wishes_are_stored_and_wrong_ones_said(browser, planned):
    address = f"/trials/{planned.slug}/layout/wishes/"
    browser.post(address, {"most_blocks": "4", "headland_m": "20,5", "sprayer_width_m": ""})
    layout = DatabaseStore(planned).plan().layout
    assert (layout.most_blocks, layout.headland_m) == (4, 20.5)
    page = browser.post(address, {"headland_m": "900"}, follow=True).content.decode()
    assert "layout.headland_m" in page
    assert "900" in page
    assert DatabaseStore(planned).plan().layout.headland_m == 20.5


def test_a_heading_can_be_taken(browser, planned):
    browser.post(f"/trials/{planned.slug}/layout/heading/", {"heading": "17"})
    wait(browser, planned)
    assert DatabaseStore(planned).plan().layout.heading_deg == 17.0


def test_what_does_not_fit_is_said_with_the_nearest_thing(browser, planned):
    DatabaseStore(planned).change_plan({"layout.headland_m": 190.0})
    browser.post(f"/trials/{planned.slug}/layout/search/")
    wait(browser, planned)
    assert "Nothing fits." in browser.get(f"/trials/{planned.slug}/layout/").content.decode()


def test_the_drawn_page_shows_strips_work_and_picture(browser, demo_trial):
    page = browser.get(f"/trials/{demo_trial.slug}/layout/").content.decode()
    for words in ("The strips as drawn", "Order of passes", "Order of harvest", "Found by rows", "ISO 11783-10"):
        assert words in page
    answer = browser.get(f"/trials/{demo_trial.slug}/layout/plan.svg")
    assert ElementTree.fromstring(answer.content).tag.endswith("svg")
    assert "sandbox" in answer.headers["Content-Security-Policy"]


@pytest.mark.parametrize("form", sorted(FORMATS))
def test_every_form_is_handed_over(browser, demo_trial, form):
    answer = browser.get(f"/trials/{demo_trial.slug}/layout/hand-over/{form}/")
    assert answer.status_code == 200
    assert "attachment" in answer.headers["Content-Disposition"]
    assert len(answer.content) > 300
    if form in ("pack", "shp"):
        assert zipfile.ZipFile(io.BytesIO(answer.content)).testzip() is None


def test_a_viewer_cannot_draw(client, settings, planned):
    from evenground.web.accounts.models import Role, User
    from evenground.web.accounts.services import give_role

    settings.NETWORK = True
    viewer = User.objects.create_user("viewer")
    give_role(user=viewer, role=Role.VIEWER, trial=planned)
    client.force_login(viewer)
    assert client.post(f"/trials/{planned.slug}/layout/draw/").status_code == 403
    assert not draws(planned)


def test_markers_are_listed_when_set_and_ticked_off(browser, demo_trial):
    """From the page to the form and back, and the same list ahead of the harvest."""
    address, add = f"/trials/{demo_trial.slug}/layout/", f"/trials/{demo_trial.slug}/records/events/add/"
    assert "None is on record as set." in browser.get(address).content.decode()
    what = {"row0-event": "marker_set", "row0-strips": "3", "row0-what": "M12", "row0-time": "2026-05-02T10:00"}
    given = {**what, "row0-id": "m-1", "next": address}
    assert browser.post(add, given).status_code == 302
    page = browser.get(address).content.decode()
    assert "M12 at strip 3" in page
    query = html.unescape(page.split("events/add/?event=marker_out")[1].split('"')[0])
    form = browser.get(f"{add}?event=marker_out{query}").content.decode()
    assert 'value="M12"' in form
    assert "M12 at strip 3" in browser.get(f"/trials/{demo_trial.slug}/harvest/").content.decode()
    browser.post(add, {**given, "row0-id": "m-2", "row0-event": "marker_out", "row0-time": "2026-08-20T10:00"})
    assert "None is on record as set." in browser.get(address).content.decode()


def test_work_of_others_is_not_found():
    job = jobs.start(("layout", 1), lambda _job: 7)
    assert jobs.find(("layout", 2), job.token) is None
    assert jobs.find(("layout", 1), job.token) is job


def test_jobs_are_bounded_and_keep_their_end():
    for i in range(jobs.MOST_JOBS + 10):
        jobs.start(("many", i), lambda _job: None)
    assert len(jobs._JOBS) <= jobs.MOST_JOBS
