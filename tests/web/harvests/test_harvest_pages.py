"""Harvest day: what came off each strip, what is missing, one line an entry, joins and how to correct one."""

from __future__ import annotations

import re
from html import unescape

import pytest

from evenground.basis.observations import current
from evenground.harvest.strips import harvest
from evenground.web.forms_from_records import new_id
from evenground.web.trials.models import StoredRecord
from evenground.web.trials.store import DatabaseStore


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def line(kind: str, **values: str) -> dict[str, str]:
    return {f"{kind}-{n}": v for n, v in {"id": new_id(), "time": "2026-08-28T16:00", **values}.items()}


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/harvest/"


@pytest.fixture
def morning(demo_trial, page) -> str:
    """The trial on the morning of harvest: nothing is cut yet."""
    for kind in ("loads", "weighings", "samples"):
        StoredRecord.objects.filter(trial=demo_trial, kind=kind).delete()
    StoredRecord.objects.filter(trial=demo_trial, record_id="demo-harvest").delete()
    return page


def test_strips_stand_as_the_core_says(browser, page, demo_trial):
    stored = DatabaseStore(demo_trial).load()
    found = harvest(stored.plan, stored.draw, stored.records)
    shown = text(browser.get(page))
    for strip in (s for s in found.strips if s.outcome is not None):
        row = f"{strip.strip} {strip.block} {strip.method} {strip.fresh_t:.2f} {100 * strip.dry_matter_fraction:.1f}"
        assert f" {row} {strip.outcome:.2f} " in shown
    assert f"{sum(s.outcome is not None for s in found.strips)} of {len(found.strips)} strips are known" in shown
    assert "Nobody on foot near harvester" in shown


def test_the_day_from_the_first_load_on(browser, morning, demo_trial):
    shown = text(browser.get(morning))
    assert "0 of 18 strips are known" in shown
    assert "no load yet" in shown
    loads = {"strips": "1", "trailer": "red", "time": "2026-08-28T08:22"}
    assert browser.post(f"{morning}enter/loads/", line("loads", **loads)).status_code == 302
    assert "The load of strip 1 at 08:22, trailer red has no weight yet" in text(browser.get(morning))
    slip = {"trailer": "Red", "gross_kg": "11 640", "tare_kg": "5400", "slip": "77", "time": "2026-08-28T08:43"}
    assert browser.post(f"{morning}enter/weighings/", line("weighings", **slip)).status_code == 302
    sample = {"strips": "1", "dry_matter_percent": "33,9", "time": "2026-08-28T08:50"}
    assert browser.post(f"{morning}enter/samples/", line("samples", **sample)).status_code == 302
    shown = text(browser.get(morning))
    assert "1 of 18 strips are known" in shown
    assert " 6.24 33.9 " in shown


def test_a_slip_without_a_load_is_asked_about_and_settled(browser, morning, demo_trial):
    browser.post(f"{morning}enter/loads/", line("loads", strips="7", trailer="3", time="2026-08-28T14:10"))
    slip = {"trailer": "green", "slip_net_kg": "6100", "slip": "12", "time": "2026-08-28T14:32"}
    browser.post(f"{morning}enter/weighings/", line("weighings", **slip))
    assert "Slip 12 of 14:32 has no load (trailer green?)" in text(browser.get(morning))
    (weighing,) = DatabaseStore(demo_trial).records().weighings
    (load,) = DatabaseStore(demo_trial).records().loads
    choice = browser.get(f"{morning}joins/{weighing.id}/")
    assert f'value="{load.id}"' in choice.content.decode()
    assert browser.post(f"{morning}joins/{weighing.id}/", {}).status_code == 422
    assert browser.post(f"{morning}joins/{weighing.id}/", {"load": load.id}).status_code == 302
    weighings = DatabaseStore(demo_trial).records().weighings
    assert next(w.id for w in weighings) == weighing.id
    assert [w.load for w in current(weighings)] == [load.id]
    assert "has no load" not in text(browser.get(morning))
    assert browser.get(f"{morning}joins/{weighing.id}/").status_code == 404


def test_what_is_wrong_is_said_beside_the_line_and_what_was_typed_stays(browser, morning, demo_trial):
    sent = line("weighings", trailer="red", gross_kg="5000", tare_kg="9000")
    answer = browser.post(f"{morning}enter/weighings/", sent)
    assert answer.status_code == 422
    assert "were the two swapped" in text(answer)
    assert 'value="9000"' in answer.content.decode()
    assert DatabaseStore(demo_trial).records().weighings == ()


