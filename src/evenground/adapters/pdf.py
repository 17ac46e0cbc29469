"""Sets a document tree on paper: tagged PDF with embedded fonts, data handed over as JSON only."""

from __future__ import annotations

import base64
import json
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

import matplotlib as mpl
import typst

from evenground.adapters.small_photo import size_of
from evenground.report.document import Document, Figure, Part, Photos

STANDARD: Literal["ua-1"] = "ua-1"


def pdf(document: Document, drawings: Mapping[str, str], photographs: Mapping[str, bytes] | None = None) -> bytes:
    """Return the document as a PDF: A4, tagged (PDF/UA-1), fonts embedded, the same bytes each time.

    Parameters
    ----------
    document : Document
        What it says.
    drawings : mapping of str to str
        An SVG element for each figure, by the figure's name.
    photographs : mapping of str to bytes, optional
        Small JPEGs by file; one that is not there is named instead of shown.

    Raises
    ------
    KeyError
        If a figure has no drawing.
    """
    content = {
        **{key: getattr(document, key) for key in ("title", "subtitle", "language", "banner", "footer")},
        "parts": [part_data(part, drawings, photographs or {}) for part in document.parts],
    }
    return sheet_pdf("report.typ", content)


def sheet_pdf(template: str, content: Mapping[str, Any]) -> bytes:
    """Return a template with its content as a PDF: tagged (PDF/UA-1), fonts embedded, the same bytes each time.

    Parameters
    ----------
    template : str
        File name of the template beside this module.
    content : mapping
        What it says, as plain data.
    """
    made: bytes = typst.compile(
        files("evenground.adapters").joinpath(template).read_bytes(),
        format="pdf",
        font_paths=setter_fonts(),
        ignore_system_fonts=True,
        sys_inputs={"document": setter_json(content)},
        pdf_standards=STANDARD,
        timestamp=0,
    )
    return made


def setter_json(content: Mapping[str, Any]) -> str:
    """Return content as JSON for the setter, without control characters: no font has them, and no page could be set.

    Parameters
    ----------
    content : mapping
        Plain data.
    """
    return json.dumps(_settable(content), ensure_ascii=False)


def _settable(value: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
    if isinstance(value, str):
        return "".join(c for c in value if c in "\n\t" or not unicodedata.category(c).startswith("C"))
    if isinstance(value, Mapping):
        return {key: _settable(one) for key, one in value.items()}
    return [_settable(one) for one in value] if isinstance(value, list | tuple) else value


def setter_fonts() -> typst.Fonts:
    """Return the fonts of the setter and of the figures, never those of the machine: pages look alike everywhere."""
    own = str(Path(mpl.get_data_path()) / "fonts" / "ttf")
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[own])


def part_data(
    part: Part, drawings: Mapping[str, str], photographs: Mapping[str, bytes] | None = None
) -> dict[str, Any]:
    """Return a part as plain data, with its kind by name; a figure gets its drawing and width [pt]."""
    kind = type(part).__name__.lower()
    if isinstance(part, Figure):
        drawing = drawings[part.name]
        words = {"name": part.name, "alt": part.alt, "caption": part.caption}
        return {"kind": kind, **words, "svg": drawing, "width_pt": width_pt(drawing)}
    if isinstance(part, Photos):
        there = photographs or {}
        rows = [[{**asdict(photo), "svg": _as_svg(there.get(photo.file))} for photo in row] for row in part.rows]
        return {"kind": kind, "caption": part.caption, "across": part.across, "rows": rows, "note": part.note}
    return {"kind": kind, **asdict(part)}


def _as_svg(jpeg: bytes | None) -> str:
    """Wrap a photograph in SVG, for data go to the setter as text only; empty where there is none."""
    if jpeg is None:
        return ""
    width, height = size_of(jpeg)
    data = base64.b64encode(jpeg).decode()
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}pt" height="{height}pt" viewBox="0 0 {width} {height}">'
        f'<image width="{width}" height="{height}" href="data:image/jpeg;base64,{data}"/></svg>'
    )


def width_pt(drawing: str) -> float:
    """Return the width an SVG element states [pt].

    Examples
    --------
    >>> width_pt('<svg width="400pt" height="10pt">')
    400.0

    Raises
    ------
    ValueError
        If it states none.
    """
    found = re.search(r'<svg [^>]*?\bwidth="([0-9.]+)pt"', drawing)
    if found is None:
        raise ValueError("the drawing does not state its width in points.")
    return float(found.group(1))
