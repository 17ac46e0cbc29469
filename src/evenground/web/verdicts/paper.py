"""The report on paper, set beside the pages: with progress and a way to stop."""

from __future__ import annotations

from collections.abc import Callable, Hashable

from evenground.adapters.pdf import pdf
from evenground.adapters.small_photo import Reader, small_photos
from evenground.web.jobs import Job
from evenground.web.verdicts.computed import Computed


def owner_of(trial: int, person: object) -> Hashable:
    """Return whose report it is: nobody else finds it."""
    return ("report", trial, person)


def setting(found: Computed, read_photo: Reader) -> Callable[[Job], bytes]:
    """Return the work of drawing all pictures of a report and setting its pages.

    Parameters
    ----------
    found : Computed
        The verdict with its report.
    read_photo : callable
        Returns a photograph of the trial by its name.
    """

    def work(job: Job) -> bytes:
        figures = found.document.figures
        for i, figure in enumerate(figures):
            job.progress(i, len(figures) + 1)
            found.drawing(figure.name)
        job.progress(len(figures), len(figures) + 1)
        photographs = small_photos(found.document.photographs, read_photo)
        return pdf(found.document, dict(found.drawings), photographs)

    return work
