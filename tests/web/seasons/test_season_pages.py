"""The season: weather read and kept, picture and numbers, agenda, fairness, the border."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from evenground.fairness.checks import fairness
from evenground.harvest.strips import harvest
from evenground.web.trials.models import StoredRecord, TrialFile
from evenground.web.trials.store import DatabaseStore


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


@pytest.fixture
def page(demo_trial) -> str:
    return f"/trials/{demo_trial.slug}/season/"


def test_season_in_a_sentence_a_picture_and_numbers(browser, page):
    answer = browser.get(page)
    shown = answer.content.decode()
    assert "mm of rain" in text(answer)
    source = re.search(r'<img src="([^"]+season\.svg)" alt="([^"]+)"', shown)
    assert "Rain by month" in source.group(2)
    assert "The numbers of this picture" in shown
    assert b"<svg" in browser.get(source.group(1)).content


def test_without_weather_the_page_says_what_would_be_enough(browser, page, demo_trial):
    StoredRecord.objects.filter(trial=demo_trial, kind="weather").delete()
    assert "No weather is recorded yet" in text(browser.get(page))
    assert browser.get(f"{page}pictures/season.svg").status_code == 404
    assert browser.get(f"{page}agenda.ics").content.startswith(b"BEGIN:VCALENDAR")


def weather(*lines: str) -> SimpleUploadedFile:
    table = "\n".join(["date;rain (mm);tmin (°C);tmax (°C)", *lines])
    return SimpleUploadedFile("station.csv", table.encode(), content_type="text/csv")


def test_a_weather_file_is_shown_then_kept_once(browser, page, demo_trial):
    StoredRecord.objects.filter(trial=demo_trial, kind="weather").delete()
    days = [f"{d:02d}.05.2026;1,5;8,0;{18 + d / 10:.1f}".replace(".", ",", 0) for d in range(1, 29)]
    days = [re.sub(r";(\d+)\.(\d)$", r";\1,\2", d) for d in days]
    answer = browser.post(f"{page}weather/", {"file": weather(*days)})
    assert answer.status_code == 200, text(answer)
    assert "28 of them would be new" in text(answer)
    assert DatabaseStore(demo_trial).records().weather == ()
    token = re.search(r'name="kept" value="([0-9a-f]+)"', answer.content.decode()).group(1)
    for _ in range(2):
        assert browser.post(f"{page}weather/", {"kept": token, "store": "1"}).status_code == 302
    records = DatabaseStore(demo_trial).records().weather
    assert len(records) == 28
    assert {r.rain_mm for r in records} == {1.5}


def test_doubtful_weather_is_shown_with_its_reason(browser, page, demo_trial):
    StoredRecord.objects.filter(trial=demo_trial, kind="weather").delete()
    days = [f"2026-05-{d:02d};0;9;{20 + d % 3}" for d in range(1, 20)] + ["2026-05-20;0;-9;44"]
    answer = browser.post(f"{page}weather/", {"file": weather(*days)})
    assert "Why it is doubted" in text(answer)


def test_a_file_that_is_no_weather(browser, page):
    sent = SimpleUploadedFile("photo.csv", b"\xff\xd8\xff\xe0\x00\x10JFIF", content_type="text/csv")
    answer = browser.post(f"{page}weather/", {"file": sent})
    assert answer.status_code == 422
    assert "Traceback" not in text(answer)
    assert browser.post(f"{page}weather/", {}).status_code == 422


def test_fairness_says_every_check_of_the_core_in_words(browser, page, demo_trial):
    stored = DatabaseStore(demo_trial).load()
    found = harvest(stored.plan, stored.draw, stored.records)
    checks = fairness(stored.plan, stored.draw, stored.records, found, stored.field)
    shown = text(browser.get(f"{page}fairness/"))
    words = {"alike": "alike", "differs": "differs", "unknown": "not known"}
    for check in checks:
        assert f"{check.item[0].upper()}{check.item[1:]} {words[check.state]}" in shown
    assert "All sizes together" in shown


def test_the_agenda_for_a_calendar(browser, page):
    answer = browser.get(f"{page}agenda.ics")
    assert answer["Content-Type"].startswith("text/calendar")
    assert answer.content.count(b"BEGIN:V") > 2


BORDER = "method,value\n" + "\n".join(f"A,{9 + k / 10}\nB,{10 + k / 10}" for k in range(6))


def test_a_border_says_what_is_missing_then_cannot_tell(browser, new_trial):
    page = f"/trials/{new_trial.slug}/season/border/"
    assert "What is missing" in text(browser.get(page))
    assert browser.post(f"{page}yields/", {}).status_code == 422
    sent = SimpleUploadedFile("mine.csv", BORDER.encode(), content_type="text/csv")
    assert browser.post(f"{page}yields/", {"file": sent}).status_code == 302
    assert bytes(TrialFile.objects.get(trial=new_trial, path="border.csv").content) == BORDER.encode()
    shown = text(browser.get(page))
    assert "What could explain the step" in shown
    assert not re.search(r"\bp\s*=", shown)


def test_a_wrong_border_table_is_not_kept(browser, new_trial):
    page = f"/trials/{new_trial.slug}/season/border/"
    sent = SimpleUploadedFile("mine.csv", b"method,value\nA,-4\n", content_type="text/csv")
    assert browser.post(f"{page}yields/", {"file": sent}).status_code == 422
    assert not TrialFile.objects.filter(trial=new_trial).exists()
