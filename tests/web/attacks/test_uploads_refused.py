"""Every place a file can be sent to, and files made to do harm: refused in words, nothing of them kept."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from . import hostile
from .dumps import everything

TABLES = {
    "records/samples/upload/": {},
    "records/scores/upload/": {"store": "1"},
    "sowing/log/": {"method": "A"},
    "season/weather/": {},
    "season/border/yields/": {},
    "sown/ walked": {"way": "walked"},
    "sown/ areas": {"way": "areas"},
}


def words(answer) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())))


def send(browser, about, page: str, data: bytes, name: str = "sent.csv", **more):
    """Send a file to a page of a trial; ``page`` may go on with a word after a space."""
    address = page.split(" ", maxsplit=1)[0]
    address = address if address.startswith("/") else f"/trials/{about.slug}/{address}"
    return browser.post(address, {**more, "file": SimpleUploadedFile(name, data)})


def refused(answer, before, content: str = "") -> str:
    """Make sure that an answer says no in words and that nothing was kept; return the words."""
    said = words(answer)
    assert answer.status_code in (400, 413, 415, 422), f"{content}: {answer.status_code}: {said[-400:]}"
    assert "Traceback" not in said
    assert "root:" not in said, "a file of the machine was read"
    assert everything() == before, content
    return said


@pytest.mark.parametrize("page", TABLES)
def test_no_page_takes_it_for_a_table(browser, demo_trial, page):
    before = everything()
    for content, data in hostile.TEXTS.items():
        assert refused(send(browser, demo_trial, page, data, **TABLES[page]), before, content)


@pytest.mark.parametrize("page", TABLES)
def test_names_of_files_lead_nowhere(browser, demo_trial, page):
    before = everything()
    for name in ("../../../evil.csv", "a" * 400 + ".csv", "😀" * 120 + ".csv", "TASKDATA.zip", "TLG00001.XML", "x\x07"):
        refused(send(browser, demo_trial, page, b"a;b\n1;2\n", name, **TABLES[page]), before)


def test_no_outline_is_read_from_it(browser, demo_trial):
    before = everything()
    for content, data in {**hostile.TEXTS, **hostile.ZIPS}.items():
        said = refused(send(browser, demo_trial, "field/upload/", data, "field.zip"), before, content)
        assert "allowed" in said.lower() or "DOCTYPE" in said or "empty" in said, content


def test_no_outline_of_hundred_thousand_corners(browser, demo_trial):
    data, before = hostile.geojson_ring(100_001), everything()
    said = refused(send(browser, demo_trial, "field/upload/", data, "field.geojson"), before)
    assert "corners" in said
    answer = browser.post(f"/trials/{demo_trial.slug}/field/save/", {"features": data.decode()[:3_900_000]})
    assert answer.status_code in (400, 422)
    assert everything() == before


@pytest.mark.parametrize("page", ["/backup/bring/", "/backup/put-back/"])
def test_no_archive_is_unpacked(browser, demo_trial, page):
    before = everything()
    for content, data in {**hostile.TEXTS, **hostile.ZIPS}.items():
        answer = send(browser, demo_trial, page, data, "t.zip", farm=str(demo_trial.farm_id))
        refused(answer, before, content)


def test_no_log_is_unpacked(browser, demo_trial):
    before = everything()
    for content, data in hostile.ZIPS.items():
        refused(send(browser, demo_trial, "sowing/log/", data, "TASKDATA.zip", method="A"), before, content)


def test_no_photograph(browser, demo_trial):
    before = everything()
    more = {"trial": demo_trial.slug, "id": "p1"}
    for content, data in hostile.PICTURES.items():
        refused(send(browser, demo_trial, "stand/photo/", data, "p.jpg"), before, content)
        refused(send(browser, demo_trial, "/phone/api/photos/", data, "p.jpg", **more), before, content)


def test_each_page_bounds_what_it_reads(browser, demo_trial, monkeypatch):
    """The bound of each page is lowered here, so that no test sends gigabytes; what it says names the bound."""
    bounds = {
        "sowing/log/": "evenground.web.sowing.views.LARGEST_LOG_BYTES",
        "season/weather/": "evenground.web.seasons.views.LARGEST_WEATHER_BYTES",
        "season/border/yields/": "evenground.web.seasons.views.LARGEST_BORDER_BYTES",
        "sown/ walked": "evenground.web.start.already_sown.LARGEST_BYTES",
        "field/upload/": "evenground.web.fields.views.LARGEST_UPLOAD_BYTES",
        "stand/photo/": "evenground.web.stands.photo_views.LARGEST_PHOTO_BYTES",
        "records/samples/upload/": "evenground.web.records.views.LARGEST_TABLE_BYTES",
        "/backup/bring/": "evenground.web.transfer.views.LARGEST_ZIP_BYTES",
        "/backup/put-back/": "evenground.web.transfer.views.LARGEST_ZIP_BYTES",
    }
    before = everything()
    for page, bound in bounds.items():
        monkeypatch.setattr(bound, 1_000_000)
        more = {**TABLES.get(page, {}), "farm": str(demo_trial.farm_id)}
        said = refused(send(browser, demo_trial, page, b"a;b\n" * 250_001, **more), before)
        assert "too large" in said, page
        assert re.search(r"\b[13] MB", said), page


def test_a_name_with_signs_no_database_keeps(browser, demo_trial):
    """PostgreSQL refuses a zero byte in text; here it is left out before it gets there."""
    said = {"farm": str(demo_trial.farm_id), "name": "Odd\x00 \u202ename"}
    assert browser.post(f"/trials/{demo_trial.slug}/pattern/", said).status_code == 302
    assert demo_trial.farm.trials.order_by("-pk").first().name == "Odd name"
