"""Numbers as a page shows them: the decimal sign of the reader's language, thin spaces between thousands."""

from __future__ import annotations

import math
from datetime import date, datetime

from django.utils import formats
from django.utils.translation import gettext

from evenground.basis.days import JOINED
from evenground.basis.thousands import grouped
from evenground.report.wording import MINUS, NONE


def number(value: float | None, digits: int = 0) -> str:
    """Write a number [unit of the value]; a dash where there is none.

    Parameters
    ----------
    value : float or None
        The number.
    digits : int
        Digits after the decimal sign.
    """
    if value is None or not math.isfinite(value):
        return NONE
    text = _with_sign_of_the_language(grouped(abs(value), digits))
    return MINUS + text if value < 0 and float(f"{value:.{digits}f}") != 0 else text


def signed(value: float | None, digits: int = 1) -> str:
    """Write a number with its sign, plus included; zero has none [unit of the value]."""
    if value is None or not math.isfinite(value):
        return NONE
    return f"+{number(value, digits)}" if float(f"{value:.{digits}f}") > 0 else number(value, digits)


def span(ends: tuple[float, float] | None, digits: int = 2) -> str:
    """Write a range with signs [unit of its ends]."""
    return NONE if ends is None else f"{signed(ends[0], digits)} … {signed(ends[1], digits)}"


def as_percent(fraction: float | None, digits: int = 0) -> str:
    """Write a fraction [1] as a number of percent, without the sign."""
    return number(None if fraction is None else 100.0 * fraction, digits)


def plain(value: float) -> str:
    """Write a number with all the digits it has, up to ten."""
    text = f"{abs(value):.10g}"
    if "e" in text:
        return str(value)
    digits = len(text.partition(".")[2])
    return (MINUS if value < 0 else "") + _with_sign_of_the_language(grouped(abs(value), digits))


def _with_sign_of_the_language(text: str) -> str:
    return text.replace(".", str(formats.get_format("DECIMAL_SEPARATOR")))


def day(value: date | None) -> str:
    """Write a date with its month in letters, so that day and month are not mixed up; a dash where there is none."""
    # Translators: a form of dates with the month in letters, in Django's signs
    return NONE if value is None else formats.date_format(value, gettext("j M Y")).replace(" ", JOINED)


def moment(value: datetime | None) -> str:
    """Write a date with the time of day."""
    return NONE if value is None else f"{day(value)}, {value:%H:%M}"
