"""The three doors, the overview of a trial, what is due, next year; and the shortest way from weights to verdict."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from evenground.adapters.border_file import BORDER_FILE, SOWN_FILE
from evenground.basis.errors import InputError
from evenground.layout.said_draw import SaidStrip, said_draw
from evenground.web.accounts.models import User
from evenground.web.accounts.services import make_farm
from evenground.web.start.selectors import due_rows, overview
from evenground.web.trials.models import Trial
from evenground.web.trials.services import make_trial
from evenground.web.trials.store import DatabaseStore


def begin(browser, door: str) -> Trial:
    data = {"name": f"By {door}", "season": 2026, "new_farm": "My farm"}
    answer = browser.post(f"/new/{door}/", data)
    assert answer.status_code == 302, answer.content.decode()[:2000]
    return Trial.objects.get(name=f"By {door}")


def test_an_empty_app_shows_three_doors(browser):
    page = browser.get("/").content.decode()
    for words in ("I am planning", "It is already sown", "I only have weights"):
        assert words in page


@pytest.mark.parametrize(("door", "page"), [("planned", "plan/"), ("sown", "sown/"), ("weights", "weights/")])
def test_each_door_leads_to_its_page(browser, door, page):
    answer = browser.post(f"/new/{door}/", {"name": "X", "season": 2026, "new_farm": "My farm"})
    assert answer.headers["Location"].endswith(page)


@pytest.mark.parametrize("data", [{}, {"name": "X", "season": "soon", "new_farm": "F"}, {"name": "", "season": 2026}])
def test_a_trial_needs_name_year_and_farm(browser, data):
    assert browser.post("/new/planned/", data).status_code == 422
    assert not Trial.objects.exists()


def weights(n_blocks: int = 4, **more: str) -> dict[str, str]:
    """Strips as typed: B gives 5 % more; widths and lengths with a decimal comma."""
    data = {
        "drawn": "lot",
        "how": "a coin for each pair",
        "unit": "kg",
        "dry": "strip",
        "day": "2026-09-14",
        "store": "1",
        "name-A": "old way",
        "name-B": "new way",
        "cost-B": "20",
        "short": "180",
        "full": "90",
        "ha": "20",
        "currency": "EUR",
    }
    order = "ABBAABBAAB"
    for i in range(2 * n_blocks):
        letter = order[i]
        kg = 8000 + 40 * i + (400 if letter == "B" else 0) + (30, -50, 20, 60, -40, 10, 0, 25)[i % 8]
        row = {"block": i // 2 + 1, "method": letter, "weight": kg, "width_m": "6,0", "length_m": "300"}
        data |= {f"{i + 1}-{k}": str(v) for k, v in {**row, "dry_matter_percent": "33,5"}.items()}
    return {**data, **more}


def test_weights_drawn_by_lot_lead_to_a_verdict(browser):
    trial = begin(browser, "weights")
    answer = browser.post(f"/trials/{trial.slug}/weights/", weights())
    assert answer.status_code == 302, answer.content.decode()[-3000:]
    stored = DatabaseStore(trial).load()
    assert [m.name for m in stored.plan.methods] == ["old way", "new way"]
    assert stored.draw is not None
    assert stored.draw.reason == "a coin for each pair"
    assert stored.draw.allowed_orders == 2**4, "every order within four pairs"
    assert stored.draw.smallest_p == pytest.approx(2 / 2**4)
    page = browser.get(answer.headers["Location"])
    assert page.status_code == 200
    assert "Not yet" not in page.content.decode()


def test_weights_not_drawn_are_judged_as_never_drawn(browser):
    trial = begin(browser, "weights")
    answer = browser.post(f"/trials/{trial.slug}/weights/", weights(drawn="not", how=""))
    assert answer.headers["Location"].endswith("season/border/")
    assert DatabaseStore(trial).draws() == ()
    table = bytes(trial.files.get(path=BORDER_FILE).content).decode().splitlines()
    assert table[0] == "method,value"
    # 8030 kg at 33.5 % dry matter on 6 m x 300 m: 8.030 t x 0.335 / 0.18 ha
    assert table[1] == f"A,{8.030 * 0.335 / 0.18:.4f}"


def test_one_figure_a_method_becomes_a_shared_sample(browser):
    trial = begin(browser, "weights")
    data = weights(dry="method", **{"dry-A": "33", "dry-B": "34"})
    assert browser.post(f"/trials/{trial.slug}/weights/", data).status_code == 302
    samples = DatabaseStore(trial).records().samples
    assert sorted(len(s.strips) for s in samples) == [4, 4]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"1-weight": "heavy"}, "weight"),
        ({"1-length_m": "-3"}, "length_m"),
        ({"2-dry_matter_percent": "3"}, "dry_matter_percent"),
        ({"how": ""}, "how"),
        ({"drawn": ""}, "drawn"),
        ({"2-method": "A"}, "block"),
        ({"day": "harvest"}, "day"),
    ],
)
def test_wrong_lines_are_said_and_nothing_is_stored(browser, change, said):
    trial = begin(browser, "weights")
    answer = browser.post(f"/trials/{trial.slug}/weights/", weights(**change))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert said in page
    assert page.count('value="300"') >= 6, "what was typed stays"
    assert DatabaseStore(trial).draws() == ()
    assert DatabaseStore(trial).records().count == 0


def test_already_sown_strips_drawn_by_lot_are_put_on_record(browser):
    trial = begin(browser, "sown")
    data = {**weights(), "way": "lot"}
    assert browser.post(f"/trials/{trial.slug}/sown/", data).headers["Location"].endswith("sowing/as-sown/")
    assert len(DatabaseStore(trial).load().draw.strips) == 8


def test_areas_that_are_no_geojson_are_refused(browser):
    trial = begin(browser, "sown")
    answer = browser.post(f"/trials/{trial.slug}/sown/", {"way": "areas", "areas": "hello"})
    assert answer.status_code == 422
    assert not trial.files.exists()


AREAS = """{"type": "FeatureCollection", "features": [
 {"type": "Feature", "properties": {"method": "A", "sown": "2026-05-04"}, "geometry": {"type": "Polygon",
  "coordinates": [[[10.0, 52.0], [10.002, 52.0], [10.002, 52.003], [10.0, 52.003], [10.0, 52.0]]]}},
 {"type": "Feature", "properties": {"method": "B", "sown": "2026-05-09"}, "geometry": {"type": "Polygon",
  "coordinates": [[[10.002, 52.0], [10.004, 52.0], [10.004, 52.003], [10.002, 52.003], [10.002, 52.0]]]}}]}"""


def test_two_areas_drawn_lead_to_the_border(browser):
    trial = begin(browser, "sown")
    answer = browser.post(f"/trials/{trial.slug}/sown/", {"way": "areas", "areas": AREAS})
    assert answer.headers["Location"].endswith("season/border/")
    page = browser.get(answer.headers["Location"]).content.decode()
    assert "Two areas, B beside A, share" in page
    assert "not drawn at random" in page
    assert "significant" not in page
    assert overview(trial).next.url.endswith("season/border/")


def test_one_area_is_no_border_and_the_drawing_stays(browser):
    trial = begin(browser, "sown")
    one = AREAS.replace('"method": "B"', '"method": "A"')
    answer = browser.post(f"/trials/{trial.slug}/sown/", {"way": "areas", "areas": one})
    assert answer.status_code == 422
    assert "two areas" in answer.content.decode()
    assert "10.002" in answer.content.decode().split('id="areas"')[1]


def test_places_walked_are_kept_and_yields_find_their_method(browser):
    """Yields 4 m east and west of a border at 10.002 degrees take the method of the nearest place walked."""
    trial = begin(browser, "sown")
    places = [
        f"{10.002 + sign * k * 2e-5:.6f},{52.0 + i * 2e-4:.6f},{m}"
        for sign, m in ((-1, "A"), (1, "B"))
        for k in range(1, 8)
        for i in range(16)
    ]
    walked = {"way": "walked", "places": "lon,lat,method\n" + "\n".join(places)}
    answer = browser.post(f"/trials/{trial.slug}/sown/", walked)
    assert answer.headers["Location"].endswith("season/border/"), answer.content.decode()[-2000:]
    rows = [
        f"{10.002 + sign * k * 2e-5:.6f},{52.0 + i * 2e-4:.6f},{13 + 0.5 * (sign > 0) + 0.01 * (i % 5)}"
        for sign in (-1, 1)
        for k in range(1, 8)
        for i in range(16)
    ]
    table = SimpleUploadedFile("yields.csv", ("lon,lat,value\n" + "\n".join(rows)).encode())
    browser.post(f"/trials/{trial.slug}/season/border/yields/", {"file": table})
    page = browser.get(f"/trials/{trial.slug}/season/border/").content.decode()
    assert "0.5" in page
    assert "cannot tell" in page.lower()


def test_places_of_one_method_are_no_border(browser):
    trial = begin(browser, "sown")
    data = {"way": "walked", "places": "lon,lat,method\n10.0,52.0,A\n10.001,52.0,A"}
    assert browser.post(f"/trials/{trial.slug}/sown/", data).status_code == 422
    assert not trial.files.exists()


def planter_log(lon: float, *, lifted_from: int = 20) -> SimpleUploadedFile:
    """A pass northwards, a reading a second at 2 m/s; lifted at its end."""
    rows = ["time,lon,lat,speed_m_per_s,rows_off"]
    rows += [
        f"2026-05-04T08:00:{i:02d},{lon},{52.0 + i * 2 / 111195:.8f},2.0,{0 if i < lifted_from else 6}"
        for i in range(30)
    ]
    return SimpleUploadedFile("log.csv", "\n".join(rows).encode())


def test_the_planters_logs_give_the_places(browser):
    trial = begin(browser, "sown")
    logs = {"way": "log", "log-A": planter_log(10.0), "log-B": planter_log(10.0001)}
    assert browser.post(f"/trials/{trial.slug}/sown/", logs).status_code == 302
    kept = bytes(trial.files.get(path=SOWN_FILE).content).decode().splitlines()
    assert kept[0] == "lon,lat,method"
    assert sum(row.endswith(",A") for row in kept) == 20, "only where the rows were on"
    assert sum(row.endswith(",B") for row in kept) == 20
    assert browser.post(f"/trials/{trial.slug}/sown/", {"way": "log"}).status_code == 422
    assert browser.post(f"/trials/{trial.slug}/sown/", {"way": "guessed"}).status_code == 422


def test_the_area_may_stand_in_for_width_or_length(browser):
    """0.18 ha on 6 m are 300 m; where nothing was drawn by lot the area alone is enough."""
    trial = begin(browser, "weights")
    rows = weights()
    for i in range(1, 9):
        rows |= {f"{i}-length_m": "", f"{i}-area_ha": "0,18"}
    assert browser.post(f"/trials/{trial.slug}/weights/", rows).status_code == 302
    assert {round(s.cut_length_m, 6) for s in DatabaseStore(trial).load().draw.strips} == {300.0}
    other = begin(browser, "sown")
    rows |= {f"{i}-width_m": "" for i in range(1, 9)} | {"drawn": "not"}
    assert browser.post(f"/trials/{other.slug}/weights/", rows).status_code == 302
    table = bytes(other.files.get(path=BORDER_FILE).content).decode().splitlines()
    assert table[1] == f"A,{8.030 * 0.335 / 0.18:.4f}"


def test_no_event_is_made_up(browser):
    """Nobody said when it was sown, so no record says so; times of loads say that they were not told."""
    trial = begin(browser, "weights")
    browser.post(f"/trials/{trial.slug}/weights/", weights())
    records = DatabaseStore(trial).records()
    assert records.events == ()
    assert all(r.trailer == "" for r in (*records.loads, *records.weighings)), "nobody named a trailer"
    assert all("not told" in r.note for r in (*records.loads, *records.weighings, *records.samples))


def test_the_door_says_what_comes_first(browser):
    assert overview(begin(browser, "sown")).next.url.endswith("/sown/")
    trial = begin(browser, "weights")
    assert overview(trial).next.url.endswith("/weights/")
    browser.post(f"/trials/{trial.slug}/weights/", weights())
    found = overview(trial)
    assert found.next is None, "nothing is left to prepare for what is weighed"
    assert found.can_be_read
    assert "how the methods were sown" in found.steps[0].missing


def test_the_year_asked_for_goes_with_the_door(browser):
    from django.utils import timezone

    today = timezone.localdate()
    for door, ahead in (("planned", today.month >= 10), ("sown", False), ("weights", False)):
        assert f'value="{today.year + ahead}"' in browser.get(f"/new/{door}/").content.decode(), door


def test_a_block_that_lacks_a_method_was_not_drawn(new_trial):
    from datetime import UTC, datetime

    plan = DatabaseStore(new_trial).plan()
    strips = [
        SaidStrip(1, "A", 6, 300),
        SaidStrip(1, "A", 6, 300),
        SaidStrip(2, "A", 6, 300),
        SaidStrip(2, "B", 6, 300),
    ]
    with pytest.raises(InputError) as caught:
        said_draw(plan, strips, how="coin", told_at=datetime.now(UTC), plan_hash="x", version="1")
    assert [p.field for p in caught.value.problems] == ["block"]


def test_the_overview_says_what_is_next(browser, new_trial, demo_trial):
    found = overview(new_trial)
    assert found.next is not None
    assert found.next.name in ("plan", "field")
    page = browser.get(f"/trials/{demo_trial.slug}/").content.decode()
    assert "How it stands" in page
    assert "counted: " in page


def test_what_is_due_goes_over_all_farms_one_may_see(browser, owner, new_trial, demo_trial):
    make_trial(
        farm=make_farm(name="Strange farm", owner=User.objects.create_user("stranger")),
        name="Strange",
        season=2026,
        by=None,
    )
    from datetime import date

    rows = due_rows(Trial.objects.all(), date(2026, 7, 1))
    assert {r.trial.name for r in rows} >= {"New trial", "Strange"}
    page = browser.get("/due/").content.decode()
    assert "New trial" in page
    assert "Strange" not in page


def test_next_year_keeps_farm_and_methods_and_begins_anew(browser, demo_trial):
    answer = browser.post(f"/trials/{demo_trial.slug}/next-year/", {"with_field": "on"})
    new = Trial.objects.get(grown_from=demo_trial)
    assert new.slug in answer.headers["Location"]
    stored = DatabaseStore(new).load()
    assert stored.draw is None
    assert stored.records.count == 0
    assert stored.field is not None
    assert [m.name for m in stored.plan.methods] == [m.name for m in DatabaseStore(demo_trial).plan().methods]


def test_put_away_and_out_again(browser, new_trial):
    browser.post(f"/trials/{new_trial.slug}/put-away/")
    assert "Put away" in browser.get("/").content.decode()
    browser.post(f"/trials/{new_trial.slug}/put-away/")
    new_trial.refresh_from_db()
    assert new_trial.put_away_at is None


def test_a_pattern_goes_to_a_farm_of_ones_own_only(browser, new_trial, farm):
    other = make_farm(name="Other", owner=User.objects.create_user("x"))
    assert browser.post(f"/trials/{new_trial.slug}/pattern/", {"farm": other.pk}).status_code == 404
    assert browser.post(f"/trials/{new_trial.slug}/pattern/", {"farm": farm.pk, "name": "Copy"}).status_code == 302
    assert Trial.objects.filter(name="Copy").exists()


def test_each_step_says_what_is_known_missing_and_next(browser, new_trial, demo_trial):
    def stands(trial: Trial, page: str) -> str:
        text = browser.get(f"/trials/{trial.slug}/{page}").content.decode()
        return text.split('<dl class="stands"')[1].split("</dl>")[0] if 'class="stands"' in text else ""

    assert "the outline of the field" in stands(new_trial, "field/")
    assert "Upload the outline" in stands(new_trial, "field/")
    assert "the question, in your own words" in stands(new_trial, "plan/")
    assert f"/trials/{new_trial.slug}/plan/" in stands(new_trial, "stand/"), "another step comes first"
    assert "counted: 18 of 18 strips" in stands(demo_trial, "stand/")
    assert "drawn on" in stands(demo_trial, "layout/")
    assert stands(demo_trial, "plan/methods/") == "", "only on the first page of a step"


def test_methods_of_a_field_already_sown_are_named_there_and_nothing_else_is_made_up(browser):
    trial = begin(browser, "sown")
    plan = DatabaseStore(trial).plan()
    assert not plan.trial.settings_told
    assert plan.money.machine_access == ()
    page = f"/trials/{trial.slug}/sown/"
    assert browser.post(page, {"way": "names", "name-A": "ploughed", "name-B": ""}).status_code == 422
    said = {"way": "names", "name-A": "ploughed", "name-B": "strip till", "cost-B": "-15"}
    assert browser.post(page, said).headers["Location"].endswith("/sown/")
    plan = DatabaseStore(trial).plan()
    assert [m.name for m in plan.methods] == ["ploughed", "strip till"]
    assert plan.methods[1].extra_cost_per_ha == -15.0
    assert "A ploughed; B strip till" in " ".join(browser.get(page).content.decode().split())


def test_what_the_door_asks_for_first_is_what_is_due(browser):
    from datetime import date

    trial = begin(browser, "sown")
    (row,) = due_rows([trial], date(2026, 7, 1))
    assert "where each method was sown" in row.what
