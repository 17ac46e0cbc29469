"""What the pages of a trial share: who may see it, how it stands, and what a page says before it can be used."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Concatenate, ParamSpec

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from evenground.basis.errors import InputError, Problem
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.web.accounts.access import Right, request_rights, trial_for
from evenground.web.trials.models import Door, Trial
from evenground.web.trials.store import DatabaseStore

P = ParamSpec("P")
NOT_YET = "web/not_yet.html"


@dataclass(frozen=True)
class Opened:
    """A trial that somebody may see, read and checked.

    Attributes
    ----------
    trial : Trial
        Its row.
    stored : Stored
        Plan, field, draws and records.
    store : DatabaseStore
        Where changes go, in the name of the person who asks.
    rights : frozenset of Right
        What that person may do.
    """

    trial: Trial
    stored: Stored
    store: DatabaseStore
    rights: frozenset[Right]

    @property
    def draw(self) -> Draw:
        """The draw that counts; only where one was asked for."""
        if self.stored.draw is None:
            raise ValueError("no strips are drawn")
        return self.stored.draw

    @property
    def centre(self) -> tuple[float, float] | None:
        """Latitude and longitude of the middle of the field [deg]; None without an outline."""
        if self.stored.field is None:
            return None
        at = self.stored.field.boundary.centroid
        return float(at.y), float(at.x)

    def url(self, page: str = "") -> str:
        """Return the address of a page of this trial."""
        return f"/trials/{self.trial.slug}/{page}"


View = Callable[Concatenate[HttpRequest, Opened, P], HttpResponse]


def trial_view(
    step: str, right: Right = Right.VIEW, *, drawn: bool = True
) -> Callable[[View[P]], Callable[..., HttpResponse]]:
    """Make a view of a trial: strangers get 404; a trial that is not ready gets a page that says what is missing.

    Parameters
    ----------
    step : str
        Step the page belongs to; see `evenground.web.steps`.
    right : Right
        What the page needs.
    drawn : bool
        Whether it needs drawn strips.
    """

    def made(view: View[P]) -> Callable[..., HttpResponse]:
        def inner(request: HttpRequest, slug: str, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            trial = trial_for(request, slug, right)
            store = DatabaseStore(trial, request.user if request.user.is_authenticated else None)
            try:
                opened = Opened(trial, store.load(), store, request_rights(request, trial))
            except InputError as error:
                return not_yet(request, trial, step, problems=error.problems)
            if drawn and opened.stored.draw is None:
                return not_yet(request, trial, step)
            return view(request, opened, *args, **kwargs)

        functools.update_wrapper(inner, view)
        return inner

    return made


def show(
    request: HttpRequest,
    opened: Opened,
    template: str,
    step: str,
    context: Mapping[str, object],
    *,
    status: int = 200,
) -> HttpResponse:
    """Render a page of a trial with what all of them need."""
    shared = {
        "trial": opened.trial,
        "step": step,
        "may_record": Right.RECORD in opened.rights,
        "may_plan": Right.PLAN in opened.rights,
    }
    return render(request, template, {**shared, **context}, status=status)


def not_yet(
    request: HttpRequest,
    trial: Trial,
    step: str,
    *,
    problems: tuple[Problem, ...] = (),
    missing: str = "",
    next_page: str = "",
    next_label: str = "",
) -> HttpResponse:
    """Say what is missing before a page can say anything, and where to do it."""
    said, page, label = missing, next_page, next_label
    if not said and not problems and trial.door != Door.PLANNED:
        said = _("No strips of this trial were drawn at random. What two neighbouring areas can tell, the border says.")
        page, label = page or "season/border/", label or _("To the border comparison")
    elif not said and not problems:
        said = _("The strips are not drawn yet; before that there is nothing to show here.")
    page = page or ("records/" if problems else "layout/")
    label = label or (_("Go to the records") if problems else _("Go to the layout"))
    context = {"trial": trial, "step": step, "problems": problems, "missing": said, "page": page, "label": label}
    return render(request, NOT_YET, context)


def pdf_response(content: bytes, name: str) -> HttpResponse:
    """Hand a PDF over for saving or printing."""
    return file_response(content, name, "application/pdf")


def file_response(content: bytes, name: str, content_type: str) -> HttpResponse:
    """Hand a file over for saving."""
    return HttpResponse(
        content, content_type=content_type, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


def svg_response(drawing: str) -> HttpResponse:
    """Hand a picture over; it may style itself and nothing more."""
    response = HttpResponse(drawing, content_type="image/svg+xml; charset=utf-8")
    response.headers["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
    response.headers["Cache-Control"] = "private, max-age=0, must-revalidate"
    return response
