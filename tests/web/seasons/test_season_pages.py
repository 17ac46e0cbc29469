"""The season: weather read and kept, picture and numbers, agenda, fairness, the border."""

from __future__ import annotations

import re
from datetime import date, timedelta
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
    assert "temperature_min_c" not in text(answer)
    assert "Lowest temperature from the column" in text(answer)


def test_a_stuck_sensor_takes_one_line_and_the_other_doubts_stay_in_sight(browser, page, demo_trial):
    StoredRecord.objects.filter(trial=demo_trial, kind="weather").delete()
    first = date(2026, 5, 1)
    days = [f"{first + timedelta(days=k)};{400 if k == 45 else 0};9;{20 + k % 3 / 2};60" for k in range(60)]
    sent = SimpleUploadedFile("w.csv", ("date;rain;tmin;tmax;humidity\n" + "\n".join(days) + "\n").encode())
    shown = text(browser.post(f"{page}weather/", {"file": sent})).replace("\xa0", " ")
    assert "1 May 2026 to 29 Jun 2026" in shown
    assert "400 mm" in shown
    assert "more than 150 mm in a day" in shown.lower()
    assert "more</p>" not in shown


def test_earlier_years_are_kept_and_say_how_unusual_the_season_was(browser, page, demo_trial):
    first = date(2018, 1, 1)
    days = [first + timedelta(days=k) for k in range(9 * 365 - 40)]
    warm = [9 * (4 < d.month < 10) + d.toordinal() % 7 / 2 for d in days]  # no value stands for days: no stuck sensor
    rows = [f"{d};{3 * (d.toordinal() % 3 == 0)};{1 + w};{14 + w}" for d, w in zip(days, warm, strict=True)]
    read = browser.post(f"{page}weather/", {"file": weather(*rows)})
    assert "days of earlier years are kept beside them" in text(read)
    token = re.search(r'name="kept" value="([^"]+)"', read.content.decode()).group(1)
    assert browser.post(f"{page}weather/", {"kept": token, "store": "1"}).status_code == 302
    kept = bytes(TrialFile.objects.get(trial=demo_trial, path="weather_years.csv").content).decode()
    assert kept.startswith("date,rain_mm,")
    assert "\n2026-" not in kept
    assert "of 8 earlier years" in text(browser.get(page))
    shown = text(browser.get(f"/trials/{demo_trial.slug}/verdict/report.html"))
    assert "of 8 earlier years" in shown
    assert "weather_years.csv, sha256" in shown


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
    sized = [c for c in checks if c.state == "differs" and c.bias_t_per_ha and not c.part_of_question]
    assert ("All sizes together" in shown) == bool(sized)
    assert ("Nothing that differs has a known size" in shown) == (not sized)


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


def test_a_border_has_a_picture_its_numbers_and_a_report(browser, new_trial):
    page = f"/trials/{new_trial.slug}/season/border/"
    assert browser.get(f"{page}pictures/border.svg").status_code == 404
    assert browser.get(f"{page}border.pdf").status_code == 404
    TrialFile.objects.create(trial=new_trial, path="border.csv", content=BORDER.encode())
    shown = browser.get(page)
    (alt,) = re.findall(r'src="[^"]*pictures/border.svg" alt="([^"]+)"', shown.content.decode())
    assert "Step +1.00" in unescape(alt)
    assert "Weights of both areas" in text(shown)
    assert "here is what next year's layout would detect" in text(shown)
    assert browser.get(f"{page}pictures/border.svg").content.lstrip().startswith(b"<svg")
    assert browser.get(f"{page}border.pdf").content.startswith(b"%PDF")


def test_the_verdict_of_a_trial_never_drawn_is_that_of_its_border(browser, new_trial):
    page = f"/trials/{new_trial.slug}/verdict/"
    assert "No verdict yet" in text(browser.get(page))
    TrialFile.objects.create(trial=new_trial, path="border.csv", content=BORDER.encode())
    shown = browser.get(page)
    assert "Cannot tell: two areas side by side" in text(shown)
    assert "cannot tell the method from the field and the date" in text(shown)
    (source,) = re.findall(r'<img src="([^"]+)"', shown.content.decode())
    assert browser.get(source).content.lstrip().startswith(b"<svg")
    assert browser.get(f"{page}report.pdf").content.startswith(b"%PDF")
    whole = browser.get(f"{page}report.html")
    assert "sandbox" in whole["Content-Security-Policy"]
    assert "border.csv, sha256" in text(whole)


def test_weather_of_a_trial_never_drawn_gives_the_heat_between_both_sowings(browser, new_trial):
    page = f"/trials/{new_trial.slug}/season/"
    season = DatabaseStore(new_trial).load().plan.trial.season
    rows = [f"{'AB'[k % 2]},{9 + k / 10},{season}-04-{28 if k % 2 else 24}" for k in range(12)]
    table = "\n".join(["method,value,sown", *rows])
    TrialFile.objects.create(trial=new_trial, path="border.csv", content=table.encode())
    assert "4 days later" in text(browser.get(f"{page}border/"))
    days = [f"{season}-04-{d};0;{4 + d % 3};{20 - d % 3}" for d in range(20, 31)]
    read = browser.post(f"{page}weather/", {"file": weather(*days)})
    token = re.search(r'name="kept" value="([^"]+)"', read.content.decode()).group(1)
    answer = browser.post(f"{page}weather/", {"kept": token, "store": "1"})
    assert answer["Location"].endswith("/season/border/")
    assert "24 degree days" in text(browser.get(f"{page}border/"))


def test_points_beside_a_border_give_lines(browser, new_trial):
    rows = [f"{'AB'[x > 0]},{9 + (x > 0) + (7 * y + x) % 5 / 10},{x},{y}" for x in (-25, -15, -5, 5, 15, 25)
            for y in range(0, 100, 10)]  # fmt: skip
    table = "\n".join(["method,value,x,y", *rows])
    TrialFile.objects.create(trial=new_trial, path="border.csv", content=table.encode())
    shown = text(browser.get(f"/trials/{new_trial.slug}/season/border/"))
    assert "The lines on both sides" in shown
    assert "Distance from the border" in shown


def test_a_wrong_border_table_is_not_kept(browser, new_trial):
    page = f"/trials/{new_trial.slug}/season/border/"
    sent = SimpleUploadedFile("mine.csv", b"method,value\nA,-4\n", content_type="text/csv")
    assert browser.post(f"{page}yields/", {"file": sent}).status_code == 422
    assert not TrialFile.objects.filter(trial=new_trial).exists()
