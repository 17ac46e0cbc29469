"""The plan on pages: every key has a field, what is stored is what was typed, nothing else is touched."""

from __future__ import annotations

import re

import pytest
from django.utils.html import escape

from evenground.basis.plan import Plan
from evenground.web.core_words import core_words
from evenground.web.planning.default_sources import comments
from evenground.web.planning.parts import LISTS, NOT_SHOWN, PARTS, SECTIONS
from evenground.web.planning.plan_fields import fields_of
from evenground.web.planning.plan_words import general
from evenground.web.trials.store import DatabaseStore


def page(trial, path: str) -> str:
    return f"/trials/{trial.slug}/plan/{path}"


def as_shown(html: str) -> dict[str, str]:
    """Return what a browser would send of a form untouched."""
    out = {}
    for name, value in re.findall(r'<input type="hidden" name="(was-[^"]+)" value="([^"]*)">', html, re.DOTALL):
        text = value.replace("&quot;", '"').replace("&#x27;", "'").replace("&amp;", "&").replace("&gt;", ">")
        out[name] = text
        out[name.removeprefix("was-")] = text
    return out


def store(browser, url: str, sent: dict[str, str]):
    """Send a form to where it goes."""
    return browser.post(f"{url}change/", sent)


def plan_of(trial) -> Plan:
    return DatabaseStore(trial).plan()


def test_every_section_and_list_of_the_plan_has_a_page():
    """Source: the plan's own record class; a new section that no page offers fails here."""
    shown = {s for p in PARTS for s in p.sections} | {x for p in PARTS for x in p.lists}
    lists_of_plan = {"methods", "machines"}
    sections = set(Plan.model_fields) - {"format", "history"} - lists_of_plan
    assert sections == set(SECTIONS)
    assert set(SECTIONS) | set(LISTS) == shown


@pytest.mark.parametrize("name", [p.name for p in PARTS])
def test_a_part_sent_back_untouched_stores_nothing(browser, new_trial, name):
    html = browser.get(page(new_trial, f"{name}/")).content.decode()
    before = new_trial.plans.count()
    answer = store(browser, page(new_trial, f"{name}/"), as_shown(html))
    assert answer.status_code == 302
    assert new_trial.plans.count() == before


def test_every_key_of_a_section_stands_on_its_page_with_its_note(browser, new_trial):
    """Source: comments of the template; the page shows each beside its field."""
    notes = comments()
    for part in PARTS:
        html = browser.get(page(new_trial, f"{part.name}/")).content.decode()
        for section in part.sections:
            for field in fields_of(SECTIONS[section], section, None, "EUR", {}):
                if field.path in NOT_SHOWN:
                    continue
                assert f'name="was-{field.path}"' in html, field.path
                note = notes.get(general(field.path), "")
                assert escape(core_words(field.help)) in html, field.path
                for source in ("common practice", "judgement"):
                    assert (source in field.help) == (source in note), field.path


def test_one_number_is_changed_and_nothing_else(browser, new_trial):
    url = page(new_trial, "wishes/")
    sent = as_shown(browser.get(url).content.decode()) | {"layout.headland_m": "12.5"}
    before = DatabaseStore(new_trial).plan_text()
    assert store(browser, url, sent).status_code == 302
    after = DatabaseStore(new_trial).plan_text()
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert [b.split("#")[0].strip() for _, b in changed] == ["headland_m = 12.5"]
    assert "common practice, no source" in changed[0][1], "the note behind the value stays"


def test_a_decimal_comma_is_understood(browser, new_trial):
    url = page(new_trial, "wishes/")
    store(browser, url, as_shown(browser.get(url).content.decode()) | {"layout.headland_m": "12,5"})
    assert plan_of(new_trial).layout.headland_m == 12.5


def test_a_number_that_can_be_read_in_two_ways_is_asked_about(browser, new_trial):
    url = page(new_trial, "money/")
    sent = as_shown(browser.get(url).content.decode()) | {"money.kernels_per_unit": "50.000"}
    answer = store(browser, url, sent)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert "two ways" in html
    assert "50 / 50000" in html
    assert 'value="50.000"' in html, "what was typed stays"


