"""Writes the report of a trial into a folder: paper, web page, strip map."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from evenground.adapters.charts import draw
from evenground.adapters.files import write_atomically
from evenground.adapters.html import html
from evenground.adapters.pdf import pdf
from evenground.basis.field import Field
from evenground.decide.verdict_record import Verdict
from evenground.report.build import build
from evenground.report.field_page import STRIP_MAP

PDF_FILE, HTML_FILE, MAP_FILE = "report.pdf", "report.html", "strips.svg"


def write_report(
    verdict: Verdict, field: Field | None, folder: Path, say: Callable[[str], None] = lambda _: None
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

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    document = build(verdict, field)
    say(f"Drawing {len(document.figures)} pictures.")
    drawings = {figure.name: draw(figure) for figure in document.figures}
    say("Setting the pages.")
    contents = {
        PDF_FILE: pdf(document, drawings),
        HTML_FILE: html(document, drawings).encode(),
        MAP_FILE: f"{drawings[STRIP_MAP]}\n".encode(),
    }
    for name, content in contents.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in contents)
