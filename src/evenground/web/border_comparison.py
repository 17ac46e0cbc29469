"""Two neighbouring areas that were never randomised, for the border page and the verdict: parts, picture, paper."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from evenground import __version__
from evenground.adapters.border_trial import border_hashes, border_told
from evenground.adapters.charts import draw as draw_figure
from evenground.adapters.pdf import pdf
from evenground.basis.errors import CannotCompareError, InputError, Problem
from evenground.decide.border_verdict import BorderVerdict, border_verdict
from evenground.fairness.border_setting import Planned, planned_words
from evenground.report.border_page import border_document, border_parts
from evenground.report.document import Document, Paragraph, Part
from evenground.report.wording import first_capital
from evenground.web.drawing import drawn
from evenground.web.memory import Kept
from evenground.web.trial_view import Opened

MOST_KEPT = 16


@dataclass(frozen=True)
class BorderShown:
    """What can be said of a border: parts to read, how the files were read, or what is missing.

    Attributes
    ----------
    parts : tuple of Part
        What can be said.
    notes : tuple of str
        How the files were read.
    problems : tuple of Problem
        What is missing or wrong.
    weighed : bool
        Whether there is a picture and a report.
    """

    parts: tuple[Part, ...] = ()
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = field(default=())
    weighed: bool = False


@dataclass(frozen=True)
class _Found:
    """A border that was compared, or one that is planned."""

    verdict: BorderVerdict | None
    planned: Planned | None
    notes: tuple[str, ...]


KEPT: Kept[_Found] = Kept(MOST_KEPT)


def _found(opened: Opened, today: date) -> _Found:
    """Compare both sides, once as long as plan, records and files stay the same."""
    stored = opened.stored
    with opened.store.as_folder() as folder:
        files = border_hashes(folder)

        def made() -> _Found:
            told = border_told(folder, stored)
            if isinstance(told, Planned):
                return _Found(None, told, ())
            found = border_verdict(stored, told.answer, told.files, today=today, version=__version__)
            return _Found(found, None, told.notes)

        key = (opened.trial.pk, stored.plan_hash, stored.records_hash, tuple(files.items()), today)
        return KEPT.get(key, made)


def border_shown(opened: Opened, today: date) -> BorderShown:
    """Return the comparison of two neighbouring areas in plain words, or what is missing for it.

    Parameters
    ----------
    opened : Opened
        The trial.
    today : date
        Stands in the report.
    """
    try:
        found = _found(opened, today)
    except InputError as error:
        return BorderShown(problems=error.problems)
    except CannotCompareError as error:
        return BorderShown((Paragraph(first_capital(str(error))),))
    if found.verdict is None:
        lines = planned_words(found.planned) if found.planned is not None else []
        return BorderShown(tuple(Paragraph(line) for line in lines), found.notes)
    return BorderShown(border_parts(found.verdict), found.notes, weighed=True)


def border_report(opened: Opened, today: date) -> Document | None:
    """Return the report on the border; None where nothing was weighed, or where it cannot be compared.

    Parameters
    ----------
    opened, today
        As `border_shown`.
    """
    try:
        found = _found(opened, today).verdict
    except (InputError, CannotCompareError):
        return None
    return border_document(found) if found is not None else None


def border_picture(opened: Opened, today: date) -> str | None:
    """Return the picture of the border as SVG; None where there is nothing to draw.

    Parameters
    ----------
    opened, today
        As `border_shown`.
    """
    document = border_report(opened, today)
    return drawn(draw_figure, document.figures[0]) if document is not None else None


def border_paper(opened: Opened, today: date) -> bytes | None:
    """Return the report on the border as PDF; None where nothing was weighed.

    Parameters
    ----------
    opened, today
        As `border_shown`.
    """
    document = border_report(opened, today)
    return pdf(document, border_drawings(document)) if document is not None else None


def border_drawings(document: Document) -> dict[str, str]:
    """Return every picture of the report as SVG, by its name.

    Parameters
    ----------
    document : Document
        From `border_report`.
    """
    return {f.name: drawn(draw_figure, f) for f in document.figures}
