from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from evenground.basis.days import JOINED, said_day, said_moment


# The month in letters, in English, whatever the machine's language; no zero before the day.
@pytest.mark.parametrize(
    ("day", "text"),
    [
        (date(2026, 1, 1), "1 Jan 2026"),
        (date(2026, 5, 4), "4 May 2026"),
        (date(2024, 2, 29), "29 Feb 2024"),
        (date(1999, 12, 31), "31 Dec 1999"),
    ],
)
def test_a_day_has_its_month_in_letters(day, text):
    assert said_day(day) == text.replace(" ", JOINED)
    assert said_day(day, year=False) == text.rpartition(" ")[0].replace(" ", JOINED)


def test_a_day_stays_in_one_line():
    assert " " not in said_day(date(2026, 4, 28))


def test_a_moment_is_its_day_on_its_own_clock():
    summer = timezone(timedelta(hours=2), "CEST")
    moment = datetime(2026, 9, 10, 0, 5, tzinfo=summer)
    assert said_moment(moment).replace(JOINED, " ") == "10 Sep 2026, 00:05 CEST"
    assert said_moment(moment.astimezone(UTC)).replace(JOINED, " ") == "9 Sep 2026, 22:05 UTC"


def test_a_moment_without_a_zone_names_none():
    assert said_moment(datetime(2026, 9, 9, 15, 8)).replace(JOINED, " ") == "9 Sep 2026, 15:08"