def test_all_faults_at_once_each_beside_its_field(browser, new_trial):
    url = page(new_trial, "wishes/")
    wrong = {"layout.headland_m": "-3", "layout.guard_rows": "many", "layout.heading_deg": "upwards"}
    before = new_trial.plans.count()
    answer = store(browser, url, as_shown(browser.get(url).content.decode()) | wrong)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert new_trial.plans.count() == before
    for path in wrong:
        name = re.sub(r"\W+", "-", path)
        assert f'id="{name}-wrong"' in html, path
    assert "0 to 200" in html
    assert "upwards" in html


def test_back_to_the_default(browser, new_trial):
    url = page(new_trial, "wishes/")
    store(browser, url, as_shown(browser.get(url).content.decode()) | {"layout.headland_m": "12"})
    html = browser.get(url).content.decode()
    assert 'name="default" value="layout.headland_m"' in html
    store(browser, url, as_shown(html) | {"default": "layout.headland_m"})
    assert plan_of(new_trial).layout.headland_m == 18.0
    assert "common practice" in DatabaseStore(new_trial).plan_text(), "the note stays"


def test_what_somebody_else_changed_meanwhile_stays(browser, new_trial, owner):
    url = page(new_trial, "wishes/")
    shown = as_shown(browser.get(url).content.decode())
    DatabaseStore(new_trial, owner).change_plan({"layout.guard_rows": 3})
    store(browser, url, shown | {"layout.headland_m": "15"})
    plan = plan_of(new_trial)
    assert (plan.layout.headland_m, plan.layout.guard_rows) == (15.0, 3)


def test_another_unit_in_the_text_gives_way(browser, new_trial, owner):
    """Source: 1 in = 0.0254 m exactly (basis/units.py)."""
    DatabaseStore(new_trial, owner).change_plan({"machines[0].row_spacing_m": None, "machines[0].row_spacing_in": 30})
    url = page(new_trial, "entries/machines/0/")
    html = browser.get(url).content.decode()
    assert 'value="0.762"' in html
    assert store(browser, url, as_shown(html) | {"machines[0].row_spacing_m": "0.75"}).status_code == 302
    assert plan_of(new_trial).machines[0].row_spacing_m == 0.75
    assert "row_spacing_in =" not in DatabaseStore(new_trial).plan_text()


def test_a_method_like_another_then_changed_then_taken_out(browser, new_trial):
    answer = browser.post(page(new_trial, "entries/methods/new/"), {"like": "1"})
    assert answer.headers["Location"].endswith("/plan/entries/methods/2/")
    plan = plan_of(new_trial)
    assert plan.letters == ("A", "B", "C")
    assert plan.methods[2].row_pattern == plan.methods[1].row_pattern
    assert plan.baseline.letter == "A"
    url = page(new_trial, "entries/methods/2/")
    sent = as_shown(browser.get(url).content.decode()) | {
        "methods[2].name": "wider apart",
        "methods[2].seeds_per_m2": "8",
    }
    assert store(browser, url, sent).status_code == 302
    assert plan_of(new_trial).methods[2].name == "wider apart"
    store(browser, url, {"remove": "1"})
    assert plan_of(new_trial).letters == ("A", "B")


def test_the_last_two_methods_cannot_be_taken_out(browser, new_trial):
    answer = store(browser, page(new_trial, "entries/methods/1/"), {"remove": "1"})
    assert answer.status_code == 422
    assert plan_of(new_trial).letters == ("A", "B")


def test_a_new_way_to_get_the_machine(browser, new_trial):
    url = page(new_trial, "entries/money.machine_access/new/")
    html = browser.get(url).content.decode()
    prefix = "money.machine_access[1]."
    typed = {"method": "B", "way": "own", "purchase_price": "40000", "years": "10", "area_ha_per_year": "80"}
    assert browser.post(url, as_shown(html) | {prefix + k: v for k, v in typed.items()}).status_code == 302
    found = plan_of(new_trial).money.machine_access[1]
    assert (found.way, found.purchase_price, found.interest_fraction) == ("own", 40000.0, 0.04)
    answer = browser.post(url, as_shown(html) | {f"{prefix}method": "B", f"{prefix}way": "own"})
    assert answer.status_code == 422, "own needs a price, years and area"


