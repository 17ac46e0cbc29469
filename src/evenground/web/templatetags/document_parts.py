"""Parts of a document tree in a page: each kind of part has its form in one template."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count
from typing import Any

from django import template

from evenground.report.document import Column, Figure, Part, Table
from evenground.report.for_readers import with_texts
from evenground.web.core_words import core_words
from evenground.web.picture_tables import numbers_of

register = template.Library()


@register.filter
def said(text: object) -> str:
    """Return a sentence of the core in the words of the pages."""
    return core_words(str(text))


@register.filter
def cells(table: Table) -> list[list[tuple[str, str]]]:
    """Return the rows of a table, each cell with the side it stands on."""
    sides = [column.align for column in table.columns]
    return [list(zip(map(core_words, row), sides, strict=True)) for row in table.rows]


@register.filter
def headed(table: Table) -> list[list[tuple[Column, str]]]:
    """Return the rows of a table, each cell with its column: on a phone the heading stands beside the cell."""
    return [list(zip(table.columns, map(core_words, row), strict=True)) for row in table.rows]


@register.inclusion_tag("web/parts.html")
def document_parts(
    parts: Iterable[Part], figures: str = "", name: str = "part", photographs: str = ""
) -> dict[str, Any]:
    """Show parts of a document.

    Parameters
    ----------
    parts : iterable of Part
        What to show.
    figures : str
        Address below which the pictures are, each as ``NAME.svg``.
    name : str
        Beginning of the ids of this group of parts, unique in a page.
    photographs : str
        Address below which the photographs are, each by its file.
    """
    numbers = count(1)
    shown = []
    for part in (with_texts(part, core_words) for part in parts):
        one: dict[str, Any] = {"kind": type(part).__name__.lower(), "part": part, "id": f"{name}-{next(numbers)}"}
        if isinstance(part, Figure):
            one |= {"src": f"{figures}{part.name}.svg", "table": numbers_of(part.picture)}
        elif isinstance(part, Table):
            one["table"] = part
        shown.append(one)
    return {"shown": shown, "photographs": photographs}
