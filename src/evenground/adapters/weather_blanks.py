"""Weather tables whose columns stand apart by blanks alone: brought to tabs, lines that cannot be told apart named."""

from __future__ import annotations

import re

from evenground.adapters.weather_headings import heading
from evenground.basis.errors import Problem, problem
from evenground.season.daily import NAMES

MOST_NAMED = 10
_WIDE, _ANY = re.compile(r"\s{2,}"), re.compile(r"\s+")


def blanks_between(header: str) -> re.Pattern[str] | None:
    r"""Say what stands between the columns of a header without any other delimiter; None where it is no header.

    Parameters
    ----------
    header : str
        One line of the file.

    Examples
    --------
    >>> blanks_between("date  rain (mm)  tmin"), blanks_between("date rain tmin"), blanks_between("date,rain")
    (re.compile('\\s{2,}'), re.compile('\\s+'), None)
    """
    if re.search(r"[;\t,|]", header):
        return None
    for gap in (_WIDE, _ANY):
        found = {heading(cell).field for cell in gap.split(header.strip())}
        if found & {"date", "year"} and found & set(NAMES):
            return gap
    return None


def tabbed(
    header: str, lines: list[str], gap: re.Pattern[str], first: int, file: str
) -> tuple[list[str], list[Problem]]:
    r"""Put tabs between the columns of a table that has blanks there.

    An empty cell cannot be seen between blanks: a line with another number of cells than the header is a problem, never
    shifted.

    Parameters
    ----------
    header : str
        The line of the headings.
    lines : list of str
        What follows.
    gap : re.Pattern
        See `blanks_between`.
    first : int
        Number of the line of the headings in the file.
    file : str
        Its name.

    Returns
    -------
    tuple
        Headings and lines with tabs, and the problems found.

    Examples
    --------
    >>> tabbed("date  rain", ["2026-05-01   1.5"], _ANY, 1, "w.txt")[0]
    ['date\train', '2026-05-01\t1.5']
    """
    names = gap.split(header.strip())
    out, problems = ["\t".join(names)], []
    for i, line in enumerate(lines, first + 1):
        cells = _ANY.split(line.strip()) if line.strip() else []
        if cells and len(cells) != len(names):
            message = (
                f"this line has {len(cells)} cells, the header has {len(names)}; between blanks no empty cell shows."
            )
            allowed = "a sign such as -999 or NA for a missing value, or commas between the cells"
            problems.append(problem(message, file=file, row=i, given=line.strip()[:200], allowed=allowed))
        out.append("\t".join(cells))
    return out, problems[:MOST_NAMED]