@pytest.mark.parametrize(("field", "mass"), [("gross_kg", "14.25"), ("slip_net_kg", "6,1")])
def test_tonnes_typed_for_kilograms_are_asked_about_at_once(browser, morning, demo_trial, field, mass):
    answer = browser.post(f"{morning}enter/weighings/", line("weighings", trailer="red", **{field: mass}))
    assert answer.status_code == 422
    wanted = f"were tonnes meant? Write {1000 * float(mass.replace(',', '.')):.0f} kg."
    assert wanted.lower() in text(answer).lower()
    assert DatabaseStore(demo_trial).records().weighings == ()


def test_a_slip_without_a_load_says_which_strips_were_cut_then(browser, morning):
    for n, when in ((7, "14:10"), (8, "14:40")):
        browser.post(f"{morning}enter/loads/", line("loads", strips=str(n), trailer="3", time=f"2026-08-28T{when}"))
    slip = {"trailer": "green", "slip_net_kg": "6100", "slip": "12", "time": "2026-08-28T14:32"}
    browser.post(f"{morning}enter/weighings/", line("weighings", **slip))
    assert "perhaps 7" in text(browser.get(morning))


def test_only_the_kinds_of_the_day_have_a_line(browser, page):
    assert browser.post(f"{page}enter/weather/", {}).status_code == 404
    assert browser.get(f"{page}enter/loads/").status_code == 405


def test_news_come_only_when_there_are_any(browser, page, demo_trial):
    first = browser.get(f"{page}state.json").json()
    assert set(first["pieces"]) == {"open", "live"}
    assert browser.get(f"{page}state.json?version={first['version']}").json() == {"version": first["version"]}
    browser.post(f"{page}enter/stubble/", line("stubble", strips="1", height_cm="18"))
    assert "pieces" in browser.get(f"{page}state.json?version={first['version']}").json()


def test_papers_of_the_day(browser, page):
    assert browser.get(f"{page}harvest-pack.pdf").content.startswith(b"%PDF")


def test_before_the_draw(browser, new_trial):
    assert "not drawn yet" in text(browser.get(f"/trials/{new_trial.slug}/harvest/"))


def test_strips_harvested_as_another_product_are_decided_on_the_page_and_do_not_count(browser, page, demo_trial):
    add = f"/trials/{demo_trial.slug}/records/events/add/?next={page}"
    assert f'href="{add}"' in browser.get(page).content.decode()
    content = {"strips": "5+6", "event": "product_changed", "product": "corn_cob_mix", "time": "2026-08-28T07:00"}
    sent = {f"row0-{n}": v for n, v in {"id": new_id(), **content}.items()}
    refused = browser.post(add, sent)
    assert refused.status_code == 422
    assert "write its reason into note" in text(refused)
    assert browser.post(add, {**sent, "row0-note": "too dry to chop"}).status_code == 302
    shown = text(browser.get(page))
    assert "Harvested as corn-cob mix and not as silage" in shown
    assert shown.count("other product") >= 2
    assert "15 of 18 strips are known" in shown
    assert "corn-cob mix and do not count" in text(browser.get(f"/trials/{demo_trial.slug}/verdict/adviser/"))


# North Dakota State University EC1343: $5.50 a bushel of 56 lb at 13 %, hay $90 a short ton at 10 %, silage at 35 %
EC1343 = {
    "grain_price": "196,43",
    "grain_dry": "87",
    "rough_price": "90",
    "rough_dry": "90",
    "share": "50",
    "dry": "35",
}


def test_what_a_tonne_is_worth_is_reckoned_beside_the_money_of_the_plan(browser, page, demo_trial):
    money = browser.get(f"/trials/{demo_trial.slug}/plan/money/").content.decode()
    assert f'href="{page}worth/"' in money
    assert "status" not in browser.get(f"{page}worth/").content.decode().split("<form")[1]
    shown = text(browser.get(f"{page}worth/", {**EC1343, "lost": "0", "carrying": "0"}))
    assert "57.0 a tonne as fed, at 35 % dry matter" in shown  # the source prints 57.02, each part rounded up to a cent


@pytest.mark.parametrize(("name", "typed"), [("share", "120"), ("dry", "0"), ("grain_price", "much"), ("lost", "nan")])
def test_what_cannot_be_is_said_beside_its_field_and_stays_typed(browser, page, name, typed):
    answer = browser.get(f"{page}worth/", {**EC1343, "lost": "0", "carrying": "0", name: typed})
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert f'id="wrong-{name}"' in shown
    assert f'value="{typed}"' in shown
    assert "tonne as fed, at" not in shown
