"""Pages of the layout: history, wishes, the search, the drawn strips, everything handed over."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from evenground import __version__
from evenground.adapters.export.strip_list import strip_list_csv
from evenground.adapters.field_drawing import draw_to_scale
from evenground.adapters.hand_over import FORMATS, hand_over
from evenground.basis.errors import DoesNotFitError, InputError
from evenground.layout.turned_field import turned_field
from evenground.web import jobs
from evenground.web.accounts.access import Right
from evenground.web.drawing import drawn
from evenground.web.layouts import selectors, services
from evenground.web.layouts.draw_views import STEP, no_field
from evenground.web.layouts.search import begin, found_for, latest, owner_of, problems_of
from evenground.web.trial_view import Opened, file_response, not_yet, show, svg_response, trial_view

PICTURE_MM = (170.0, 200.0)
TYPES = {"pdf": "application/pdf", "zip": "application/zip", "ics": "text/calendar; charset=utf-8"}
HAND_OVER = ("plan", "sign", "pack", "isoxml", "shp", "kml", "gpx", "gpkg", "geojson", "ics")


@require_GET
@trial_view(STEP, drawn=False)
def layout_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the drawn strips; before the draw the questions, the search and what it found."""
    if opened.stored.draw is not None:
        shown = selectors.drawn_shown(opened)
        context = {
            "shown": shown,
            "forms": HAND_OVER,
            "has_field": opened.stored.field is not None,
            "order": selectors.order_shown(opened),
            "markers": selectors.markers_shown(opened),
            "methods": opened.stored.plan.methods,
            "just_drawn": "drawn" in request.GET,
        }
        return show(request, opened, "layouts/drawn.html", STEP, context)
    if opened.stored.field is None:
        return no_field(request, opened)
    plan, job, found = opened.stored.plan, latest(opened), found_for(opened)
    asked = selectors.questions(plan)
    context = {
        "asked": asked,
        "next_question": selectors.next_question(asked),
        "open_questions": sum(q.answer == "not asked" for q in asked),
        "wishes": selectors.wish_rows(plan),
        "found": found,
        "choices": selectors.choices_table(found, plan) if found else [],
        "ways": selectors.ways_table(found, plan) if found else None,
        "earlier_yields": selectors.earlier_yields_said(found) if found else (),
        "against": [f.message for f in found.extras.history if f.against] if found else [],
        "running": job is not None and job.state == "running",
        "problems": problems_of(job) if job is not None and job.state == "failed" else (),
        "does_not_fit": str(job.error) if job is not None and isinstance(job.error, DoesNotFitError) else "",
    }
    return show(request, opened, "layouts/search.html", STEP, context)


@require_POST
@trial_view(STEP, Right.PLAN, drawn=False)
def history(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Store the answers on what lies in the ground."""
    try:
        services.save_history(opened=opened, given=request.POST)
    except InputError as error:
        _say(request, error)
    return redirect("layouts:layout", slug=opened.trial.slug)


@require_POST
@trial_view(STEP, Right.PLAN, drawn=False)
def wishes(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Store the wishes for the layout."""
    try:
        services.save_wishes(opened=opened, given=request.POST)
    except InputError as error:
        _say(request, error)
    return redirect("layouts:layout", slug=opened.trial.slug)


def _say(request: HttpRequest, error: InputError) -> None:
    for one in error.problems:
        allowed = _("Allowed: %s.") % one.allowed if one.allowed else ""
        given = _("Given: %s.") % one.given if one.given else ""
        messages.error(request, f"{one.field}: {one.message} {given} {allowed}".strip())


@require_POST
@trial_view(STEP, Right.PLAN, drawn=False)
def search(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Begin to look for layouts."""
    if opened.stored.field is None:
        return no_field(request, opened)
    try:
        begin(opened, opened.stored.field, timezone.now())
    except InputError as error:
        _say(request, error)
    return redirect("layouts:layout", slug=opened.trial.slug)


@require_GET
@trial_view(STEP, drawn=False)
def search_state(_request: HttpRequest, opened: Opened) -> HttpResponse:
    """Say how far the search is."""
    job = jobs.latest(owner_of(opened))
    state = {"state": "none"} if job is None else {"state": job.state, "step": job.step, "total": job.total}
    return JsonResponse(state)


@require_POST
@trial_view(STEP, Right.PLAN, drawn=False)
def stop(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Stop the search."""
    job = jobs.latest(owner_of(opened))
    if job is not None:
        job.stop()
    messages.success(request, _("The search was stopped; nothing was changed."))
    return redirect("layouts:layout", slug=opened.trial.slug)


@require_POST
@trial_view(STEP, Right.PLAN, drawn=False)
def choose_heading(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Take one of the headings found, and look again with it."""
    try:
        services.choose_heading(opened=opened, text=request.POST.get("heading", "best"))
        again = Opened(opened.trial, opened.store.load(), opened.store, opened.rights)
        if again.stored.field is not None:
            begin(again, again.stored.field, timezone.now())
    except InputError as error:
        _say(request, error)
    return redirect("layouts:layout", slug=opened.trial.slug)


@require_GET
@trial_view(STEP)
def picture(_request: HttpRequest, opened: Opened) -> HttpResponse:
    """Draw the field to scale with its strips."""
    if opened.stored.field is None:
        raise Http404
    turned = turned_field(opened.stored.field, opened.draw)
    sheet = drawn(draw_to_scale, opened.stored.plan, opened.stored.field, turned, room_mm=PICTURE_MM, exact=False)
    return svg_response(sheet.svg)


@require_GET
@trial_view(STEP)
def strip_list(_request: HttpRequest, opened: Opened) -> HttpResponse:
    """Hand out the strips as a table that does not say where they are."""
    return file_response(strip_list_csv(opened.draw), "strips.csv", "text/csv; charset=utf-8")


@require_GET
@trial_view(STEP)
def handed_over(request: HttpRequest, opened: Opened, form: str) -> HttpResponse:
    """Hand the strips over in one of the forms: terminal, phone, map program, paper, pack."""
    if form not in FORMATS:
        raise Http404
    try:
        files = drawn(hand_over, opened.stored, form, version=__version__)
    except InputError as error:
        return not_yet(request, opened.trial, STEP, problems=error.problems, next_page="field/")
    wanted = request.GET.get("file", "")
    name = wanted if wanted in files else next(iter(files))
    kind = TYPES.get(name.rpartition(".")[2], "application/octet-stream")
    return file_response(files[name], name, kind)
