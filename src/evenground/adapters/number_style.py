"""How a file writes its numbers and dates: found from all cells together, asked where the file leaves it open.

Nothing is guessed: "9.500" is nine and a half in one country and nine thousand five hundred in the next. A style is
taken only when some cell decides it or when every possible reading gives the same values.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

SPACES = " \u00a0\u202f"  # space, no-break space, narrow no-break space
_EXPONENT = r"(?:[eE][+-]?\d{1,3})?"
_LONGEST = 60
NOT_FINITE = {"nan": "not a number (NaN)", "inf": "infinite", "infinity": "infinite"}


@dataclass(frozen=True, slots=True)
class NumberStyle:
    """One way to write numbers.

    Attributes
    ----------
    name : str
        How it is named in ``trial.toml`` and on the command line: the number 1234.5 written in this style.
    decimal : str
        Decimal sign.
    thousands : str
        Sign between groups of three digits; empty where there is none.
    """

    name: str
    decimal: str
    thousands: str

    @property
    def pattern(self) -> re.Pattern[str]:
        """What a number looks like in this style."""
        return _PATTERNS[self.name]

    def fits(self, text: str) -> bool:
        """Say whether a cell is a number in this style."""
        return len(text) <= _LONGEST and self.pattern.fullmatch(text) is not None


STYLES: dict[str, NumberStyle] = {
    s.name: s
    for s in (
        NumberStyle("1234.5", ".", ""),
        NumberStyle("1234,5", ",", ""),
        NumberStyle("1,234.5", ".", ","),
        NumberStyle("1.234,5", ",", "."),
        NumberStyle("1 234,5", ",", " "),
        NumberStyle("1 234.5", ".", " "),
        NumberStyle("1'234.5", ".", "'"),
    )
}
PLAIN = STYLES["1234.5"]


def _compile(style: NumberStyle) -> re.Pattern[str]:
    d = re.escape(style.decimal)
    whole = r"\d+"
    if style.thousands:
        group = (
            f"[{SPACES}]"
            if style.thousands == " "
            else "['’]"
            if style.thousands == "'"
            else re.escape(style.thousands)
        )
        whole = rf"(?:[1-9]\d{{0,2}}(?:{group}\d{{3}})+|\d+)"
    return re.compile(rf"[+\-−]?(?:{whole}(?:{d}\d*)?|{d}\d+){_EXPONENT}")


_PATTERNS: dict[str, re.Pattern[str]] = {name: _compile(style) for name, style in STYLES.items()}
_OPEN = re.compile(r"[+\-−]?[1-9]\d{0,2}(?:[.,]\d{3})+")


def style_named(name: str) -> NumberStyle:
    """Return the style with this name.

    Raises
    ------
    ValueError
        If there is none; the message lists them.

    Examples
    --------
    >>> style_named("1.234,5").decimal
    ','
    """
    if name not in STYLES:
        raise ValueError(f"there is no number style {name!r}; one of {', '.join(STYLES)}.")
    return STYLES[name]


def exact_number(text: str, style: NumberStyle = PLAIN) -> Fraction:
    """Read one number without any rounding.

    Parameters
    ----------
    text : str
        The cell.
    style : NumberStyle
        How the file writes numbers.

    Returns
    -------
    Fraction
        Exactly what is written.

    Raises
    ------
    ValueError
        If the text is no number in this style, or NaN, or infinite; the message is a plain sentence.

    Examples
    --------
    >>> float(exact_number("12.345,5", style_named("1.234,5")))
    12345.5
    """
    given = text.strip()
    if given.lower().lstrip("+-−") in NOT_FINITE:
        raise ValueError(f"this is {NOT_FINITE[given.lower().lstrip('+-−')]}, not a finite number.")
    if not style.fits(given):
        raise ValueError("this is not a number.")
    plain = given.replace("−", "-")
    for sign in SPACES + "'’" if style.thousands in (" ", "'") else style.thousands:
        plain = plain.replace(sign, "")
    value = Fraction(plain.replace(style.decimal, ".").rstrip("."))
    if abs(value) > 10**300:
        raise ValueError("this number is too large to be anything in a field.")
    return value


def parse_number(text: str, style: NumberStyle = PLAIN) -> float:
    """Read one number as float; see `exact_number`.

    Raises
    ------
    ValueError
        If the text is no finite number in this style.

    Examples
    --------
    >>> parse_number("12,5", style_named("1234,5"))
    12.5
    """
    return float(exact_number(text, style))


def format_number(value: float, style: NumberStyle = PLAIN) -> str:
    """Write one number so that it reads back to the same float and never leaves its reading open.

    A number such as 9.125 could be taken for 9125; it is written 9.1250.

    Examples
    --------
    >>> format_number(9.125), format_number(9500.0, style_named("1.234,5"))
    ('9.1250', '9500')
    """
    text = repr(float(value)).removesuffix(".0")
    return close_reading(text.replace(".", style.decimal))


def close_reading(text: str) -> str:
    """Add a zero to a decimal number whose three decimals could be taken for thousands.

    Examples
    --------
    >>> close_reading("9,125"), close_reading("9,12")
    ('9,1250', '9,12')
    """
    return text + "0" if _OPEN.fullmatch(text) else text


def words(value: float) -> str:
    """Write a number for reading aloud: a point, and a space between thousands.

    Examples
    --------
    >>> words(95000.0), words(9.5)
    ('95 000', '9.5')
    """
    if abs(value) < 10_000:
        return f"{value:.10g}"
    return f"{value:,.10g}".replace(",", " ")


def describe(style: NumberStyle, example: str) -> str:
    """Say how a cell is read.

    Examples
    --------
    >>> describe(style_named("1.234,5"), "95.000")
    '95.000 is read as 95 000'
    """
    return f"{example} is read as {words(parse_number(example, style))}"


@dataclass(frozen=True, slots=True)
class StyleFound:
    """What the cells say about the number style.

    Attributes
    ----------
    style : NumberStyle or None
        The style; None where the cells leave it open.
    example : str
        A cell that shows it (or that leaves it open); "" where no cell has a sign in it.
    readings : tuple of (style name, value)
        The possible readings of ``example`` where it is open.
    """

    style: NumberStyle | None
    example: str
    readings: tuple[tuple[str, float], ...] = ()


def find_style(cells: Iterable[str]) -> StyleFound:
    """Find the one number style of a file.

    Parameters
    ----------
    cells : iterable of str
        All cells; those that are a number in no style are passed over.

    Returns
    -------
    StyleFound
        The style all number cells share. Where they share none, the one that fits most of them, so that the rest can
        be named one by one. Where several fit and give different values, ``style`` is None.

    Examples
    --------
    >>> find_style(["12,5", "9.500,0"]).style.name
    '1.234,5'
    >>> find_style(["9.500", "12.250"]).readings
    (('1234.5', 9.5), ('1.234,5', 9500.0))
    """
    every = dict.fromkeys(c.strip() for c in cells)
    numbers = [c for c in every if any(s.fits(c) for s in STYLES.values())]
    signed = [c for c in numbers if not c.lstrip("+-−").isdigit()]
    counts = {name: sum(s.fits(c) for c in signed) for name, s in STYLES.items()}
    best = [STYLES[name] for name, n in counts.items() if n == max(counts.values())]
    for cell in signed:
        readings: dict[float, str] = {}
        for style in best:
            if style.fits(cell):
                with suppress(ValueError):  # a number too large for a field decides nothing; its reader names it
                    readings.setdefault(parse_number(cell, style), style.name)
        if len(readings) > 1:
            return StyleFound(None, cell, tuple((name, value) for value, name in readings.items()))
    example = next((c for c in signed if best[0].fits(c)), "")
    return StyleFound(best[0], example)


# Dates -----------------------------------------------------------------------------------------------------------

DATE_STYLES = ("YYYY-MM-DD", "DD.MM.YYYY", "DD/MM/YYYY", "MM/DD/YYYY")
_SLASH = re.compile(r"(\d{1,2})/(\d{1,2})/\d{4}(?:[ T].*)?")
_DATE_FORMS = {"DD.MM.YYYY": "%d.%m.%Y", "DD/MM/YYYY": "%d/%m/%Y", "MM/DD/YYYY": "%m/%d/%Y"}
_CLOCKS = ("", " %H:%M", " %H:%M:%S")


@dataclass(frozen=True, slots=True)
class DateStyleFound:
    """What the cells say about the order of day and month.

    Attributes
    ----------
    style : str or None
        One of ``DATE_STYLES``; None where it is open. ISO dates are read whatever the style.
    example : str
        A cell that leaves it open, else "".
    """

    style: str | None
    example: str = ""


def find_date_style(cells: Sequence[str]) -> DateStyleFound:
    """Find the one order of day and month of a file.

    Examples
    --------
    >>> find_date_style(["04/05/2026", "23/05/2026"]).style
    'DD/MM/YYYY'
    >>> find_date_style(["04/05/2026"])
    DateStyleFound(style=None, example='04/05/2026')
    """
    slashes = [(m, c.strip()) for c in cells if (m := _SLASH.fullmatch(c.strip()))]
    if not slashes:
        dotted = any(re.match(r"\d{1,2}\.\d{1,2}\.\d{4}", c.strip()) for c in cells)
        return DateStyleFound("DD.MM.YYYY" if dotted else "YYYY-MM-DD")
    pairs = [(int(m[1]), int(m[2])) for m, _ in slashes]
    day_first, month_first = any(a > 12 for a, _ in pairs), any(b > 12 for _, b in pairs)
    if day_first != month_first:
        return DateStyleFound("DD/MM/YYYY" if day_first else "MM/DD/YYYY")
    if not day_first and all(a == b for a, b in pairs):
        return DateStyleFound("DD/MM/YYYY")
    example = next((cell for (a, b), (_, cell) in zip(pairs, slashes, strict=True) if a != b), slashes[0][1])
    return DateStyleFound(None, example)


def beside_a_number(text: str) -> str:
    """Say what stands beside the number in a cell from a laboratory's sheet; "" where nothing of the kind does.

    Parameters
    ----------
    text : str
        A cell that is no number.

    Examples
    --------
    >>> beside_a_number("< 2.0"), beside_a_number("31.0 1)"), beside_a_number("n.d.")
    ('this says only that it lies below something; leave the cell empty and put the words into note.', \
'a mark or footnote stands beside the number; leave the number alone and put the rest into note.', '')
    """
    cell = text.strip()
    sides = {"<": "below", "≤": "below", ">": "above", "≥": "above"}
    if cell[:1] in sides and re.search(r"\d", cell):
        return (
            f"this says only that it lies {sides[cell[0]]} something; leave the cell empty and put the words into note."
        )
    if re.fullmatch(r"[-+]?\d[\d.,]*\s*([*†‡#¹²³]+|\(?\d?[a-z]?\)|[a-z])", cell):
        return "a mark or footnote stands beside the number; leave the number alone and put the rest into note."
    return ""


def iso_time(text: str, style: str) -> str:
    """Rewrite a date or a date with clock time in ISO form; text in no known form is returned as it is.

    Parameters
    ----------
    text : str
        The cell.
    style : str
        One of ``DATE_STYLES``.

    Examples
    --------
    >>> iso_time("04.05.2026 14:30", "DD.MM.YYYY"), iso_time("2026-05-04", "DD.MM.YYYY")
    ('2026-05-04T14:30:00', '2026-05-04')
    """
    form = _DATE_FORMS.get(style)
    if form is None:
        return text
    for clock in _CLOCKS:
        try:
            moment = datetime.strptime(text.strip(), form + clock)  # the farm's local time
        except ValueError:
            continue
        return moment.isoformat() if clock else moment.date().isoformat()
    return text
