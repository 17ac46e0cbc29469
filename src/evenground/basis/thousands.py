"""How large numbers are written where people read them: thin spaces between thousands, never a comma or a dot."""

from __future__ import annotations

THIN = "\N{NARROW NO-BREAK SPACE}"


def grouped(value: float, digits: int = 0) -> str:
    """Write a number with thin spaces between thousands [unit of the value].

    A comma there is a decimal sign to half of the readers.

    Examples
    --------
    >>> grouped(3620).replace(THIN, " "), grouped(-1234.56, 1).replace(THIN, " ")
    ('3 620', '-1 234.6')
    """
    return f"{value:,.{digits}f}".replace(",", THIN)
