"""One error tree, and the problem record that every check and every reader fills in.

A reader never stops at the first fault: it gathers ``Problem`` records and raises one ``InputError`` with all of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where it stands, what stood there, what may stand there.

    Attributes
    ----------
    file : str
        File name as the user knows it (``records/loads.csv``), or "" if no file is involved.
    row : int or None
        Line of the file, counted from 1 with the header as line 1; None where rows have no meaning.
    field : str
        Column, key path (``methods[1].seeds_per_m2``) or option.
    given : str
        What was found, as written.
    allowed : str
        What may stand there, in words.
    message : str
        One plain sentence that says what is wrong and, where known, what to do.
    """

    file: str
    row: int | None
    field: str
    given: str
    allowed: str
    message: str

    def as_dict(self) -> dict[str, str | int | None]:
        """Return the keys of ``check --json``."""
        return asdict(self)

    def __str__(self) -> str:
        place = self.file + (f", line {self.row}" if self.row is not None else "")
        parts = [p for p in (place, self.field) if p]
        text = f"{': '.join(parts)}: {self.message}" if parts else self.message
        if self.given:
            text += f" Given: {self.given}."
        if self.allowed:
            text += f" Allowed: {self.allowed}."
        return text


class EvengroundError(Exception):
    """Root of all errors this program raises on purpose."""


class InputError(EvengroundError):
    """Input that cannot be used; carries every problem found, never only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


class DoesNotFitError(EvengroundError):
    """No fair layout fits this field and these machines; says the nearest thing that would fit."""

    def __init__(self, message: str, nearest: str = "") -> None:
        self.nearest = nearest
        super().__init__(f"{message} {nearest}".strip())


class LockedError(EvengroundError):
    """The strips were drawn already; a new draw needs a reason."""


class CannotCompareError(EvengroundError):
    """The values per strip do not allow the comparison that was asked for."""


def problem(
    message: str, *, file: str = "", row: int | None = None, field: str = "", given: object = "", allowed: str = ""
) -> Problem:
    """Make a ``Problem``; ``given`` may be any value and is shown as text.

    Examples
    --------
    >>> print(problem("the mass is negative.", file="loads.csv", row=4, field="gross_kg", given=-3, allowed="above 0"))
    loads.csv, line 4: gross_kg: the mass is negative. Given: -3. Allowed: above 0.
    """
    return Problem(file, row, field, "" if given is None else str(given), allowed, message)
