"""Whose clock the pages go by: as it is set, else the machine's; nonsense is passed over."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from evenground.web.config.places import ZONE_VARIABLE, time_zone


@pytest.mark.parametrize(
    ("said", "machine", "zone"),
    [
        ("America/Chicago", "Asia/Tokyo", "America/Chicago"),
        ("", "Asia/Tokyo", "Asia/Tokyo"),
        ("no such place", ":Europe/Vienna", "Europe/Vienna"),
        ("../../etc/passwd", "Europe/Madrid", "Europe/Madrid"),
    ],
)
def test_the_farms_clock(monkeypatch, said, machine, zone):
    monkeypatch.setenv(ZONE_VARIABLE, said)
    monkeypatch.setenv("TZ", machine)
    assert time_zone() == zone


def test_without_a_word_there_is_a_clock_all_the_same(monkeypatch):
    monkeypatch.delenv(ZONE_VARIABLE, raising=False)
    monkeypatch.delenv("TZ", raising=False)
    assert ZoneInfo(time_zone()).key == time_zone()


@pytest.mark.django_db
def test_pages_say_whose_clock_it_is(browser):
    assert "Times are those of the zone Europe/Berlin." in browser.get("/backup/").content.decode()
