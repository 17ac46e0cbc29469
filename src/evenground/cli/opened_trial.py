"""What the commands on a drawn trial share: open it, insist on its strips, and line text up in columns."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from evenground.basis.errors import InputError, problem
from evenground.basis.thousands import grouped
from evenground.cli.trial_place import store_at

if TYPE_CHECKING:
    from evenground.basis.store import Stored
    from evenground.basis.strip import Draw


def opened(trial: Path) -> tuple[Stored, Draw]:
    """Load a trial whose strips are drawn.

    Raises
    ------
    InputError
        With every problem of the folder, or if no strips are drawn yet.
    """
    stored = store_at(trial).load()
    if stored.draw is None:
        text = "no strips are drawn yet; 'evenground layout' draws them."
        raise InputError([problem(text, file="strips.geojson", allowed="a drawn trial")])
    return stored, stored.draw


def in_columns(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Line text up in columns, two spaces apart.

    Examples
    --------
    >>> print(in_columns(["strip", "t"], [["1", "8.1"], ["12", "7.95"]]))
    strip  t
    1      8.1
    12     7.95
    """
    lines = [header, *rows]
    widths = [max(len(line[i]) for line in lines) for i in range(len(header))]
    return "\n".join("  ".join(c.ljust(w) for c, w in zip(line, widths, strict=True)).rstrip() for line in lines)


def number(value: float | None, digits: int = 1) -> str:
    """Write a number for a column; a dash where there is none.

    Examples
    --------
    >>> number(None), number(8.126, 2)
    ('-', '8.13')
    """
    return "-" if value is None else grouped(value, digits)