def test_another_method_becomes_the_baseline(browser, new_trial):
    url = page(new_trial, "entries/methods/1/")
    sent = as_shown(browser.get(url).content.decode()) | {"methods[1].baseline": "true"}
    assert store(browser, url, sent).status_code == 302
    assert plan_of(new_trial).baseline.letter == "B"


def test_what_differs_says_whether_it_is_the_question(browser, new_trial):
    html = browser.get(page(new_trial, "")).content.decode()
    assert "differs: the question" in html
    assert "make it alike" not in html
    url = page(new_trial, "entries/methods/1/")
    store(browser, url, as_shown(browser.get(url).content.decode()) | {"methods[1].depth_cm": "6"})
    assert "differs: make it alike" in browser.get(page(new_trial, "")).content.decode()


def test_versions_are_listed_and_readable_and_later_changes_named(browser, demo_trial):
    url = page(demo_trial, "money/")
    store(browser, url, as_shown(browser.get(url).content.decode()) | {"money.area_ha": "47"})
    html = browser.get(page(demo_trial, "versions/")).content.decode()
    assert "after the draw" in html
    assert re.search(r"money\.area_ha: [\d.]+ before, 47", html)
    assert "Changed after the draw" in browser.get(page(demo_trial, "")).content.decode()
    first = browser.get(page(demo_trial, "versions/1/")).content.decode()
    assert "an earlier version" in first
    assert "[[methods]]" in first
    assert browser.get(page(demo_trial, "versions/99/")).status_code == 404


def test_a_drawn_method_keeps_its_letter_and_its_place(browser, demo_trial):
    url = page(demo_trial, "entries/methods/0/")
    answer = store(browser, url, as_shown(browser.get(url).content.decode()) | {"methods[0].letter": "Z"})
    assert answer.status_code == 422
    assert "trips are drawn with this letter" in answer.content.decode()
    assert store(browser, url, {"remove": "1"}).status_code == 422


def test_lists_of_numbers_with_a_decimal_comma(browser, new_trial):
    url = page(new_trial, "season/")
    typed = {"season.flowering_heat_sum": "825,5\n870", "season.stage_days": "28\n40\n50\n30"}
    assert store(browser, url, as_shown(browser.get(url).content.decode()) | typed).status_code == 302
    season = plan_of(new_trial).season
    assert (season.flowering_heat_sum, season.stage_days) == ((825.5, 870.0), (28, 40, 50, 30))


def test_the_way_in_is_told_whole_or_not_at_all(browser, new_trial):
    url = page(new_trial, "wishes/")
    gate = {"layout.entrance.lon": "10.1", "layout.entrance.lat": "", "layout.entrance.text": ""}
    answer = store(browser, url, as_shown(browser.get(url).content.decode()) | gate)
    assert answer.status_code == 422
    assert 'id="layout-entrance-lat-wrong"' in answer.content.decode()
    gate |= {"layout.entrance.lat": "52.1", "layout.entrance.text": "gate on the lane"}
    assert store(browser, url, as_shown(browser.get(url).content.decode()) | gate).status_code == 302
    assert plan_of(new_trial).layout.entrance.lat == 52.1
    gate = dict.fromkeys(gate, "")
    assert store(browser, url, as_shown(browser.get(url).content.decode()) | gate).status_code == 302
    assert plan_of(new_trial).layout.entrance is None


def test_no_such_part_or_entry(browser, new_trial):
    for path in ("nothing/", "entries/methods/9/", "entries/trial/0/", "entries/nothing/new/"):
        assert browser.get(page(new_trial, path)).status_code == 404, path


def test_a_viewer_sees_everything_and_changes_nothing(client, new_trial):
    from evenground.web.accounts import services
    from evenground.web.accounts.models import Role, User

    viewer = User.objects.create_user("viewer")
    services.give_role(user=viewer, role=Role.VIEWER, trial=new_trial)
    client.force_login(viewer)
    html = client.get(page(new_trial, "wishes/")).content.decode()
    assert "readonly" in html
    assert ">Store<" not in html
    assert client.post(page(new_trial, "wishes/change/"), {"layout.headland_m": "1"}).status_code == 403
