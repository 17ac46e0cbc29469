"""The draw: what it means, the work beside the page with its progress, and the draw kept once it is ready."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from evenground.basis.errors import DoesNotFitError, InputError, LockedError
from evenground.basis.field import Field
from evenground.web import jobs
from evenground.web.accounts.access import Right
from evenground.web.layouts import drawing, search
from evenground.web.layouts.draw_words import dropped_limits, kept_limits
from evenground.web.trial_view import Opened, not_yet, show, trial_view

STEP = "layout"
PATIENCE_S = 1.5
"""How long a request waits for work beside the page [s]: most searches and draws are done by then."""


def no_field(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Say that the outline of the field is missing."""
    missing = _("The outline of the field is missing.")
    return not_yet(request, opened.trial, STEP, missing=missing, next_page="field/", next_label=_("Go to the field"))


@require_http_methods(["GET", "POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def draw_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Say what a draw means, and draw: once; again only with a reason, and then both stay on record."""
    if opened.stored.field is None:
        return no_field(request, opened)
    under_way = jobs.latest(drawing.owner_of(opened))
    if under_way is not None and under_way.state == "running":
        return _wait(request, opened, "drawing")
    found = search.found_for(opened)
    if found is None:
        looked = _look(opened, opened.stored.field)
        found = search.found_for(opened)
        if found is None:
            return _wait(request, opened, "looking") if looked.state == "running" else _failed(request, opened, looked)
    if request.method == "POST":
        return _draw(request, opened, found)
    context = {
        "found": found,
        "again": opened.stored.draw is not None,
        "kept": kept_limits(found.rehearsal),
        "dropped": dropped_limits(found.rehearsal),
    }
    return show(request, opened, "layouts/draw.html", STEP, context)


def _look(opened: Opened, field: Field) -> jobs.Job:
    """Return the search that runs or has failed, or start one: the program may have been started anew in between."""
    job = search.latest(opened)
    if job is None or job.state not in ("running", "failed"):
        job = search.begin(opened, field, timezone.now())
    job.wait(PATIENCE_S)
    return job


def _failed(request: HttpRequest, opened: Opened, job: jobs.Job) -> HttpResponse:
    problems, missing = search.problems_of(job), ""
    if not problems:
        missing = str(job.error) if isinstance(job.error, DoesNotFitError) else _("The search was stopped.")
    return not_yet(request, opened.trial, STEP, problems=problems, missing=missing, next_page="layout/")


def _wait(request: HttpRequest, opened: Opened, what: str) -> HttpResponse:
    """Show how far it is, with a way to stop."""
    return show(request, opened, "layouts/waiting.html", STEP, {"what": what})


def _draw(request: HttpRequest, opened: Opened, found: search.Found) -> HttpResponse:
    """Draw; where that takes longer than a moment the page goes on by itself."""
    try:
        reason = request.POST.get("reason", "")
        job = drawing.begin_draw(opened=opened, found=found, reason=reason, now=timezone.now())
        return _kept(request, opened) if job.wait(PATIENCE_S) else redirect("layouts:draw", slug=opened.trial.slug)
    except LockedError:
        return _locked(request, opened)
    except InputError as error:
        return not_yet(request, opened.trial, STEP, problems=error.problems, next_page="layout/")


def _locked(request: HttpRequest, opened: Opened) -> HttpResponse:
    text = _("The strips are drawn already. A new draw needs a reason; the old one stays on record.")
    messages.error(request, text)
    return redirect("layouts:draw", slug=opened.trial.slug)


def _kept(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Store the draw that is ready and show it."""
    made = drawing.keep_draw(opened=opened)
    if made is None:
        messages.success(request, _("No draw is ready; nothing was stored."))
        return redirect("layouts:draw", slug=opened.trial.slug)
    text = _("Drawn: %(n)s strips. The draw is stored and locked.") % {"n": len(made.strips)}
    messages.success(request, text)
    return redirect(f"{opened.url('layout/')}?drawn=1")


@require_POST
@trial_view(STEP, Right.PLAN, drawn=False)
def keep(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Store the draw once it is ready; asked too early, the page goes on waiting."""
    job = jobs.latest(drawing.owner_of(opened))
    if job is not None and job.state == "running":
        return redirect("layouts:draw", slug=opened.trial.slug)
    try:
        return _kept(request, opened)
    except LockedError:
        return _locked(request, opened)
    except InputError as error:
        return not_yet(request, opened.trial, STEP, problems=error.problems, next_page="layout/")


@require_GET
@trial_view(STEP, Right.PLAN, drawn=False)
def draw_state(_request: HttpRequest, opened: Opened) -> HttpResponse:
    """Say how far the draw is; never how it came out."""
    job = jobs.latest(drawing.owner_of(opened))
    return JsonResponse({"state": "none" if job is None else job.state})


@require_POST
@trial_view(STEP, Right.PLAN, drawn=False)
def stop_draw(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Throw the draw away before anybody has seen it."""
    job = jobs.latest(drawing.owner_of(opened))
    if job is not None:
        job.stop()
        job.wait(PATIENCE_S)
        jobs.take(drawing.owner_of(opened))
    messages.success(request, _("The draw was stopped. Nothing was stored, and nobody has seen how it came out."))
    return redirect("layouts:layout", slug=opened.trial.slug)
