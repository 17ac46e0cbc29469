"""Sowing: settings side by side, cab cards, answers of the people, three taps a pass, the planter's log."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest

from evenground.basis.observations import current
from evenground.sowing.settings import CAUTIONS, settings
from evenground.web.trials.models import StoredRecord
from evenground.web.trials.store import DatabaseStore
from tests import time_logs


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/sowing/"


def test_settings_stand_side_by_side_with_what_differs(browser, page, demo_trial):
    shown = text(browser.get(page))
    stored = DatabaseStore(demo_trial).load()
    a, b = settings(stored.plan, stored.draw)
    assert f"Lines in a row {a.lines_per_row} {b.lines_per_row} differs" in shown
    assert "Depth, cm 5.0 5.0 " in shown
    assert "Depth, cm 5.0 5.0 differs" not in shown
    assert "part of the question" in shown
    assert all(caution in shown for caution in CAUTIONS)


def test_before_the_draw_nothing_is_said_about_amounts(browser, new_trial):
    answer = browser.get(f"/trials/{new_trial.slug}/sowing/")
    assert answer.status_code == 200
    assert "not drawn yet" in text(answer)
    assert "Units of seed to buy" not in text(answer)


@pytest.mark.parametrize(("letter", "status"), [("A", 200), ("B", 200), ("C", 404), ("a", 404)])
def test_a_card_for_each_method(browser, page, letter, status):
    answer = browser.get(f"{page}cards/{letter}.pdf")
    assert answer.status_code == status
    if status == 200:
        assert answer.content.startswith(b"%PDF")


def test_an_answer_is_added_and_the_plan_keeps_its_comments(browser, page, demo_trial):
    before = DatabaseStore(demo_trial).load().plan.people.agreements
    comments = DatabaseStore(demo_trial).plan_text().count("#")
    said = {"who": "Seller of seed", "role": "seller", "methods": ["B"], "agrees": "no", "words": "too <thin>"}
    assert browser.post(f"{page}agreed/", {**said, "said_on": "2026-03-10"}).status_code == 302
    plan = DatabaseStore(demo_trial).load().plan
    assert plan.people.agreements[:-1] == before
    assert (plan.people.agreements[-1].who, plan.people.agreements[-1].agrees) == ("Seller of seed", False)
    assert DatabaseStore(demo_trial).plan_text().count("#") >= comments - 10
    assert "too &lt;thin&gt;" in browser.get(page).content.decode()


def test_an_answer_without_yes_or_no_is_none(browser, page):
    answer = browser.post(f"{page}agreed/", {"who": "Driver", "role": "driver"})
    assert answer.status_code == 422
    assert "this is missing" in text(answer)
    assert 'value="Driver"' in answer.content.decode()


@pytest.fixture
def unsown(demo_trial) -> str:
    """The demo trial as it stood before anything was seen in the field."""
    StoredRecord.objects.filter(trial=demo_trial).delete()
    return f"/trials/{demo_trial.slug}/sowing/as-sown/"


def test_one_tap_when_all_was_as_drawn(browser, unsown, demo_trial):
    shown = text(browser.get(unsown))
    drawn = DatabaseStore(demo_trial).load().draw.strip(7).method
    assert f"Strip 7, drawn {drawn}" in shown
    assert browser.post(f"{unsown}strips/", {"strip": "7", "id": "tap-1"}).status_code == 302
    assert browser.post(f"{unsown}strips/", {"strip": "7", "id": "tap-1"}).status_code == 302  # tapped twice
    (event,) = DatabaseStore(demo_trial).records().events
    assert (event.event, event.method, event.strips) == ("sown", drawn, (7,))
    assert "Strip 7, drawn" not in text(browser.get(unsown))


def test_sown_otherwise_counts_as_sown(browser, unsown, demo_trial):
    drawn = DatabaseStore(demo_trial).load().draw.strip(7).method
    other = "B" if drawn == "A" else "A"
    sent = {"strip": "7", "id": "tap-1", "event": "sown", "method": other, "speed_km_per_h": "8,5", "stops": "2"}
    assert browser.post(f"{unsown}strips/", sent).status_code == 302
    (event,) = DatabaseStore(demo_trial).records().events
    assert (event.method, event.speed_km_per_h, event.stops) == (other, 8.5, 2)
    assert f"Strip 7 was drawn {drawn} and sown {other}: it counts as {other}" in text(browser.get(unsown))


def test_what_is_wrong_is_said_and_nothing_stored(browser, unsown, demo_trial):
    answer = browser.post(f"{unsown}strips/", {"strip": "7", "id": "tap-1", "speed_km_per_h": "700"})
    assert answer.status_code == 422
    assert "above 0, at most 40" in text(answer)
    assert browser.post(f"{unsown}strips/", {"strip": "99", "id": "tap-2"}).status_code == 422
    assert DatabaseStore(demo_trial).records().events == ()


def log_of(demo_trial, method: str) -> bytes:
    """A log as a planter writes it: one reading a second along the middle of each strip of a method, made up."""
    stored = DatabaseStore(demo_trial).load()
    lines, at = ["time,lon,lat,speed_km_h,rows_off"], datetime(2026, 4, 28, 8, 0, tzinfo=UTC).replace(tzinfo=None)
    for strip in (s for s in stored.draw.strips if s.method == method):
        corners = list(dict.fromkeys(strip.outline))[:4]
        ends = sorted(corners, key=lambda p: p[0])
        west = [sum(v) / 2 for v in zip(*ends[:2], strict=True)]
        east = [sum(v) / 2 for v in zip(*ends[2:], strict=True)]
        seconds = 150
        for k in range(seconds + 1):
            lon, lat = (a + (b - a) * k / seconds for a, b in zip(west, east, strict=True))
            lines.append(f"{at:%Y-%m-%d %H:%M:%S},{lon:.8f},{lat:.8f},7.0,0")
            at += timedelta(seconds=1)
        at += timedelta(seconds=60)
    return "\n".join(lines).encode()


def test_a_log_is_shown_before_it_counts(browser, unsown, demo_trial, settings):
    from django.core.files.uploadedfile import SimpleUploadedFile

    log = unsown.replace("as-sown/", "log/")
    assert browser.post(log, {"method": "A"}).status_code == 422
    sent = SimpleUploadedFile("log.csv", log_of(demo_trial, "A"), content_type="text/csv")
    answer = browser.post(log, {"method": "A", "file": sent})
    assert answer.status_code == 200, text(answer)
    assert "It does not count yet" in text(answer)
    assert DatabaseStore(demo_trial).records().events == ()
    token = re.search(r'name="kept" value="([0-9a-f]+)"', answer.content.decode()).group(1)
    for _ in range(2):
        assert browser.post(log, {"method": "A", "kept": token, "store": "1"}).status_code == 302
    events = current(DatabaseStore(demo_trial).records().events)
    mine = {s.strip for s in DatabaseStore(demo_trial).load().draw.strips if s.method == "A"}
    assert {n for e in events if e.event == "sown" for n in e.strips} == mine


def terminal_log_of(demo_trial, method: str) -> bytes:
    """The same way driven, as a zip of the time log a terminal writes (ISO 11783-10), made up."""
    _, *lines = log_of(demo_trial, method).decode().splitlines()
    day = (datetime(2026, 4, 28) - datetime(1980, 1, 1)).days
    records, before = [], {}
    for line in lines:
        at, lon, lat, speed, _ = line.split(",")
        clock = sum(int(part) * 60**k for k, part in enumerate(reversed(at[11:].split(":"))))
        now = {0: time_logs.condensed(6, 0), 1: round(float(speed) / 3.6 * 1000)}
        changed = [(k, value) for k, value in now.items() if before.get(k) != value]
        records.append(time_logs.record(clock, float(lon), float(lat), changed, day=day))
        before = now
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("TASKDATA/TLG00001.XML", time_logs.header((161, "DET-2"), (397, "DET-1")))
        archive.writestr("TASKDATA/TLG00001.BIN", b"".join(records))
        archive.writestr("TASKDATA/TASKDATA.XML", time_logs.DEVICE)
    return packed.getvalue()


def test_a_terminals_time_log_is_read_from_its_zip(browser, unsown, demo_trial):
    from django.core.files.uploadedfile import SimpleUploadedFile

    log = unsown.replace("as-sown/", "log/")
    sent = SimpleUploadedFile("stick.zip", terminal_log_of(demo_trial, "B"), content_type="application/zip")
    answer = browser.post(log, {"method": "B", "file": sent})
    assert answer.status_code == 200, text(answer)
    token = re.search(r'name="kept" value="([0-9a-f]+)"', answer.content.decode()).group(1)
    assert browser.post(log, {"method": "B", "kept": token, "store": "1"}).status_code == 302
    events = [e for e in current(DatabaseStore(demo_trial).records().events) if e.event == "sown"]
    mine = {s.strip for s in DatabaseStore(demo_trial).load().draw.strips if s.method == "B"}
    assert {n for e in events for n in e.strips} == mine
    assert all(e.speed_km_per_h == pytest.approx(7.0, abs=0.01) for e in events)
    broken = SimpleUploadedFile("stick.zip", b"PK\x03\x04 no zip", content_type="application/zip")
    refused = browser.post(log, {"method": "B", "file": broken})
    assert refused.status_code == 422


def test_a_log_of_another_trial_is_not_found(browser, unsown, new_trial):
    from evenground.web.uploads import keep

    token = keep(b"time,lon,lat\n", "log.csv", new_trial.pk)
    sent = {"method": "A", "kept": token}
    assert browser.post(unsown.replace("as-sown/", "log/"), sent).status_code == 404
    assert browser.post(unsown.replace("as-sown/", "log/"), {**sent, "kept": "../secret-key"}).status_code == 404


def test_a_calibration_run_says_what_to_multiply_by(browser, page, demo_trial):
    stored = DatabaseStore(demo_trial).load()
    a = settings(stored.plan, stored.draw)[0]
    caught = 0.8 * a.starter.kg_per_min
    typed = {"calibrate": "A", "caught_kg": f"{caught:.2f}".replace(".", ","), "amount": "1", "over": "minutes"}
    shown = text(browser.get(page, typed))
    assert "20% too little: new setting = old setting x 1.250; then run again." in shown
    dug = {"calibrate": "A", "seeds": str(round(a.seeds_per_m_of_line * 20)), "dug_m": "10", "lines": "2"}
    assert "Near enough" in text(browser.get(page, dug))
    assert "Near enough" not in text(browser.get(page))


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"calibrate": "Z", "caught_kg": "1", "amount": "1"}, "Which method was calibrated?"),
        ({"calibrate": "A"}, "Nothing was typed."),
        ({"calibrate": "A", "caught_kg": "x", "amount": "1"}, "Given: x."),
        ({"calibrate": "A", "caught_kg": "1.720", "amount": "1"}, "can be read in two ways"),
        ({"calibrate": "A", "caught_kg": "-1", "amount": "1"}, "must be above 0"),
        ({"calibrate": "A", "seeds": "40.5", "dug_m": "5"}, "whole numbers"),
        ({"calibrate": "A", "seeds": "40"}, "must be above 0"),
        ({"calibrate": "B", "caught_kg": "1", "amount": "20", "over": "turns"}, "one turn of the wheel is not said"),
    ],
)
def test_a_run_that_cannot_be_says_why_and_keeps_what_was_typed(browser, page, typed, says):
    answer = browser.get(page, typed)
    assert answer.status_code == 200
    assert says in text(answer)
    for value in (v for k, v in typed.items() if k not in ("calibrate", "over")):
        assert f'value="{value}"' in answer.content.decode()


def test_the_page_says_which_logs_it_reads(browser, page):
    shown = browser.get(f"{page}as-sown/").content.decode()
    assert ".zip" in re.search(r'id="log-file"[^>]*accept="([^"]+)"', shown).group(1)
    assert "TASKDATA" in shown
    assert all(word in shown for word in ("longitude (lon)", "latitude (lat)", "Speed km/h", "rows off"))


def test_the_room_of_the_plants_is_shown_before_anything_is_sown(browser, page, demo_trial):
    shown = browser.get(page).content.decode()
    alt = re.search(r'<img src="([^"]+space.svg)" alt="([^"]+)"', shown)
    assert "nearest plant" in alt.group(2)
    assert "same ground" in shown
    assert browser.get(alt.group(1)).content.lstrip().startswith(b"<svg")
