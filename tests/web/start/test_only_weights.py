"""Only weights at hand: nothing the farmer did not give stands as a fact; typing again corrects; three methods too."""

from __future__ import annotations

from datetime import date

import pytest

from evenground import __version__
from evenground.adapters.border_file import BORDER_FILE
from evenground.basis.observations import current
from evenground.decide.verdict import verdict
from evenground.decide.verdict_record import Verdict
from evenground.fairness.checks import fairness
from evenground.harvest.strips import harvest
from evenground.report.checks_page import fixed_before
from evenground.report.field_page import field_page
from evenground.web.start.typed_strips import readings
from evenground.web.trials.models import Trial
from evenground.web.trials.store import DatabaseStore

from .test_ways_in import begin, weights

OF_THE_PLAN = ("seed rate", "seed lots", "hybrid", "dressing", "starter", "depth", "speed", "row spacing")


def typed(browser, **more: str) -> Trial:
    trial = begin(browser, "weights")
    answer = browser.post(f"/trials/{trial.slug}/weights/", weights(**more))
    assert answer.status_code == 302, answer.content.decode()[-3000:]
    return trial


def verdict_of(trial: Trial) -> Verdict:
    return verdict(DatabaseStore(trial).load(), today=date(2026, 10, 1), version=__version__)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("33,5", (33.5,)),
        ("8030", (8030.0,)),
        ("8 030", (8030.0,)),
        ("8\u202f030", (8030.0,)),
        ("8'030", (8030.0,)),
        ("8.030", (8.03, 8030.0)),
        ("8,030", (8.03, 8030.0)),
        ("0.180", (0.18,)),
        ("1.234,5", (1234.5,)),
        ("1,234.5", (1234.5,)),
        ("-20", (-20.0,)),
        ("", ()),
        ("8 t", ()),
        ("nan", ()),
        ("1e4", ()),
        ("inf", ()),
    ],
)
def test_what_a_number_can_mean(text, meant):
    assert readings(text) == meant


def test_a_sign_that_parts_thousands_or_decimals_is_asked_about(browser):
    """8.030 kg on a strip may be 8 t or 8 kg; in a column where only one can be, it is read."""
    trial = begin(browser, "weights")
    page = browser.post(f"/trials/{trial.slug}/weights/", weights(**{"1-weight": "8.030"})).content.decode()
    assert "can be read in two ways" in page
    assert DatabaseStore(trial).records().count == 0
    typed_in_tonnes = {f"{i}-weight": f"8.{i:03d}" for i in range(1, 9)}
    assert browser.post(f"/trials/{trial.slug}/weights/", weights(unit="t", **typed_in_tonnes)).status_code == 302
    masses = [r.slip_net_kg for r in DatabaseStore(trial).records().weighings]
    assert masses[0] == pytest.approx(8001.0)


def test_weight_and_area_have_to_belong_together(browser):
    trial = begin(browser, "weights")
    answer = browser.post(f"/trials/{trial.slug}/weights/", weights(**{"3-weight": "80000"}))
    assert answer.status_code == 422
    assert "444 t fresh on a hectare" in answer.content.decode()


def test_all_faults_are_said_at_once(browser):
    trial = begin(browser, "weights")
    page = browser.post(f"/trials/{trial.slug}/weights/", {"store": "1", "1-method": "A"}).content.decode()
    for words in ("name of A", "name of B", "drawn by lot", "no strip is filled in"):
        assert words in page, words
    wrong = weights(day="", **{"1-weight": "x", "2-block": "0", "cost-B": "much"})
    page = browser.post(f"/trials/{trial.slug}/weights/", wrong).content.decode()
    for words in ("when was it harvested", "line 1, net weight", "line 2, block", "extra cost, B"):
        assert words in page, words
    assert not DatabaseStore(trial).draws()
    assert trial.plans.count() == 1, "nothing of it is stored"


def test_nothing_is_called_alike_that_nobody_told(browser):
    trial = typed(browser)
    stored = DatabaseStore(trial).load()
    assert not stored.plan.trial.settings_told
    checks = fairness(stored.plan, stored.draw, stored.records, harvest(stored.plan, stored.draw, stored.records))
    states = {c.item: (c.state, c.found) for c in checks}
    for item in OF_THE_PLAN:
        assert states[item] == ("unknown", "how the methods were sown was not told"), item
    assert states["order of weighing"][0] == "unknown", "the times were made up by nobody"
    page = browser.get(f"/trials/{trial.slug}/plan/").content.decode()
    assert "How they were sown was not told" in page
    assert "Seed rate, 1/m" not in page
    assert "Seed to seed" not in browser.get(f"/trials/{trial.slug}/sowing/").content.decode()


def test_once_they_are_known_they_are_compared(browser):
    trial = typed(browser)
    DatabaseStore(trial).change_plan({"trial.settings_told": True, "methods[1].seeds_per_m2": 10.0})
    stored = DatabaseStore(trial).load()
    checks = fairness(stored.plan, stored.draw, stored.records, harvest(stored.plan, stored.draw, stored.records))
    assert {c.item: c.state for c in checks}["seed rate"] == "differs"


def test_the_money_is_the_farmers_own(browser):
    trial = typed(browser, **{"cost-B": "45,50", "short": "200", "full": "100", "ha": "12", "currency": "CHF"})
    plan = DatabaseStore(trial).plan()
    assert plan.money.machine_access == ()
    assert plan.methods[1].extra_cost_per_ha == 45.5
    assert (plan.money.value_short_year_per_t, plan.money.value_full_year_per_t) == (200.0, 100.0)
    found = verdict_of(trial)
    budget = found.methods[0].budget.chosen
    assert budget.extra_cost_per_ha == 45.5
    # 0.4 short and 0.6 full years: 140 a tonne; 45.5 / 140 t must come on top
    assert budget.worthwhile_gain == pytest.approx(45.5 / 140.0)
    assert "not told" in budget.lines[0].item


