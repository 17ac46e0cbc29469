"""Shares found by simulation, the limits they must keep, and tables of them as text."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
REACH = 3.5
"""Monte Carlo standard errors a share may lie outside its limits: by chance alone once in some 2,000 cells."""


@dataclass(frozen=True)
class Share:
    """How often something happened; `exact` where every possible case was looked at."""

    hits: int
    of: int
    exact: bool = False

    @classmethod
    def count(cls, happened: npt.ArrayLike, *, exact: bool = False) -> Share:
        """Count an array of yes and no."""
        array = np.asarray(happened, dtype=np.bool_)
        return cls(int(array.sum()), array.size, exact)

    @property
    def value(self) -> float:
        """The share [1]."""
        return self.hits / self.of

    @property
    def error(self) -> float:
        """Its Monte Carlo standard error [1]."""
        return 0.0 if self.exact else math.sqrt(self.value * (1 - self.value) / self.of)

    def __str__(self) -> str:
        """Percent and Monte Carlo standard error."""
        return f"{100 * self.value:.2f} (all)" if self.exact else f"{100 * self.value:.1f} ± {100 * self.error:.1f}"


@dataclass(frozen=True)
class Limits:
    """Where a share must lie: a range, a slack with its reason in the table's text, and Monte Carlo error beyond it."""

    low: float
    high: float
    slack: float = 0.0

    def ends(self, share: Share) -> tuple[float, float]:
        """Return the range widened by the slack and by 3.5 Monte Carlo standard errors at each end [1]."""

        def reach(p: float) -> float:
            return self.slack + (0.0 if share.exact else REACH * math.sqrt(p * (1 - p) / share.of))

        return max(0.0, self.low - reach(self.low)), min(1.0, self.high + reach(self.high))

    def hold(self, share: Share) -> bool:
        """Whether the share lies inside."""
        low, high = self.ends(share)
        return low - 1e-12 <= share.value <= high + 1e-12


@dataclass(frozen=True)
class Cell:
    """A share beside what was quoted for it and the limits it must keep."""

    share: Share | None
    quoted: str = ""
    limits: Limits | None = None

    @property
    def kept(self) -> bool:
        """Whether it keeps its limits (or has none)."""
        return self.share is None or self.limits is None or self.limits.hold(self.share)


@dataclass(frozen=True)
class Row:
    """One setting: its labels and its cells, in the order of the table's columns."""

    labels: tuple[str, ...]
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Table:
    """One table: the question, what was assumed, the rows, and what follows from them."""

    title: str
    question: str
    assumptions: str
    label_columns: tuple[str, ...]
    cell_columns: tuple[str, ...]
    rows: tuple[Row, ...]
    note: str = ""
    findings: tuple[str, ...] = field(default=())

    def cells(self, column: str) -> list[Cell]:
        """Return the cells of one column that hold a share."""
        place = self.cell_columns.index(column)
        return [row.cells[place] for row in self.rows if row.cells[place].share is not None]

    def values(self, column: str) -> Floats:
        """Return the shares of one column [1]."""
        return np.array([cell.share.value for cell in self.cells(column) if cell.share is not None])

    def cell(self, column: str, *labels: str) -> Cell:
        """Return the cell of one column in the one row that has all these labels."""
        found = [row for row in self.rows if set(labels) <= set(row.labels)]
        if len(found) != 1:
            raise KeyError(f"{len(found)} rows have the labels {labels}")
        return found[0].cells[self.cell_columns.index(column)]

    def outside(self) -> list[str]:
        """Return every cell that does not keep its limits, in words."""
        return [
            f"{self._named(row)}: {column} {cell.share}, limits {_ends(cell)}"
            for row in self.rows
            for column, cell in zip(self.cell_columns, row.cells, strict=True)
            if not cell.kept
        ]

    def _named(self, row: Row) -> str:
        return ", ".join(f"{name} {label}" for name, label in zip(self.label_columns, row.labels, strict=True))

    def heading(self) -> str:
        """Return the table's line of column names, by which a stale page is noticed."""
        return _line([*self.label_columns, *(name for name, _, _ in self._columns())])

    def markdown(self) -> str:
        """Return the whole section."""
        parts = [f"## {self.title}", self.question, self.assumptions, "\n".join(self._lines())]
        if self.findings:
            parts.append("\n".join(f"- {finding}" for finding in self.findings))
        missed = self.outside()
        verdict = "Every cell keeps its limits." if not missed else "Outside their limits:"
        parts.append("\n".join([verdict, *(f"- {text}" for text in missed)]))
        if self.note:
            parts.append(self.note)
        return "\n\n".join(parts) + "\n"

    def _columns(self) -> Iterator[tuple[str, int, str]]:
        """Yield name, cell and kind of every printed column; quoted and limits only where some row has them."""
        for place, name in enumerate(self.cell_columns):
            yield name, place, "share"
            cells = [row.cells[place] for row in self.rows]
            if any(cell.quoted for cell in cells):
                yield "quoted", place, "quoted"
            if any(cell.limits for cell in cells):
                yield "limits", place, "limits"

    def _lines(self) -> list[str]:
        width = len(self.label_columns) + sum(1 for _ in self._columns())
        lines = [self.heading(), "|" + "---|" * width]
        for row in self.rows:
            cells = [_text(row.cells[place], kind) for _, place, kind in self._columns()]
            lines.append(_line([*row.labels, *cells]))
        return lines


def _line(entries: list[str]) -> str:
    return "| " + " | ".join(entries) + " |"


def _ends(cell: Cell) -> str:
    if cell.limits is None or cell.share is None:
        return ""
    low, high = cell.limits.ends(cell.share)
    return f"{100 * low:.1f}-{100 * high:.1f}"


def _text(cell: Cell, kind: str) -> str:
    if kind == "quoted":
        return cell.quoted
    if kind == "limits":
        return _ends(cell)
    return "" if cell.share is None else str(cell.share) + ("" if cell.kept else " **outside**")


def percent_range(values: Floats) -> str:
    """Return lowest and highest of some shares in percent."""
    return f"{100 * values.min():.1f}-{100 * values.max():.1f} %"
