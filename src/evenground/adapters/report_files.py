"""Writes the report of a trial into a folder: paper, web page, strip map."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from evenground.adapters.charts import draw
from evenground.adapters.files import write_atomically
from evenground.adapters.html import html
from evenground.adapters.pdf import pdf
from evenground.adapters.small_photo import Reader, small_photos
from evenground.basis.field import Field
from evenground.decide.border_verdict import BorderVerdict
from evenground.decide.verdict_record import Verdict
from evenground.report.border_page import border_document
from evenground.report.build import build
from evenground.report.document import Document
from evenground.report.field_page import STRIP_MAP

PDF_FILE, HTML_FILE, MAP_FILE = "report.pdf", "report.html", "strips.svg"


def write_report(
    verdict: Verdict,
    field: Field | None,
    folder: Path,
    say: Callable[[str], None] = lambda _: None,
    read_photo: Reader = lambda _: None,
) -> tuple[Path, ...]:
    """Write the report as PDF and as one HTML page, and the strip map as SVG.

    Parameters
    ----------
    verdict : Verdict
        What it says.
    field : Field or None
        Outline of the field [deg].
    folder : Path
        Where to; made if it is not there. Files of an earlier report are replaced as a whole.
    say : callable
        Told in words what is being done.
    read_photo : callable
        Returns a photograph of the trial by its name; without one they are named only.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    return _write(build(verdict, field), folder, say, picture=STRIP_MAP, read_photo=read_photo)


def write_border_report(
    found: BorderVerdict, folder: Path, say: Callable[[str], None] = lambda _: None
) -> tuple[Path, ...]:
    """Write the report on two areas that were never randomised as PDF and as one HTML page.

    Parameters
    ----------
    found : BorderVerdict
        What it says.
    folder, say
        As `write_report`.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    return _write(border_document(found), folder, say)


def _write(
    document: Document,
    folder: Path,
    say: Callable[[str], None],
    picture: str = "",
    read_photo: Reader = lambda _: None,
) -> tuple[Path, ...]:
    """Draw, set and write; one picture may also stand in a file of its own."""
    n = len(document.figures)
    say("Drawing 1 picture." if n == 1 else f"Drawing {n} pictures.")
    drawings = {figure.name: draw(figure) for figure in document.figures}
    photographs = small_photos(document.photographs, read_photo)
    say("Setting the pages.")
    contents = {
        PDF_FILE: pdf(document, drawings, photographs),
        HTML_FILE: html(document, drawings, photographs).encode(),
    }
    if picture:
        contents[MAP_FILE] = f"{drawings[picture]}\n".encode()
    for name, content in contents.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in contents)