def test_the_report_does_not_claim_what_was_said_before(browser):
    found = verdict_of(typed(browser))
    said = " ".join(str(p) for p in field_page(found, None))
    assert "Said before sowing" not in said
    assert "Nothing was said before sowing" in said
    fixed = " ".join(str(p) for p in fixed_before(found))
    assert "Nothing was changed since" not in fixed
    assert "Nothing is on record as fixed before the harvest" in fixed


def test_typing_again_corrects_and_doubles_nothing(browser):
    trial = typed(browser)
    shown = browser.get(f"/trials/{trial.slug}/weights/").content.decode()
    assert 'value="8030"' in shown, "what counts is shown, so that one figure can be corrected"
    again = weights(**{"1-weight": "8100", "2-dry_matter_percent": "34"})
    assert browser.post(f"/trials/{trial.slug}/weights/", again).status_code == 302
    records = DatabaseStore(trial).records()
    assert len(records.weighings) == 9
    assert len(current(records.weighings)) == 8
    assert sum(r.replaces is not None for r in (*records.weighings, *records.samples, *records.loads)) == 2
    stored = DatabaseStore(trial).load()
    assert len(stored.draws) == 1, "the strips are the same"
    found = harvest(stored.plan, stored.draw, stored.records)
    assert found.strips[0].fresh_t == pytest.approx(8.1)
    assert found.strips[1].dry_matter_fraction == pytest.approx(0.34)
    count = records.count
    browser.post(f"/trials/{trial.slug}/weights/", again)
    assert DatabaseStore(trial).records().count == count, "the same again is nothing new"


def test_another_day_follows_every_record(browser):
    trial = typed(browser)
    assert browser.post(f"/trials/{trial.slug}/weights/", weights(day="2026-09-16")).status_code == 302
    records = DatabaseStore(trial).records()
    assert {r.time.day for r in current(records.loads)} == {16}
    assert len(current(records.loads)) == len(current(records.weighings)) == len(current(records.samples)) == 8
    stored = DatabaseStore(trial).load()
    assert harvest(stored.plan, stored.draw, stored.records).strips[0].fresh_t == pytest.approx(8.03)


def test_a_strip_cannot_be_typed_away(browser):
    trial = typed(browser)
    fewer = {k: v for k, v in weights().items() if not k.startswith(("7-", "8-"))}
    answer = browser.post(f"/trials/{trial.slug}/weights/", fewer)
    assert answer.status_code == 422
    assert "not taken out" in answer.content.decode()
    assert len(DatabaseStore(trial).draws()) == 1
    shared = weights(dry="method", **{"dry-A": "33", "dry-B": "34"})
    answer = browser.post(f"/trials/{trial.slug}/weights/", shared)
    assert answer.status_code == 422
    assert "not who shares them" in answer.content.decode()
    assert (
        "cannot become undrawn" in browser.post(f"/trials/{trial.slug}/weights/", weights(drawn="not")).content.decode()
    )


def test_three_methods(browser):
    trial = begin(browser, "weights")
    data = {**weights(3), "name-C": "third way", "cost-C": "-5"}
    data = {k: v for k, v in data.items() if not k[0].isdigit()}
    for i in range(9):
        row = {"block": i // 3 + 1, "method": "ABCBCACAB"[i], "weight": 8000 + 37 * i, "dry_matter_percent": "33"}
        data |= {f"{i + 1}-{k}": str(v) for k, v in row.items()}
    data |= {"all-width_m": "6", "all-length_m": "300"}
    answer = browser.post(f"/trials/{trial.slug}/weights/", data)
    assert answer.status_code == 302, answer.content.decode()[-2000:]
    stored = DatabaseStore(trial).load()
    assert [m.name for m in stored.plan.methods] == ["old way", "new way", "third way"]
    assert [m.extra_cost_per_ha for m in stored.plan.methods] == [0.0, 20.0, -5.0]
    assert stored.draw.allowed_orders == 6**3
    assert browser.get(answer.headers["Location"]).status_code == 200
    browser.post(f"/trials/{trial.slug}/weights/", data)
    assert len(DatabaseStore(trial).plan().methods) == 3


def test_what_was_never_drawn_may_be_typed_again(browser):
    trial = begin(browser, "weights")
    once = weights(drawn="not", how="", **{"cost-B": ""})
    assert browser.post(f"/trials/{trial.slug}/weights/", once).headers["Location"].endswith("season/border/")
    shown = browser.get(f"/trials/{trial.slug}/weights/").content.decode()
    assert 'value="8030"' in shown
    browser.post(f"/trials/{trial.slug}/weights/", {**once, "1-weight": "8100"})
    kept = {f.path: bytes(f.content).decode() for f in trial.files.all()}
    earlier = [text for path, text in kept.items() if path.startswith("earlier/border-")]
    assert len(earlier) == 1, "what stood there before stays"
    assert earlier[0] != kept[BORDER_FILE]


def test_a_trial_of_ones_own_is_not_put_on_the_invented_farm(browser, demo_trial, farm):
    page = browser.get("/new/weights/").content.decode()
    assert "a new farm, named below" in page
    assert f'<option value="{farm.pk}" selected' not in page
    assert browser.post("/new/weights/", {"name": "X", "season": 2026, "farm": ""}).status_code == 422
    both = {"name": "Mine", "season": 2026, "farm": farm.pk, "new_farm": "My farm"}
    assert browser.post("/new/weights/", both).status_code == 302
    assert Trial.objects.get(name="Mine").farm.name == "My farm"
