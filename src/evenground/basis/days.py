"""How a day and a moment are written where people read them; files and JSON keep the ISO form."""

from __future__ import annotations

from datetime import date, datetime

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
JOINED = "\N{NO-BREAK SPACE}"
"""Between day, month and year: a date in a narrow column stays in one line."""


def said_day(day: date, *, year: bool = True) -> str:
    """Write a day with its month in letters, so that day and month are not mixed up.

    Parameters
    ----------
    day : date
        The day; of a moment its day on the clock it was read from.
    year : bool
        Whether to name the year.

    Examples
    --------
    >>> said_day(date(2026, 4, 5)).replace(JOINED, " ")
    '5 Apr 2026'
    >>> said_day(date(2026, 4, 28), year=False).replace(JOINED, " ")
    '28 Apr'
    """
    parts = [str(day.day), MONTHS[day.month - 1], *([str(day.year)] if year else [])]
    return JOINED.join(parts)


def said_moment(moment: datetime) -> str:
    """Write a day with its time of day, and the zone where the moment names one.

    Examples
    --------
    >>> said_moment(datetime(2026, 9, 9, 8, 5)).replace(JOINED, " ")
    '9 Sep 2026, 08:05'
    >>> from datetime import UTC
    >>> said_moment(datetime(2026, 3, 11, 19, 30, tzinfo=UTC)).replace(JOINED, " ")
    '11 Mar 2026, 19:30 UTC'
    """
    zone = moment.tzname()
    return f"{said_day(moment)}, {moment:%H:%M}" + (f"{JOINED}{zone}" if zone else "")
