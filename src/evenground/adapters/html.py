"""Writes a document tree as one self-contained web page: no script, no address, nothing fetched from anywhere."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from itertools import count, pairwise
from typing import Any

from evenground.report.document import (
    Bullets,
    Document,
    Facts,
    Figure,
    Heading,
    Note,
    Paragraph,
    Part,
    Photo,
    Photos,
    Table,
)

DAY = re.compile(r"\d{4}-\d{2}-\d{2}")  # is not broken over two lines


def html(document: Document, drawings: Mapping[str, str], photographs: Mapping[str, bytes] | None = None) -> str:
    """Return the document as one HTML page.

    Parameters
    ----------
    document : Document
        What it says.
    drawings : mapping of str to str
        An SVG element for each figure, by the figure's name.
    photographs : mapping of str to bytes, optional
        Small JPEGs by file; one that is not there is named instead of shown.

    Returns
    -------
    str
        HTML 5 with style and pictures inside. All text is escaped.

    Raises
    ------
    KeyError
        If a figure has no drawing.
    """
    style = files("evenground.adapters").joinpath("report.css").read_text(encoding="utf-8")
    sections = [piece for page in document.pages for piece in _sections(page)]
    links = "".join(
        f'<li><a href="#part-{i}">{escape(s.heading)}</a></li>' for i, s in enumerate(sections) if s.heading
    )
    banner = f'<p class="banner">{escape(document.banner)}</p>' if document.banner else ""
    numbers = count(1)
    body = "\n".join(
        f"<section{_labelled(i, piece.heading)}>{banner if piece.opens_page else ''}"
        + "".join(_part(p, drawings, photographs or {}, i, numbers) for p in piece.parts)
        + "</section>"
        for i, piece in enumerate(sections)
    )
    subtitle = f'<p class="subtitle">{escape(document.subtitle)}</p>' if document.subtitle else ""
    return (
        f'<!doctype html>\n<html lang="{escape(document.language)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{escape(document.title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
        '<a class="skip" href="#content">To the verdict</a>\n'
        f"<header><h1>{escape(document.title)}</h1>{subtitle}</header>\n"
        f'<main id="content">\n{body}\n</main>\n'
        f'<nav aria-label="In this report"><ul>{links}</ul></nav>\n'
        f"<footer><p>{escape(document.footer)}</p>{banner}</footer>\n</body>\n</html>\n"
    )


def _labelled(number: int, heading: str) -> str:
    return f' aria-labelledby="part-{number}"' if heading else ""


@dataclass(frozen=True)
class _Section:
    """The parts from one heading of level 2 to the next."""

    heading: str
    parts: tuple[Part, ...]
    opens_page: bool


def _sections(page: tuple[Part, ...]) -> list[_Section]:
    """Cut a page at its headings of level 2."""
    starts = [i for i, part in enumerate(page) if isinstance(part, Heading) and part.level == 2]
    cuts = sorted({0, *starts})
    sections = []
    for start, end in pairwise([*cuts, len(page)]):
        first = page[start]
        heading = first.text if isinstance(first, Heading) and start in starts else ""
        sections.append(_Section(heading, page[start:end], opens_page=start == 0))
    return sections


def _part(
    part: Part, drawings: Mapping[str, str], photographs: Mapping[str, bytes], section: int, numbers: count[int]
) -> str:
    if isinstance(part, Figure):
        return _figure(part, drawings[part.name])
    if isinstance(part, Photos):
        return _photos(part, photographs)
    if isinstance(part, Heading):
        own = f' id="part-{section}"' if part.level == 2 else ""
        return f"<h{part.level}{own}>{escape(part.text)}</h{part.level}>\n"
    if isinstance(part, Table):
        return _table(part, next(numbers))
    return _WRITERS[type(part)](part)


def _paragraph(part: Paragraph) -> str:
    return f'<p class="{part.role}">{escape(part.text)}</p>\n'


def _facts(part: Facts) -> str:
    rows = "".join(
        f"<div><dt>{escape(fact.label)}</dt><dd>{escape(fact.text)}</dd></div>"
        if fact.label
        else f"<div><dt>·</dt><dd>{escape(fact.text)}</dd></div>"
        for fact in part.rows
    )
    return f'<dl class="{part.role}">{rows}</dl>\n'


def _bullets(part: Bullets) -> str:
    return "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in part.items) + "</ul>\n"


def _note(part: Note) -> str:
    return f'<p class="note"><strong>{escape(part.label)}</strong> {escape(part.text)}</p>\n'


def _figure(part: Figure, drawing: str) -> str:
    inline = drawing.replace(' xmlns="http://www.w3.org/2000/svg"', "")
    inline = inline.replace(' xmlns:xlink="http://www.w3.org/1999/xlink"', "")
    return f'<figure class="{escape(part.name)}">{inline}<figcaption>{escape(part.caption)}</figcaption></figure>\n'


def _photos(part: Photos, photographs: Mapping[str, bytes]) -> str:
    rows = "".join(
        f'<div class="across-{max(part.across, 2)}">'
        + "".join(_photo(p, photographs.get(p.file)) for p in row)
        + "</div>"
        for row in part.rows
    )
    note = f'<p class="small">{escape(part.note)}</p>' if part.note else ""
    return f'<div class="photos"><p class="caption">{escape(part.caption)}</p>{rows}{note}</div>\n'


def _photo(photo: Photo, jpeg: bytes | None) -> str:
    if jpeg is None:
        shown = f'<p class="small">Missing, or no picture that can be shown: {escape(photo.file)}</p>'
    else:
        data = base64.b64encode(jpeg).decode()
        shown = f'<img src="data:image/jpeg;base64,{data}" alt="{escape(photo.alt)}">'
    return f"<figure>{shown}<figcaption>{escape(photo.caption)}</figcaption></figure>"


def _table(part: Table, number: int) -> str:
    head = "".join(
        f'<th scope="col" class="{c.align}">{escape(c.name)}'
        + (f' <span class="unit">{escape(c.unit)}</span>' if c.unit else "")
        + "</th>"
        for c in part.columns
    )
    rows = "".join(
        "<tr>" + "".join(_cell(i, part.columns[i].align, text) for i, text in enumerate(row)) + "</tr>\n"
        for row in part.rows
    )
    note = f'<p class="small">{escape(part.note)}</p>' if part.note else ""
    return (
        f'<div class="scroll" role="region" aria-labelledby="table-{number}" tabindex="0"><table>'
        f'<caption id="table-{number}">{escape(part.caption)}</caption>'
        f"<thead><tr>{head}</tr></thead>\n<tbody>{rows}</tbody></table></div>{note}\n"
    )


def _cell(place: int, align: str, text: str) -> str:
    if place == 0:
        return f'<th scope="row" class="{align}">{escape(text)}</th>'
    whole = " whole" if DAY.fullmatch(text) else ""
    return f'<td class="{align}{whole}">{escape(text)}</td>'


_WRITERS: dict[type, Callable[[Any], str]] = {
    Paragraph: _paragraph,
    Facts: _facts,
    Bullets: _bullets,
    Note: _note,
}
