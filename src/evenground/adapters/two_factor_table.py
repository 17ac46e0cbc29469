"""A table of strips in which two factors were compared: a whole-plot factor and one within whole plots."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from evenground.adapters.number_style import NumberStyle
from evenground.adapters.strip_table import Columns, open_strip_table, strip_name, values_of
from evenground.adapters.tables import Table
from evenground.basis.errors import Problem, problem
from evenground.compare.split_plot import SplitPlot
from evenground.compare.values import StripValues


@dataclass(frozen=True)
class FactorColumns:
    """Names of the columns of two factors.

    Attributes
    ----------
    whole, within : str
        The factor on whole plots, and the one changed within them.
    whole_plot : str or None
        Whole plot of each row; None where a level of the whole-plot factor stands in one whole plot of each block.
    """

    whole: str
    within: str
    whole_plot: str | None = None

    @property
    def names(self) -> list[str]:
        """All columns that must be there."""
        return [name for name in (self.whole, self.within, self.whole_plot) if name is not None]

    @property
    def method(self) -> str:
        """What the column of methods is called where there is none of its own."""
        return f"{self.whole}/{self.within}"


def read_two_factor_table(
    path: Path,
    columns: Columns,
    factors: FactorColumns,
    baseline: str,
    *,
    number_style: NumberStyle | None = None,
) -> tuple[StripValues, SplitPlot, tuple[str, ...]]:
    """Read a table of strips of a split plot.

    Parameters
    ----------
    path : Path
        A delimited text table of at most 50 MB.
    columns : Columns
        Which column is what; the method may be ``factors.method``, which is no column: then a method is called by its
        two levels with a slash between them.
    factors : FactorColumns
        Columns of the two factors.
    baseline : str
        Baseline method; it must occur. Its levels are those the other levels are compared with.
    number_style : NumberStyle or None
        How the file writes numbers, where the user has said so.

    Returns
    -------
    (StripValues, SplitPlot, notes)
        Values and notes as `read_strip_table`. All orders of whole plots within blocks, and of strips within whole
        plots, count as possible: the table does not say how it was drawn.

    Raises
    ------
    InputError
        With every problem found.
    """
    made_up = columns.method == factors.method
    names = [n for n in (*columns.names, *factors.names) if n != factors.method]
    table, notes = open_strip_table(path, columns.outcome, names, number_style)
    if made_up:
        rows = tuple({**r, columns.method: f"{r[factors.whole]}/{r[factors.within]}"} for r in table.rows)
        table = replace(table, rows=rows, columns=(*table.columns, columns.method))
    wrong = [
        *_empty(table, factors),
        *_methods_unlike(table, columns, factors),
        *_plots_unlike(table, columns, factors),
    ]
    wrong += _not_crossed(table, columns, factors)
    values, said = values_of(table, columns, baseline, notes, wrong)
    return values, _split(table, columns, factors, baseline), said


def _rows(table: Table) -> Iterator[tuple[int, dict[str, str], int]]:
    yield from ((i, row, line) for i, (row, line) in enumerate(zip(table.rows, table.lines, strict=True)))


def _empty(table: Table, factors: FactorColumns) -> Iterator[Problem]:
    """Name empty cells of the factors."""
    for _, row, line in _rows(table):
        for name in factors.names:
            if not row[name]:
                yield problem("this cell is empty.", file=table.file, row=line, field=name, allowed="a name or number")


def _not_crossed(table: Table, columns: Columns, factors: FactorColumns) -> Iterator[Problem]:
    """Name a factor that has one level only, or one level in every place where it should have several."""
    places = {factors.whole: ("block", columns.block), factors.within: ("whole plot", None)}
    for name, (place, column) in places.items():
        levels: dict[str, set[str]] = {}
        for row in table.rows:
            where = row[column] if column is not None else _plot(row, columns, factors)
            levels.setdefault(where, set()).add(row[name])
        every = _order(row[name] for row in table.rows)
        if len(every) < 2:
            text = "this factor has one level only, so there is nothing to compare."
            yield problem(text, file=table.file, field=name, given=", ".join(every), allowed="two levels or more")
        elif all(len(there) < 2 for there in levels.values()):
            text = f"no {place} holds two levels of this factor, so it cannot be told from the ground."
            allowed = f"two levels or more in a {place}"
            yield problem(text, file=table.file, field=name, given=f"one level in every {place}", allowed=allowed)


def _plot(row: dict[str, str], columns: Columns, factors: FactorColumns) -> str:
    """Name the whole plot of a row: by its column, else by block and level."""
    return row[factors.whole_plot] if factors.whole_plot else f"{row[columns.block]}:{row[factors.whole]}"


def _methods_unlike(table: Table, columns: Columns, factors: FactorColumns) -> Iterator[Problem]:
    """Name rows whose method stands for other levels elsewhere, and rows whose levels have another method elsewhere."""

    def levels(row: dict[str, str]) -> str:
        return f"{factors.whole} {row[factors.whole]}, {factors.within} {row[factors.within]}"

    def method(row: dict[str, str]) -> str:
        return f"method {row[columns.method]}"

    yield from _clashes(table, columns.method, method, levels, "one pair of levels a method")
    yield from _clashes(table, factors.within, levels, method, "one method a pair of levels")


def _plots_unlike(table: Table, columns: Columns, factors: FactorColumns) -> Iterator[Problem]:
    """Name whole plots that lie in two blocks or have two levels, and strips that lie in two whole plots."""
    if factors.whole_plot is None:
        return
    name = factors.whole_plot

    def plot(row: dict[str, str]) -> str:
        return f"whole plot {row[name]}"

    def place(row: dict[str, str]) -> str:
        return f"block {row[columns.block]}, {factors.whole} {row[factors.whole]}"

    yield from _clashes(table, name, plot, place, "one block and one level a whole plot")
    if columns.strip is not None:
        strip = columns.strip
        yield from _clashes(table, strip, lambda row: f"strip {row[strip]}", plot, "one whole plot a strip")


def _clashes(
    table: Table,
    field: str,
    key: Callable[[dict[str, str]], str],
    value: Callable[[dict[str, str]], str],
    allowed: str,
) -> Iterator[Problem]:
    first: dict[str, tuple[str, int]] = {}
    for _, row, line in _rows(table):
        there, before = first.setdefault(key(row), (value(row), line))
        if there != value(row):
            text = f"{key(row)} had {there} in line {before}."
            yield problem(text, file=table.file, row=line, field=field, given=value(row), allowed=allowed)


def _split(table: Table, columns: Columns, factors: FactorColumns, baseline: str) -> SplitPlot:
    """Return how the strips lie in whole plots, rows without a value included: a whole plot they lie in is broken."""
    of = {row[columns.method]: (row[factors.whole], row[factors.within]) for row in table.rows}
    own = of[baseline]
    whole, within = (_order([own[k], *(levels[k] for levels in of.values())]) for k in (0, 1))
    letter = {levels: name for name, levels in of.items()}
    plots, drawn = {}, {}
    for i, row, _ in _rows(table):
        name = strip_name(table, i, columns)
        plots[name], drawn[name] = _plot(row, columns, factors), row[columns.method]
    return SplitPlot(
        factors.whole,
        factors.within,
        whole,
        within,
        tuple(tuple(letter.get((u, w), f"{u}/{w}") for w in within) for u in whole),
        plots,
        drawn,
        None,
    )


def _order(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names))
